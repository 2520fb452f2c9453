"""Three-point estimates: the classic figures of PERT, and draws of the beta-PERT distribution.

Expected time and classic variance: Anderson, Sweeney, Williams, An Introduction to Management
Science, chapter 9. Shape of the beta-PERT with weight 4: alpha = 1 + 4 (m - o) / (p - o),
beta = 1 + 4 (p - m) / (p - o). Its exact variance is not the classic one: textbook answers are
checked against the classic form, simulations against the exact one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

from phases.kit.arrays import Array

if TYPE_CHECKING:
    from numpy.random import Generator


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """An estimate: optimistic, likely, pessimistic, in one unit of time.

    Raises ValueError where they do not rise; all three may be the same.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.likely <= self.high:
            raise ValueError(f"no three rising times: {self.low}, {self.likely}, {self.high}")

    @property
    def expected(self) -> float:
        """(o + 4 m + p) / 6, the mean of both forms."""
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def classic_variance(self) -> float:
        """((p - o) / 6)²"""
        return ((self.high - self.low) / 6) ** 2

    @property
    def variance(self) -> float:
        """(te - o) (p - te) / 7, of the beta-PERT."""
        return (self.expected - self.low) * (self.high - self.expected) / 7

    def times(self, factor: float) -> ThreePoint:
        return ThreePoint(self.low * factor, self.likely * factor, self.high * factor)

    def draw(self, chance: Generator, count: int) -> Array:
        """`count` beta-PERT draws."""
        import numpy as np

        reach = self.high - self.low
        if reach <= 0:
            return np.full(count, float(self.likely))
        alpha = 1 + 4 * (self.likely - self.low) / reach
        drawn = chance.beta(alpha, 6 - alpha, count)  # the two shapes sum to 6
        drawn *= reach
        drawn += self.low
        return drawn


def path(tasks: Iterable[ThreePoint]) -> tuple[float, float]:
    """(expected time, classic variance) of tasks one after the other."""
    listed = list(tasks)
    return sum(t.expected for t in listed), sum(t.classic_variance for t in listed)


def chance_by(limit: float, expected: float, variance: float) -> float:
    """The chance to be done by `limit`, the sum taken as normal: Φ((T - µ) / σ)."""
    if variance <= 0:
        return float(expected <= limit)
    return NormalDist(expected, variance**0.5).cdf(limit)
