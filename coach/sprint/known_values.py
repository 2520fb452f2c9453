"""The values of this sprint for looking at: what the brief gave, and what calculations published.

Read from what is written down; nothing is computed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coach.sprint.brief import BRIEF_NAMES
from coach.sprint.state import Saved, State
from phases.kit.catalogue import calculators
from phases.kit.say import show_spread
from phases.kit.spread import Spread

BRIEF, CHANGED = "brief", "changed"


@dataclass(frozen=True, slots=True)
class Known:
    """One value. value: its text, or its rows. origin: BRIEF, CHANGED (of the brief, in this
    sprint), or the id of the calculation that published it. meaning: in words."""

    name: str
    value: str | tuple[Mapping[str, str], ...]
    origin: str
    meaning: str

    @property
    def calculated(self) -> bool:
        return self.origin not in (BRIEF, CHANGED)

    @property
    def subject(self) -> str:
        """The subject in its name: "3v3" of rail.3v3.window; "" for the board's own."""
        parts = self.name.split(".")
        return parts[1] if len(parts) == 3 else ""


def known_values(state: State) -> list[Known]:
    """Every value that stands in the ledger, the brief's first; of subjects on the board."""
    given: dict[str, Any] = {**state.setup.brief.published(), **state.declared}
    found = [
        Known(
            name, value if isinstance(value, str) else tuple(value),
            CHANGED if name in state.declared else BRIEF, _meaning(name),
        )
        for name, value in given.items()
    ]  # fmt: skip
    for saved in state.calculations.values():
        found += _published(saved)
    return [one for one in found if not one.subject or one.subject in state.subjects]


def _meaning(name: str) -> str:
    for template, meaning in BRIEF_NAMES.items():
        if re.fullmatch(re.sub(r"\\\{\w+\\\}", r"[^.]+", re.escape(template)), name):
            return meaning
    return name


def _published(saved: Saved) -> list[Known]:
    kind = calculators().get(saved.calculator)
    if kind is None:
        return []
    # A template and the name it filled in end alike, whatever subject stands in the middle.
    declared = {
        out.publishes.rpartition(".")[2]: out for out in kind.outputs.values() if out.publishes
    }
    found = []
    for name, (low, typ, high) in saved.record.get("published", {}).items():
        out = declared.get(name.rpartition(".")[2])
        if out is not None:
            text = show_spread(Spread(low, typ, high), out.unit)
            found.append(Known(name, text, saved.id, out.title))
    return found
