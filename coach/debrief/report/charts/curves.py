"""Small curves of saved calculations, as their records keep them, with the limit drawn in.

A record keeps x, y and their units; where it has them also the bound along x (`bound`), where the
calculation stands (`at`), and that x is by decades (`log`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coach.debrief.account.data import Account, CalculationTold
from coach.debrief.report.charts.drawing import Sheet, sheet, svg_of
from coach.debrief.report.figures import value
from phases.kit.ticks import round_ticks

Place = Callable[[float], float]
"""From a number to pixels."""

WIDTH, HEIGHT = 300.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 288.0, 14.0, 150.0


@dataclass(frozen=True, slots=True)
class Drawable:
    """A curve that can be drawn: at least two points, all finite.

    bound: along the same x, or None. at: where the calculation stands on x, or None. log: x is
    by decades.
    """

    title: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    x_unit: str
    y_unit: str
    bound: tuple[float, ...] | None
    at: float | None
    log: bool


@dataclass(frozen=True, slots=True)
class CurveDrawn:
    calculation: str
    title: str
    svg: str


def curves(account: Account) -> tuple[CurveDrawn, ...]:
    """A chart for each saved calculation that keeps a curve."""
    found = []
    for n, one in enumerate(account.calculations):
        curve = drawable(one.curve)
        if curve is not None:
            found.append(CurveDrawn(one.name, curve.title, _drawn(curve, one, f"curve-{n}")))
    return tuple(found)


def drawable(curve: Mapping[str, object] | None) -> Drawable | None:
    """A kept curve made sure of; None where it is none."""
    if curve is None:
        return None
    xs, ys = _numbers(curve.get("x")), _numbers(curve.get("y"))
    if xs is None or ys is None or len(xs) != len(ys) or len(xs) < 2 or min(xs) == max(xs):
        return None
    bound, at = _numbers(curve.get("bound")), _numbers([curve.get("at")])
    return Drawable(
        str(curve.get("title", "")), xs, ys, str(curve.get("x_unit", "")),
        str(curve.get("y_unit", "")), bound if bound and len(bound) == len(xs) else None,
        at[0] if at and min(xs) <= at[0] <= max(xs) else None,
        curve.get("log") is True and min(xs) > 0.0,
    )  # fmt: skip


def _numbers(given: object) -> tuple[float, ...] | None:
    """Numbers that can be drawn, or None."""
    if not isinstance(given, Sequence) or isinstance(given, (str, bytes)):
        return None
    if not all(isinstance(one, (int, float)) and not isinstance(one, bool) for one in given):
        return None
    try:
        found = tuple(float(one) for one in given)
    except OverflowError:
        return None
    return found if all(math.isfinite(one) and abs(one) < 1e100 for one in found) else None


def says(curve: Drawable, name: str) -> str:
    """The chart in a sentence."""
    ends = " and ".join(
        f"{value(curve.y[i], curve.y_unit)} at {value(curve.x[i], curve.x_unit)}" for i in (0, -1)
    )
    more = ""
    if curve.at is not None:
        more += f"; it stands at {value(curve.at, curve.x_unit)}"
    if curve.bound is not None:
        low, high = (value(f(curve.bound), curve.y_unit) for f in (min, max))
        more += f"; limit {low if low == high else f'{low} to {high}'}"
    return f"{name}, {curve.title}: {ends}{more}."


def _drawn(curve: Drawable, one: CalculationTold, name: str) -> str:
    heights = (*curve.y, *(curve.bound or ()))
    low, high = _room(min(heights), max(heights))
    scale: Place = math.log10 if curve.log else float
    left, right = scale(min(curve.x)), scale(max(curve.x))

    def x(number: float) -> float:
        return LEFT + (RIGHT - LEFT) * (scale(number) - left) / (right - left)

    def y(number: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (number - low) / (high - low)

    with sheet(name, WIDTH, HEIGHT) as drawn:
        for at in round_ticks(low, high, 5):
            drawn.line([LEFT, RIGHT], [y(at), y(at)], "rule", 0.7)
            drawn.words(LEFT - 5, y(at), value(at, curve.y_unit), "quiet", to="right", size=10)
        for at in round_ticks(min(curve.x), max(curve.x), 4, log=curve.log):
            drawn.line([x(at), x(at)], [BOTTOM, BOTTOM + 4], "quiet", 0.8)
            drawn.words(x(at), BOTTOM + 13, value(at, curve.x_unit), "quiet", to="center", size=10)
        drawn.line([LEFT, RIGHT], [BOTTOM, BOTTOM], "quiet", 1.0)
        drawn.line([x(n) for n in curve.x], [y(n) for n in curve.y], "next", 2.2)
        _limit_and_place(drawn, curve, x, y)
        return svg_of(drawn, says(curve, one.name))


def _room(low: float, high: float) -> tuple[float, float]:
    """A little air above and below; a flat curve gets some of its own size."""
    air = 0.06 * (high - low) or 0.1 * abs(high) or 1.0
    return low - air, high + air


def _limit_and_place(drawn: Sheet, curve: Drawable, x: Place, y: Place) -> None:
    """The limit as a dashed line with its words, and the point where the calculation stands."""
    said = []
    if curve.bound is not None:
        drawn.line([x(n) for n in curve.x], [y(n) for n in curve.bound], "due", 1.6, dashes=(5, 3))
        same = max(curve.bound) == min(curve.bound)
        words = f"limit {value(curve.bound[0], curve.y_unit)}" if same else "limit"
        said.append(("due", words))
    if curve.at is not None:
        drawn.mark(x(curve.at), y(_height(curve, curve.at)), "o", "ink", size=7)
        said.append(("ink", f"here {value(curve.at, curve.x_unit)}"))
    at = LEFT
    for role, words in said:
        if role == "ink":
            drawn.mark(at + 8, HEIGHT - 10, "o", "ink", size=6)
        else:
            drawn.line([at, at + 16], [HEIGHT - 10, HEIGHT - 10], role, 2.0, dashes=(5, 3))
        drawn.words(at + 21, HEIGHT - 10, words, "quiet", size=10)
        at += 34 + 5.8 * len(words)


def _height(curve: Drawable, at: float) -> float:
    """The curve's value at a place, straight between two of its points."""
    for (x0, x1), (y0, y1) in zip(pairwise(curve.x), pairwise(curve.y), strict=True):
        if min(x0, x1) <= at <= max(x0, x1) and x0 != x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return curve.y[-1]
