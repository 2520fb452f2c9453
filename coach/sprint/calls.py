"""Calls: what the coach says unasked. One policy, one place.

Each cause is called once; of time marks passed together only the latest is; at most eight ring in
a sprint, and those of the clock keep theirs. Where the cut-off is moved away, what belongs to the
end is called again. Once the cut-off has passed, that alone is said; once the order is accepted,
nothing. What a forecast calls waits for a fifth of the time, because before that little is known
of the person, and ends with the last call, which names everything that is open:

- the chance of all essentials has fallen under the brief's threshold, with what to drop; again
  only if it had recovered meanwhile;
- latest starts have passed, all of them in one call; it waits a while where the chance was just
  called, which says the same of the whole;
- the reserve is being eaten by drawing.

Essentials left behind for ten minutes are called silently: the OPEN line has them anyway.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.sprint.board import open_essentials, skipped
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import CallMade, ForecastMade
from coach.sprint.pace.forecast import Forecast
from coach.sprint.pace.latest_start import LatestStart
from coach.sprint.pace.marks import FALLEN, LATEST_START, RESERVE_EATEN, is_fallen
from coach.sprint.pace.reserve import last_walk, ordered, uploaded
from coach.sprint.pace.work import behind, left_behind_at
from coach.sprint.state import Row, State
from phases.kit.grammar import count
from phases.kit.items import CLOSING_ID, Severity, Stage

MOST_RINGING = 8
CUT_OFF = "cut-off passed"
UPLOAD_DUE = "first upload due"
_OF_TIME = ("half", "quarter", "last five minutes")
LAST_CALL = 10 * 60.0
LAST_MINUTES = 5 * 60.0
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


@dataclass(frozen=True, slots=True)
class _Mark:
    """A moment of the clock that is called: seconds left at it, and its cause."""

    cause: str
    left: float
    is_time: bool = True


def _marks(state: State) -> list[_Mark]:
    whole, reserve = state.deadline, state.setup.reserve
    marks = [_Mark("half", whole / 2)]
    if not reserve or whole / 4 - reserve > TOGETHER:
        marks.append(_Mark("quarter", whole / 4))
    marks.append(_Mark("last five minutes", LAST_MINUTES))
    # In a very short sprint the marks would pile up on each other: the later one is enough.
    marks = [m for m in marks if m.left >= LAST_MINUTES]
    if reserve:
        marks.append(_Mark(UPLOAD_DUE, reserve, is_time=False))
    return [
        *marks, _Mark("last call", _last_call(state), is_time=False),
        _Mark(CUT_OFF, 0.0, is_time=False),
    ]  # fmt: skip


def _last_call(state: State) -> float:
    """Seconds before the cut-off at which what is open is named once more."""
    return min(LAST_CALL, state.deadline / 6)


def _due(state: State, marks: Sequence[_Mark], left: float) -> list[_Mark]:
    """The marks to call now: of those of time that have passed only the latest, and past the
    cut-off nothing else."""
    passed = [mark for mark in marks if left <= mark.left]
    times = sorted((mark for mark in passed if mark.is_time), key=lambda mark: mark.left)
    if left <= 0:
        passed = [mark for mark in passed if mark.cause == CUT_OFF]
    return [
        mark for mark in passed
        if not _said(state, mark) and (not mark.is_time or mark is times[0])
    ]  # fmt: skip


def due_calls(state: State, t: float, forecast: Forecast | None = None) -> list[CallMade]:
    """The calls to make now; those that need a forecast where a fresh one is given."""
    if state.ended or ordered(state):
        return []
    left = state.deadline - t
    asides = []
    if left > _last_call(state):
        asides = [*_skipped(state, t), *(_by_forecast(state, t, forecast) if forecast else ())]
    marks = _marks(state)
    due = _due(state, marks, left)
    calls = [_call(state, mark, left) for mark in due]
    # What is still to be called by the clock, and the reserve, keep their rings.
    ahead = [mark for mark in marks if mark.left < left and not _said(state, mark)]
    to_come = len(due) + len(ahead) + (not _called_once(state))
    first = [call for call in asides if call.cause != RESERVE_EATEN]
    rest = [call for call in asides if call.cause == RESERVE_EATEN] + calls
    return [*_bounded(state, first, MOST_RINGING - to_come), *_bounded(state, rest, MOST_RINGING)]


def still_so(state: State, t: float, call: CallMade, forecast: Forecast | None = None) -> bool:
    """Whether what a call said is still so; one that is not so any more only contradicts."""
    if state.ended or ordered(state):
        return False
    left = state.deadline - t
    mark = next((mark for mark in _marks(state) if mark.cause == call.cause), None)
    if mark is not None and left > mark.left + _ON_TIME:
        return False  # the cut-off was moved away
    if call.cause == FALLEN:
        made = [one.event for one in state.of(ForecastMade) if one.event.because == FALLEN]
        said = made[-1] if made else None
        if said is None or forecast is None:
            return True
        return abs(forecast.chance_essentials - said.chance_essentials) <= MOVED
    if call.cause == LATEST_START:
        rows = [state.by_key[key] for key in call.items if key in state.by_key]
        return not call.items or any(not row.closed for row in rows)
    if call.cause == RESERVE_EATEN:
        return state.phase != CLOSING_ID and (forecast is None or forecast.drawing > 0)
    return call.cause != UPLOAD_DUE or call.says == _upload(state)


def _said(state: State, mark: _Mark) -> bool:
    """Whether a mark was called, or one of time that comes later. One of the end counts only if
    it was the end as it stands now."""
    if mark.cause in _OF_TIME[:-1]:
        later = _OF_TIME[_OF_TIME.index(mark.cause) :]
        return any(one.event.cause in later for one in state.of(CallMade))
    made = [one.t for one in state.of(CallMade) if one.event.cause == mark.cause]
    return any(state.deadline - t <= mark.left for t in made)


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
        for row in behind(state)
        if row.item.severity >= Severity.DEAD_BOARD and row.key not in called
        and t - left_behind_at(state, row) >= SKIPPED_FOR
    ]  # fmt: skip
    if not rows or _lately(state, SKIPPED, t):
        return []
    says = f"Left behind for {_minutes(SKIPPED_FOR)}: {_names(rows)}."
    return [_about(SKIPPED, says, [row.key for row in rows], rings=False)]


def _by_forecast(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if t < EARLIEST * state.deadline:
        return []
    return [
        *_latest_starts(state, t, forecast), *_fallen(state, t, forecast),
        *_reserve_eaten(state, t, forecast),
    ]  # fmt: skip


def _latest_starts(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    """All latest starts that have passed, in one call; where the chance is called, after it."""
    called = _named(state, LATEST_START)
    passed = [one for one in forecast.latest if one.at <= t and one.key not in called]
    falls = forecast.fallen and not is_fallen(state)
    if not passed or falls or any(_lately(state, one, t) for one in (LATEST_START, FALLEN)):
        return []
    worst_first = sorted(passed, key=lambda one: -Severity(one.severity).rank)
    says = _must_start(state, t, passed, worst_first)
    return [_about(LATEST_START, says, [one.key for one in worst_first])]


def _must_start(
    state: State, t: float, passed: Sequence[LatestStart], worst_first: Sequence[LatestStart]
) -> str:
    """What must start, the worst first, then the phases in the order of work."""
    alone = [state.by_key[one.key] for one in worst_first if not one.with_phase]
    phases = dict.fromkeys(one.phase for one in passed if one.with_phase)
    names = [state.setup.phase(phase).name for phase in phases]
    parts = [_names(alone)] if alone else []
    if names:
        number = sum(one.with_phase for one in passed)
        with_it = count(number, "essential")
        more = f" and {len(names) - 2} more phases" if names[3:] else ""
        shown = names[:2] if more else names
        parts.append(f"{', then '.join(shown)}{more} with {with_it}")
    kept = "the reserve" if t < state.deadline - state.setup.reserve else "the cut-off"
    return f"To keep {kept}, start now: {', then '.join(parts)}."


def _fallen(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    if not forecast.fallen or is_fallen(state) or _lately(state, FALLEN, t):
        return []
    what = f" {forecast.proposal.says}" if forecast.proposal else ""
    chance, wanted = f"{forecast.chance_essentials:.0%}", f"{forecast.threshold:.0%}"
    says = f"On time with all essentials: {chance}, wanted {wanted}.{what}"
    return [_about(FALLEN, says, [])]


def _reserve_eaten(state: State, t: float, forecast: Forecast) -> list[CallMade]:
    into = t - (state.deadline - state.setup.reserve)
    drawing = forecast.drawing > 0 and state.phase != CLOSING_ID
    if into < EATEN or not drawing or _called_once(state):
        return []
    says = (
        f"The reserve is being eaten: {_minutes(state.deadline - t)} are left, the closing list "
        f"takes {_minutes(forecast.closing)}, drawing {_minutes(forecast.drawing)} more. "
        "Stop where it can be ordered."
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
    return CallMade(cause=cause, says=says[:400], items=tuple(items), rings=rings)


# ---- words -------------------------------------------------------------------------------------


def _call(state: State, mark: _Mark, left: float) -> CallMade:
    if mark.cause == UPLOAD_DUE:
        return CallMade(cause=mark.cause, says=_upload(state))
    if mark.cause == CUT_OFF:
        return CallMade(cause=mark.cause, says=_passed(state, left))
    if mark.cause == "last call":
        rows = open_essentials(state)
        return _about(mark.cause, f"Last call, {_minutes(left)} left. {_listed(state, rows)}",
                      [row.key for row in rows])  # fmt: skip
    rest = f"{_minutes(left)} left"
    late = mark.left - left > _ON_TIME
    says = {
        "half": f"{'More than half' if late else 'Half'} the time is gone, {rest}.",
        "quarter": f"{'Less than a' if late else 'A'} quarter of the time is left: {rest}.",
        "last five minutes": f"{rest}: order what you have.",
    }[mark.cause]
    return CallMade(cause=mark.cause, says=says)


def _upload(state: State) -> str:
    """What the reserve begins with."""
    if uploaded(state):
        number = len(last_walk(state))
        if not number:
            return "The reserve begins. The first upload is made; go on with the closing list."
        essentials = count(number, "open essential")
        return f"The reserve begins, the first upload is made: walk through {essentials} now."
    if Stage.FILES not in state.stages:
        return (
            "The reserve begins and layout is not finished: bring it to what can be ordered, then "
            "make a first upload."
        )
    return (
        "The reserve begins: make a first complete upload now. "
        "A package that can be replaced beats one that is late."
    )


def _passed(state: State, left: float) -> str:
    """That the cut-off has passed, how it stands, and what can still be done."""
    when = "has passed" if left > -_ON_TIME else f"passed {_minutes(-left)} ago"
    rows = open_essentials(state)
    count = f"{_essentials(len(rows))} open {_of_them(state)}"
    return (
        f"The cut-off {when}: {count if rows else 'every essential closed'}, order not accepted. "
        "Order what you have now, or move the cut-off."
    )


def _listed(state: State, rows: Sequence[Row]) -> str:
    """Open essentials by severity, as many as a line holds."""
    if not rows:
        return "Every essential is closed."
    are = "is" if len(rows) == 1 else "are"
    return f"{_essentials(len(rows))} {are} open {_of_them(state)}: {_names(rows)}."


def _essentials(count: int) -> str:
    return "1 essential" if count == 1 else f"{count} essentials"


def _of_them(state: State) -> str:
    """Where open essentials are counted, and how many of them the OPEN line has."""
    behind = len(skipped(state))
    return f"in all phases ({behind} skipped)" if behind else "in all phases"


def _names(rows: Sequence[Row]) -> str:
    names = [f"{r.item.id.replace('-', ' ')} ({r.item.severity})" for r in rows[:4]]
    return ", ".join(names) + (f" and {len(rows) - 4} more" if len(rows) > 4 else "")


def _minutes(seconds: float) -> str:
    if seconds <= 0:
        return "no time"
    minutes = max(round(seconds / 60), 1)
    hours, rest = divmod(minutes, 60)
    return (f"{hours} h {rest} min" if rest else f"{hours} h") if hours else f"{minutes} min"
