"""Spans, lines and how they are fitted to a width. Widths are in terminal cells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

ROLES = ("plain", "title", "quiet", "next", "due", "done", "doubt", "hazard", "key", "cursor")
"""What a span means. Each has a word or a mark besides the colour the stylesheet gives it."""


@dataclass(frozen=True, slots=True)
class Span:
    text: str
    role: str = "plain"


@dataclass(frozen=True, slots=True)
class Line:
    """One line. key: what it is about, for a list with a cursor; "" where it is about nothing."""

    spans: tuple[Span, ...] = ()
    key: str = ""

    @property
    def text(self) -> str:
        return "".join(span.text for span in self.spans)


def line(*spans: Span | str, key: str = "") -> Line:
    return Line(tuple(Span(s) if isinstance(s, str) else s for s in spans), key)


BLANK = Line()


def width_of(text: str) -> int:
    return cell_len(text)


def width_of_all(spans: Iterable[Span]) -> int:
    return sum(cell_len(span.text) for span in spans)


CUT = "…"
"""Where something was cut off."""


def fit(text: str, width: int) -> str:
    """`text` in exactly `width` cells: cut with a mark, or filled with blanks."""
    if cell_len(text) > width > 0:
        return set_cell_size(text, width - 1) + CUT
    return set_cell_size(text, max(width, 0))


def cut(text: str, width: int) -> str:
    """`text` in at most `width` cells."""
    return fit(text, width).rstrip() if cell_len(text) > width else text


def right(text: str, width: int) -> str:
    """`text` at the right end of `width` cells."""
    return " " * max(width - cell_len(text), 0) + cut(text, width)


def spread_out(
    left: Sequence[Span], right_spans: Sequence[Span], width: int, key: str = ""
) -> Line:
    """Spans at both ends of a line; the last one on the left gives way where they collide."""
    taken = width_of_all(right_spans)
    room = max(width - taken - (1 if right_spans else 0), 0)
    fitted = list(clipped(left, room))
    used = width_of_all(fitted)
    gap = Span(" " * max(width - used - taken, 0))
    return Line((*fitted, gap, *right_spans), key)


def clipped(spans: Iterable[Span], width: int) -> Iterator[Span]:
    """The spans cut to a width, with a mark where something was lost."""
    listed, room = list(spans), width
    if width_of_all(listed) <= width:
        yield from listed
        return
    for span in listed:
        if cell_len(span.text) >= room:
            yield Span(fit(f"{span.text}{CUT}", room), span.role)
            return
        yield span
        room -= cell_len(span.text)


def wrapped(text: str, width: int, most: int) -> list[str]:
    """`text` broken at blanks into at most `most` lines, the last one cut; a word longer than a
    line, such as a path, is broken too."""
    lines = [""]
    for word in _breakable(text, width):
        if lines[-1] and cell_len(f"{lines[-1]} {word}") > width:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    shown = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [cut(one, width) for one in shown if one]


def _breakable(text: str, width: int) -> Iterator[str]:
    """The words of `text`, those longer than a line in pieces."""
    room = max(width, 8)
    for word in text.split():
        size = room if cell_len(word) > room else len(word)
        yield from (word[at : at + size] for at in range(0, len(word), size))


def paragraph(
    text: str, width: int, most: int, role: str = "plain", *, indent: int = 1
) -> list[Line]:
    """`text` wrapped into lines of one role, with a margin on both sides."""
    room = max(width - 2 * indent, 12)
    return [line(Span(" " * indent + part, role)) for part in wrapped(text, room, most)]


def hanging(
    lead: Sequence[Span], text: str, room: int, most: int, *, role: str = "plain", key: str = ""
) -> list[Line]:
    """`text` behind its lead, in up to `most` lines of `room` cells under each other; the first can
    be under a cursor. Nothing for no text."""
    ahead = (*lead,)
    found = []
    for part in wrapped(text, room, most):
        found.append(Line((*ahead, Span(part, role)), key))
        ahead, key = (Span(" " * width_of_all(lead)),), ""
    return found


def title_line(title: str, tail: str, width: int) -> Line:
    """The first line of a screen: its title, and something quiet at the right end."""
    at_end = (Span(f"{tail} ", "quiet"),) if tail else ()
    return spread_out((Span(f" {title}", "title"),), at_end, width)
