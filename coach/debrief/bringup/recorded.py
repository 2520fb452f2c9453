"""What the journal holds for the bench: records, published values, brief and facts.

Records are plain data that may be forged or odd: each value is read defensively, and what is not
in shape is as if it were not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from coach.history.read_sprint import FORGED
from coach.sprint.board_values import board_values
from coach.sprint.brief.document import Subject
from coach.sprint.state import Saved, State
from phases.kit.bounds import FAIL
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.text import line


@dataclass(frozen=True, slots=True)
class Published:
    """A value and the calculation that gave it. output: its name there, "" where it is not told.
    title, unit: of that output. fails: the calculation does not hold."""

    name: str
    value: Spread
    owner: str
    output: str = ""
    title: str = ""
    unit: str = ""
    fails: bool = False


@dataclass(frozen=True)
class Recorded:
    """One state, asked by the rooms of the planning."""

    state: State

    # ---- calculations --------------------------------------------------------------------------

    @cached_property
    def saved(self) -> tuple[Saved, ...]:
        """Calculations that can be told, not stale, the first of each subject before labelled."""
        found = [one for one in self.state.calculations.values() if not one.stale]
        return tuple(sorted(found, key=lambda one: bool(one.id.label)))

    def of(self, calculator: str, subject: str | None = None) -> list[Saved]:
        """The saved calculations of a calculator, at one subject or anywhere."""
        return [
            one
            for one in self.saved
            if one.calculator == calculator and subject in (None, one.subject)
        ]

    def why_not(self, calculator: str, subject: str = "") -> str:
        """Why a calculation gives nothing: it is stale, or was not saved."""
        name = f"{calculator}@{subject}" if subject else calculator
        for one in self.state.calculations.values():
            if one.stale and (one.id == name or one.id.startswith(f"{name}.")):
                return f"{line(one.id)} is stale, {line(one.stale)}"
        return f"{name} was not saved"

    @cached_property
    def published(self) -> Mapping[str, Published]:
        """Every value by its ledger name; the first calculation that gives one keeps it."""
        found: dict[str, Published] = {}
        for one in self.saved:
            for name, output, value in one.record.gave():
                made = one.record.outputs[output]
                fails = one.record.verdict == FAIL
                known = Published(name, value, one.id, output, made.title, made.unit, fails)
                found.setdefault(name, known)
        return found

    # ---- the brief and the facts -------------------------------------------------------------

    @cached_property
    def values(self) -> Mapping[str, Any]:
        """The brief's values as the board stands now."""
        try:
            return board_values(self.state)
        except FORGED:
            return {}

    def given(self, name: str, unit: str) -> Spread | None:
        """A value of the brief, read; None where there is none or it cannot be read."""
        text = self.values.get(name)
        return read(text, unit)

    def fact(self, name: str, subject: str = "") -> Any:
        return self.state.knowledge.get(name, subject)

    def subjects(self, kind: str) -> list[Subject]:
        return [one for one in self.state.subjects.values() if one.kind == kind]

    @cached_property
    def rails(self) -> tuple[Subject, ...]:
        """Parents before children, else in the order of the brief; a ring of parents ends it."""
        rails = self.subjects("rail")
        known = {rail.id for rail in rails}
        found: list[Subject] = []
        placed: set[str] = set()
        while len(found) < len(rails):
            ready = [
                rail
                for rail in rails
                if rail.id not in placed and (rail.parent in placed or rail.parent not in known)
            ]
            if not ready:
                ready = [rail for rail in rails if rail.id not in placed]
            found += ready
            placed |= {rail.id for rail in ready}
        return tuple(found)

    @property
    def entries(self) -> list[Subject]:
        """The rails through which the board is supplied."""
        known = {rail.id for rail in self.rails}
        return [rail for rail in self.rails if rail.parent not in known]

    def below(self, rail: str) -> list[Subject]:
        """A rail and every rail that hangs on it."""
        found = {rail}
        for one in self.rails:
            if one.parent in found:
                found.add(one.id)
        return [one for one in self.rails if one.id in found]

    def window(self, rail: str) -> Spread | None:
        return self.given(f"rail.{rail}.window", "V")

    def voltage(self, rail: str) -> Spread | None:
        """What a calculation gives for the rail, else its window."""
        computed = self.published.get(f"rail.{rail}.voltage")
        return computed.value if computed else self.window(rail)


def named(subject: Subject) -> str:
    """A subject for a sentence: its id, with its title where that says more."""
    title = line(subject.title)
    return f"{subject.id} ({title})" if title and title != subject.id else subject.id


def read(text: object, unit: str) -> Spread | None:
    """A quantity as it was typed; None where it cannot be read."""
    from phases.kit.notation import read_quantity

    if not isinstance(text, str):
        return None
    try:
        return read_quantity(text, unit)
    except Refusal:
        return None


def outputs(saved: Saved) -> Iterator[tuple[str, str, str, Spread]]:
    """Name, title, unit and figure of each single output of a record."""
    for name, entry in saved.record.outputs.items():
        if entry.spread is not None:
            yield name, entry.title, entry.unit, entry.spread


def output(saved: Saved, name: str) -> Spread | None:
    found = saved.record.outputs.get(name)
    return found.spread if found else None


def row(saved: Saved, name: str, label: str) -> Spread | None:
    """One row of an output that has rows."""
    found = saved.record.outputs.get(name)
    return found.row(label) if found else None


def taken(saved: Saved, name: str) -> Spread | None:
    """An input as it was read."""
    found = saved.record.inputs.get(name)
    return found.spread if found else None


def typed(saved: Saved, name: str) -> str:
    """An input as it was written."""
    found = saved.record.inputs.get(name)
    return line(found.text) if found else ""


def bound(saved: Saved, limit: str, scenario: str = "") -> float | None:
    """The bound of one limit, of the named scenario where it has several."""
    found = (one for one in saved.record.limits if one.name == limit)
    return next((one.bound for one in found if scenario in ("", one.scenario)), None)
