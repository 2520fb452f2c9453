"""Calculations and the parts they imply."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from coach.sprint.events.event import Event
from coach.sprint.keys import CalculationKey
from coach.sprint.state import SavedCalculation, State
from phases.kit.bounds import FAIL, MARGINAL
from phases.kit.grammar import sentence
from phases.kit.record import Record
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming


class CalculationSaved(Event):
    """A calculation was saved. id: calculator, subject and label; record: all it answered."""

    id: Line
    record: Record

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        return _saved(state, SavedCalculation(CalculationKey(self.id), self.record, t))

    def told(self, names: Naming) -> str:
        return f"Calculated: {names.calculation(self.id)}. {_verdicts_of(self.record)}"


class CalculationRecomputed(Event):
    """A saved calculation was run again."""

    id: Line
    because: Line
    held: bool
    """No verdict got worse."""
    message: Line
    record: Record

    kept: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        return _saved(
            state,
            SavedCalculation(CalculationKey(self.id), self.record, t, recomputed=self.message),
        )

    def told(self, names: Naming) -> str:
        name = names.calculation(self.id)
        return f"Run again: {name}, because {self.because}: {sentence(self.message)}"


class CalculationStale(Event):
    """A saved calculation could not be run again: what is missing."""

    id: Line
    missing: Line

    def applied(self, state: State, t: float) -> State:
        saved = state.calculations.get(self.id)
        # Of a journal that was edited by hand there may be none.
        return _saved(state, replace(saved, stale=self.missing)) if saved else state

    def told(self, names: Naming) -> str:
        return f"Cannot be run again: {names.calculation(self.id)}. {sentence(self.missing)}"


class CalculationRemoved(Event):
    id: Line

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        kept = {k: v for k, v in state.calculations.items() if k != self.id}
        return state.with_(calculations=kept)

    def told(self, names: Naming) -> str:
        return f"Calculation removed: {names.calculation(self.id)}."


class PartDrawn(Event):
    """A part that a calculation implies was drawn, as these words said it."""

    id: Line
    role: Line
    words: Line

    moves_items: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        return state.with_(drawn={**state.drawn, (self.id, self.role): self.words})

    def told(self, names: Naming) -> str:
        return f"Drawn: {sentence(self.words)}"


def _saved(state: State, saved: SavedCalculation) -> State:
    return state.with_(calculations={**state.calculations, saved.id: saved})


def _verdicts_of(record: Record) -> str:
    """The limits that fail or are marginal, or that all pass."""
    if record.verdict not in (FAIL, MARGINAL):
        return "All limits pass."
    says = [sentence(one.message) for one in record.limits if one.verdict == record.verdict]
    return f"{'Fails' if record.verdict == FAIL else 'Marginal'}: {' '.join(says)}"
