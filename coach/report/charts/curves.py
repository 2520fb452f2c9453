"""Small curves of saved calculations, as their records keep them, with the limit drawn in."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from coach.report.charts.drawing import LETTER, Sheet
from coach.report.margins import value
from phases.kit.record import CurveRecord
from phases.kit.ticks import round_ticks

Place = Callable[[float], float]
"""From a number to pixels."""

WIDTH, HEIGHT = 300.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 288.0, 14.0, 150.0


def curve(name: str, kept: CurveRecord) -> str:
    """The chart of a calculation by its name; an empty text where all is at one place."""
    heights = (*kept.y, *(kept.bound or ()))
    air = 0.06 * (max(heights) - min(heights)) or 0.1 * abs(max(heights)) or 1.0
    low, high = min(heights) - air, max(heights) + air
    log = kept.log and min(kept.x) > 0.0
    scale: Place = math.log10 if log else float
    left, right = scale(min(kept.x)), scale(max(kept.x))
    if left == right:
        return ""

    def x(number: float) -> float:
        return LEFT + (RIGHT - LEFT) * (scale(number) - left) / (right - left)

    def y(number: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (number - low) / (high - low)

    drawn = Sheet(WIDTH, HEIGHT)
    for at in round_ticks(low, high, 5):
        drawn.line([LEFT, RIGHT], [y(at), y(at)], "rule", 0.7)
        drawn.words(LEFT - 5, y(at), value(at, kept.y_unit), "quiet", to="end", size=10)
    for at in round_ticks(min(kept.x), max(kept.x), 4, log=log):
        drawn.line([x(at), x(at)], [BOTTOM, BOTTOM + 4], "quiet", 0.8)
        drawn.words(x(at), BOTTOM + 13, value(at, kept.x_unit), "quiet", to="middle", size=10)
    drawn.line([LEFT, RIGHT], [BOTTOM, BOTTOM], "quiet")
    drawn.line([x(n) for n in kept.x], [y(n) for n in kept.y], "next", 2.2)
    _limit_and_place(drawn, kept, x, y)
    return drawn.svg(_says(kept, name))


def _says(kept: CurveRecord, name: str) -> str:
    ends = " and ".join(
        f"{value(kept.y[i], kept.y_unit)} at {value(kept.x[i], kept.x_unit)}" for i in (0, -1)
    )
    here = f"; it is at {value(kept.at, kept.x_unit)}" if kept.at is not None else ""
    return f"{name}, {kept.title}: {ends}{here}{_limit(kept, '; limit ')}."


def _limit(kept: CurveRecord, before: str) -> str:
    if not kept.bound:
        return ""
    low, high = (value(end(kept.bound), kept.y_unit) for end in (min, max))
    return f"{before}{low}" if low == high else f"{before}{low} to {high}"


def _limit_and_place(drawn: Sheet, kept: CurveRecord, x: Place, y: Place) -> None:
    """The limit as a dashed line, the point where the calculation is, and the words of both."""
    at, foot = LEFT, HEIGHT - 10
    if kept.bound:
        drawn.line([x(n) for n in kept.x], [y(n) for n in kept.bound], "due", 1.6, dashes="5 3")
        drawn.line([at, at + 16], [foot, foot], "due", 2.0, dashes="5 3")
        words = _limit(kept, "limit ")
        drawn.words(at + 21, foot, words, "quiet", size=10)
        at += 34 + LETTER * 10 * len(words)
    if kept.at is not None and min(kept.x) <= kept.at <= max(kept.x):
        drawn.mark(x(kept.at), y(_height(kept, kept.at)), "circle", "ink", size=7)
        drawn.mark(at + 8, foot, "circle", "ink")
        drawn.words(at + 21, foot, f"here {value(kept.at, kept.x_unit)}", "quiet", size=10)


def _height(kept: CurveRecord, at: float) -> float:
    """The curve's value at a place, straight between two of its points."""
    for (x0, x1), (y0, y1) in zip(pairwise(kept.x), pairwise(kept.y), strict=True):
        if min(x0, x1) <= at <= max(x0, x1) and x0 != x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return kept.y[-1]
