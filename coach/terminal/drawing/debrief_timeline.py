"""The sprint drawn as two dimensions under each other: as planned, and as it really was.

In the manner of the sprint screen's own time line: end marks, a segment a phase, the cut-off as
a mark through all of it; time that was no work is dotted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.report.timeline import TimeChart
from coach.sprint.durations import elapsed
from coach.terminal.drawing.lines import Line, Span, spread_out, width_of

_NAMED = 60
"""Cells from which the two lines say in full what they are."""

_PLANNED, _ACTUAL = ("─", "plain"), ("═", "done")
"""Strokes, and their roles."""

Piece = tuple[str, float, float]
"""A phase by its short name, from and to in elapsed seconds."""


def timeline_lines(chart: TimeChart, width: int) -> list[Line]:
    """Three lines of at most `width` cells."""
    planned = [(one.box.short, *one.planned) for one in chart.phases]
    actual = [(one.box.short, *stretch) for one in chart.phases for stretch in one.stretches]
    words = (" planned ", " actual  ") if width >= _NAMED else (" plan ", " was  ")
    scale = _Scale(chart.last, max(width - len(words[0]) - 2, 12))
    return [
        _drawn(words[0], planned, _PLANNED, chart, scale),
        _drawn(words[1], actual, _ACTUAL, chart, scale),
        spread_out((Span(" " * len(words[0]) + "0:00", "quiet"),), _times(chart), width - 1),
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


def _times(chart: TimeChart) -> tuple[Span, Span]:
    """The times by which the lines are read."""
    word = "so far" if not chart.ended else "accepted" if chart.accepted else "ended"
    ends = Span(f"  {word} {elapsed(chart.end)}", "title")
    return Span(f"┃ cut-off {elapsed(chart.deadline)}", "due"), ends
