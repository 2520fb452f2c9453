"""What is still to draw, by the calculation that implies it."""

from __future__ import annotations

from collections.abc import Sequence

from coach.sprint.state import State
from coach.sprint.to_draw import ToDraw
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, wrapped
from phases.kit.catalogue import calculators


def part_key(part: ToDraw) -> str:
    """What the cursor stands on: the calculation and the role of the part."""
    return f"{part.calculation}\n{part.role}"


def to_draw_title(parts: Sequence[ToDraw], width: int) -> list[Line]:
    count = f"{len(parts)} waiting " if parts else ""
    return [spread_out((Span(" To draw", "title"),), (Span(count, "quiet"),), width)]


def to_draw_lines(state: State, parts: Sequence[ToDraw], width: int) -> list[Line]:
    """A heading for each calculation, then its parts one line each."""
    if not parts:
        words = "Nothing is waiting to be drawn. Parts stand here once their calculation is saved."
        return [BLANK, *(line(Span(f" {part}")) for part in wrapped(words, width - 2, 4))]
    found: list[Line] = []
    for calculation in dict.fromkeys(part.calculation for part in parts):
        found += [BLANK, line(Span(f" {_name(state, calculation)}", "quiet"))]
        found += [_part(p, width) for p in parts if p.calculation == calculation]
    return found


def _name(state: State, calculation: str) -> str:
    """The calculation by its title and the subject it was made for."""
    saved = state.calculations[calculation]
    kind = calculators().get(saved.calculator)
    subject = state.subjects.get(saved.subject)
    title = kind.title if kind else saved.calculator
    return f"{title}, {subject.title} ({subject.id})" if subject else title


def _part(part: ToDraw, width: int) -> Line:
    role = "doubt" if part.drawn_as else "plain"
    return spread_out((Span("   "), Span(part.says, role)), (), width, part_key(part))
