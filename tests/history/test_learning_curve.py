"""The learning curve: what is fitted, how sure it is, and when nothing may be claimed."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.history.learning_curve import LEAST, fitted, learning_curve

positive = st.floats(0.01, 100.0)


@given(positive, st.floats(-1.5, 1.5), st.integers(3, 40))
def test_an_exact_curve_is_found_again(first: float, b: float, count: int) -> None:
    found = learning_curve([first * n**b for n in range(1, count + 1)])
    assert found is not None
    assert found.first == pytest.approx(first, rel=1e-6)
    assert found.b == pytest.approx(b, abs=1e-6)
    assert found.low <= found.b <= found.high
    assert found.at(7) == pytest.approx(first * 7**b, rel=1e-6)


def test_the_interval_holds_the_truth_about_nineteen_times_in_twenty() -> None:
    chance = Random(4)
    held = 0
    for _ in range(400):
        values = [2 * n**-0.2 * math.exp(chance.gauss(0, 0.2)) for n in range(1, 13)]
        found = learning_curve(values)
        assert found is not None
        held += found.low <= -0.2 <= found.high
    assert 0.92 <= held / 400 <= 0.98


def test_noise_alone_is_called_better_or_worse_about_once_in_twenty() -> None:
    chance = Random(5)
    curves = [
        learning_curve([math.exp(chance.gauss(0, 0.3)) for _ in range(12)]) for _ in range(400)
    ]
    claimed = [one for one in curves if one is not None and one.claim != "no trend"]
    assert len(claimed) / 400 < 0.08


def test_nothing_is_claimed_under_ten_sprints_however_plain_it_is() -> None:
    falling = [1 / n for n in range(1, LEAST + 1)]
    short, enough = learning_curve(falling[:-1]), learning_curve(falling)
    assert short is not None
    assert enough is not None
    assert short.claim == ""
    assert enough.claim == "better"


def test_two_points_have_a_curve_and_no_certainty() -> None:
    found = learning_curve([1.0, 0.5])
    assert found is not None
    assert found.rate == pytest.approx(0.5)
    assert (found.low, found.high, found.rates) == (None, None, None)


def test_too_few_points_have_none() -> None:
    assert learning_curve([]) is None
    assert learning_curve([1.0]) is None
    assert fitted([(2, 1.0), (2, 3.0)]) is None


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_value_that_is_not_above_zero_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        learning_curve([1.0, value])
