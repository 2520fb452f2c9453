"""The ledger: the values of this sprint by name, pulled lazily.

A name is given by the brief, by a person who changed the brief's value, or by exactly one saved
calculation. Outputs are the nodes, not calculations: asking for a name evaluates one output and
only the inputs it reads, so that loops that are only apparent never close.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from coach.sprint.keys import of_calculation
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.state import SavedCalculation, State
from phases.kit.calculator import Calculator, output
from phases.kit.catalogue import calculators
from phases.kit.facts import match
from phases.kit.frame import CORNERS, TYPICAL
from phases.kit.grids import row_labels
from phases.kit.inputs import Facts, Given, Lookup, Supply
from phases.kit.judging import figures_of
from phases.kit.record import Record, ledger_name
from phases.kit.refusals import Refusal
from phases.kit.say import show_spread
from phases.kit.spread import Spread

FALLBACKS = {"voltage": "window", "set_voltage": "window", "allowed": "current"}
"""What is taken instead of a value that is not known yet, by the last word of its name.

A rail has the voltage that the calculation making it computed, and the one its divider sets; until
one is saved, its declared window. So with what the source may give, until it is known what of it
the board may take.
"""


class Ledger:
    """The values of one state."""

    def __init__(self, state: State) -> None:
        self._state = state
        self._given = board_values(state)
        self._open: dict[str, Calculator] = {}
        self._pulled: dict[str, Supply | None] = {}
        self._pulling: list[str] = []

    def lookup(self, name: str) -> Supply | None:
        """The value of `name`; None where nobody has given it yet."""
        if name not in self._pulled:
            if name in self._pulling:
                chain = " -> ".join([*self._pulling, name])
                raise Refusal(f"{name} is needed to make itself ({chain})", do="Type it by hand")
            self._pulling.append(name)
            try:
                self._pulled[name] = self._pull(name)
            finally:
                self._pulling.pop()
        return self._pulled[name]

    def _pull(self, name: str) -> Supply | None:
        if name in self._owners:
            return self._evaluate(*self._owners[name])
        if name in self._given:
            return Supply(self._given[name], "brief", "brief")
        head, _, last = name.rpartition(".")
        if last in FALLBACKS:
            return self.lookup(f"{head}.{FALLBACKS[last]}")
        return None

    def _evaluate(self, calculation_id: str, declared: output, row: int) -> Supply | None:
        try:
            calculation = self.calculation(calculation_id)
            typical, corners = calculation.under(TYPICAL), calculation.under(CORNERS)
            figure = figures_of(declared, typical, corners)[row]
        except Refusal:
            return None  # stale: what it needs is missing, which its own recomputation says
        if math.isnan(figure.typ):
            return None
        spread = Spread(figure.low, figure.typ, figure.high)
        assumed = of_calculation(calculation_id, corners.rests_on(declared.name))
        return Supply(spread, "ledger", calculation_id, assumed)

    def calculation(self, calculation_id: str) -> Calculator:
        """A saved calculation with its picks and hand-typed inputs, reading this ledger.

        What it took from the ledger when it was saved has to be there still: a default in its
        place would answer another question. Raises Refusal, naming it, where it is not.
        """
        if calculation_id not in self._open:
            saved = self._state.calculations[calculation_id]
            self._open[calculation_id] = self.opened(
                saved.calculator, saved.subject, given_of(saved.record), self._needing(saved)
            )
        return self._open[calculation_id]

    def _needing(self, saved: SavedCalculation) -> Lookup:
        givers = {
            one.ledger: one.owner or "brief"
            for one in saved.record.inputs.values()
            if one.origin in ("ledger", "brief")
        }

        def lookup(name: str) -> Supply | None:
            supply = self.lookup(name)
            if supply is None and name in givers:
                giver = "the brief" if givers[name] == "brief" else givers[name]
                raise Refusal(f"{name} is missing, which {giver} gave")
            return supply

        return lookup

    def opened(
        self,
        name: str,
        subject: str,
        given: Mapping[str, Any] | None = None,
        lookup: Lookup | None = None,
    ) -> Calculator:
        """A calculator at a subject, its inputs prefilled from this ledger, or by `lookup`."""
        return calculators()[name](
            given or {},
            lookup=lookup or self.lookup,
            names=self._state.names_of(subject),
            facts=self._facts(subject),
        )

    def _facts(self, subject: str) -> Facts:
        knowledge = self._state.knowledge
        return lambda when: match((when,), knowledge, subject)

    @cached_property
    def _owners(self) -> dict[str, tuple[str, output, int]]:
        """Which saved calculation publishes which name, without evaluating any.

        A second calculation of a subject, under a label, gives only what the first does not; of
        two calculators that could make a rail, the one that the facts name.
        """
        found: dict[str, tuple[str, output, int]] = {}
        for saved in sorted(self._state.calculations.values(), key=lambda one: bool(one.id.label)):
            found = {**self._published_by(saved), **found}
        return found

    def _published_by(self, saved: SavedCalculation) -> dict[str, tuple[str, output, int]]:
        kind = calculators().get(saved.calculator)
        if kind is None:
            return {}
        found: dict[str, tuple[str, output, int]] = {}
        names, facts = self._state.names_of(saved.subject), self._facts(saved.subject)
        for declared in kind.outputs.values():
            if declared.publishes is None or declared.gives_way(facts):
                continue
            for index, row in enumerate(self._rows(saved, declared)):
                if name := ledger_name(declared.publishes, names, row):
                    found[name] = (saved.id, declared, index)
        return found

    def _rows(self, saved: SavedCalculation, declared: output) -> tuple[str | None, ...]:
        if declared.along is None:
            return (None,)
        try:
            return row_labels(self.calculation(saved.id), declared.along)
        except Refusal:
            return ()

    def texts(self) -> dict[str, str]:
        """Every value as it stands, in words: as the brief has it, or as it was last computed."""
        owners = self._owners
        found = {n: v for n, v in self._given.items() if isinstance(v, str) and n not in owners}
        return found | {name: show_spread(v, out.unit) for name, _, out, v in self.published()}

    def published(self) -> Iterator[tuple[str, str, output, Spread]]:
        """Every value that a calculation gives: name, calculation, output, as last computed."""
        for name, (calculation_id, declared, _) in self._owners.items():
            saved = self._state.calculations[calculation_id]
            if saved.stale:
                continue
            kept = saved.record.published.get(name)
            if kept is not None:
                yield name, calculation_id, declared, kept
            elif declared.when and (supply := self.lookup(name)) is not None:
                # A fact has given the name to it since it was computed.
                yield name, calculation_id, declared, supply.value


def given_of(record: Record) -> dict[str, Given]:
    """What a hand gave or confirmed, or a proposal gave, to a saved calculation, of its record."""
    return {
        field: Given(one.given, one.origin)
        for field, one in record.inputs.items()
        if one.origin in ("hand", "proposed", "confirmed")
    }
