"""Events of the run itself: its clock, its calls and forecasts, its end."""

from __future__ import annotations

from typing import Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Line


class Started(Event):
    """The sprint began; its header holds the brief and the items."""

    what: Literal["started"] = "started"


class Resumed(Event):
    """The coach was opened again on this journal, `gap` seconds after its last event."""

    what: Literal["resumed"] = "resumed"
    gap: float


class Left(Event):
    """The coach was closed; the sprint goes on."""

    what: Literal["left"] = "left"


class TailCut(Event):
    """A torn last block was cut off on opening; it is kept aside."""

    what: Literal["tail-cut"] = "tail-cut"
    size: int
    kept_in: Line


class EditAccepted(Event):
    """Blocks of the journal had been edited after they were written, and were taken as they are."""

    what: Literal["edit-accepted"] = "edit-accepted"
    blocks: tuple[int, ...]


class ClockStepped(Event):
    """The wall clock moved by `seconds` without that time having passed, or the machine slept.

    shift: by how much the cut-off moved with it. deadline: where it stood then. Both in elapsed
    seconds; the fold takes the shift, because an earlier move may be taken back later.
    """

    what: Literal["clock-stepped"] = "clock-stepped"
    seconds: float
    kind: Line
    deadline: float
    shift: float = 0.0


class CutOffMoved(Event):
    """The cut-off was moved to `deadline` seconds after the start.

    at_an_instant: it is a time of day now, so that a corrected wall clock moves what is left.
    """

    what: Literal["cut-off-moved"] = "cut-off-moved"
    deadline: float
    says: Line
    why: Line = ""
    at_an_instant: bool = False


class Interrupted(Event):
    """The time since `since` (elapsed seconds) went to something else."""

    what: Literal["interrupted"] = "interrupted"
    since: float


class CallMade(Event):
    """The coach said something unasked. items: the ones it was about."""

    what: Literal["call-made"] = "call-made"
    cause: Line
    says: Line
    items: tuple[Line, ...] = ()
    rings: bool = True


class ForecastMade(Event):
    """A forecast worth keeping, so that it can be judged by what came.

    mark: the per cent of the sprint it belongs to, 0 where it changed a call; because: which.
    chances: of having all essentials, and everything, by the cut-off. expected, low, high:
    elapsed seconds at the finish and its 80 % band. costliest: the phase that costs most.
    """

    what: Literal["forecast-made"] = "forecast-made"
    mark: int = 0
    because: Line = ""
    chance_essentials: float
    chance_all: float
    expected: float
    low: float
    high: float
    costliest: Line = ""
    pace: float
    draws: int
    seed: int


class HabitsRecalled(Event):
    """What this person keeps forgetting was recalled from earlier sprints.

    items: by id, in how many of the last `of` sprints that had it on the board it was forgotten.
    """

    what: Literal["habits-recalled"] = "habits-recalled"
    items: dict[Line, tuple[int, int]]


class Quieted(Event):
    """Calls stopped ringing, or rang again."""

    what: Literal["quieted"] = "quieted"
    quiet: bool


class Undone(Event):
    """A whole command was taken back."""

    what: Literal["undone"] = "undone"
    command: int
    says: Line


class Ended(Event):
    """The sprint ended. accepted: the order was accepted and paid."""

    what: Literal["ended"] = "ended"
    accepted: bool
    says: Line = ""
