"""How good forecasts were: Brier score, pinball loss, coverage of the band.

Brier score: mean (f - o)², 0 is best (G. W. Brier, Monthly Weather Review 78 (1950) 1-3).
Pinball loss of a quantile q at level a: a (y - q) above it, (1 - a) (q - y) below (R. Koenker,
G. Bassett, Econometrica 46 (1978) 33-50). Coverage: the share of finishes inside their band; how
little a few sprints say of it, Wilson's interval shows (E. B. Wilson, Journal of the American
Statistical Association 22 (1927) 209-212).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean

from coach.sprint.events.run import ForecastMade
from coach.sprint.events.summary import ForecastOutcome
from coach.sprint.gates.gates import open_essentials
from coach.sprint.pace.checkpoints import CHECKPOINTS
from coach.sprint.state import State

LOW, HIGH = 0.1, 0.9
"""The levels of the two ends of the 80 % band."""


def brier(pairs: Iterable[tuple[float, bool]]) -> float:
    """Mean squared distance of chances to what happened. Raises ValueError without any."""
    listed = list(pairs)
    if not listed:
        raise ValueError("no forecast to score")
    return sum((chance - happened) ** 2 for chance, happened in listed) / len(listed)


def brier_of_base_rate(outcomes: Sequence[bool]) -> float:
    """The score of who always says how often it happened: the rate times its complement."""
    rate = sum(outcomes) / len(outcomes)
    return rate * (1 - rate)


def pinball(level: float, quantile: float, actual: float) -> float:
    """The loss of a forecast quantile, in the unit of what was forecast."""
    off = actual - quantile
    return level * off if off >= 0 else (level - 1) * off


def wilson(hits: int, count: int, share: float = 0.95) -> tuple[float, float]:
    """The interval of true rates that `hits` out of `count` are compatible with."""
    z = NormalDist().inv_cdf((1 + share) / 2)
    rate, weight = hits / count, z * z / count
    middle = (rate + weight / 2) / (1 + weight)
    reach = z / (1 + weight) * (rate * (1 - rate) / count + weight / count / 4) ** 0.5
    # At none and at all the formula gives 0 and 1, but for the noise of the arithmetic.
    return max(middle - reach, 0.0), min(middle + reach, 1.0)


def scored(state: State) -> tuple[ForecastOutcome, ...]:
    """The forecasts kept at the checkpoints of a sprint that has ended, scored; none before."""
    if not state.ended or state.ended_at is None:
        return ()
    happened = all_essentials_in_time(state)
    finish = state.ended_at if state.accepted else None
    found = []
    for made in state.of(ForecastMade):
        one = made.event
        if one.checkpoint in CHECKPOINTS:
            covered = _covered(one, finish, state.ended_at)
            loss = None
            if finish is not None:
                loss = round(pinball(LOW, one.low, finish) + pinball(HIGH, one.high, finish), 3)
            went = ForecastOutcome(one.checkpoint, one.chance_essentials, happened, covered, loss)
            found.append(went)
    return tuple(found)


def all_essentials_in_time(state: State) -> bool:
    """Whether the order was made by the cut-off with no essential open."""
    in_time = state.ended_at is not None and state.ended_at <= state.deadline
    return state.accepted and in_time and not open_essentials(state)


def _covered(one: ForecastMade, finish: float | None, ended_at: float) -> bool | None:
    """Given up after the band's end, it was not in it; given up before, nobody knows."""
    if finish is None:
        return False if ended_at > one.high else None
    return one.low <= finish <= one.high


@dataclass(frozen=True, slots=True)
class Calibration:
    """The forecasts that many sprints kept at one checkpoint."""

    checkpoint: int
    """0: at all checkpoints together."""
    forecasts: int
    happened: int
    """In how many all essentials were there in time."""
    chance: float
    """What was said of that, on average."""
    brier: float
    base: float
    """The score of always saying how often it happened."""
    covered: int
    """80 % bands that held the finish."""
    judged: int
    """Of those that can be told."""
    interval: tuple[float, float] | None
    """Of the true share; None at all checkpoints together, because the forecasts of one sprint are
    no separate trials."""
    loss: float | None
    """Mean pinball loss of the two ends of a band together, seconds."""

    @property
    def share(self) -> float:
        """Of the bands that can be told, those that held the finish."""
        return self.covered / self.judged if self.judged else 0.0


def calibration_of(every: Sequence[ForecastOutcome]) -> tuple[Calibration, ...]:
    """At each checkpoint at which forecasts were kept, then all together."""
    at_checkpoints = [
        _judged(checkpoint, [one for one in every if one.checkpoint == checkpoint])
        for checkpoint in CHECKPOINTS
    ]
    return tuple(one for one in (*at_checkpoints, _judged(0, every)) if one is not None)


def _judged(checkpoint: int, ones: Sequence[ForecastOutcome]) -> Calibration | None:
    if not ones:
        return None
    told = [one.covered for one in ones if one.covered is not None]
    losses = [one.loss for one in ones if one.loss is not None]
    return Calibration(
        checkpoint=checkpoint,
        forecasts=len(ones),
        happened=sum(one.happened for one in ones),
        chance=fmean(one.chance for one in ones),
        brier=brier((one.chance, one.happened) for one in ones),
        base=brier_of_base_rate([one.happened for one in ones]),
        covered=sum(told),
        judged=len(told),
        interval=wilson(sum(told), len(told)) if told and checkpoint else None,
        loss=fmean(losses) if losses else None,
    )
