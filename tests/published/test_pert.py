"""Three-point estimates against worked PERT networks, and draws against closed forms.

Printed answers use z rounded to two decimals and a normal table of four figures: ± 0.001.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from coach.sprint.pace.finishing import draw_finishing
from coach.sprint.pace.pace import Pace
from coach.sprint.pace.pert import ThreePoint, chance_by, path
from coach.sprint.pace.work import PhaseWork, Work

TABLE = 1e-3

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


def tasks(*points: tuple[float, float, float]) -> list[ThreePoint]:
    return [ThreePoint(*three) for three in points]


# ---- worked networks -------------------------------------------------------------------------


def test_expected_time_and_variance_of_an_activity() -> None:
    """Anderson et al., table 9.4, activity A: 6 weeks, variance 1.78."""
    assert ANDERSON["A"].expected == 6
    assert ANDERSON["A"].classic_variance == pytest.approx(1.78, abs=0.005)


def test_the_critical_path_of_ten_activities() -> None:
    """Anderson et al., chapter 9: 17 weeks, σ 1.65, done within 20 weeks with 0.9656."""
    expected, variance = path(ANDERSON[name] for name in "AEHIJ")
    assert expected == pytest.approx(17)
    assert math.sqrt(variance) == pytest.approx(1.65, abs=0.005)
    assert chance_by(20, expected, variance) == pytest.approx(0.9656, abs=TABLE)


def test_a_path_of_four_out_of_seven_activities() -> None:
    """Taylor, Introduction to Management Science, PERT example, path 1-3-5-7: 24 weeks, done
    within 28 with 0.9633."""
    expected, variance = path(tasks((5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5)))
    assert (expected, variance) == (pytest.approx(24), pytest.approx(5.0))
    assert chance_by(28, expected, variance) == pytest.approx(0.9633, abs=TABLE)


def test_two_paths_are_met_together_with_the_product_of_their_chances() -> None:
    """Hillier, Hillier, Introduction to Management Science, project management case: paths A-C-E-F
    and B-D, T = 57. The figures are recomputed, the text prints none."""
    a, b, c, d, e, f = tasks(
        (12, 12, 12), (15, 21, 39), (12, 15, 18), (18, 27, 36), (12, 18, 24), (2, 5, 14)
    )
    upper, lower = path([a, c, e, f]), path([b, d])
    assert upper == (pytest.approx(51), pytest.approx(9))
    assert lower == (pytest.approx(50), pytest.approx(25))
    both = chance_by(57, *upper) * chance_by(57, *lower)
    assert both == pytest.approx(0.8983, abs=TABLE)


@pytest.mark.parametrize(
    ("limit", "expected", "variance", "printed"),
    [
        (25, 26, 4.11, 0.311),  # worked exercise, path B-E-H-J, printed with the answer
        (30, 26, 4.11, 0.975),
        (20, 17, 1 + 4 + 4, 0.84),  # three activities, means 3, 8, 6, sd 1, 2, 2
    ],
)
def test_the_chance_of_a_path(
    limit: float, expected: float, variance: float, printed: float
) -> None:
    assert chance_by(limit, expected, variance) == pytest.approx(printed, abs=2 * TABLE)


def test_eight_activities_in_sixteen_weeks() -> None:
    """Render, Stair, Quantitative Analysis for Management, PERT chapter: path A-C-E-G-H, 15 weeks,
    variance 3.11, 0.7157 (from memory; unrounded 0.7146)."""
    expected, variance = path(tasks((1, 2, 3), (1, 2, 3), (1, 4, 7), (3, 4, 11), (1, 2, 3)))
    assert expected == pytest.approx(15)
    assert variance == pytest.approx(3.11, abs=0.005)
    assert chance_by(16, expected, variance) == pytest.approx(0.7157, abs=2 * TABLE)


def test_a_path_without_spread_is_done_or_not() -> None:
    assert chance_by(5, 5, 0) == 1
    assert chance_by(4.9, 5, 0) == 0


# ---- draws -----------------------------------------------------------------------------------


@pytest.mark.parametrize("points", [(4, 5, 12), (1, 10, 17), (2, 5, 8), (0, 0, 6), (0.7, 1, 1.9)])
def test_draws_have_the_mean_and_the_exact_variance_of_the_beta_pert(
    points: tuple[float, float, float],
) -> None:
    """(te - o)(p - te) / 7, the variance of the beta distribution with the shapes of weight 4;
    checked here against a b / ((a + b)² (a + b + 1))."""
    one = ThreePoint(*points)
    low, likely, high = points
    reach = high - low
    alpha, beta = 1 + 4 * (likely - low) / reach, 1 + 4 * (high - likely) / reach
    of_beta = alpha * beta / ((alpha + beta) ** 2 * (alpha + beta + 1)) * reach**2
    assert one.variance == pytest.approx(of_beta)
    drawn = one.draw(np.random.default_rng(3), 200_000)
    assert drawn.mean() == pytest.approx(one.expected, rel=0.01)
    assert drawn.var() == pytest.approx(one.variance, rel=0.02)
    assert low <= drawn.min()
    assert drawn.max() <= high


def test_the_classic_variance_is_not_that_of_the_draws() -> None:
    """(1, 10, 17): 7.11 against 9.08; (0, 0, 6): 1.00 against 0.71."""
    wide, skewed = ThreePoint(1, 10, 17), ThreePoint(0, 0, 6)
    assert (wide.classic_variance, wide.variance) == (
        pytest.approx(7.1111, abs=1e-4),
        pytest.approx(9.0794, abs=1e-4),
    )
    assert (skewed.classic_variance, skewed.variance) == (
        pytest.approx(1.0),
        pytest.approx(0.7143, abs=1e-4),
    )


def test_a_simulated_path_agrees_with_its_closed_form() -> None:
    chain = [ANDERSON[name] for name in "AEHIJ"]
    chance = np.random.default_rng(7)
    total = sum((one.draw(chance, 100_000) for one in chain), np.zeros(100_000))
    exact = sum(one.variance for one in chain)
    assert total.mean() == pytest.approx(17, abs=0.02)
    assert total.var() == pytest.approx(exact, rel=0.02)
    # A sum of five skewed tasks is not quite normal: hundredths.
    assert (total <= 20).mean() == pytest.approx(chance_by(20, 17, exact), abs=0.015)


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
    square = math.exp(2 * 0.2 + 2 * 0.3**2) * (one.variance + one.expected**2)
    assert drawn.mean() == pytest.approx(mean + 40, rel=0.005)
    assert drawn.var() == pytest.approx(square - mean**2, rel=0.03)


def test_one_pace_for_all_the_work_widens_the_spread() -> None:
    """Shared K: the variance of a sum has the covariances, var(K) te_i te_j, besides."""
    pace, one = Pace(0.0, 0.3), ThreePoint(300, 600, 900)
    work = Work(drawing=tuple(PhaseWork(name, one) for name in ("a", "b", "c", "d")))
    drawn = draw_finishing(work, pace, draws=200_000, seed=5).essentials
    k_var = math.exp(2 * 0.3**2) - math.exp(0.3**2)
    k_square = math.exp(2 * 0.3**2)
    alone = k_square * (one.variance + one.expected**2) - (pace.mean * one.expected) ** 2
    expected = 4 * alone + 12 * k_var * one.expected**2
    assert drawn.var() == pytest.approx(expected, rel=0.03)


def test_three_times_must_rise() -> None:
    for points in [(2, 1, 3), (1, 3, 2), (-1, 0, 1)]:
        with pytest.raises(ValueError, match="no three rising times"):
            ThreePoint(*points)
    assert (ThreePoint(3, 3, 3).draw(np.random.default_rng(1), 4) == 3).all()
