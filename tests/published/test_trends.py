"""Learning curve, cautious miss rate and the intervals of trends, against published figures."""

from __future__ import annotations

import math

import pytest

from coach.history.learning_curve import fitted, learning_curve, student
from coach.history.trends import cautious
from coach.sprint.pace.scoring import wilson

EIGHTY_PER_CENT = {1: 50.0, 2: 40.0, 3: 35.1, 4: 32.0, 8: 25.6}
"""Hours of the n-th unit on an 80 % curve that begins with 50: 40 at the second, 32 at the fourth,
25.6 at the eighth (each doubling times 0.8), 35.1 at the third. T. P. Wright, Factors affecting the
cost of airplanes, Journal of the Aeronautical Sciences 3 (1936) 122-128, gives the law; the table
is the usual classroom one (common practice)."""


def test_the_eighty_per_cent_curve_is_the_published_one() -> None:
    curve = fitted(list(EIGHTY_PER_CENT.items()))
    assert curve is not None
    assert curve.rate == pytest.approx(0.8, abs=0.001)
    assert curve.b == pytest.approx(math.log(0.8) / math.log(2), abs=0.001)
    assert curve.b == pytest.approx(-0.3219, abs=0.001)
    for n, hours in EIGHTY_PER_CENT.items():
        assert curve.at(n) == pytest.approx(hours, abs=0.06)


def test_its_exponent_gives_its_figures() -> None:
    curve = learning_curve([50 * n**-0.3219 for n in range(1, 9)])
    assert curve is not None
    assert [round(curve.at(n), 1) for n in EIGHTY_PER_CENT] == [*EIGHTY_PER_CENT.values()]


@pytest.mark.parametrize(
    ("free", "value"),
    [
        (1, 12.706),
        (2, 4.303),
        (3, 3.182),
        (4, 2.776),
        (5, 2.571),
        (8, 2.306),
        (10, 2.228),
        (20, 2.086),
        (30, 2.042),
        (100, 1.984),
    ],
)
def test_students_t_at_0_975(free: int, value: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values of
    Student's t distribution, column 0.975 (from memory)."""
    assert student(0.975, free) == pytest.approx(value, abs=0.0006)


def test_wilson_for_eight_of_ten() -> None:
    """E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212: the formula;
    8 of 10 at 95 % are 0.49 to 0.94."""
    low, high = wilson(8, 10)
    assert (round(low, 2), round(high, 2)) == (0.49, 0.94)


@pytest.mark.parametrize(("misses", "of", "rate"), [(1, 8, 0.118), (3, 8, 0.235)])
def test_the_cautious_miss_rate(misses: int, of: int, rate: float) -> None:
    """(misses + 1) / (trials + 9): the mean of a beta posterior with prior Beta(1, 8), one miss in
    nine (A. Gelman et al., Bayesian Data Analysis, 3rd ed., 2.4: the posterior mean of a binomial
    rate is (α + y) / (α + β + n)). The prior is our own choice."""
    assert cautious(misses, of) == pytest.approx(rate, abs=0.0005)
    alpha, beta = 1, 8
    assert cautious(misses, of) == (alpha + misses) / (alpha + beta + of)
