"""Three-point estimates: the expected time of PERT, and draws of the beta-PERT distribution.

Expected time: Anderson, Sweeney, Williams, An Introduction to Management Science, chapter 9. Shape
of the beta-PERT with weight 4: alpha = 1 + 4 (m - o) / (p - o), beta = 1 + 4 (p - m) / (p - o).
"""

from __future__ import annotations

from dataclasses import dataclass
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
        """(o + 4 m + p) / 6, the mean of the classic form and of the beta-PERT."""
        return (self.low + 4 * self.likely + self.high) / 6

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
