"""What came of each call, told afterwards from the history alone.

A call about items was acted on as far as they were closed soon after it, or their phase begun where
that was asked; one about the sprint as a whole, if what it asked for was done soon after. Calls
that only say the time ask for nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coach.sprint.calls import CUT_OFF, UPLOAD_DUE
from coach.sprint.events.board import FeatureDropped
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemDeferred, ItemMet, ItemWaived
from coach.sprint.events.phases import PhaseEntered
from coach.sprint.events.run import CallMade, CutOffMoved, Ended, ForecastMade
from coach.sprint.fold import counted
from coach.sprint.keys import Key
from coach.sprint.pace.checkpoints import FALLEN, LATEST_START, RECOVERED, RESERVE_EATEN
from coach.sprint.setup import Setup
from phases.kit.items import CLOSING_ID

SOON = 15 * 60.0
"""Seconds within which what is done after a call is put down to it."""

Answer = tuple[str, str]
"""Something a call may ask for, and of which item or phase."""

_UPLOADED, _DROPPED, _RECOVERED, _ORDERED, _MOVED = (
    (what, "") for what in ("uploaded", "dropped", "recovered", "ordered", "moved")
)


@dataclass(frozen=True, slots=True)
class CallOutcome:
    t: float
    call: CallMade
    closed: int
    """How many of its items were closed soon after."""
    acted_on: bool | None
    """None where the call asked for nothing."""
    after: float | None
    """Seconds until it was acted on."""


def call_outcomes(setup: Setup, history: Sequence[Stamped]) -> tuple[CallOutcome, ...]:
    """Every call of a sprint with what came of it."""
    events = counted(history)
    done: defaultdict[Answer, list[int]] = defaultdict(list)
    for number, one in enumerate(events):
        for answer in _answers(setup, one.event):
            done[answer].append(number)

    def after(number: int, answer: Answer) -> float | None:
        """Seconds from an event to the next such answer, if that is soon."""
        times = done.get(answer, [])
        at = bisect_right(times, number)
        seconds = events[times[at]].t - events[number].t if at < len(times) else SOON + 1
        return seconds if seconds <= SOON else None

    found = []
    for number, one in enumerate(events):
        call = one.event
        if not isinstance(call, CallMade):
            continue
        wanted = _wanted(setup, call)
        if call.cause == UPLOAD_DUE and any(at < number for at in done[_UPLOADED][:1]):
            wanted = set()
        came = {
            answer: seconds for answer in wanted if (seconds := after(number, answer)) is not None
        }
        closed = sum(what == "closed" for what, _ in came)
        acted_on = bool(came) if wanted else None
        found.append(CallOutcome(one.t, call, closed, acted_on, min(came.values(), default=None)))
    return tuple(found)


def _wanted(setup: Setup, call: CallMade) -> set[Answer]:
    """What a call asks for, any of it."""
    if call.items:
        wanted = {("closed", key) for key in call.items}
        if call.cause == LATEST_START:
            wanted |= {("entered", setup.phase_of(Key(key).item)) for key in call.items}
        return wanted
    asks: dict[str, set[Answer]] = {
        UPLOAD_DUE: {_UPLOADED},
        FALLEN: {_RECOVERED, _DROPPED},
        RESERVE_EATEN: {("entered", CLOSING_ID)},
        CUT_OFF: {_ORDERED, _MOVED},
    }
    return asks.get(call.cause, set())


def _answers(setup: Setup, event: Event) -> Iterator[Answer]:
    """What an event does that a call may have asked for."""
    match event:
        case ItemMet() | ItemWaived():
            yield "closed", event.item
            if isinstance(event, ItemMet) and _is_upload(setup, event):
                yield _UPLOADED
        case PhaseEntered():
            yield "entered", event.phase
        case FeatureDropped() | ItemDeferred():
            yield _DROPPED
        case CutOffMoved():
            yield from (_DROPPED, _MOVED)
        case ForecastMade() if event.because == RECOVERED:
            yield _RECOVERED
        case Ended() if event.accepted:
            yield _ORDERED


def _is_upload(setup: Setup, event: ItemMet) -> bool:
    """Whether this is the first upload; a house rule may have the word in its id too."""
    item = Key(event.item).item
    return "upload" in item and setup.phase_of(item) == CLOSING_ID
