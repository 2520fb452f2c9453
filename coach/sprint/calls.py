"""Calls: what the coach says unasked. One policy, one place.

Each cause is called once; of time marks passed together the latest alone rings; at most eight
ring in a sprint. Where the cut-off is moved away, what belongs to the end is called again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.sprint.board import open_essentials
from coach.sprint.events import CallMade
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID

MOST_RINGING = 8
LAST_CALL = 10 * 60.0
LAST_MINUTES = 5 * 60.0


@dataclass(frozen=True, slots=True)
class _Mark:
    """A moment of the clock that is called: seconds left at it, and its cause."""

    cause: str
    left: float
    is_time: bool = True


def _marks(state: State) -> list[_Mark]:
    whole = state.deadline
    marks = [
        _Mark("half", whole / 2),
        _Mark("quarter", whole / 4),
        _Mark("last five minutes", LAST_MINUTES),
    ]
    # In a very short sprint the marks would pile up on each other: the later one is enough.
    marks = [m for m in marks if m.left >= LAST_MINUTES]
    if state.setup.reserve:
        marks.append(_Mark("first upload due", state.setup.reserve, is_time=False))
    marks.append(_Mark("last call", min(LAST_CALL, whole / 6), is_time=False))
    return marks


def due_calls(state: State, t: float) -> list[CallMade]:
    """The calls to make now."""
    if state.ended:
        return []
    left = state.deadline - t
    passed = [m for m in _marks(state) if left <= m.left and not _said(state, m)]
    times = sorted((m for m in passed if m.is_time), key=lambda m: m.left)
    calls = []
    for mark in passed:
        silent = mark.is_time and mark is not times[0]
        call = _call(state, mark, left)
        calls.append(call.model_copy(update={"rings": False}) if silent else call)
    return _bounded(state, calls)


def _said(state: State, mark: _Mark) -> bool:
    """Whether a mark was called. One of the end counts only if it was the end as it stands now."""
    made = [call.t for call in state.calls if call.cause == mark.cause]
    if mark.cause in ("half", "quarter"):
        return bool(made)
    return any(state.deadline - t <= mark.left for t in made)


def _bounded(state: State, calls: Sequence[CallMade]) -> list[CallMade]:
    rung = sum(call.rings for call in state.calls)
    bounded = []
    for call in calls:
        rings = call.rings and not state.quiet and rung < MOST_RINGING
        rung += rings
        bounded.append(call.model_copy(update={"rings": rings}))
    return bounded


def _call(state: State, mark: _Mark, left: float) -> CallMade:
    if mark.cause == "first upload due":
        return CallMade(cause=mark.cause, says=_upload(state))
    if mark.cause == "last call":
        rows = open_essentials(state)
        says = f"Last call, {_minutes(left)} left. {_listed(rows)}"
        return CallMade(cause=mark.cause, says=says[:400], items=tuple(r.key for r in rows))
    rest = f"{_minutes(left)} left"
    says = {
        "half": f"Half the time is gone, {rest}.",
        "quarter": f"A quarter of the time is left: {rest}.",
        "last five minutes": f"{rest[0].upper()}{rest[1:]}: order what you have.",
    }[mark.cause]
    return CallMade(cause=mark.cause, says=says)


def _upload(state: State) -> str:
    first = next(
        (r for r in state.rows_of(CLOSING_ID) if "upload" in r.item.id and not r.closed), None
    )
    if first is None:
        return "The reserve begins. The first upload is made; go on with the closing list."
    return (
        "The reserve begins: make a first complete upload now. "
        "A package that can be replaced beats one that is late."
    )


def _listed(rows: Sequence[Row]) -> str:
    """Skipped essentials by severity, as many as a line holds."""
    if not rows:
        return "Every essential is closed."
    names = [f"{r.item.id.replace('-', ' ')} ({r.item.severity})" for r in rows[:4]]
    more = f" and {len(rows) - 4} more" if len(rows) > 4 else ""
    count = "1 essential is open" if len(rows) == 1 else f"{len(rows)} essentials are open"
    return f"{count}: {', '.join(names)}{more}."


def _minutes(seconds: float) -> str:
    if seconds <= 0:
        return "no time"
    minutes = max(round(seconds / 60), 1)
    hours, rest = divmod(minutes, 60)
    return (f"{hours} h {rest} min" if rest else f"{hours} h") if hours else f"{minutes} min"
