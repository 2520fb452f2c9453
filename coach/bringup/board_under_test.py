"""The board of one journal as the bench asks for it: its rails, its values and who gave them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from coach.bringup.sheet import BRIEF, CALCULATED, NOTHING
from coach.history.read_sprint import SprintRead
from coach.sprint.events.naming import Naming
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.ledger import FALLBACKS
from coach.sprint.state import SavedCalculation, State
from phases.kit.bounds import FAIL
from phases.kit.expected import Expected
from phases.kit.facts import BOARD, FactValue, match
from phases.kit.grammar import capital
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.text import one_line


@dataclass(frozen=True, slots=True)
class Given:
    """A value, what it rests on, and in words where it comes from."""

    spread: Spread
    basis: str
    why: str


@dataclass(frozen=True)
class Figure:
    """What one point should show. names: for the words of the point."""

    expected: Expected | None = None
    basis: str = ""
    why: str = ""
    names: Mapping[str, str] = field(default_factory=dict)


class Board:
    """The board of a sprint as its journal leaves it."""

    def __init__(self, read: SprintRead) -> None:
        self.state: State = read.state
        self._naming = Naming(read.setup, read.history)

    # ---- its values ------------------------------------------------------------------------------

    @cached_property
    def saved(self) -> list[SavedCalculation]:
        """Calculations that are not stale, the first of each subject before labelled ones."""
        found = [one for one in self.state.calculations.values() if not one.stale]
        return sorted(found, key=lambda one: bool(one.id.label))

    def named(self, key: str) -> str:
        return capital(self._naming.calculation(key))

    def owner(self, saved: SavedCalculation) -> str:
        """A calculation in words, and that it fails where it does."""
        return self.named(saved.id) + (", which fails" if saved.record.verdict == FAIL else "")

    def absent(self, key: CalculationKey) -> str:
        """Why a calculation gives nothing."""
        saved = self.state.calculations.get(key)
        gone = f"is stale, {saved.stale}" if saved and saved.stale else "was not saved"
        return f"{self.named(key)} {gone}"

    @cached_property
    def calculated(self) -> Mapping[str, Given]:
        """What calculations gave, by its ledger name; a name is the first one's."""
        return {
            name: Given(value, CALCULATED, self.owner(one))
            for one in reversed(self.saved)
            for name, value in one.record.published.items()
        }

    @cached_property
    def _in_brief(self) -> Mapping[str, Any]:
        return board_values(self.state)

    def brief(self, name: str, unit: str) -> Given | None:
        """A value of the brief, or what it has in its place: for a rail's voltage its window."""
        head, _, last = name.rpartition(".")
        text = self._in_brief.get(name, self._in_brief.get(f"{head}.{FALLBACKS.get(last)}"))
        try:
            return Given(read_quantity(text, unit), BRIEF, one_line(text)) if text else None
        except Refusal:
            return None

    def value(self, name: str, unit: str) -> Given | None:
        return self.calculated.get(name) or self.brief(name, unit)

    def figure(self, name: str, unit: str) -> Figure:
        """A value as what a point should show."""
        given = self.value(name, unit)
        if given is None:
            return Figure(Expected(unit=unit), NOTHING)
        ends = (given.spread.low, given.spread.typ, given.spread.high)
        return Figure(Expected.within(*ends, unit), given.basis, given.why)

    # ---- its facts and subjects ------------------------------------------------------------------

    def fact(self, name: str, subject: str = BOARD) -> FactValue | None:
        return self.state.knowledge.get(name, subject)

    def has(self, facts: Mapping[str, FactValue], subject: str) -> bool:
        return match((facts,), self.state.knowledge, subject) is True

    @cached_property
    def entries(self) -> list[str]:
        """The rails through which the board is supplied."""
        there = self.state.subjects
        return [one.id for one in there.values() if one.kind == "rail" and one.parent not in there]

    def below(self, rail: str) -> list[str]:
        """A rail and all that are made from it, each before its own."""
        rails = [one for one in self.state.subjects.values() if one.kind == "rail"]
        made = (below for one in rails if one.parent == rail for below in self.below(one.id))
        return [rail, *made]

    def subjects(self, kind: str) -> list[str]:
        """Ids of a kind; rails one supply after the other, each parent before its children."""
        if kind == "board":
            return [BOARD]
        if kind == "rail":
            return [rail for entry in self.entries for rail in self.below(entry)]
        return self.state.ids_of(kind)

    def title(self, subject: str) -> str:
        """A subject for a sentence: its id, with its title where that says more."""
        known = self.state.subjects.get(subject)
        title = one_line(known.title) if known else ""
        return f"{subject} ({title})" if title not in ("", subject) else subject

    def names(self, subject: str) -> dict[str, str]:
        """What the words of a point may name at a subject."""
        programming = one_line(self.state.setup.brief.board.programming)
        own = {"name": self.title(subject), "programming": programming}
        return {**own, **self.state.names_of(subject)}
