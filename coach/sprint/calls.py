"""Calls: what the coach says unasked. One policy, one place.

Each cause is called once; of moments of the clock passed together only the latest is; at most
eight ring in a sprint, and those of the clock keep theirs. Where the cut-off is moved
away, what belongs to the end is called again. Once the cut-off has passed, that alone is said; once
the order is accepted, nothing. What a forecast calls waits for a fifth of the time, because before
that little is known of the person, and ends with the last call, which names all that is open:

- the chance of all essentials has fallen under the brief's threshold, with what to drop; again
  only if it had recovered meanwhile;
- latest starts have passed, all of them in one call; it waits a while where the chance was just
  called, which says the same of the whole;
- the reserve is being eaten by drawing.

Essentials left behind for ten minutes are called silently: the SKIPPED line has them anyway.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from coach.sprint.chances import against_target
from coach.sprint.durations import duration
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import CallMade, ForecastMade
from coach.sprint.gates.gates import open_essentials, skipped
from coach.sprint.gates.walks import last_walk, ordered, uploaded
from coach.sprint.pace.checkpoints import FALLEN, LATEST_START, RESERVE_EATEN, is_fallen
from coach.sprint.pace.work import left_behind_at, skipped_past_stage
from coach.sprint.state import Row, State
from phases.kit.grammar import count, listed
from phases.kit.items import CLOSING_ID, Severity, Stage

if TYPE_CHECKING:
    from coach.sprint.pace.forecast import Forecast
    from coach.sprint.pace.latest_start import LatestStart


MOST_RINGING = 8
CUT_OFF = "cut-off passed"
UPLOAD_DUE = "first upload due"
LAST_CALL = "last call"
_OF_TIME = HALF, QUARTER, LAST_MINUTES = ("half", "quarter", "last five minutes")
_LAST_CALL_LEFT = 10 * 60.0
_LAST_MINUTES_LEFT = 5 * 60.0
SKIPPED = "skipped essential"
SKIPPED_FOR = 10 * 60.0
TOGETHER = 20 * 60.0
"""Seconds after a call in which no other of its kind is made: what comes up meanwhile is named
together. A quarter of the time is no call of its own so shortly before the reserve begins."""
EARLIEST = 0.2
"""The share of the time that has to be gone before a forecast calls anything."""
EATEN = 4 * 60.0
"""Seconds of drawing within the reserve before it counts as being eaten; that layout is not
finished was said when it began."""
MOVED = 0.05
"""By how much the chance may differ from the one that was called for the call to be so still."""
_ON_TIME = 2 * 60.0  # a look that comes later says so


def _moments(state: State) -> dict[str, float]:
    """The moments of the clock that are called: seconds left at each, by its cause."""
    whole, reserve = state.deadline, state.setup.reserve
    times = {HALF: whole / 2, QUARTER: whole / 4, LAST_MINUTES: _LAST_MINUTES_LEFT}
    if reserve and whole / 4 - reserve <= TOGETHER:
        del times[QUARTER]
    # In a very short sprint the moments would pile up on each other: the later one is enough.
    moments = {cause: left for cause, left in times.items() if left >= _LAST_MINUTES_LEFT}
    if reserve:
        moments[UPLOAD_DUE] = reserve
    return {**moments, LAST_CALL: _last_call(state), CUT_OFF: 0.0}


def _last_call(state: State) -> float:
    """Seconds before the cut-off at which what is open is named once more."""
    return min(_LAST_CALL_LEFT, state.deadline / 6)


def _due(state: State, moments: Mapping[str, float], left: float) -> list[str]:
    """The causes to call now: of those of time that have passed only the latest, and past the
    cut-off nothing else."""
    passed = [cause for cause, at in moments.items() if left <= at]
    latest = [cause for cause in passed if cause in _OF_TIME][-1:]
    due = [cause for cause in passed if cause not in _OF_TIME or cause in latest]
    return [
        cause
        for cause in (due if left > 0 else [CUT_OFF])
        if not _was_called(state, cause, moments[cause])
    ]


def due_calls(state: State, t: float, forecast: Forecast | None = None) -> list[CallMade]:
    """The calls to make now; those that need a forecast where a fresh one is given."""
    if state.ended or ordered(state):
        return []
    left = state.deadline - t
    asides = []
    if left > _last_call(state):
        asides = [*_skipped(state, t), *(_by_forecast(state, t, forecast) if forecast else ())]
    moments = _moments(state)
    due = _due(state, moments, left)
    calls = [_call(state, cause, left, late=moments[cause] - left > _ON_TIME) for cause in due]
    # What is still to be called by the clock, and the reserve, keep their rings.
    ahead = [
        cause for cause, at in moments.items() if at < left and not _was_called(state, cause, at)
    ]
    to_come = len(due) + len(ahead) + (not _called_once(state))
    first = [call for call in asides if call.cause != RESERVE_EATEN]
    rest = [call for call in asides if call.cause == RESERVE_EATEN] + calls
    return [*_bounded(state, first, MOST_RINGING - to_come), *_bounded(state, rest, MOST_RINGING)]


def still_so(state: State, t: float, call: CallMade, forecast: Forecast | None = None) -> bool:
    """Whether what a call said is still so; one that is not so any more only contradicts."""
    if state.ended or ordered(state):
        return False
    left = state.deadline - t
    if left > _moments(state).get(call.cause, math.inf) + _ON_TIME:
        return False  # the cut-off was moved away
    if call.cause == FALLEN:
        made = [one.event for one in state.of(ForecastMade) if one.event.because == FALLEN]
        if not made or forecast is None:
            return True
        return abs(forecast.chance_essentials - made[-1].chance_essentials) <= MOVED
    if call.cause == LATEST_START:
        rows = [state.by_key[key] for key in call.items if key in state.by_key]
        return not call.items or any(not row.closed for row in rows)
    if call.cause == RESERVE_EATEN:
        return state.phase != CLOSING_ID and (forecast is None or forecast.drawing > 0)
    return call.cause != UPLOAD_DUE or call.message == _upload(state)


def _was_called(state: State, cause: str, left: float) -> bool:
    """Whether a moment was called, or one of time that comes later. One of the end counts only if
    it was the end as it is now."""
    if cause in (HALF, QUARTER):
        later = _OF_TIME[_OF_TIME.index(cause) :]
        return any(_called(state, one) for one in later)
    return any(state.deadline - one.t <= left for one in _called(state, cause))


def _bounded(state: State, calls: Sequence[CallMade], most: int) -> list[CallMade]:
    """The calls, of which no more ring than `most` in all."""
    rung = sum(one.event.rings for one in state.of(CallMade))
    bounded = []
    for call in calls:
        rings = call.rings and not state.quiet and rung < most
        rung += rings
        bounded.append(call.model_copy(update={"rings": rings}))
    return bounded


# ---- what a forecast calls, and what was left behind -------------------------------------------


def _skipped(state: State, t: float) -> list[CallMade]:
    """Essentials that kill a board or hurt somebody, left behind for ten minutes; silently."""
    called = _named(state, SKIPPED)
    rows = [
        row
        for row in skipped_past_stage(state)
        if row.item.severity >= Severity.DEAD_BOARD
        and row.key not in called
        and t - left_behind_at(state, row) >= SKIPPED_FOR
    ]
    if not rows or _lately(state, SKIPPED, t):
        return []
    says = f"Skipped {duration(SKIPPED_FOR)} ago, still open: {_names(rows)}."
    return [_about(SKIPPED, says, [row.key for row in rows], rings=False)]


def _by_forecast(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if t < EARLIEST * state.deadline:
        return []
    return [
        *_latest_starts(state, t, forecast),
        *_fallen(state, t, forecast),
        *_reserve_eaten(state, t, forecast),
    ]


def _latest_starts(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    """All latest starts that have passed, in one call; where the chance is called, after it."""
    called = _named(state, LATEST_START)
    passed = [one for one in forecast.latest if one.at <= t and one.row.key not in called]
    falls = forecast.fallen and not is_fallen(state)
    if not passed or falls or any(_lately(state, one, t) for one in (LATEST_START, FALLEN)):
        return []
    worst_first = sorted(passed, key=lambda one: -one.row.item.severity.rank)
    says = _must_start(state, t, passed, worst_first)
    return [_about(LATEST_START, says, [one.row.key for one in worst_first])]


def _must_start(
    state: State, t: float, passed: Sequence[LatestStart], worst_first: Sequence[LatestStart]
) -> str:
    """What must start, the worst first, then the phases in the order of work."""
    alone = [one.row for one in worst_first if not one.with_phase]
    parts = [_names(alone)] if alone else []
    with_phase = [one.row.item.phase for one in passed if one.with_phase]
    phases = [state.setup.phase(phase).name for phase in dict.fromkeys(with_phase)]
    if phases:
        more = f" and {count(len(phases) - 3, 'more phase')}" if phases[3:] else ""
        essentials = count(len(with_phase), "essential")
        parts.append(f"{', then '.join(phases[:3])}{more} ({essentials})")
    kept = "keep the reserve" if t < state.deadline - state.setup.reserve else "make the cut-off"
    return f"To {kept}, start now: {', then '.join(parts)}."


def _fallen(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if not forecast.fallen or is_fallen(state) or _lately(state, FALLEN, t):
        return []
    what = f" {forecast.proposal.message}" if forecast.proposal else ""
    chance = against_target(forecast.chance_essentials, forecast.threshold)
    says = f"Chance of finishing with all essentials: {chance}.{what}"
    return [_about(FALLEN, says, [])]


def _reserve_eaten(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    into = t - (state.deadline - state.setup.reserve)
    drawing = forecast.drawing > 0 and state.phase != CLOSING_ID
    if into < EATEN or not drawing or _called_once(state):
        return []
    says = (
        f"Into the reserve: {duration(state.deadline - t)} left, closing list needs "
        f"{duration(forecast.closing)}, drawing {duration(forecast.drawing)} more. "
        "Stop as soon as it can be ordered."
    )
    return [_about(RESERVE_EATEN, says, [])]


def _called_once(state: State) -> bool:
    """Whether it was said that the reserve is being eaten, or there is none."""
    return not state.setup.reserve or bool(_called(state, RESERVE_EATEN))


def _called(state: State, cause: str) -> list[Stamped[CallMade]]:
    """The calls of a cause."""
    return [one for one in state.of(CallMade) if one.event.cause == cause]


def _named(state: State, cause: str) -> set[str]:
    """The items that calls of a cause were about."""
    return {key for one in _called(state, cause) for key in one.event.items}


def _lately(state: State, cause: str, t: float) -> bool:
    return any(t - one.t < TOGETHER for one in _called(state, cause))


def _about(cause: str, says: str, items: Sequence[str], *, rings: bool = True) -> CallMade:
    return CallMade(cause=cause, message=says[:400], items=tuple(items), rings=rings)


# ---- words -------------------------------------------------------------------------------------


def _call(state: State, cause: str, left: float, *, late: bool) -> CallMade:
    """A call of the clock. late: its moment is past, as after a while in which nobody looked."""
    if cause == UPLOAD_DUE:
        return _about(cause, _upload(state), ())
    if cause == CUT_OFF:
        return _about(cause, _passed(state, left), ())
    rest = f"{duration(left)} left"
    if cause == LAST_CALL:
        rows = open_essentials(state)
        which = f": {_names(rows)}" if rows else ""
        says = f"Last call: {rest}, {_open(state, rows)}{which}."
        return _about(cause, says, [row.key for row in rows])
    says = {
        HALF: f"{'More than half' if late else 'Half'} the time is gone, {rest}.",
        QUARTER: f"{'Less than a' if late else 'A'} quarter of the time is left: {rest}.",
        LAST_MINUTES: f"{rest}: order what you have now.",
    }[cause]
    return _about(cause, says, ())


def _upload(state: State) -> str:
    """What the reserve begins with."""
    if uploaded(state):
        number = len(last_walk(state))
        if not number:
            return "Reserve starts, first upload done: go on with the closing list."
        essentials = count(number, "open essential")
        return f"Reserve starts, first upload done: walk through {essentials} now."
    if Stage.FILES not in state.stages:
        return "Reserve starts, layout unfinished: get it orderable, then do a first upload."
    return (
        "Reserve starts: upload a complete set now. You can replace it later; you cannot be late."
    )


def _passed(state: State, left: float) -> str:
    """That the cut-off has passed, what is open, and what can still be done."""
    when = "has passed" if left > -_ON_TIME else f"passed {duration(left)} ago"
    return (
        f"The cut-off {when}: {_open(state, open_essentials(state))}, order not accepted. "
        "Order what you have now, or move the cut-off."
    )


def _open(state: State, rows: Sequence[Row]) -> str:
    """How many essentials are open, and how many of them the SKIPPED line has."""
    if not rows:
        return "every essential closed"
    behind = len(skipped(state))
    return f"{count(len(rows), 'essential')} open" + (f" ({behind} skipped)" if behind else "")


def _names(rows: Sequence[Row]) -> str:
    """Rows in their order, as many as a line holds."""
    return listed([f"{row.short} ({row.item.severity})" for row in rows], 4)
