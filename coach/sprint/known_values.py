"""The values of this sprint for looking at: what the brief gives, and what calculations published.

Read from what is written down; nothing is computed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coach.sprint.board_values import board_values
from coach.sprint.brief import BRIEF_NAMES
from coach.sprint.state import Saved, State
from phases.kit.catalogue import calculators
from phases.kit.say import show_spread
from phases.kit.spread import Spread

BRIEF, CHANGED, NOT_GIVEN = "brief", "changed", "not given"

TABLES = ("board.consumers", "board.pins")
# They follow the rails and a fact, and are changed there.
_FOLLOWS = ("board.rails", "board.layers")


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
    for saved in state.calculations.values():
        found += _published(saved)
    return found


def _names(state: State) -> Iterator[tuple[str, str]]:
    """The names a brief gives, for the subjects that are on the board, with their meanings."""
    for template, meaning in BRIEF_NAMES.items():
        kind = re.search(r"\{(\w+)\}", template)
        if kind is None:
            if template not in _FOLLOWS:
                yield template, meaning
            continue
        for subject in state.subjects.values():
            if subject.kind == kind[1]:
                yield template.replace(kind[0], subject.id), meaning


def _published(saved: Saved) -> Iterator[Known]:
    kind = calculators().get(saved.calculator)
    if kind is None or saved.stale:
        return
    # A template and the name it filled in end alike, whatever subject stands in the middle.
    declared = {
        out.publishes.rpartition(".")[2]: out for out in kind.outputs.values() if out.publishes
    }
    for name, (low, typ, high) in saved.record.get("published", {}).items():
        out = declared.get(name.rpartition(".")[2])
        if out is not None:
            yield Known(name, show_spread(Spread(low, typ, high), out.unit), saved.id, out.title)
