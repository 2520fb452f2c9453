"""Whether something gets better from sprint to sprint: the learning curve.

    T_n = T_1 · n^b,   b = log(rate) / log 2

so that each doubling of n brings T to `rate` times what it was (T. P. Wright, Factors affecting
the cost of airplanes, Journal of the Aeronautical Sciences 3 (1936) 122-128). Fitted by least
squares of ln T on ln n; the interval of the slope is Student's (any textbook of regression).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

LEAST = 10
"""Sprints under which no trend is claimed."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A fitted curve over `sprints` points."""

    sprints: int
    first: float
    """T_1 as fitted."""
    b: float
    """The exponent."""
    low: float | None
    """The 95 % interval of it; None where so few points tell nothing of it."""
    high: float | None

    @property
    def rate(self) -> float:
        """What each doubling of the number of sprints multiplies T by."""
        return 2**self.b

    @property
    def rates(self) -> tuple[float, float] | None:
        """The interval of the rate."""
        if self.low is None or self.high is None:
            return None
        return 2**self.low, 2**self.high

    def at(self, n: float) -> float:
        """T of the n-th sprint by the curve."""
        return self.first * float(n**self.b)

    @property
    def claim(self) -> str:
        """What may be claimed of a T that is better when it is less: "better", "worse", "no
        trend", or "" under ten sprints."""
        if self.sprints < LEAST or self.low is None or self.high is None:
            return ""
        if self.high < 0:
            return "better"
        return "worse" if self.low > 0 else "no trend"


def learning_curve(values: Sequence[float]) -> Curve | None:
    """The curve through T_1, T_2, ... in the order of the sprints; None for fewer than two.

    Raises ValueError for a value that is not above zero.
    """
    return fitted([(n, value) for n, value in enumerate(values, start=1)])


def fitted(points: Sequence[tuple[float, float]]) -> Curve | None:
    """The curve through (n, T_n); None for fewer than two different n."""
    if any(n <= 0 or not 0 < value < math.inf for n, value in points):
        raise ValueError("a learning curve has values above zero")
    x = [math.log(n) for n, _ in points]
    y = [math.log(value) for _, value in points]
    count = len(points)
    if len(set(x)) < 2:
        return None
    x_mean, y_mean = math.fsum(x) / count, math.fsum(y) / count
    s_xx = math.fsum((one - x_mean) ** 2 for one in x)
    b = math.fsum((i - x_mean) * (j - y_mean) for i, j in zip(x, y, strict=True)) / s_xx
    start = y_mean - b * x_mean
    free = count - 2
    if free == 0:
        return Curve(count, math.exp(start), b, None, None)
    left = math.fsum((j - start - b * i) ** 2 for i, j in zip(x, y, strict=True))
    reach = student(0.975, free) * math.sqrt(left / free / s_xx)
    return Curve(count, math.exp(start), b, b - reach, b + reach)


def student(level: float, free: int) -> float:
    """The quantile of Student's t distribution, for a level above one half.

    By bisection of the distribution function, which for whole degrees of freedom is a finite sum
    (M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4).
    """
    low, high = 0.0, 1.0
    while _inside(high, free) < 2 * level - 1:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        if _inside(middle, free) < 2 * level - 1:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _inside(t: float, free: int) -> float:
    """The probability of |T| below `t`."""
    angle = math.atan(t / math.sqrt(free))
    cosine, sine = math.cos(angle), math.sin(angle)
    odd = free % 2
    term, total = cosine if odd else 1.0, 0.0
    for k in range(free // 2):
        total += term
        term *= cosine**2 * (2 * k + 1 + odd) / (2 * k + 2 + odd)
    return (angle + sine * total) * 2 / math.pi if odd else sine * total
