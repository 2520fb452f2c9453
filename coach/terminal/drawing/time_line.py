"""Time drawn like a dimension on a technical drawing.

A line with end marks from the start to the cut-off (or to where the plan ends, if that is
later). Its segments are the phases: what is past as it really was, drawn double; what is to
come by its time boxes, drawn single. Below it a tick where each past phase was planned to end,
a second dimension where the finish is expected, and the cut-off's own mark. An arrow at its end
says that it goes on beyond the line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from coach.sprint.pace.forecast import Forecast
from coach.sprint.plan import Course, Plan
from coach.sprint.state import State
from coach.terminal.drawing.lines import Line, Span
from phases.kit.items import CLOSING_ID


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of the line in seconds. past: it really was so."""

    label: str
    begin: float
    end: float
    past: bool


def stretches(state: State, plan: Plan, course: Course) -> list[Stretch]:
    """The line's pieces: phases as they were worked in, then what is left of each box."""
    short = {box.phase: box.short for box in plan.boxes}
    begun = [*state.stretches, ("", course.t)]
    past = [
        Stretch(short.get(phase, ""), start, begun[i + 1][1], True)
        for i, (phase, start) in enumerate(state.stretches)
        if begun[i + 1][1] > start
    ]
    at, coming = course.t, []
    order = [state.phase, *(b.phase for b in plan.boxes if b.phase != state.phase)]
    closing_last = [p for p in order if p != CLOSING_ID] + [CLOSING_ID]
    for phase in closing_last:
        length = course.phases.get(phase, 0.0)
        if length > 0:
            coming.append(Stretch(short[phase], at, at + length, False))
            at += length
    return past + coming


def time_line(
    state: State,
    plan: Plan,
    course: Course,
    width: int,
    *,
    planned: Sequence[float] = (),
    forecast: Forecast | None = None,
) -> list[Line]:
    """Two lines of `width` cells. planned: when each phase was to end, seconds from the start."""
    end = max(state.deadline, course.ends, course.t, 60.0)
    if forecast is not None:
        # A long tail would squeeze the rest: it leaves the line at a fifth beyond the cut-off.
        end = max(end, min(forecast.high, 1.2 * state.deadline))
    cells = width - 1

    def x(seconds: float) -> int:
        return min(round(seconds / end * cells), cells)

    row = ["─"] * (cells + 1)
    roles = ["quiet"] * (cells + 1)
    pieces = stretches(state, plan, course)
    for piece in pieces:
        a, b = x(piece.begin), x(piece.end)
        for i in range(a, b):
            row[i] = "═" if piece.past else "─"
            roles[i] = "done" if piece.past else "plain"
    now = x(course.t)
    for piece in pieces:
        # What is to come begins with the word "now", and its names stand behind it.
        first = max(x(piece.begin), now + 4) if not piece.past and width >= 60 else x(piece.begin)
        _label(row, roles, piece, first, x(piece.end))
    for piece in pieces:
        row[x(piece.end)] = "┤"
        roles[x(piece.end)] = "plain"
    row[0], row[x(state.deadline)] = "├", "┃"
    roles[x(state.deadline)] = "due"
    row[now], roles[now] = "╸", "next"
    for offset, letter in enumerate("now"):
        if now + 1 + offset < x(state.deadline) and width >= 60:
            row[now + 1 + offset], roles[now + 1 + offset] = letter, "next"
    finish = (course.ends, course.ends, course.ends)
    if forecast is not None:
        finish = (forecast.low, forecast.expected, forecast.high)
    below, below_roles = _finish(state, course, finish, x, cells)
    if finish[2] > end and not state.ended:
        if below[cells] == "●":
            below[cells - 1], below_roles[cells - 1] = "●", below_roles[cells]
        below[cells] = "→"
    for seconds in planned:
        place = x(seconds)
        if seconds < course.t and below[place] == " ":
            below[place], below_roles[place] = "'", "quiet"
    return [_line(row, roles), _line(below, below_roles)]


def _label(row: list[str], roles: list[str], piece: Stretch, a: int, b: int) -> None:
    """The phase's short name in the middle of its piece, where it has room."""
    room = b - a - 2
    if not piece.label or room < len(piece.label):
        return
    start = a + 1 + (room - len(piece.label)) // 2
    for offset, letter in enumerate(piece.label):
        row[start + offset] = letter
        roles[start + offset] = "quiet" if piece.past else "plain"


def _finish(
    state: State, course: Course, finish: tuple[float, float, float], x: Callable[[float], int],
    cells: int,
) -> tuple[list[str], list[str]]:  # fmt: skip
    """The second dimension: where the finish is expected, as a band with its middle."""
    row, roles = [" "] * (cells + 1), ["plain"] * (cells + 1)
    if state.ended:
        return row, roles
    low, middle, high = (x(max(seconds, course.t)) for seconds in finish)
    cut = x(state.deadline)
    for i in range(low, high):
        row[i], roles[i] = "─", "quiet"
    row[low], row[high] = "├", "┤"
    row[cut], roles[cut] = "┃", "due"
    row[middle], roles[middle] = "●", "due" if finish[1] > state.deadline else "next"
    return row, roles


def _line(row: list[str], roles: list[str]) -> Line:
    """Cells put together into spans of one role."""
    spans: list[Span] = []
    for cell, role in zip(row, roles, strict=True):
        if spans and spans[-1].role == role:
            spans[-1] = Span(spans[-1].text + cell, role)
        else:
            spans.append(Span(cell, role))
    return Line(tuple(spans))
