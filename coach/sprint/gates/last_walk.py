"""The reserve: held for the closing list and a last walk through what is open, worst first.

After a first complete upload, each open essential is closed in the quickest honest way, as long
as the rest of the closing list keeps its time. Nothing is ticked that was not looked at: what is
not there is made good, or waived with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.sprint.durations import duration
from coach.sprint.gates.advice import ASK, CALCULATE, CURE, DRAW, about
from coach.sprint.gates.gates import open_essentials
from coach.sprint.state import MET, Row, State
from phases.kit.items import CLOSING_ID, Evidence

_ANSWERING = 5.0  # seconds


@dataclass(frozen=True, slots=True)
class LastStep:
    """One open essential of the last walk. seconds: what its way takes where all is well."""

    row: Row
    way: str
    seconds: float


def uploaded(state: State) -> bool:
    """Whether the first complete upload is made, or none is asked for."""
    return all(row.closed for row in state.rows_of(CLOSING_ID) if "upload" in row.item.id)


def ordered(state: State) -> bool:
    """Whether the order is accepted and paid, though the sprint may not be ended yet."""
    last = state.rows_of(CLOSING_ID)[-1:]
    return state.accepted or any(row.status == MET for row in last)


def last_walk(state: State) -> tuple[LastStep, ...]:
    """Every open essential that can be seen, worst first, each with its quickest honest way."""
    return tuple(last_step(state, row) for row in open_essentials(state) if state.reached(row))


def spare_seconds(state: State, t: float) -> float:
    """What the closing list leaves for a last walk; negative where it has not enough itself."""
    minutes = {item.id: item.minutes for item in state.setup.closing.items}
    still = sum(minutes[r.item.id] for r in state.rows_of(CLOSING_ID) if not r.closed)
    return state.deadline - t - 60 * still


def next_of_last_walk(state: State, t: float) -> Row | None:
    """The open essential to see to now; None before the first upload, once the order is accepted,
    and where only the closing list fits the time that is left."""
    if not uploaded(state) or ordered(state):
        return None
    spare = spare_seconds(state, t)
    return next((step.row for step in last_walk(state) if step.seconds <= spare), None)


def last_step(state: State, row: Row) -> LastStep:
    """One open essential with its quickest honest way, as it stands now."""
    way, seconds = _quickest(state, row)
    return LastStep(row, way, seconds)


def _quickest(state: State, row: Row) -> tuple[str, float]:
    """(what to do, in words; seconds)."""
    item, made_good = row.item, row.item.left_out_min * 60
    otherwise = f"if not, {duration(made_good)} or a waiver with its reason"
    if row.doubtful:
        return f"Check that it still holds; {otherwise}", item.confirm_s
    found = about(state, row)
    if found.kind == ASK:
        return f"Answer: {found.message}", _ANSWERING
    if found.kind == DRAW:
        return f"It is calculated: draw {found.answer}", made_good
    if found.kind == CURE:
        return f"Its calculation fails: fix it, or waive it with a reason. {found.answer}", (
            made_good
        )
    if Evidence.DATA_SHEET in item.met_by and Evidence.INSPECTED not in item.met_by:
        return f"Find its page in the data sheet; {otherwise}", item.confirm_s
    if found.kind == CALCULATE:
        return "Calculate it and draw its parts, or waive it with a reason", made_good
    return f"Look: met if it is there; {otherwise}", item.confirm_s
