"""A person's pace: how much longer drawing takes than at pace 1, as a log-normal multiplier.

    seconds of a phase = expected seconds · K · noise,   ln K ~ N(µ, τ²),   ln noise ~ N(0, s²)

A finished piece of work is an observation ln(seconds / expected) and updates K by normal
conjugacy: precisions add, means are weighted by them. Work that is not finished says only that
it takes longer than it took so far; then the moments of ln K under that bound are taken
(truncated normal, closed form). Left out, such work would make the pace look best exactly when
somebody is stuck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from coach.sprint.pace.plan import PRIOR_PACE

PRIOR_SPREAD = 0.35
"""Log-sd of a pace nobody has seen yet: four of five people between 0.83 and 2.04.

Our own estimate, like its median (see PRIOR_PACE).
"""

NOISE = 0.30
"""Log-sd of one phase about the person's pace. Our own estimate."""

DRIFT = 0.18
"""Log-sd by which the pace of what is to come differs from the pace so far. Our own estimate."""

_FAR = 25.0  # standard deviations from which the tail's own series is used
_UNIT = NormalDist()


@dataclass(frozen=True, slots=True)
class Pace:
    """ln K ~ N(log_mean, log_sd²)."""

    log_mean: float
    log_sd: float

    @property
    def median(self) -> float:
        return math.exp(self.log_mean)

    @property
    def mean(self) -> float:
        return math.exp(self.log_mean + self.log_sd**2 / 2)

    def within(self, share: float = 0.8, noise: float = 0.0) -> tuple[float, float]:
        """The middle `share` of paces; with `noise`, of the next phase's seconds / expected."""
        reach = _UNIT.inv_cdf((1 + share) / 2) * math.hypot(self.log_sd, noise)
        return math.exp(self.log_mean - reach), math.exp(self.log_mean + reach)

    def after(self, ratio: float, noise: float = NOISE) -> Pace:
        """Having seen work that took `ratio` times its expected seconds."""
        before, seen = self.log_sd**-2, noise**-2
        mean = (before * self.log_mean + seen * math.log(ratio)) / (before + seen)
        return Pace(mean, (before + seen) ** -0.5)

    def above(self, ratio: float, noise: float = NOISE) -> Pace:
        """Having seen work that took `ratio` times its expected seconds and is not finished."""
        wide = math.hypot(self.log_sd, noise)
        at = (math.log(ratio) - self.log_mean) / wide
        hazard = _hazard(at)
        return self._bounded(wide, hazard, hazard * (hazard - at))

    def below(self, ratio: float, noise: float = NOISE) -> Pace:
        """Having seen work that took at most `ratio` times its expected seconds."""
        wide = math.hypot(self.log_sd, noise)
        at = (self.log_mean - math.log(ratio)) / wide
        hazard = _hazard(at)
        return self._bounded(wide, -hazard, hazard * (hazard - at))

    def _bounded(self, wide: float, shift: float, shrink: float) -> Pace:
        part = self.log_sd**2 / wide
        return Pace(self.log_mean + part * shift, math.sqrt(self.log_sd**2 - part**2 * shrink))

    def ahead(self, drift: float = DRIFT) -> Pace:
        """The pace of what is still to come."""
        return Pace(self.log_mean, math.hypot(self.log_sd, drift))


def _hazard(at: float) -> float:
    """φ(a) / (1 - Φ(a)): the mean of a standard normal above `at`."""
    if at > _FAR:
        return at + 1 / at - 2 / at**3
    return _UNIT.pdf(at) / (0.5 * math.erfc(at / math.sqrt(2)))


PRIOR = Pace(math.log(PRIOR_PACE), PRIOR_SPREAD)
"""What is taken before anything is known of this person."""
