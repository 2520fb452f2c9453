"""Calls: what the coach says unasked. One policy, one place.

Each cause is called once; of time marks passed together the latest alone rings; at most eight
ring in a sprint, and those of the clock keep theirs. Where the cut-off is moved away, what
belongs to the end is called again. What a forecast calls waits for a fifth of the time, because
before that little is known of the person:

- the chance of all essentials has fallen under the brief's threshold, with what to drop; again
  only if it had recovered meanwhile;
- latest starts have passed, all of them in one call;
- the reserve is being eaten by drawing.

Essentials left behind for ten minutes are called silently: the OPEN line has them anyway.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from coach.sprint.board import open_essentials
from coach.sprint.events import CallMade
from coach.sprint.pace.forecast import Forecast
from coach.sprint.pace.latest_start import LatestStart
from coach.sprint.pace.marks import FALLEN, LATEST_START, RESERVE_EATEN, is_fallen
from coach.sprint.pace.work import behind
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID, Severity

MOST_RINGING = 8
LAST_CALL = 10 * 60.0
LAST_MINUTES = 5 * 60.0
SKIPPED = "skipped essential"
SKIPPED_FOR = 10 * 60.0
TOGETHER = 20 * 60.0
"""Seconds after a call in which no other of its kind is made: what comes up meanwhile is named
together."""
EARLIEST = 0.2
"""The share of the time that has to be gone before a forecast calls anything."""
EATEN = 2 * 60.0
"""Seconds of drawing within the reserve before it counts as being eaten."""


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


def due_calls(state: State, t: float, forecast: Forecast | None = None) -> list[CallMade]:
    """The calls to make now; those that need a forecast where a fresh one is given."""
    if state.ended:
        return []
    asides = [*_skipped(state, t), *(_by_forecast(state, t, forecast) if forecast else ())]
    left = state.deadline - t
    marks = _marks(state)
    passed = [m for m in marks if left <= m.left and not _said(state, m)]
    times = sorted((m for m in passed if m.is_time), key=lambda m: m.left)
    calls = []
    for mark in passed:
        silent = mark.is_time and mark is not times[0]
        call = _call(state, mark, left)
        calls.append(call.model_copy(update={"rings": False}) if silent else call)
    # What is still to be called by the clock, and the reserve, keep their rings.
    to_come = sum(not _said(state, mark) for mark in marks) + (not _called_once(state))
    first = [call for call in asides if call.cause != RESERVE_EATEN]
    rest = [call for call in asides if call.cause == RESERVE_EATEN] + calls
    return [*_bounded(state, first, MOST_RINGING - to_come), *_bounded(state, rest, MOST_RINGING)]


def _said(state: State, mark: _Mark) -> bool:
    """Whether a mark was called. One of the end counts only if it was the end as it stands now."""
    made = [call.t for call in state.calls if call.cause == mark.cause]
    if mark.cause in ("half", "quarter"):
        return bool(made)
    return any(state.deadline - t <= mark.left for t in made)


def _bounded(state: State, calls: Sequence[CallMade], most: int) -> list[CallMade]:
    """The calls, of which no more ring than `most` in all."""
    rung = sum(call.rings for call in state.calls)
    bounded = []
    for call in calls:
        rings = call.rings and not state.quiet and rung < most
        rung += rings
        bounded.append(call.model_copy(update={"rings": rings}))
    return bounded


# ---- what a forecast calls, and what was left behind -------------------------------------------


def _skipped(state: State, t: float) -> list[CallMade]:
    """Essentials that kill a board or hurt somebody, left behind for ten minutes; silently."""
    ended = {phase: end for (phase, _), (_, end) in pairwise(state.stretches)}
    present = state.stretches[-1][1]
    called = _called(state, SKIPPED)
    rows = [
        row
        for row in behind(state)
        if row.item.severity >= Severity.DEAD_BOARD and row.key not in called
        and t - ended.get(row.item.phase, present) >= SKIPPED_FOR
    ]  # fmt: skip
    if not rows or _lately(state, SKIPPED, t):
        return []
    says = f"Left behind: {_listed(rows)}"
    return [_about(SKIPPED, says, [row.key for row in rows], rings=False)]


def _by_forecast(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if t < EARLIEST * state.deadline:
        return []
    return [
        *_latest_starts(state, t, forecast), *_fallen(state, t, forecast),
        *_reserve_eaten(state, t, forecast),
    ]  # fmt: skip


def _latest_starts(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    """All latest starts that have passed, in one call; silent where the forecast says it anyway."""
    called = _called(state, LATEST_START)
    passed = [one for one in forecast.latest if one.at <= t and one.key not in called]
    if not passed or _lately(state, LATEST_START, t):
        return []
    worst_first = sorted(passed, key=lambda one: -Severity(one.severity).rank)
    keys = [one.key for one in worst_first]
    rings = not (forecast.fallen and not is_fallen(state))
    return [_about(LATEST_START, _must_start(state, worst_first), keys, rings=rings)]


def _must_start(state: State, starts: Sequence[LatestStart]) -> str:
    alone = [state.by_key[one.key] for one in starts if not one.with_phase]
    phases = dict.fromkeys(one.phase for one in starts if one.with_phase)
    names = [state.setup.phase(phase).name for phase in phases]
    count = "1 essential" if len(starts) == 1 else f"{len(starts)} essentials"
    parts = [_names(alone)] if alone else []
    parts += [f"those of {', '.join(names)}"] if names else []
    return f"{count} must start now: {', and '.join(parts)}."


def _fallen(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if not forecast.fallen or is_fallen(state) or _lately(state, FALLEN, t):
        return []
    what = f" {forecast.proposal.says}" if forecast.proposal else ""
    chance, wanted = f"{forecast.chance_essentials:.0%}", f"{forecast.threshold:.0%}"
    says = f"All essentials by the cut-off: chance {chance}, wanted {wanted}.{what}"
    return [_about(FALLEN, says, [])]


def _reserve_eaten(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    into = t - (state.deadline - state.setup.reserve)
    drawing = forecast.drawing > 0 and state.phase != CLOSING_ID
    if into < EATEN or not drawing or _called_once(state):
        return []
    says = (
        f"The reserve is being eaten: {_minutes(forecast.drawing)} of drawing are still to come, "
        f"and the closing list takes {_minutes(forecast.closing)} of the "
        f"{_minutes(state.deadline - t)} left."
    )
    return [_about(RESERVE_EATEN, says, [])]


def _called_once(state: State) -> bool:
    """Whether it was said that the reserve is being eaten, or there is none."""
    return not state.setup.reserve or any(c.cause == RESERVE_EATEN for c in state.calls)


def _called(state: State, cause: str) -> set[str]:
    """The items that calls of a cause were about."""
    return {key for call in state.calls if call.cause == cause for key in call.items}


def _lately(state: State, cause: str, t: float) -> bool:
    return any(call.cause == cause and t - call.t < TOGETHER for call in state.calls)


def _about(cause: str, says: str, items: Sequence[str], *, rings: bool = True) -> CallMade:
    return CallMade(cause=cause, says=says[:400], items=tuple(items), rings=rings)


# ---- words -------------------------------------------------------------------------------------


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
    count = "1 essential is open" if len(rows) == 1 else f"{len(rows)} essentials are open"
    return f"{count}: {_names(rows)}."


def _names(rows: Sequence[Row]) -> str:
    names = [f"{r.item.id.replace('-', ' ')} ({r.item.severity})" for r in rows[:4]]
    return ", ".join(names) + (f" and {len(rows) - 4} more" if len(rows) > 4 else "")


def _minutes(seconds: float) -> str:
    if seconds <= 0:
        return "no time"
    minutes = max(round(seconds / 60), 1)
    hours, rest = divmod(minutes, 60)
    return (f"{hours} h {rest} min" if rest else f"{hours} h") if hours else f"{minutes} min"
