"""Naming one item of a sprint: by its key, or by words that only it has."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.state import NOT_HERE, Row, State
from phases.kit.grammar import listed
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line

_MOST_NAMED = 4


def items_with(rows: Iterable[Row], words: str) -> list[Row]:
    """Rows that have every word in key, title, statement, reason or subject; those on the board
    first.

    What was said not to be on this board is among them: a fault may show that it was.
    """
    wanted = one_line(words).lower().split()
    found = [row for row in rows if wanted and all(word in _text(row) for word in wanted)]
    return sorted(found, key=lambda row: row.status == NOT_HERE)


def _text(row: Row) -> str:
    item = row.item
    return f"{row.key} {item.short_title} {item.statement} {item.why} {row.title}".lower()


def item_named(state: State, name: str) -> Row:
    """The one row that `name` means: its key, a part of a key, or words of its statement.

    Raises Refusal with the nearest where there is none, and with some where there are several.
    """
    wanted = one_line(name).strip()
    if wanted in state.by_key:
        return state.by_key[wanted]
    for found in (
        [row for row in state.rows if row.item.id == wanted],
        [row for row in state.rows if wanted and wanted.lower() in row.key.lower()],
        items_with(state.rows, wanted),
    ):
        here = [row for row in found if row.status != NOT_HERE] or found
        if len(here) == 1:
            return here[0]
        if here:
            named = listed([row.key for row in here], most=_MOST_NAMED)
            raise Refusal(f"{len(here)} items have {wanted!r}", do=f"Name one: {named}")
    raise unknown("item", wanted, state.by_key)
