"""The sprint drawn as two dimensions under each other: as planned, and as it really was.

In the manner of the sprint screen's own time line: end marks, a segment a phase, the cut-off as
a mark through all of it; time that was no work is dotted. Below it the times by which one reads it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.report.timeline import TimeChart
from coach.sprint.durations import elapsed
from coach.terminal.drawing.lines import Line, Span, width_of

_NAMED = 60
"""Cells from which the two lines say in full what they are."""

_PLANNED, _ACTUAL = ("─", "plain"), ("═", "done")
"""Strokes, and their roles."""

Piece = tuple[str, float, float]
"""A phase by its short name, from and to in elapsed seconds."""


def timeline_lines(chart: TimeChart, width: int) -> list[Line]:
    """Three or four lines of at most `width` cells."""
    planned = [(one.box.short, *one.planned) for one in chart.phases]
    actual = [(one.box.short, *stretch) for one in chart.phases for stretch in one.stretches]
    words = (" planned ", " actual  ") if width >= _NAMED else (" plan ", " was  ")
    scale = _Scale(chart.last, max(width - len(words[0]) - 2, 12))
    return [
        _drawn(words[0], planned, _PLANNED, chart, scale),
        _drawn(words[1], actual, _ACTUAL, chart, scale),
        *_times(chart, len(words[0]), scale),
    ]


@dataclass(frozen=True, slots=True)
class _Scale:
    last: float
    cells: int

    def x(self, seconds: float) -> int:
        return min(max(round(seconds / self.last * self.cells), 0), self.cells)


def _drawn(
    word: str, pieces: Sequence[Piece], look: tuple[str, str], chart: TimeChart, scale: _Scale
) -> Line:
    cells = [(" ", "quiet")] * (scale.cells + 1)
    placed = [(name, scale.x(begin), scale.x(end)) for name, begin, end in pieces if begin < end]
    for one in chart.away if look == _ACTUAL else ():
        begin, end = scale.x(one.since), scale.x(one.to)
        cells[begin:end] = [("·", "quiet")] * (end - begin)
    for _, begin, end in placed:
        cells[begin:end] = [look] * (end - begin)
    for name, begin, end in placed:
        if 0 < width_of(name) == len(name) <= end - begin - 2:
            start = begin + 1 + (end - begin - 2 - len(name)) // 2
            cells[start : start + len(name)] = [(letter, "quiet") for letter in name]
    for _, begin, _ in placed:
        cells[begin] = ("├", "plain")
    for _, _, end in placed:
        cells[end] = ("┤", "plain")
    cells[scale.x(chart.deadline)] = ("┃", "due")
    return Line((Span(word, "quiet"), *(Span(*cell) for cell in cells)))


def _times(chart: TimeChart, indent: int, scale: _Scale) -> list[Line]:
    """The times below: the start, the cut-off, the end; a second line where they collide."""
    word = "so far" if not chart.ended else "accepted" if chart.accepted else "ended"
    rows: list[list[tuple[int, str, str]]] = [[], []]
    for t, words, role in (
        (0.0, elapsed(0.0), "quiet"),
        (chart.deadline, f"cut-off {elapsed(chart.deadline)}", "due"),
        (chart.end, f"{word} {elapsed(chart.end)}", "title"),
    ):
        start = min(max(scale.x(t) - len(words) // 2, 0), max(scale.cells + 1 - len(words), 0))
        row = next((one for one in rows if _free(one, start, len(words))), rows[-1])
        row.append((start, words, role))
    return [_placed(row, indent) for row in rows if row]


def _free(row: Sequence[tuple[int, str, str]], start: int, length: int) -> bool:
    return all(start > at + len(words) or start + length < at for at, words, _ in row)


def _placed(row: Sequence[tuple[int, str, str]], indent: int) -> Line:
    spans: list[Span] = []
    used = 0
    for start, words, role in sorted(row):
        gap = max(indent + start - used, 0)
        spans += [Span(" " * gap), Span(words, role)]
        used += gap + len(words)
    return Line(tuple(spans))
