"""A spread keeps its order, and moves to another typical value as its kind of quantity does."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.spread import Spread

VALUES = st.floats(-1e6, 1e6).filter(lambda value: value == 0 or abs(value) >= 1e-12)
SPREADS = st.tuples(VALUES, VALUES, VALUES).map(lambda ends: Spread(*sorted(ends)))


def test_an_exact_value_is_its_own_least_and_greatest() -> None:
    assert Spread.exact(5.0) == Spread(5.0, 5.0, 5.0)
    assert Spread.exact(5.0).is_exact
    assert not Spread(4.0, 5.0, 6.0).is_exact


def test_a_tolerance_reaches_as_far_down_as_up() -> None:
    assert Spread.of(5.0, 0.05) == Spread(4.75, 5.0, 5.25)
    assert Spread.of(5.0, 0.0) == Spread.exact(5.0)


def test_a_tolerance_of_a_negative_value_keeps_the_order() -> None:
    assert Spread.of(-5.0, 0.1) == Spread(-5.5, -5.0, -4.5)


def test_about_another_value_the_ratio_stays() -> None:
    assert Spread(8.0, 10.0, 12.0).about(100.0) == Spread(80.0, 100.0, 120.0)
    assert Spread(8.0, 10.0, 12.0).about(-10.0) == Spread(-12.0, -10.0, -8.0)


def test_about_zero_there_is_no_ratio_and_the_distance_stays() -> None:
    assert Spread(-1.0, 0.0, 2.0).about(10.0) == Spread(9.0, 10.0, 12.0)


def test_a_temperature_shifts_by_distance() -> None:
    assert Spread(-10.0, 25.0, 60.0).shifted(40.0) == Spread(5.0, 40.0, 75.0)


@given(SPREADS, VALUES)
def test_a_moved_spread_is_still_in_order_about_its_new_value(spread: Spread, typ: float) -> None:
    for moved in (spread.about(typ), spread.shifted(typ)):
        assert moved.typ == typ
        assert moved.low <= typ <= moved.high


@given(SPREADS)
def test_moving_to_where_it_is_changes_nothing(spread: Spread) -> None:
    assert spread.shifted(spread.typ).low == pytest.approx(spread.low, rel=1e-9, abs=1e-9)
    there = spread.about(spread.typ)
    assert math.isclose(there.low, spread.low, rel_tol=1e-9, abs_tol=1e-9)
    assert math.isclose(there.high, spread.high, rel_tol=1e-9, abs_tol=1e-9)
