"""The reserve: held for the closing list and a last walk through what is open, worst first.

After a first complete upload, each open essential is closed in the quickest honest way, as long
as the rest of the closing list keeps its time. Nothing is ticked that was not looked at: what is
not there is made good, or waived with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.sprint.board import open_essentials
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID, Evidence

_ANSWERING = 5.0  # seconds


@dataclass(frozen=True, slots=True)
class LastStep:
    """One open essential of the last walk. seconds: what its way takes where all is well."""

    row: Row
    way: str
    seconds: float


def last_walk(state: State) -> tuple[LastStep, ...]:
    """Every open essential that can be seen, worst first, each with its quickest honest way."""
    return tuple(_step(state, row) for row in open_essentials(state) if state.reached(row))


def next_of_last_walk(state: State, t: float) -> Row | None:
    """The open essential to see to now; None before the first upload, and where only the closing
    list fits the time that is left."""
    if any("upload" in r.item.id and not r.closed for r in state.rows_of(CLOSING_ID)):
        return None
    minutes = {item.id: item.minutes for item in state.setup.closing.items}
    still = sum(minutes[r.item.id] for r in state.rows_of(CLOSING_ID) if not r.closed)
    spare = state.deadline - t - 60 * still
    return next((step.row for step in last_walk(state) if step.seconds <= spare), None)


def _step(state: State, row: Row) -> LastStep:
    way, seconds = _quickest(state, row)
    return LastStep(row, way, seconds)


def _quickest(state: State, row: Row) -> tuple[str, float]:
    """(what to do, in words; seconds)."""
    from coach.sprint import next_thing as nexts

    item, made_good = row.item, row.item.left_out_min * 60
    otherwise = f"if not, {item.left_out_min:g} min or a waiver with its reason"
    if row.state is not None and row.state.doubt:
        return f"Look whether it still holds; {otherwise}", item.confirm_s
    found = nexts.about(state, row)
    if found.kind == nexts.ASK:
        return f"Answer: {found.says}", _ANSWERING
    if found.kind == nexts.DRAW:
        return f"It is calculated: draw {found.answer}", made_good
    if found.kind == nexts.CURE:
        return f"Its calculation fails: cure it, or waive it with a reason. {found.answer}", (
            made_good
        )  # fmt: skip
    if Evidence.DATA_SHEET in item.met_by and Evidence.INSPECTED not in item.met_by:
        return f"Find its page in the data sheet; {otherwise}", item.confirm_s
    if found.kind == nexts.CALCULATE:
        return "Calculate it and draw its parts, or waive it with a reason", made_good
    return f"Look: met if it is there; {otherwise}", item.confirm_s
