"""The pace's update against a worked table and against numerical integration.

Normal mean with known variance: precisions add, the posterior mean is weighted by them (A. Gelman
et al., Bayesian Data Analysis, third edition, section 2.5). The table: prior ln K ~ N(0, 0.35²),
noise 0.30, ratios 1.30, 1.10, 1.55; made with the formula and again by integrating on a grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from coach.sprint.pace.pace import NOISE, PRIOR, PRIOR_SPREAD, Pace
from coach.sprint.pace.plan import PRIOR_PACE

START = Pace(0.0, 0.35)
WORKED = [  # ratio, log-mean, log-sd, median, mean, 80 % credible, 80 % predictive
    (1.30, 0.1512, 0.2278, 1.163, 1.194, (0.869, 1.558), (0.718, 1.885)),
    (1.10, 0.1308, 0.1814, 1.140, 1.159, (0.903, 1.438), (0.727, 1.786)),
    (1.55, 0.2131, 0.1552, 1.238, 1.253, (1.014, 1.510), (0.803, 1.908)),
]


def test_the_worked_table_of_three_observations() -> None:
    pace = START
    for ratio, log_mean, log_sd, median, mean, credible, predictive in WORKED:
        pace = pace.after(ratio, 0.30)
        assert pace.log_mean == pytest.approx(log_mean, abs=5e-5)
        assert pace.log_sd == pytest.approx(log_sd, abs=5e-5)
        assert (pace.median, pace.mean) == (
            pytest.approx(median, abs=6e-4),
            pytest.approx(mean, abs=6e-4),
        )
        assert pace.within(0.8) == pytest.approx(credible, abs=6e-4)
        assert pace.within(0.8, 0.30) == pytest.approx(predictive, abs=6e-4)


def test_the_order_of_observations_does_not_matter() -> None:
    one = START.after(1.3).after(0.8).after(2.0)
    other = START.after(2.0).after(1.3).after(0.8)
    assert one.log_mean == pytest.approx(other.log_mean)
    assert one.log_sd == pytest.approx(other.log_sd)


# ---- by integration --------------------------------------------------------------------------


def integrated(prior: Pace, likelihood: Callable[[float], float]) -> tuple[float, float]:
    """Mean and sd of ln K after a likelihood, on a fine grid."""
    reach = 9 * prior.log_sd
    grid = np.linspace(prior.log_mean - reach, prior.log_mean + reach, 20_001)
    weights = np.exp(-0.5 * ((grid - prior.log_mean) / prior.log_sd) ** 2)
    weights *= [likelihood(float(x)) for x in grid]
    weights /= weights.sum()
    mean = float((grid * weights).sum())
    return mean, math.sqrt(float(((grid - mean) ** 2 * weights).sum()))


def above(x: float) -> float:
    return 0.5 * math.erfc(x / math.sqrt(2))


@pytest.mark.parametrize("ratio", [0.5, 1.0, 1.8, 3.0])
def test_a_finished_piece_agrees_with_integration(ratio: float) -> None:
    pace = START.after(ratio, 0.3)
    expected = integrated(START, lambda x: math.exp(-0.5 * ((math.log(ratio) - x) / 0.3) ** 2))
    assert (pace.log_mean, pace.log_sd) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("ratio", [0.05, 0.7, 1.0, 1.6, 2.5, 4.0])
def test_a_piece_that_is_not_finished_agrees_with_integration(ratio: float) -> None:
    """Survival term: the piece takes longer than so many times its expected seconds."""
    pace = PRIOR.above(ratio, 0.3)
    expected = integrated(PRIOR, lambda x: above((math.log(ratio) - x) / 0.3))
    assert (pace.log_mean, pace.log_sd) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("ratio", [0.4, 0.7, 1.0, 1.6, 4.0])
def test_a_piece_that_took_no_longer_agrees_with_integration(ratio: float) -> None:
    pace = PRIOR.below(ratio, 0.5)
    expected = integrated(PRIOR, lambda x: above((x - math.log(ratio)) / 0.5))
    assert (pace.log_mean, pace.log_sd) == pytest.approx(expected, abs=1e-4)


def test_the_longer_it_is_unfinished_the_slower_the_pace() -> None:
    medians = [PRIOR.above(ratio).median for ratio in (0.01, 0.3, 1, 2, 5, 50, 1e6, 1e30)]
    assert medians == sorted(medians)
    assert medians[0] == pytest.approx(PRIOR.median, rel=1e-6)
    assert all(0 < PRIOR.above(r).log_sd <= PRIOR_SPREAD for r in (0.01, 1, 50, 1e6, 1e30))


def test_unfinished_work_never_makes_the_pace_look_better() -> None:
    for ratio in (1e-6, 0.2, 0.9, 1.3, 8.0):
        assert PRIOR.above(ratio).log_mean >= PRIOR.log_mean
        assert PRIOR.above(ratio).log_mean >= PRIOR.after(ratio).log_mean - 1e-9


def test_the_prior_is_as_stated() -> None:
    """Buehler, Griffin, Ross, J. Pers. Soc. Psychol. 67 (1994) 366-381: 55.5 days against 33.9,
    1.64 times, for work of weeks. Ours for an hour or two is lower; its spread is our own."""
    assert PRIOR.median == pytest.approx(PRIOR_PACE)
    assert 1.0 < PRIOR.median < 55.5 / 33.9
    assert PRIOR.within(0.8) == pytest.approx((0.83, 2.04), abs=0.005)
    assert NOISE > 0
