"""Whether a call was heeded: told afterwards, from the history alone.

A call about items was heeded as far as they were closed soon after it, or their phase begun where
that was asked; one about the whole sprint, if what it asked for was done soon after. Calls that
only say the time ask for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.sprint.calls import CUT_OFF
from coach.sprint.events.board import FeatureDropped
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemMet, ItemSetAside, ItemWaived
from coach.sprint.events.phases import PhaseEntered
from coach.sprint.events.run import CallMade, CutOffMoved, Ended, ForecastMade
from coach.sprint.fold import taken_back
from coach.sprint.pace.marks import FALLEN, LATEST_START, RECOVERED, RESERVE_EATEN
from coach.sprint.setup import Setup
from phases.kit.items import CLOSING_ID

SOON = 15 * 60.0
"""Seconds within which what is done after a call is put down to it."""

UPLOAD_DUE = "first upload due"

_CLOSES = (ItemMet, ItemWaived)
_DROPS = (FeatureDropped, ItemSetAside, CutOffMoved)


@dataclass(frozen=True, slots=True)
class Heeded:
    """A call and what came of it. closed: how many of its items were closed soon after.

    heeded: None where the call asked for nothing. after: seconds until it was, or None.
    """

    t: float
    call: CallMade
    closed: int
    heeded: bool | None
    after: float | None


def heeded(setup: Setup, history: Sequence[Stamped]) -> tuple[Heeded, ...]:
    """Every call of a sprint with what came of it."""
    undone = taken_back(history)
    valid = [stamped for stamped in history if not stamped.is_void(undone)]
    return tuple(
        _told(setup, stamped, stamped.event, valid[:number], valid[number + 1 :])
        for number, stamped in enumerate(valid)
        if isinstance(stamped.event, CallMade)
    )


def _told(
    setup: Setup, made: Stamped, call: CallMade, earlier: Sequence[Stamped],
    later: Sequence[Stamped],
) -> Heeded:  # fmt: skip
    t = made.t
    soon = [s for s in later if s.t - t <= SOON]
    if call.items:
        return _about_items(setup, t, call, soon)
    answers = [s.t - t for s in soon if _answers(setup, call, s.event)]
    asks_nothing = call.cause in ("half", "quarter", "last five minutes", "last call")
    if asks_nothing or (
        call.cause == UPLOAD_DUE and any(_uploads(setup, s.event) for s in earlier)
    ):
        return Heeded(t, call, 0, None, None)
    return Heeded(t, call, 0, bool(answers), min(answers, default=None))


def _about_items(setup: Setup, t: float, call: CallMade, soon: Sequence[Stamped]) -> Heeded:
    wanted = set(call.items)
    items = [setup.items.get(key.partition("@")[0]) for key in wanted]
    phases = {item.phase for item in items if item} if call.cause == LATEST_START else set()
    closed: dict[str, float] = {}
    begun = []
    for stamped in soon:
        event, after = stamped.event, stamped.t - t
        if isinstance(event, _CLOSES) and event.item in wanted:
            closed.setdefault(event.item, after)
        if isinstance(event, PhaseEntered) and event.phase in phases:
            begun.append(after)
    first = min([*closed.values(), *begun], default=None)
    return Heeded(t, call, len(closed), first is not None, first)


def _answers(setup: Setup, call: CallMade, event: Event) -> bool:
    """Whether an event is what a call without items asked for."""
    if call.cause == UPLOAD_DUE:
        return _uploads(setup, event)
    if call.cause == FALLEN:
        recovered = isinstance(event, ForecastMade) and event.because == RECOVERED
        return recovered or isinstance(event, _DROPS)
    if call.cause == RESERVE_EATEN:
        return isinstance(event, PhaseEntered) and event.phase == CLOSING_ID
    if call.cause == CUT_OFF:
        ended = isinstance(event, Ended) and event.accepted
        return ended or isinstance(event, CutOffMoved)
    return False


def _uploads(setup: Setup, event: Event) -> bool:
    """Whether the first upload was made by this; a house rule may have the word in its id too."""
    if not isinstance(event, ItemMet) or "upload" not in event.item:
        return False
    item = setup.items.get(event.item.partition("@")[0])
    return item is not None and item.phase == CLOSING_ID
