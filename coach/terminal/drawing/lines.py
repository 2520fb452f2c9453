"""Spans, lines and how they are fitted to a width. Widths are in terminal cells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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


def fit(text: str, width: int) -> str:
    """`text` in exactly `width` cells: cut with two dots, or filled with blanks."""
    if width <= 0:
        return ""
    if cell_len(text) > width:
        return set_cell_size(text, max(width - 2, 0)) + ".."[: min(width, 2)]
    return set_cell_size(text, width)


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


def clipped(spans: Iterable[Span], width: int) -> Iterable[Span]:
    """The spans cut to a width, with two dots where something was lost."""
    room = width
    listed = list(spans)
    total = width_of_all(listed)
    for span in listed:
        size = cell_len(span.text)
        if total <= width or size <= room - 2:
            yield span
            room -= size
            continue
        if room > 0:
            yield Span(fit(span.text, room) if size > room - 2 else span.text, span.role)
        return


def _breakable(text: str, width: int) -> list[str]:
    """The words of `text`, those longer than a line in pieces."""
    room = max(width, 8)
    return [
        word[at : at + room]
        for word in text.split()
        for at in range(0, max(len(word), 1), room if cell_len(word) > room else max(len(word), 1))
    ]


def wrapped(text: str, width: int, most: int) -> list[str]:
    """`text` broken at blanks into at most `most` lines, the last one cut; a word longer than a
    line, such as a path, is broken too."""
    words, lines, now = _breakable(text, width), [], ""
    for word in words:
        trial = f"{now} {word}".strip()
        if cell_len(trial) <= width or not now:
            now = trial
        else:
            lines.append(now)
            now = word
    if now:
        lines.append(now)
    if len(lines) > most:
        rest = " ".join(lines[most - 1 :])
        lines = [*lines[: most - 1], cut(rest, width)]
    return [cut(one, width) for one in lines]


def paragraph(
    text: str, width: int, most: int, role: str = "plain", *, indent: int = 1
) -> list[Line]:
    """`text` wrapped into lines of one role, with a margin on both sides."""
    room = max(width - 2 * indent, 12)
    return [line(Span(" " * indent + part, role)) for part in wrapped(text, room, most)]


def title_line(title: str, aside: str, width: int) -> Line:
    """The first line of a screen: its title, and something quiet at the right end."""
    tail = (Span(f"{aside} ", "quiet"),) if aside else ()
    return spread_out((Span(f" {title}", "title"),), tail, width)
