"""Three-point estimates against worked PERT networks, and draws against closed forms."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest

from coach.sprint.pace.finishing import draw_finishing
from coach.sprint.pace.pace import Pace
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import PhaseWork, Work

ANDERSON = {
    name: ThreePoint(*points)
    for name, points in {
        "A": (4, 5, 12),
        "B": (1, 1.5, 5),
        "C": (2, 3, 4),
        "D": (3, 4, 11),
        "E": (2, 3, 4),
        "F": (1.5, 2, 2.5),
        "G": (1.5, 3, 4.5),
        "H": (2.5, 3.5, 7.5),
        "I": (1.5, 2, 2.5),
        "J": (1, 2, 3),
    }.items()
}
"""Anderson, Sweeney, Williams et al., An Introduction to Management Science, chapter 9, tables
9.4 and 9.6: ten activities, weeks; critical path A-E-H-I-J."""


def variance(one: ThreePoint) -> float:
    """(te - o)(p - te) / 7, that of the beta distribution with the shapes of weight 4."""
    return (one.expected - one.low) * (one.high - one.expected) / 7


def tasks(*points: tuple[float, float, float]) -> list[ThreePoint]:
    return [ThreePoint(*three) for three in points]


# ---- worked networks -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        # Anderson et al., table 9.4: activity A takes 6 weeks, the critical path A-E-H-I-J 17.
        ([ANDERSON["A"]], 6),
        ([ANDERSON[name] for name in "AEHIJ"], 17),
        # Taylor, Introduction to Management Science, PERT example, path 1-3-5-7: 24 weeks.
        (tasks((5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5)), 24),
        # Hillier, Hillier, Introduction to Management Science, project management case: paths
        # A-C-E-F and B-D.
        (tasks((12, 12, 12), (12, 15, 18), (12, 18, 24), (2, 5, 14)), 51),
        (tasks((15, 21, 39), (18, 27, 36)), 50),
        # Render, Stair, Quantitative Analysis for Management, path A-C-E-G-H: 15 weeks.
        (tasks((1, 2, 3), (1, 2, 3), (1, 4, 7), (3, 4, 11), (1, 2, 3)), 15),
    ],
)
def test_the_expected_time_of_a_path(path: list[ThreePoint], expected: float) -> None:
    assert sum(one.expected for one in path) == pytest.approx(expected)


# ---- draws -----------------------------------------------------------------------------------


@pytest.mark.parametrize("points", [(4, 5, 12), (1, 10, 17), (2, 5, 8), (0, 0, 6), (0.7, 1, 1.9)])
def test_draws_have_the_mean_and_the_exact_variance_of_the_beta_pert(
    points: tuple[float, float, float],
) -> None:
    """The variance of a beta distribution: a b / ((a + b)² (a + b + 1))."""
    one = ThreePoint(*points)
    low, likely, high = points
    reach = high - low
    alpha, beta = 1 + 4 * (likely - low) / reach, 1 + 4 * (high - likely) / reach
    of_beta = alpha * beta / ((alpha + beta) ** 2 * (alpha + beta + 1)) * reach**2
    drawn = one.draw(np.random.default_rng(3), 200_000)
    assert drawn.mean() == pytest.approx(one.expected, rel=0.01)
    assert drawn.var() == pytest.approx(of_beta, rel=0.02)
    assert variance(one) == pytest.approx(of_beta)
    assert low <= drawn.min()
    assert drawn.max() <= high


def test_a_simulated_path_agrees_with_its_closed_form() -> None:
    chain = [ANDERSON[name] for name in "AEHIJ"]
    chance = np.random.default_rng(7)
    total = sum((one.draw(chance, 100_000) for one in chain), np.zeros(100_000))
    exact = sum(map(variance, chain))
    assert total.mean() == pytest.approx(17, abs=0.02)
    assert total.var() == pytest.approx(exact, rel=0.02)
    # A sum of five skewed tasks is not quite normal: hundredths.
    assert (total <= 20).mean() == pytest.approx(NormalDist(17, exact**0.5).cdf(20), abs=0.015)


@pytest.mark.parametrize(("paths", "together"), [(1, 0.5), (2, 0.25), (4, 0.0625)])
def test_paths_that_must_all_be_done_are_done_less_often(paths: int, together: float) -> None:
    """Merge bias: n independent paths, each in time with a half, are all in time with a half to
    the n (Bhat 2015 prints 50, 25 and about 7 % for 1, 2 and 4 paths of 80 / 100 / 120)."""
    chance = np.random.default_rng(11)
    drawn = [ThreePoint(80, 100, 120).draw(chance, 100_000) for _ in range(paths)]
    assert (np.max(drawn, axis=0) <= 100).mean() == pytest.approx(together, abs=0.005)


def test_finishing_times_agree_with_the_product_of_pace_and_work() -> None:
    """E[K X] = E[K] E[X] and E[(K X)²] = E[K²] E[X²] of independent K and X; of a log-normal
    E[K²] = exp(2 µ + 2 τ²)."""
    pace = Pace(0.2, 0.3)
    one = ThreePoint(300, 600, 1500)
    work = Work(drawing=(PhaseWork("layout", one),), walks=40.0)
    drawn = draw_finishing(work, pace, draws=200_000, seed=5).essentials
    mean = pace.mean * one.expected
    square = math.exp(2 * 0.2 + 2 * 0.3**2) * (variance(one) + one.expected**2)
    assert drawn.mean() == pytest.approx(mean + 40, rel=0.005)
    assert drawn.var() == pytest.approx(square - mean**2, rel=0.03)


def test_one_pace_for_all_the_work_widens_the_spread() -> None:
    """Shared K: the variance of a sum has the covariances, var(K) te_i te_j, besides."""
    pace, one = Pace(0.0, 0.3), ThreePoint(300, 600, 900)
    work = Work(drawing=tuple(PhaseWork(name, one) for name in ("a", "b", "c", "d")))
    drawn = draw_finishing(work, pace, draws=200_000, seed=5).essentials
    k_var = math.exp(2 * 0.3**2) - math.exp(0.3**2)
    k_square = math.exp(2 * 0.3**2)
    alone = k_square * (variance(one) + one.expected**2) - (pace.mean * one.expected) ** 2
    expected = 4 * alone + 12 * k_var * one.expected**2
    assert drawn.var() == pytest.approx(expected, rel=0.03)


def test_three_times_must_rise() -> None:
    for points in [(2, 1, 3), (1, 3, 2), (-1, 0, 1)]:
        with pytest.raises(ValueError, match="no three rising times"):
            ThreePoint(*points)
    assert (ThreePoint(3, 3, 3).draw(np.random.default_rng(1), 4) == 3).all()
