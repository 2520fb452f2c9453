"""What a person (or the simulated engineer, or a wire) can ask for: plain data, no behaviour.

The rules turn a command and a state into events; see `coach.sprint.rules`.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

Command = NamedTuple
"""Any of the below: a tuple is made eight times as fast as a dataclass, before the first frame."""

_NONE: Mapping[str, Any] = MappingProxyType({})


class EnterPhase(NamedTuple):
    phase: str


class SignOff(NamedTuple):
    phase: str


class JoinLate(NamedTuple):
    """The phase was drawn before the coach came in."""

    phase: str


class ReachStage(NamedTuple):
    stage: str


class FinishWalk(NamedTuple):
    """A walk was gone through to its end, or left; of: a stage, a phase, or "last"."""

    of: str
    asked: int
    closed: int


class SetStepByStep(NamedTuple):
    phase: str
    on: bool


class Meet(NamedTuple):
    """item: "id" or "id@subject". evidence: empty for the item's first kind done by looking."""

    item: str
    evidence: str = ""
    page: str = ""
    figure: str = ""


class Waive(NamedTuple):
    item: str
    reason: str


class Reopen(NamedTuple):
    item: str
    because: str = ""


class Defer(NamedTuple):
    """More checks put off for want of time: nobody asks for them; items: their keys."""

    items: tuple[str, ...]


class TakeUp(NamedTuple):
    """More checks that were deferred are asked for again."""

    items: tuple[str, ...]


class Dismiss(NamedTuple):
    """Not on this board: sets the fact the item asks, which closes its siblings too."""

    item: str


class Affirm(NamedTuple):
    """It is there: answers the item's question with yes, or with the value given."""

    item: str
    value: bool | float | str = True


class SetFact(NamedTuple):
    fact: str
    value: bool | float | str
    subject: str = ""


class DeclareValue(NamedTuple):
    """Change a value of the brief, by its ledger name: its new text, or rows."""

    name: str
    value: Any


class NoteChange(NamedTuple):
    """Something changed that no fact and no value shows (phases/changes.toml)."""

    change: str


class AddSubject(NamedTuple):
    """values: what the brief would say of it: voltage, current of a rail; frequency, tolerance of
    a clock; typical, peak, duty, count of a load."""

    id: str
    kind: str
    parent: str = ""
    title: str = ""
    facts: Mapping[str, Any] = _NONE
    values: Mapping[str, Any] = _NONE


class DropSubject(NamedTuple):
    id: str


class DropFeature(NamedTuple):
    feature: str


class RestoreFeature(NamedTuple):
    feature: str


class SaveCalculation(NamedTuple):
    """given: what hand and proposal gave, by field; all else comes from ledger or default."""

    calculator: str
    subject: str = ""
    label: str = ""
    given: Mapping[str, Any] = _NONE


class ConfirmFigures(NamedTuple):
    """My part is no worse than these: assumed figures of one part of a saved calculation.

    id: the calculation. fields: of its inputs, those that were shown.
    """

    id: str
    fields: tuple[str, ...]


class RemoveCalculation(NamedTuple):
    id: str


class Draw(NamedTuple):
    """Parts are drawn now: (calculation id, role) of each."""

    parts: tuple[tuple[str, str], ...]


class Park(NamedTuple):
    text: str


class Settle(NamedTuple):
    number: int


class MoveCutOff(NamedTuple):
    """to: as typed ("15:36", "+20 min", "90 min")."""

    to: str
    why: str = ""


class Interrupt(NamedTuple):
    """The time since the last event went to something else."""


class SetQuiet(NamedTuple):
    quiet: bool


class Undo(NamedTuple):
    """Take back the last command whole."""


class End(NamedTuple):
    accepted: bool


class MeasurePoint(NamedTuple):
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


class MeasurePoints(NamedTuple):
    """Readings that belong together, as those of a file: all of them, or none."""

    points: tuple[MeasurePoint, ...]


class WithdrawMeasurement(NamedTuple):
    board: str
    point: str


class NoteFinding(NamedTuple):
    """A fault that was found late. item: the key of the item that let it through, or empty.

    minutes: the time it cost, as typed ("25", "25 min", "1.5 h"), or empty.
    """

    fault: str
    item: str = ""
    board: str = ""
    minutes: str = ""
    bodge: str = ""


class WithdrawFinding(NamedTuple):
    number: int


class MakeItemOf(NamedTuple):
    """A finding was written into the house rules as an item of its own."""

    number: int
    item: str
    kept_in: str
