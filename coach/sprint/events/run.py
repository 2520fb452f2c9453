"""The run itself: its clock, its calls and forecasts, notes, undo, its end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from coach.sprint.chances import in_ten
from coach.sprint.clock import Seconds
from coach.sprint.durations import duration, elapsed
from coach.sprint.events.event import Chance, Event
from phases.kit.grammar import clause, count, sentence
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
from typing import TYPE_CHECKING

from coach.sprint.state import Note, State
from phases.kit.text import Text

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming


class Started(Event):
    """The sprint began; its header holds the brief and the items."""

    def told(self, names: Naming) -> str:
        return f"The sprint began: {names.setup.brief.title}."


class Resumed(Event):
    """The coach was opened again on this journal."""

    gap: Seconds
    """Seconds since its last event."""

    kept: ClassVar[bool] = True

    def told(self, names: Naming) -> str:
        return f"The coach was opened again, {duration(self.gap)} after the last event."


class CoachClosed(Event):
    """The coach was closed; the sprint goes on."""

    def told(self, names: Naming) -> str:
        return "The coach was closed; the sprint went on."


class TailCut(Event):
    """A torn last block was cut off on opening; it is kept aside."""

    size: int
    kept_in: Line

    def told(self, names: Naming) -> str:
        size = count(self.size, "byte")
        return f"Damaged end ({size}) removed; saved in {self.kept_in}."


class EditAccepted(Event):
    """Blocks of the journal had been edited after they were written, and were taken as they are."""

    blocks: tuple[int, ...]

    def told(self, names: Naming) -> str:
        blocks = ", ".join(map(str, self.blocks))
        return f"The journal had been edited and was taken as it is: block {blocks}."


class ClockStepped(Event):
    """The wall clock moved without that time having passed, or the machine slept."""

    seconds: Seconds
    kind: Line
    """"step" or "sleep"."""
    deadline: Seconds
    """Elapsed seconds at which the cut-off stood then."""
    shift: Seconds = 0.0
    """By how much the cut-off moved with it, because an earlier move may be taken back later."""

    stays: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        return state.with_(deadline=state.deadline + self.shift)

    def told(self, names: Naming) -> str:
        if self.kind == "sleep":
            return f"The machine slept for {duration(self.seconds)}."
        way = "forward" if self.seconds > 0 else "back"
        return f"The wall clock was set {way} by {duration(self.seconds)}."


class CutOffMoved(Event):
    """The cut-off was moved."""

    deadline: Seconds
    """Elapsed seconds at which it is now."""
    message: Line
    why: Line = ""
    at_an_instant: bool = False
    """It is a time of day now, so that a corrected wall clock moves what is left."""

    def applied(self, state: State, t: float) -> State:
        return state.with_(deadline=self.deadline, at_an_instant=self.at_an_instant)

    def told(self, names: Naming) -> str:
        return sentence(self.message) + (f" Reason: {sentence(self.why)}" if self.why else "")


class Interrupted(Event):
    """The time since `since` (elapsed seconds) went to something else."""

    since: Seconds

    def applied(self, state: State, t: float) -> State:
        lost = max(t - self.since, 0.0)
        spent = max(state.used.get(state.phase, 0.0) - lost, 0.0)
        used = {**state.used, state.phase: spent}
        return state.with_(used=used, interrupted=state.interrupted + lost)

    def told(self, names: Naming) -> str:
        return f"Interruption from {elapsed(self.since)}, not counted."


class CallMade(Event):
    """The coach said something unasked."""

    cause: Line
    message: Line
    items: tuple[Line, ...] = ()
    """The keys of the items it was about."""
    rings: bool = True

    kept: ClassVar[bool] = True
    stays: ClassVar[bool] = True

    def told(self, names: Naming) -> str:
        return f"Call{'' if self.rings else ' (silent)'}: {sentence(self.message)}"


class ForecastMade(Event):
    """A forecast worth keeping, so that it can be judged by what came."""

    checkpoint: int = 0
    """The per cent of the sprint it belongs to, 0 where it changed a call."""
    because: Line = ""
    """Which call it changed."""
    chance_essentials: Chance
    """Of having all essentials by the cut-off."""
    chance_all: Chance
    """Of having everything."""
    expected: Seconds
    """Elapsed seconds at the finish."""
    low: Seconds
    """The lower end of its 80 % band."""
    high: Seconds
    costliest: Line = ""
    """The phase that costs most."""
    pace: Annotated[float, Field(ge=0, le=1000)]
    draws: int
    seed: int

    kept: ClassVar[bool] = True

    def told(self, names: Naming) -> str:
        at = [f"at {self.checkpoint} % of the time"] if self.checkpoint else []
        when = ", ".join(at + ([self.because] if self.because else []))
        ends = f"{elapsed(self.low)} to {elapsed(self.high)}, expected {elapsed(self.expected)}"
        return (
            f"Forecast, {when}: all essentials by the cut-off "
            f"{in_ten(self.chance_essentials)}, everything {in_ten(self.chance_all)}; "
            f"done at {ends}."
        )


class HabitsRecalled(Event):
    """What this person keeps forgetting was recalled from earlier sprints."""

    items: dict[Line, tuple[int, int]]
    """By item id, in how many of the last so many sprints that had it on the board."""

    def applied(self, state: State, t: float) -> State:
        return state.with_(habits=self.items)

    def told(self, names: Naming) -> str:
        told = (
            f"{clause(names.item(item))} ({missed} of {of})"
            for item, (missed, of) in self.items.items()
        )
        return f"Forgotten in earlier sprints, asked first: {'; '.join(told)}."


class Quieted(Event):
    """Calls stopped ringing, or rang again."""

    quiet: bool

    def applied(self, state: State, t: float) -> State:
        return state.with_(quiet=self.quiet)

    def told(self, names: Naming) -> str:
        return "Calls muted." if self.quiet else "Calls on."


class Undone(Event):
    """A whole command was taken back."""

    command: int
    message: Line

    stays: ClassVar[bool] = True

    def told(self, names: Naming) -> str:
        return f"Undone: {sentence(self.message)}"


class Ended(Event):
    """The sprint ended."""

    accepted: bool
    """The order was accepted and paid."""
    message: Line = ""

    stays: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        return state.with_(ended=True, accepted=self.accepted, ended_at=t)

    def told(self, names: Naming) -> str:
        return end_words(accepted=self.accepted)


def end_words(when: str = "", *, accepted: bool) -> str:
    """The end in a sentence. when: "3 min before the cut-off", or nothing."""
    end = "The order was accepted and paid" if accepted else "The sprint ended without an order"
    return f"{end} {when}".rstrip() + "."


# ---- notes -----------------------------------------------------------------------------------


class NoteParked(Event):
    number: int
    text: Text

    def applied(self, state: State, t: float) -> State:
        return state.with_(notes=(*state.notes, Note(self.number, self.text, t)))

    def told(self, names: Naming) -> str:
        return f"Parked: {sentence(' '.join(self.text.split()))}"


class NoteSettled(Event):
    number: Annotated[int, Field(ge=1)]

    def applied(self, state: State, t: float) -> State:
        notes, at = [*state.notes], self.number - 1  # they are numbered as they come
        if at < len(notes):  # else of a journal that was edited by hand
            notes[at] = notes[at].settled_now()
        return state.with_(notes=tuple(notes))

    def told(self, names: Naming) -> str:
        return f"Note {self.number} done."
