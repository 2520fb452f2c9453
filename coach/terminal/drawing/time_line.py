"""Time drawn like a dimension on a technical drawing: the sprint as it runs, and afterwards.

A line with end marks from the start to the cut-off (or to where the plan ends, if that is
later). Its segments are the phases: what is past as it really was, drawn double; what is to
come by its time boxes, drawn single. Below it a tick where each past phase was planned to end,
a second dimension where the finish is expected, and the cut-off's own mark. An arrow at its end
says that it runs past the edge of the line. Afterwards two of them under each other: as planned,
and as it really was.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from coach.sprint.durations import elapsed
from coach.sprint.pace.plan import Plan, Progress
from coach.sprint.state import State
from coach.terminal.drawing.lines import Line, Span, line, spread_out, width_of
from phases.kit.items import CLOSING_ID

if TYPE_CHECKING:
    from coach.report.timeline import TimeChart
    from coach.sprint.pace.forecast import Forecast


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of the line in seconds. past: it really was so."""

    label: str
    begin: float
    end: float
    past: bool


def stretches(state: State, plan: Plan, progress: Progress) -> list[Stretch]:
    """The line's pieces: phases as they were worked in, then what is left of each box."""
    short = {box.phase: box.short for box in plan.boxes}
    begun = [*state.stretches, ("", progress.t)]
    past = [
        Stretch(short.get(phase, ""), start, begun[i + 1][1], True)
        for i, (phase, start) in enumerate(state.stretches)
        if begun[i + 1][1] > start
    ]
    at, coming = progress.t, []
    order = [state.phase, *(b.phase for b in plan.boxes if b.phase != state.phase)]
    closing_last = [p for p in order if p != CLOSING_ID] + [CLOSING_ID]
    for phase in closing_last:
        length = progress.phases.get(phase, 0.0)
        if length > 0:
            coming.append(Stretch(short[phase], at, at + length, False))
            at += length
    return past + coming


def time_line(
    state: State,
    plan: Plan,
    progress: Progress,
    width: int,
    *,
    planned: Sequence[float] = (),
    forecast: Forecast | None = None,
) -> list[Line]:
    """Two lines of `width` cells. planned: when each phase was to end, seconds from the start."""
    end = max(state.deadline, progress.ends, progress.t, 60.0)
    if forecast is not None:
        # A long tail would squeeze the rest: it leaves the line at a fifth beyond the cut-off.
        end = max(end, min(forecast.high, 1.2 * state.deadline))
    last = width - 1

    def x(seconds: float) -> int:
        return min(round(seconds / end * last), last)

    now, cut_off = x(progress.t), x(state.deadline)
    cells = [Span("─", "quiet")] * width
    pieces = stretches(state, plan, progress)
    for piece in pieces:
        stroke = Span("═", "done") if piece.past else Span("─")
        for i in range(x(piece.begin), x(piece.end)):
            cells[i] = stroke
    for piece in pieces:
        # What is to come begins with the word "now", and its names are behind it.
        first = max(x(piece.begin), now + 4) if not piece.past and width >= 60 else x(piece.begin)
        role = "quiet" if piece.past else "plain"
        _label(cells, piece.label, first, x(piece.end), role=role, mark=cut_off)
    for piece in pieces:
        cells[x(piece.end)] = Span("┤")
    cells[0], cells[cut_off], cells[now] = Span("├"), Span("┃", "due"), Span("╸", "next")
    for i, letter in enumerate("now" if width >= 60 else "", start=now + 1):
        if i < cut_off:
            cells[i] = Span(letter, "next")
    finish = (progress.ends, progress.ends, progress.ends)
    if forecast is not None:
        finish = (forecast.low, forecast.expected, forecast.high)
    below = _finish(state, progress, finish, x, width)
    if finish[2] > end and not state.ended:
        if below[last].text == "●":
            below[last - 1] = below[last]
        below[last] = Span("→", below[last].role)
    for seconds in planned:
        if seconds < progress.t and below[x(seconds)] == _EMPTY:
            below[x(seconds)] = Span("'", "quiet")
    return [_line(cells), _line(below)]


_EMPTY = Span(" ")


def _label(cells: list[Span], name: str, a: int, b: int, *, role: str, mark: int) -> None:
    """A phase's short name in the middle of its piece, where it has room and no mark is."""
    room = b - a - 2 - len(name)
    start = a + 1 + room // 2
    on_a_mark = start <= mark < start + len(name)
    if room >= 0 and not on_a_mark and width_of(name) == len(name):
        cells[start : start + len(name)] = [Span(letter, role) for letter in name]


def _finish(
    state: State,
    progress: Progress,
    finish: tuple[float, float, float],
    x: Callable[[float], int],
    width: int,
) -> list[Span]:
    """The second dimension: where the finish is expected, as a band with its middle."""
    cells = [_EMPTY] * width
    if state.ended:
        return cells
    low, middle, high = (x(max(seconds, progress.t)) for seconds in finish)
    for i in range(low, high):
        cells[i] = Span("─", "quiet")
    cells[low], cells[high] = Span("├"), Span("┤")
    cells[x(state.deadline)] = Span("┃", "due")
    cells[middle] = Span("●", "due" if finish[1] > state.deadline else "next")
    return cells


def planned_and_actual(chart: TimeChart, width: int) -> list[Line]:
    """Three lines of at most `width` cells: as planned, as it was (what was no work is dotted), and
    the times by which the two are read."""
    words = (" planned ", " actual  ") if width >= 60 else (" plan ", " was  ")
    last = max(width - len(words[0]) - 2, 12)

    def x(seconds: float) -> int:
        return min(max(round(seconds / chart.last * last), 0), last)

    planned = [(one.box.short, *one.planned) for one in chart.phases]
    actual = [(one.box.short, *stretch) for one in chart.phases for stretch in one.stretches]
    found = []
    for word, pieces, stroke, away in (
        (words[0], planned, Span("─"), ()),
        (words[1], actual, Span("═", "done"), chart.away),
    ):
        cells = [Span(" ", "quiet")] * (last + 1)
        for one in away:
            cells[x(one.since) : x(one.to)] = [Span("·", "quiet")] * (x(one.to) - x(one.since))
        placed = [(name, x(begin), x(end)) for name, begin, end in pieces if begin < end]
        for name, begin, end in placed:
            cells[begin:end] = [stroke] * (end - begin)
            _label(cells, name, begin, end, role="quiet", mark=-1)
        for _, begin, _ in placed:
            cells[begin] = Span("├")
        for _, _, end in placed:
            cells[end] = Span("┤")
        cells[x(chart.deadline)] = Span("┃", "due")
        found.append(line(Span(word, "quiet"), *_line(cells).spans))
    ended = "so far" if not chart.ended else "accepted" if chart.accepted else "ended"
    times = (
        Span(f"┃ cut-off {elapsed(chart.deadline)}", "due"),
        Span(f"  {ended} {elapsed(chart.end)}", "title"),
    )
    start = Span(" " * len(words[0]) + "0:00", "quiet")
    return [*found, spread_out((start,), times, width - 1)]


def _line(cells: list[Span]) -> Line:
    """Cells put together into spans of one role."""
    groups = groupby(cells, key=lambda cell: cell.role)
    return line(*(Span("".join(cell.text for cell in group), role) for role, group in groups))
