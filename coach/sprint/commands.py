"""What a person (or the simulated engineer, or a wire) can ask for: plain data, no behaviour.

The rules turn a command and a state into events; see `coach.sprint.rules`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Command:
    """Any of the below."""


@dataclass(frozen=True, slots=True)
class Afterwards(Command):
    """What is said once the sprint has ended; only then, and nothing else is."""


@dataclass(frozen=True, slots=True)
class EnterPhase(Command):
    phase: str


@dataclass(frozen=True, slots=True)
class SignOff(Command):
    phase: str


@dataclass(frozen=True, slots=True)
class JoinLate(Command):
    """The phase was drawn before the coach came in."""

    phase: str


@dataclass(frozen=True, slots=True)
class ReachStage(Command):
    stage: str


@dataclass(frozen=True, slots=True)
class FinishWalk(Command):
    """A walk was gone through to its end, or left; of: a stage, a phase, or "last"."""

    of: str
    asked: int
    closed: int


@dataclass(frozen=True, slots=True)
class SetStepByStep(Command):
    phase: str
    on: bool


@dataclass(frozen=True, slots=True)
class Meet(Command):
    """item: "id" or "id@subject". evidence: empty for the item's first kind done by looking."""

    item: str
    evidence: str = ""
    page: str = ""
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Waive(Command):
    item: str
    reason: str


@dataclass(frozen=True, slots=True)
class Reopen(Command):
    item: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class Defer(Command):
    """More checks put off for want of time: nobody asks for them; items: their keys."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TakeUp(Command):
    """More checks that were deferred are asked for again."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Dismiss(Command):
    """Not on this board: sets the fact the item asks, which closes its siblings too."""

    item: str


@dataclass(frozen=True, slots=True)
class Affirm(Command):
    """It is there: answers the item's question with yes, or with the value given."""

    item: str
    value: bool | float | str = True


@dataclass(frozen=True, slots=True)
class SetFact(Command):
    fact: str
    value: bool | float | str
    subject: str = ""


@dataclass(frozen=True, slots=True)
class DeclareValue(Command):
    """Change a value of the brief, by its ledger name: its new text, or rows."""

    name: str
    value: Any


@dataclass(frozen=True, slots=True)
class NoteChange(Command):
    """Something changed that no fact and no value shows (phases/changes.toml)."""

    change: str


@dataclass(frozen=True, slots=True)
class AddSubject(Command):
    """values: what the brief would say of it: voltage, current of a rail; frequency, tolerance of
    a clock; typical, peak, duty, count of a load."""

    id: str
    kind: str
    parent: str = ""
    title: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DropSubject(Command):
    id: str


@dataclass(frozen=True, slots=True)
class DropFeature(Command):
    feature: str


@dataclass(frozen=True, slots=True)
class RestoreFeature(Command):
    feature: str


@dataclass(frozen=True, slots=True)
class SaveCalculation(Command):
    """given: what hand and proposal gave, by field; all else comes from ledger or default."""

    calculator: str
    subject: str = ""
    label: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RemoveCalculation(Command):
    id: str


@dataclass(frozen=True, slots=True)
class Draw(Command):
    """Parts are drawn now: (calculation id, role) of each."""

    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Park(Command):
    text: str


@dataclass(frozen=True, slots=True)
class Settle(Command):
    number: int


@dataclass(frozen=True, slots=True)
class MoveCutOff(Command):
    """to: as typed ("15:36", "+20 min", "90 min")."""

    to: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Interrupt(Command):
    """The time since the last event went to something else."""


@dataclass(frozen=True, slots=True)
class SetQuiet(Command):
    quiet: bool


@dataclass(frozen=True, slots=True)
class Undo(Command):
    """Take back the last command whole."""


@dataclass(frozen=True, slots=True)
class End(Command):
    accepted: bool


@dataclass(frozen=True, slots=True)
class MeasurePoint(Afterwards):
    """A reading at a point of a board, as typed; it is read in `unit` and held against low .. high.

    unit: "" where the reading is words; low, high: SI (°C), None where nothing is expected.
    """

    board: str
    point: str
    title: str
    text: str
    unit: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class MeasurePoints(Afterwards):
    """Readings that belong together, as those of a file: all of them, or none."""

    points: tuple[MeasurePoint, ...]


@dataclass(frozen=True, slots=True)
class WithdrawMeasurement(Afterwards):
    board: str
    point: str


@dataclass(frozen=True, slots=True)
class NoteFinding(Afterwards):
    """A fault that was found late. item: the key of the item that let it through, or empty.

    minutes: the time it cost, as typed ("25", "25 min", "1.5 h"), or empty.
    """

    fault: str
    item: str = ""
    board: str = ""
    minutes: str = ""
    bodge: str = ""


@dataclass(frozen=True, slots=True)
class WithdrawFinding(Afterwards):
    number: int


@dataclass(frozen=True, slots=True)
class MakeItemOf(Afterwards):
    """A finding was written into the house rules as an item of its own."""

    number: int
    item: str
    kept_in: str
