"""What is still to draw: the parts and connections that saved calculations imply."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.sprint.state import NOT_HERE, SavedCalculation, State
from phases.kit.bounds import FAIL

if TYPE_CHECKING:
    from phases.kit.record import PartRecord


@dataclass(frozen=True, slots=True)
class ToDraw:
    """One part still to draw. drawn_as: what it was drawn as before its value changed.

    fails: its calculation does not hold, so that drawing it would be drawing a fault.
    """

    calculation: str
    part: PartRecord
    drawn_as: str = ""
    fails: bool = False

    @property
    def role(self) -> str:
        return self.part.role

    @property
    def words(self) -> str:
        return self.part.words

    @property
    def message(self) -> str:
        words = f"change {self.drawn_as} to {self.words}" if self.drawn_as else self.words
        return f"{words} (its calculation fails)" if self.fails else words


def parts_of(saved: SavedCalculation) -> list[PartRecord]:
    """The parts a calculation implies; a role that comes twice is told apart by a number."""
    found = []
    times: Counter[str] = Counter()
    for part in saved.record.parts:
        times[part.role] += 1
        again = {"role": f"{part.role} {times[part.role]}"} if times[part.role] > 1 else {}
        found.append(part.model_copy(update=again))
    return found


def is_drawn(state: State, saved: SavedCalculation, part: PartRecord) -> bool:
    """Whether a part is drawn as it is now."""
    return state.drawn.get((saved.id, part.role)) == part.words


def to_draw(state: State) -> list[ToDraw]:
    """What is still to draw on this board, the oldest calculation first, those that fail last."""
    left = {saved.id for saved in state.calculations.values() if _not_here(state, saved)}
    return [part for part in undrawn(state) if part.calculation not in left]


def drawable(state: State) -> list[ToDraw]:
    """The same without what should not be drawn: the parts of calculations that fail."""
    return [part for part in to_draw(state) if not part.fails]


def undrawn(state: State) -> list[ToDraw]:
    """Every part that is not drawn, of items that left the board too."""
    found = []
    for saved in state.calculations.values():
        fails = saved.record.verdict == FAIL
        found += [
            ToDraw(saved.id, part, state.drawn.get((saved.id, part.role), ""), fails)
            for part in parts_of(saved)
            if not is_drawn(state, saved, part)
        ]
    return sorted(found, key=lambda part: part.fails)


def _not_here(state: State, saved: SavedCalculation) -> bool:
    """Whether all that looks to a calculation has left the board, its parts then with it."""
    looking = [
        row
        for row in state.rows
        if row.subject in ("", saved.subject)
        and any(cite.startswith(f"{saved.calculator}:") for cite in row.item.cites)
    ]
    return bool(looking) and all(row.status == NOT_HERE for row in looking)


def all_drawn(state: State, saved: SavedCalculation) -> bool:
    return all(is_drawn(state, saved, part) for part in parts_of(saved))


def as_text(parts: list[ToDraw]) -> str:
    """The list to take along: one part a line."""
    return "\n".join(f"{part.message}  ({part.calculation})" for part in parts)
