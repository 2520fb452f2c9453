"""What is still to draw: the parts and connections that saved calculations imply."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coach.sprint.state import NOT_HERE, Saved, State
from phases.kit.bounds import FAIL
from phases.kit.text import line

_LONGEST = 400  # characters that an event keeps


@dataclass(frozen=True, slots=True)
class ToDraw:
    """One part still to draw. drawn_as: what it was drawn as before its value changed.

    fails: its calculation does not hold, so that drawing it would be drawing a fault.
    """

    calculation: str
    role: str
    what: str
    where: str
    words: str
    drawn_as: str = ""
    fails: bool = False

    @property
    def says(self) -> str:
        words = f"change {self.drawn_as} to {self.words}" if self.drawn_as else self.words
        return f"{words} (its calculation fails)" if self.fails else words


def part_words(part: Mapping[str, Any]) -> str:
    """A part of a record in words, on one line: "2 x 100 nF VDD to ground"."""
    times = f"{part['count']} x " if part.get("count", 1) > 1 else ""
    return line(f"{times}{part['what']} {part['where']}")[:_LONGEST]


def parts_of(saved: Saved) -> list[Mapping[str, Any]]:
    """The parts a calculation implies; a role that comes twice is told apart by a number."""
    found: list[Mapping[str, Any]] = []
    times: Counter[str] = Counter()
    for part in saved.record.get("parts", ()):
        role = str(part["role"])
        times[role] += 1
        found.append({**part, "role": f"{role} {times[role]}"} if times[role] > 1 else part)
    return found


def to_draw(state: State) -> list[ToDraw]:
    """What is still to draw on this board, the oldest calculation first, those that fail last."""
    left = {saved.id for saved in state.calculations.values() if _not_here(state, saved)}
    return [part for part in undrawn(state) if part.calculation not in left]


def undrawn(state: State) -> list[ToDraw]:
    """Every part that is not drawn, of items that left the board too."""
    found = []
    for saved in state.calculations.values():
        fails = saved.record["verdict"] == FAIL
        for part in parts_of(saved):
            role, words = part["role"], part_words(part)
            drawn_as = state.drawn.get((saved.id, role), "")
            if drawn_as != words:
                found.append(
                    ToDraw(saved.id, role, part["what"], part["where"], words, drawn_as, fails)
                )
    return sorted(found, key=lambda part: part.fails)


def _not_here(state: State, saved: Saved) -> bool:
    """Whether all that looks to a calculation has left the board, its parts then with it."""
    looking = [
        row
        for row in state.rows
        if row.subject in ("", saved.subject)
        and any(cite.startswith(f"{saved.calculator}:") for cite in row.item.cites)
    ]
    return bool(looking) and all(row.status == NOT_HERE for row in looking)


def all_drawn(state: State, saved: Saved) -> bool:
    return all(
        state.drawn.get((saved.id, part["role"])) == part_words(part) for part in parts_of(saved)
    )


def as_text(parts: list[ToDraw]) -> str:
    """The list to take along: one part a line."""
    return "\n".join(f"{part.says}  ({part.calculation})" for part in parts)
