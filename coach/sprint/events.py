"""Everything that happens in a sprint, as facts in the past tense.

One tagged union, told apart by `what`. An event carries all that is needed to retell it: the
fold that makes the state from events computes nothing. In the journal an event is a flat table:
its stamp (n, at, t, by) and its own keys.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import isfinite
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from phases.kit.refusals import Refusal
from phases.kit.text import Line, Text

VERSION = 1
"""Of the events; a journal from a newer version is refused."""


class Event(BaseModel):
    """What every event is: frozen, and strict about its keys."""

    # Built at first use: a sprint uses few kinds before its first frame.
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


# ---- the run ---------------------------------------------------------------------------------


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


# ---- phases and places -----------------------------------------------------------------------


class PhaseEntered(Event):
    """Work moved to a phase. left: the one before; skipped: essentials it was left with."""

    what: Literal["phase-entered"] = "phase-entered"
    phase: Line
    left: Line = ""
    skipped: tuple[Line, ...] = ()


class PhaseSignedOff(Event):
    """Every row of the phase's gate whose place is reached was closed, and it was signed off."""

    what: Literal["phase-signed-off"] = "phase-signed-off"
    phase: Line


class PhaseDrawn(Event):
    """The phase had been drawn before the sprint was joined."""

    what: Literal["phase-drawn"] = "phase-drawn"
    phase: Line


class PlaceReached(Event):
    """Items of this place can be seen from now on."""

    what: Literal["place-reached"] = "place-reached"
    place: Line


class Walked(Event):
    """A walk was gone through. of: the place or phase; asked, closed: how many items."""

    what: Literal["walked"] = "walked"
    of: Line
    asked: int
    closed: int


class StepByStepSet(Event):
    """A phase was switched to step by step, or back to working from the head."""

    what: Literal["step-by-step-set"] = "step-by-step-set"
    phase: Line
    on: bool


# ---- items -----------------------------------------------------------------------------------


class ItemMet(Event):
    """An item was met. auto: by a calculation that passed and its parts drawn.

    rests: the facts, values and noted changes it hangs on, as they stood then.
    restored: it stands again as before it was reopened, because a value was put back.
    """

    what: Literal["item-met"] = "item-met"
    item: Line
    evidence: Literal["calculated", "data sheet", "inspected", "measured"]
    page: Line = ""
    figure: Line = ""
    marginal: bool = False
    auto: bool = False
    rests: dict[str, Line] = {}
    restored: bool = False


class ItemWaived(Event):
    """An item was waived. rests, restored: as for one that was met."""

    what: Literal["item-waived"] = "item-waived"
    item: Line
    reason: Line
    rests: dict[str, Line] = {}
    restored: bool = False


class ItemReopened(Event):
    """A met or waived item was opened again.

    doubt: what it rests on changed, and its evidence may still hold.
    """

    what: Literal["item-reopened"] = "item-reopened"
    item: Line
    because: Line
    doubt: bool = False


class ItemSetAside(Event):
    """A further item was set aside: nothing asks for it until it is taken back."""

    what: Literal["item-set-aside"] = "item-set-aside"
    item: Line


class ItemTakenBack(Event):
    """A further item that was set aside is asked for again."""

    what: Literal["item-taken-back"] = "item-taken-back"
    item: Line


# ---- what is known of the board ---------------------------------------------------------------


class FactSet(Event):
    """A fact became known or changed; subject "" is the board."""

    what: Literal["fact-set"] = "fact-set"
    subject: Line = ""
    fact: Line
    value: bool | float | Line


class ValueDeclared(Event):
    """A value of the brief was changed: the ledger name and its new text or rows."""

    what: Literal["value-declared"] = "value-declared"
    name: Line
    value: Line | tuple[dict[str, Line], ...]


class ChangeNoted(Event):
    """Something changed that no fact and no value shows."""

    what: Literal["change-noted"] = "change-noted"
    change: Line


class SubjectAdded(Event):
    what: Literal["subject-added"] = "subject-added"
    id: Line
    kind: Literal["rail", "bus", "connector", "clock", "load"]
    parent: Line = ""
    title: Line = ""


class SubjectDropped(Event):
    what: Literal["subject-dropped"] = "subject-dropped"
    id: Line


