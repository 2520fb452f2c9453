"""Margins of saved calculations, thinnest first, from their limit.

One row a calculation: the limit is the heavy line at zero, the mark lies as far to its right as
there is margin left, in per cent of what the margin is measured by. Verdict by mark and by word.
"""

from __future__ import annotations

import math

from coach.report.charts.drawing import LETTER, SIZE, Sheet, short
from coach.report.margins import MarginChart, title_of
from coach.sprint.chances import per_cent
from phases.kit.grammar import count
from phases.kit.record import LimitRecord

LEAST, MUCH = -0.5, 1.0
"""Shares at the ends of the axis; what is beyond is drawn at the end, with an arrow."""

MOST = 12
"""Calculations that are drawn; the table has them all."""

MARKS = {
    "pass": ("circle", "done", True),
    "marginal": ("diamond", "doubt", False),
    "fail": ("cross", "due", True),
}
"""Shape, role and whether it is filled, by verdict."""

ROW, TOP, LEFT = 31.0, 30.0, 18.0


def margins(chart: MarginChart, *, narrow: bool = False) -> str:
    """narrow: for a page as wide as a telephone."""
    shown = chart.limits[:MOST]
    thin = min((_held(one.share) for _, one in shown if one.share is not None), default=0.0)
    low = min(0.0, math.floor(thin * 10) / 10)
    bottom = TOP + ROW * len(shown)
    drawn = Sheet(340.0 if narrow else 760.0, bottom + 8)
    _axis(drawn, low, bottom)
    for n, (name, one) in enumerate(shown):
        _row(drawn, low, one, f"{name}: {title_of(one)}", TOP + n * ROW)
    return drawn.svg(_says(chart), "narrow" if narrow else "wide")


def _says(chart: MarginChart) -> str:
    said = "; ".join(f"{name} {_verdict(one)}" for name, one in chart.limits[:3])
    number = count(len(chart.limits), "saved calculation")
    return f"Thinnest margin of each of {number}, thinnest first: {said}."


def _verdict(one: LimitRecord) -> str:
    return one.verdict if one.share is None else f"{one.verdict} {per_cent(one.share)}"


def _held(share: float) -> float:
    return min(max(share, LEAST), MUCH)


def _x(drawn: Sheet, share: float, low: float) -> float:
    return LEFT + (drawn.width - 40 - LEFT) * (_held(share) - low) / (MUCH - low)


def _axis(drawn: Sheet, low: float, bottom: float) -> None:
    for tenths in range(math.ceil(low * 2) * 5, 11, 5):
        x, zero = _x(drawn, tenths / 10, low), tenths == 0
        drawn.line([x, x], [TOP - 8, bottom], "due" if zero else "rule", 2.0 if zero else 0.7)
        words = "limit" if zero else f"{tenths * 10} %".replace("-", "−")
        role = "due" if zero else "quiet"
        drawn.words(x, TOP - 17, words, role, to="middle", size=10, heavy=zero)


def _row(drawn: Sheet, low: float, one: LimitRecord, name: str, top: float) -> None:
    shape, role, filled = MARKS[one.verdict]
    verdict = _verdict(one)
    ink = "ink" if role == "done" else role
    right = drawn.width - 8
    drawn.words(right, top + 9, verdict, ink, to="end", heavy=one.verdict == "fail")
    room = right - LEFT - 12 - LETTER * SIZE * len(verdict)
    drawn.words(LEFT + 4, top + 9, short(name, room), "ink")
    if one.share is None:
        return
    zero, x, y = _x(drawn, 0, low), _x(drawn, one.share, low), top + 23
    drawn.line([zero, x], [y, y], role, 1.6)
    drawn.mark(x, y, shape, role, size=6.5, filled=filled)
    if not LEAST <= one.share <= MUCH:
        way, step = ("right", 10) if one.share > MUCH else ("left", -8)
        drawn.mark(x + step, y, way, role, size=4)
