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

from coach.sprint.pace.plan import CHOOSING, PRIOR_PACE, used_of
from coach.sprint.pace.work import choosing, drawing_seconds, is_drawn, phase_work
from coach.sprint.state import State

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


# ---- learnt from a sprint --------------------------------------------------------------------

CHOOSING_NOISE = 0.8
"""Log-sd of choosing parts about the pace of drawing: it is another kind of work. Our own
estimate, like the next."""

TICKS_NOISE = 0.5
"""Log-sd of what closed items say about the drawing behind them."""

LEAST_SHOWN = 0.2
"""The share of a phase that has to be closed before its items say anything of the pace."""

ELSEWHERE = 0.2
"""A phase that took less than this share of its expected time was drawn elsewhere."""

NOISE_AT = 600.0
"""Expected seconds of a phase for which NOISE holds: shorter ones say less, longer ones more."""

_NOISE_BETWEEN = (0.7, 2.0)  # times NOISE

_MOST_SURPRISE = 2.0
"""Standard deviations by which one observation may differ; more is counted as this much."""

_MOST_BY_TICKS = 1.0
"""The same of closed items: they can be ticked before anything is drawn."""


@dataclass(frozen=True, slots=True)
class Observation:
    """Work of one phase that is done: seconds over expected seconds, and how loosely it counts."""

    phase: str
    ratio: float
    noise: float


def observations(state: State, t: float) -> list[Observation]:
    """What the phases that are drawn say about the pace: the more of its gate is closed, the more a
    phase says."""
    found = []
    if state.knowledge.get("parts_chosen") is not True:
        ratio = used_of(state, t, CHOOSING) / choosing(state).expected
        found.append(Observation(CHOOSING, ratio, CHOOSING_NOISE))
    for phase in state.setup.phases:
        if phase.id in state.drawn_before or not is_drawn(state, phase.id):
            continue
        piece = phase_work(state, t, phase.id)
        # Signed off says that it is whole; else its open rows are work that was left.
        part = 1.0 if phase.id in state.signed_off else piece.shown
        expected = piece.whole.expected * piece.keep * part
        if expected > 0:
            ratio = piece.spent / expected
            found.append(Observation(phase.id, ratio, noise_of(expected)))
    return [one for one in found if one.ratio >= ELSEWHERE]


def noise_of(expected: float) -> float:
    """Log-sd of what work of so many expected seconds says about the pace."""
    least, most = _NOISE_BETWEEN
    return NOISE * min(max(math.sqrt(NOISE_AT / expected), least), most)


def pace_of(state: State, t: float, prior: Pace = PRIOR) -> Pace:
    """The pace as known at elapsed time `t`, `prior` having been known before the sprint."""
    pace = prior
    for one in observations(state, t):
        wide = _MOST_SURPRISE * math.hypot(pace.log_sd, one.noise)
        surprise = math.log(one.ratio) - pace.log_mean
        # Choosing that went quickly may go on within the phases, and says nothing.
        if one.phase == CHOOSING and surprise <= 0:
            continue
        told = pace.log_mean + min(max(surprise, -wide), wide)
        pace = pace.after(math.exp(told), one.noise)
    return _with_unfinished_work(state, t, pace)


def _with_unfinished_work(state: State, t: float, pace: Pace) -> Pace:
    """The bounds that phases give that were begun and are not drawn, whether one is in them or not.

    A phase takes longer than it took so far, and what its closed items show took no longer than
    until they were closed. The second is loose, because people close items in bursts and now and
    then before they draw.
    """
    if state.ended:
        return pace
    for phase in state.setup.phases:
        if phase.id in {*state.used, state.phase} and not is_drawn(state, phase.id):
            pace = _with_unfinished(state, t, pace, phase.id)
    return pace


def _with_unfinished(state: State, t: float, pace: Pace, phase: str) -> Pace:
    piece = phase_work(state, t, phase)
    expected = piece.whole.expected * piece.keep
    if expected <= 0:
        return pace
    if piece.shown >= LEAST_SHOWN:
        ticked = _until_ticked(state, t, phase)
        if ticked > 0:
            least = pace.log_mean - _MOST_BY_TICKS * math.hypot(pace.log_sd, TICKS_NOISE)
            ratio = max(ticked / (expected * piece.shown), math.exp(least))
            pace = pace.below(ratio, TICKS_NOISE)
    if piece.spent > 0:
        pace = pace.above(piece.spent / expected, noise_of(expected))
    return pace


def _until_ticked(state: State, t: float, phase: str) -> float:
    """Drawing seconds in a phase until an item of it was closed last."""
    since = used_of(state, t, phase) - state.ticked.get(phase, 0.0)
    return max(drawing_seconds(state, t, phase) - max(since, 0.0), 0.0)
