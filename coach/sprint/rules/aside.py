"""Rules of more checks that are set aside for want of time, and taken back."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.commands import SetAside, TakeBack
from coach.sprint.events.items import ItemSetAside, ItemTakenBack
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.rules.items import row_of
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID
from phases.kit.refusals import Refusal


@rule(SetAside)
def _set_aside(state: State, command: SetAside, asked: Asked) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if row.essential or row.item.phase == CLOSING_ID:
            kind = "of the closing list" if row.item.phase == CLOSING_ID else "an essential"
            raise Refusal(f"{row.item.id} is {kind}", do="Meet it, or waive it with a reason")
        if row.closed or row.aside:
            status = "set aside" if row.aside else row.status
            raise Refusal(f"{row.item.id} is {status} already")
    return [ItemSetAside(item=row.key) for row in rows], f"{_count(rows)} set aside"


@rule(TakeBack)
def _take_back(state: State, command: TakeBack, asked: Asked) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if not row.aside:
            raise Refusal(f"{row.item.id} is not set aside")
    return [ItemTakenBack(item=row.key) for row in rows], f"{_count(rows)} taken up again"


def _rows(state: State, keys: Iterable[str]) -> list[Row]:
    rows = [row_of(state, key) for key in dict.fromkeys(keys)]
    if not rows:
        raise Refusal("No item is named", do="Say which more checks")
    return rows


def _count(rows: list[Row]) -> str:
    return "1 more check" if len(rows) == 1 else f"{len(rows)} more checks"