class FeatureDropped(Event):
    what: Literal["feature-dropped"] = "feature-dropped"
    feature: Line


class FeatureRestored(Event):
    """A dropped feature came back. forgotten: facts that dropping it set and nobody knew before."""

    what: Literal["feature-restored"] = "feature-restored"
    feature: Line
    forgotten: tuple[Line, ...] = ()


# ---- calculations and what they imply ---------------------------------------------------------


class CalculationSaved(Event):
    """A calculation was saved. id: calculator, subject and label; record: all it answered."""

    what: Literal["calculation-saved"] = "calculation-saved"
    id: Line
    record: dict[str, Any]


class CalculationRecomputed(Event):
    """A saved calculation was run again because `because`. held: no verdict got worse."""

    what: Literal["calculation-recomputed"] = "calculation-recomputed"
    id: Line
    because: Line
    held: bool
    says: Line
    record: dict[str, Any]


class CalculationStale(Event):
    """A saved calculation could not be run again: what is missing."""

    what: Literal["calculation-stale"] = "calculation-stale"
    id: Line
    missing: Line


class CalculationRemoved(Event):
    what: Literal["calculation-removed"] = "calculation-removed"
    id: Line


class PartDrawn(Event):
    """A part that a calculation implies was drawn, as these words said it."""

    what: Literal["part-drawn"] = "part-drawn"
    id: Line
    role: Line
    words: Line


# ---- thoughts --------------------------------------------------------------------------------


class ThoughtParked(Event):
    what: Literal["thought-parked"] = "thought-parked"
    number: int
    text: Text


class ThoughtSettled(Event):
    what: Literal["thought-settled"] = "thought-settled"
    number: int


AnyEvent = Annotated[
    Started | Resumed | Left | TailCut | EditAccepted | ClockStepped | CutOffMoved | Interrupted
    | CallMade | ForecastMade | Quieted | Undone | Ended
    | PhaseEntered | PhaseSignedOff | PhaseDrawn | PlaceReached | Walked | StepByStepSet
    | ItemMet | ItemWaived | ItemReopened | ItemSetAside | ItemTakenBack
    | FactSet | ValueDeclared | ChangeNoted | SubjectAdded | SubjectDropped
    | FeatureDropped | FeatureRestored
    | CalculationSaved | CalculationRecomputed | CalculationStale | CalculationRemoved | PartDrawn
    | ThoughtParked | ThoughtSettled,
    Field(discriminator="what"),
]  # fmt: skip

_STAMP = ("n", "at", "t", "by")


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event in its place: number, wall time, elapsed seconds, and the command it came from.

    by: the number of the person's command, 0 for what the coach did by itself.
    """

    n: int
    at: datetime
    t: float
    by: int
    event: Event

    def to_plain(self) -> dict[str, Any]:
        """The flat table of the journal; keys at their default are left out, but for `what`."""
        fields = self.event.model_dump(mode="python", exclude_defaults=True)
        fields = {k: list(v) if isinstance(v, tuple) else v for k, v in fields.items()}
        what = {"what": self.event.what}  # type: ignore[attr-defined]  # each event has its own
        return {"n": self.n, "at": self.at, "t": round(self.t, 3), "by": self.by, **what, **fields}


@cache
def _adapter() -> TypeAdapter[Event]:
    return TypeAdapter(AnyEvent)


def stamped(plain: Mapping[str, Any], *, where: str = "journal") -> Stamped:
    """An event from its table in a journal. Raises Refusal where it is none of ours."""
    own = {k: v for k, v in plain.items() if k not in _STAMP}
    try:
        event = _adapter().validate_python(own)
        n, at, t, by = int(plain["n"]), plain["at"], float(plain["t"]), int(plain["by"])
        if not isinstance(at, datetime) or at.tzinfo is None or not isfinite(t):
            raise ValueError("no moment in time")
        return Stamped(n, at, t, by, event)
    except (ValidationError, KeyError, TypeError, ValueError, OverflowError):
        number = plain.get("n", "?")
        raise Refusal(
            f"Event {number} ({own.get('what', 'without a name')}) is not one this coach knows",
            where=where,
            do="Open it with the coach that wrote it, or see what is whole with coach verify",
        ) from None
