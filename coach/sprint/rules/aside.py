"""Rules of more checks that are set aside for want of time, and taken back."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.commands import SetAside, TakeBack
from coach.sprint.events.items import ItemSetAside, ItemTakenBack
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.rules.items import row_of
from coach.sprint.state import Row, State
from phases.kit.grammar import capital, count
from phases.kit.items import CLOSING_ID
from phases.kit.refusals import Refusal


@rule(SetAside)
def _set_aside(state: State, command: SetAside, asked: Asked) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if row.essential or row.item.phase == CLOSING_ID:
            kind = "part of the closing list" if row.item.phase == CLOSING_ID else "an essential"
            raise Refusal(f"It is {kind}", where=row.short, do="Meet it, or waive it with a reason")
        if row.closed or row.aside:
            status = "Set aside" if row.aside else capital(row.status)
            raise Refusal(f"{status} already", where=row.short)
    return [ItemSetAside(item=row.key) for row in rows], f"{_checks(rows)} set aside"


@rule(TakeBack)
def _take_back(state: State, command: TakeBack, asked: Asked) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if not row.aside:
            raise Refusal("Not set aside", where=row.short)
    return [ItemTakenBack(item=row.key) for row in rows], f"{_checks(rows)} taken up again"


def _rows(state: State, keys: Iterable[str]) -> list[Row]:
    rows = [row_of(state, key) for key in dict.fromkeys(keys)]
    if not rows:
        raise Refusal("No item is named", do="Say which more checks")
    return rows


def _checks(rows: list[Row]) -> str:
    return count(len(rows), "more check")
