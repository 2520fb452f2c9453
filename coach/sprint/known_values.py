"""The values of this sprint for looking at: what the brief gives, and what calculations published.

Read from what is written down; nothing is computed that is written there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coach.sprint.board_values import board_values
from coach.sprint.brief.document import BRIEF_NAMES
from coach.sprint.ledger import Ledger
from coach.sprint.state import State
from phases.kit.say import show_spread

BRIEF, CHANGED, NOT_GIVEN = "brief", "changed", "not given"

TABLES = ("board.consumers", "board.pins")
# They follow the rails, a fact and the table of consumers, and are changed there.
_FOLLOWS = ("board.rails", "board.layers", "load.{load}.typical", "load.{load}.peak")


@dataclass(frozen=True, slots=True)
class Known:
    """One value. value: its text, or its rows. origin: BRIEF, CHANGED (of the brief, in this
    sprint), NOT_GIVEN, or the id of the calculation that published it. meaning: in words."""

    name: str
    value: str | tuple[Mapping[str, str], ...]
    origin: str
    meaning: str

    @property
    def calculated(self) -> bool:
        return self.origin not in (BRIEF, CHANGED, NOT_GIVEN)

    @property
    def subject(self) -> str:
        """The subject in its name: "3v3" of rail.3v3.window; "" for the board's own."""
        parts = self.name.split(".")
        return parts[1] if len(parts) == 3 else ""


def known_values(state: State) -> list[Known]:
    """Every value the brief gives or could give, then every one a calculation published."""
    given = board_values(state)
    found = []
    for name, meaning in _names(state):
        value = given.get(name)
        origin = NOT_GIVEN if value is None else CHANGED if name in state.declared else BRIEF
        if isinstance(value, str) or (value is None and name not in TABLES):
            found.append(Known(name, value or "", origin, meaning))
        elif value:
            found.append(Known(name, tuple(value), origin, meaning))
    return [*found, *_published(state)]


def _names(state: State) -> Iterator[tuple[str, str]]:
    """The names a brief gives, for the subjects that are on the board, with their meanings."""
    for template, meaning in BRIEF_NAMES.items():
        kind = re.search(r"\{(\w+)\}", template)
        if template in _FOLLOWS:
            continue
        if kind is None:
            yield template, meaning
            continue
        for subject in state.subjects.values():
            if subject.kind == kind[1]:
                yield template.replace(kind[0], subject.id), meaning


def _published(state: State) -> list[Known]:
    """In the order in which the calculations were saved, each with its values in order."""
    found = [
        Known(name, show_spread(value, out.unit), calculation_id, out.title)
        for name, calculation_id, out, value in Ledger(state).published()
    ]
    order = {calculation_id: place for place, calculation_id in enumerate(state.calculations)}
    return sorted(found, key=lambda known: order[known.origin])
