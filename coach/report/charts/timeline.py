"""The timeline: each phase planned against actual, drawn like a dimension on a technical drawing.

One lane a phase. Above, the plan: a thin dimension line. Below it what was: a heavy line between
end marks for each stretch of work, with a tick where the plan had its end. Under that a mark where
each of its items was closed, and at the right how many are open. Bands are times that were no
work: the coach was closed, or something else was going on.
"""

from __future__ import annotations

from coach.report.charts.drawing import Scale, Sheet, short
from coach.report.phase_times import PhaseActual
from coach.report.timeline import AS_WAIVED, IN_TIME, LATE, TimeChart
from coach.sprint.durations import duration, elapsed
from phases.kit.grammar import capital, count

MARKS = {
    LATE: ("triangle", "doubt", True),
    AS_WAIVED: ("square", "quiet", False),
    "essential open": ("cross", "due", True),
    "check open": ("circle", "quiet", False),
}
"""Shape, role and whether it is filled; what was closed in time is a stroke."""


def timeline(chart: TimeChart, *, narrow: bool = False) -> str:
    """The chart; narrow: for a page as wide as a telephone, names above their lanes."""
    width, lane, top = (340.0, 56.0, 40.0) if narrow else (760.0, 37.0, 34.0)
    scale = Scale(*((14.0, 272.0) if narrow else (202.0, 690.0)), chart.last)
    bottom = top + lane * len(chart.phases)
    drawn = Sheet(width, bottom + (66 if narrow else 52))
    for away in chart.away:
        drawn.band(scale.x(away.since), scale.x(away.to), top - 10, bottom, "rule")
    scale.axis(drawn, top - 10, bottom)
    drawn.dimension(scale.x(0), scale.x(chart.deadline), top - 10, "ink", weight=1.2, tall=5)
    end = chart.end if chart.ended else None
    scale.cut_off_and_end(drawn, (top - 16, bottom + 2), chart.deadline, end, "end")
    for n, phase in enumerate(chart.phases):
        y = top + n * lane
        drawn.line([8, width - 8], [y + lane - 1] * 2, "rule", 0.5)
        y += _title(drawn, phase, y, narrow=narrow)
        _lane(drawn, scale, phase, y)
        _items(drawn, scale, chart, phase.phase, y + 28)
    _legend(drawn, bottom + 20, narrow=narrow)
    return drawn.svg(_says(chart), "narrow" if narrow else "wide")


def _says(chart: TimeChart) -> str:
    parts = [one.in_a_box for one in chart.phases if one.stretches]
    end = f", ended {elapsed(chart.end)}" if chart.ended else ""
    return (
        f"Timeline of {count(len(chart.phases), 'phase')}, planned against actual, "
        f"cut-off {elapsed(chart.deadline)}{end}: {'; '.join(parts) or 'none was entered'}."
    )


def _title(drawn: Sheet, phase: PhaseActual, top: float, *, narrow: bool) -> float:
    """The phase by name, and its minutes: in two lines beside its lane, or in one above it.
    Returns the height that takes."""
    used, role = phase.against_box, "quiet"
    if phase.stretches:
        used = f"{duration(phase.used)} of {duration(phase.box.seconds)}"
    if phase.stretches and phase.over > 60:
        used, role = f"{used}, over", "due"
    name = short(capital(phase.name), 190)
    if narrow:
        ink = "due" if role == "due" else "ink"
        drawn.words(8, top + 10, f"{name}: {used}", ink, heavy=True)
        return 18.0
    drawn.words(8, top + 12, name, heavy=True)
    drawn.words(8, top + 26, used, role, size=10)
    return 0.0


def _lane(drawn: Sheet, scale: Scale, phase: PhaseActual, top: float) -> None:
    """The plan above what was, with a tick down from where the plan had its end."""
    begin, end = (scale.x(seconds) for seconds in phase.planned)
    drawn.dimension(begin, end, top + 7, "quiet", tall=3)
    for start, stop in phase.stretches:
        drawn.dimension(scale.x(start), scale.x(stop), top + 17, "ink", weight=4, tall=5)
    if phase.stretches:
        drawn.line([end, end], [top + 7, top + 22], "next", 1.4)


def _items(drawn: Sheet, scale: Scale, chart: TimeChart, phase: str, y: float) -> None:
    """Where its items were closed, and how many are open."""
    for t, how in chart.closed[phase]:
        _mark(drawn, how, scale.x(t), y)
    for number, kind, right in zip(
        chart.left[phase], ("essential open", "check open"), (40.0, 8.0), strict=True
    ):
        if number:
            x = drawn.width - right
            _mark(drawn, kind, x - 20, y - 3)
            drawn.words(x, y - 2, f"{number}", MARKS[kind][1], to="end", size=10)


def _mark(drawn: Sheet, kind: str, x: float, y: float) -> None:
    if kind == IN_TIME:
        drawn.line([x, x], [y - 3, y + 3], "done", 1.0)
    else:
        shape, role, filled = MARKS[kind]
        drawn.mark(x, y, shape, role, size=5.5, filled=filled)


def _legend(drawn: Sheet, y: float, *, narrow: bool) -> None:
    """What the strokes and marks mean."""
    kinds = ("planned", "actual", "planned end", "not counted", IN_TIME, *MARKS)
    each, size = (82, 9.0) if narrow else (150, 10.0)
    for n, kind in enumerate(kinds):
        row, column = divmod(n, 4 if narrow else 5)
        x, at = 8.0 + each * column, y + 18 * row
        if kind in ("planned", "actual"):
            role, weight = ("ink", 4.0) if kind == "actual" else ("quiet", 1.0)
            drawn.dimension(x, x + 16, at, role, weight=weight)
        elif kind == "planned end":
            drawn.line([x + 9, x + 9], [at - 7, at + 7], "next", 1.4)
        elif kind == "not counted":
            drawn.band(x, x + 16, at - 5, at + 5, "rule")
        else:
            _mark(drawn, kind, x + 9, at)
        drawn.words(x + 20, at, kind, "quiet", size=size)
