"""What is known of the board: facts, values, subjects, features."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import FiniteFloat

from coach.sprint.brief.document import Subject
from coach.sprint.events.event import Event
from phases.kit.facts import Knowledge, load_facts
from phases.kit.grammar import capital, count, sentence, yes_or_no
from phases.kit.items import load_changes
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
    from coach.sprint.state import State


class FactSet(Event):
    """A fact became known or changed; subject "" is the board."""

    subject: Line = ""
    fact: Line
    value: bool | FiniteFloat | Line

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        fact = load_facts().get(self.fact)
        if fact and fact.kind == "number" and not isinstance(self.value, float):
            raise ValueError("a number is asked for")
        known = state.knowledge.with_value(self.fact, self.value, self.subject)
        return state.with_(knowledge=known)

    def told(self, names: Naming) -> str:
        fact = load_facts().get(self.fact)
        question = fact.question if fact else f"{self.fact.replace('_', ' ')}:"
        whose = f"{names.subject(self.subject)}: " if self.subject else ""
        unit = f" {fact.unit}" if fact and fact.unit else ""
        return f"{whose}{question} {capital(yes_or_no(self.value))}{unit}."


class ValueDeclared(Event):
    """A value of the brief was changed: the ledger name and its new text or rows."""

    name: Line
    value: Line | tuple[dict[str, Line], ...]

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        value = self.value if isinstance(self.value, str) else [dict(row) for row in self.value]
        return state.with_(declared={**state.declared, self.name: value})

    def told(self, names: Naming) -> str:
        value = self.value
        words = value if isinstance(value, str) else count(len(value), "row")
        return f"Changed in the brief: {self.name} is now {words}."


class ChangeNoted(Event):
    """Something changed that no fact and no value shows."""

    change: Line

    moves_items: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        times = state.noted.get(self.change, 0) + 1
        return state.with_(noted={**state.noted, self.change: times})

    def told(self, names: Naming) -> str:
        change = load_changes().get(self.change)
        return f"Noted: {sentence(change.words if change else self.change)}"


class SubjectAdded(Event):
    id: Line
    kind: Literal["rail", "bus", "connector", "clock", "load"]
    parent: Line = ""
    title: Line = ""

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        subject = Subject(self.id, self.kind, self.parent, self.title or self.id)
        return state.with_(subjects={**state.subjects, self.id: subject})

    def told(self, names: Naming) -> str:
        return f"Added to the board: {names.subject(self.id)}, a {self.kind}."


class SubjectDropped(Event):
    id: Line

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        kept = {k: v for k, v in state.subjects.items() if k != self.id}
        return state.with_(subjects=kept)

    def told(self, names: Naming) -> str:
        return f"Taken off the board: {names.subject(self.id)}."


class FeatureDropped(Event):
    feature: Line

    def applied(self, state: State, t: float) -> State:
        return state.with_(dropped=state.dropped | {self.feature})

    def told(self, names: Naming) -> str:
        return f"Dropped: {sentence(names.feature(self.feature))}"


class FeatureRestored(Event):
    """A dropped feature came back."""

    feature: Line
    forgotten: tuple[Line, ...] = ()
    """Facts that dropping it set and nobody knew before."""

    moves_values: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        known = Knowledge.of(
            (place, fact, value)
            for place, fact, value in state.knowledge
            if place or fact not in self.forgotten
        )
        return state.with_(dropped=state.dropped - {self.feature}, knowledge=known)

    def told(self, names: Naming) -> str:
        return f"Back again: {sentence(names.feature(self.feature))}"
