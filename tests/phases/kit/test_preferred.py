"""Preferred values are those of the standard, its exceptions included."""

from __future__ import annotations

import math

import eseries
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from phases.kit.preferred import (
    SERIES,
    around,
    at_or_above,
    decade,
    mantissas,
    nearest,
)

VALUES = st.floats(1e-12, 1e9)
NO_VALUES = (0.0, -1.0, math.nan, math.inf, -math.inf)


def hundreds(series: str) -> list[int]:
    return [round(100 * value) for value in mantissas(series)]


# IEC 60063:2015, tables 1 and 2, as reprinted in "E series of preferred numbers" (HandWiki) and
# in the list of the QRP club (qsl.net/g4usp).
E24 = [
    int(two)
    for two in "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91".split()
]
E12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82]
E6 = [10, 15, 22, 33, 47, 68]
E3 = [10, 22, 47]


@pytest.mark.parametrize(
    ("series", "printed"), [("E24", E24), ("E12", E12), ("E6", E6), ("E3", E3)]
)
def test_the_coarse_series_are_those_printed(series: str, printed: list[int]) -> None:
    assert [value // 10 for value in hundreds(series)] == printed


def test_the_eight_values_where_e24_is_not_the_rounded_formula() -> None:
    # Recomputed from round(10 * 10^(n/24)); standard values from IEC 60063:2015, table 1.
    formula = [round(10 * 10 ** (n / 24)) for n in range(24)]
    differ = {f: s for f, s in zip(formula, E24, strict=True) if f != s}
    assert differ == {26: 27, 29: 30, 32: 33, 35: 36, 38: 39, 42: 43, 46: 47, 83: 82}


@pytest.mark.parametrize("count", [48, 96])
def test_e48_and_e96_are_the_rounded_formula(count: int) -> None:
    # IEC 60063:2015, table 2; E48 compared value by value with the list of qsl.net/g4usp.
    formula = [round(100 * 10 ** (n / count)) for n in range(count)]
    assert hundreds(f"E{count}") == formula


def test_e192_is_the_rounded_formula_but_for_one_value() -> None:
    # 9.20 where the formula gives 9.19: from memory, IEC 60063:2015, table 2.
    formula = [round(100 * 10 ** (n / 192)) for n in range(192)]
    differ = {f: s for f, s in zip(formula, hundreds("E192"), strict=True) if f != s}
    assert differ == {919: 920}


def test_each_series_halves_the_one_above_it() -> None:
    for coarse, fine in (("E3", "E6"), ("E6", "E12"), ("E12", "E24")):
        assert mantissas(coarse) == mantissas(fine)[::2]
    for coarse, fine in (("E48", "E96"), ("E96", "E192")):
        assert mantissas(coarse) == mantissas(fine)[::2]


def test_e24_is_no_part_of_e96() -> None:
    # Recomputed: only six values coincide.
    assert set(hundreds("E24")) & set(hundreds("E96")) == {100, 110, 130, 150, 200, 750}


@pytest.mark.parametrize("series", SERIES)
def test_all_series_agree_with_another_table(series: str) -> None:
    oracle = eseries.series(eseries.ESeries[series])
    scale = 100 / oracle[0]
    assert hundreds(series) == [round(value * scale) for value in oracle]


@pytest.mark.parametrize("series", SERIES)
@given(value=VALUES)
def test_the_next_up_agrees_with_another_search(series: str, value: float) -> None:
    # The other search takes each float as it is; here a millionth of a per cent is no difference.
    assume(abs(math.log(value / nearest(series, value))) > 1e-8)
    key = eseries.ESeries[series]
    up = at_or_above(series, value)
    assert up == pytest.approx(eseries.find_greater_than_or_equal(key, value), rel=1e-8)
    assert up >= value * (1 - 1e-9)


@pytest.mark.parametrize("series", SERIES)
@given(value=VALUES)
def test_the_nearest_is_one_of_the_two_beside_by_ratio(series: str, value: float) -> None:
    beside = (decade(series, value / 11, value)[-1], at_or_above(series, value))
    distance = [abs(math.log(v / value)) for v in beside]
    assert abs(math.log(nearest(series, value) / value)) == min(distance)


def test_nearest_is_by_ratio_and_not_by_ohms() -> None:
    # Halfway from 8.2 to 10 is 9.1 in ohms and 9.055 by ratio.
    assert nearest("E12", 9.0) == 8.2
    assert nearest("E12", 9.08) == 10.0
    assert eseries.find_nearest(eseries.E12, 9.08) == 8.2
    # At the tie itself either is as near; one of them is given, and always the same.
    assert nearest("E12", math.sqrt(8.2 * 10)) in (8.2, 10.0)
    assert nearest("E12", 910.0) == 1000.0


@pytest.mark.parametrize("series", SERIES)
def test_a_preferred_value_is_its_own_neighbour_in_every_decade(series: str) -> None:
    for exponent in (-12, -6, -1, 0, 3, 8):
        for mantissa in mantissas(series):
            value = float(f"{mantissa}e{exponent}")
            assert at_or_above(series, value) == value
            assert nearest(series, value) == value


def test_rounding_on_the_way_does_not_skip_a_value() -> None:
    assert at_or_above("E24", 4.7e3 * (1 + 1e-12)) == 4.7e3
    assert at_or_above("E24", 4.7e3 * (1 + 1e-6)) == 5.1e3


def test_a_decade_holds_both_its_ends() -> None:
    assert decade("E3", 1.0, 10.0) == [1.0, 2.2, 4.7, 10.0]
    assert decade("E6", 10e3, 100e3) == [10e3, 15e3, 22e3, 33e3, 47e3, 68e3, 100e3]
    assert len(decade("E96", 1.0, 9.99)) == 96


@given(VALUES, st.integers(0, 5), st.sampled_from(SERIES))
def test_around_a_value_stand_so_many_neighbours_on_each_side(
    value: float, steps: int, series: str
) -> None:
    near = around(series, value, steps)
    middle = at_or_above(series, value)
    assert near == sorted(near)
    assert len(near) == 2 * steps + 1
    assert near[steps] == middle


@given(VALUES, st.integers(0, 5), st.sampled_from(SERIES))
def test_around_a_value_no_neighbour_is_left_out(value: float, steps: int, series: str) -> None:
    near, ladder = around(series, value, steps), decade(series, value / 1e4, value * 1e4)
    middle = ladder.index(near[steps])
    assert near == ladder[middle - steps : middle + steps + 1]


def test_around_4_7_k_in_e24() -> None:
    assert around("E24", 4.7e3, 2) == [3.9e3, 4.3e3, 4.7e3, 5.1e3, 5.6e3]
    assert around("E24", 4.6e3, 1) == [4.3e3, 4.7e3, 5.1e3]


@pytest.mark.parametrize("value", NO_VALUES)
def test_of_no_positive_number_there_is_no_preferred_value(value: float) -> None:
    for pick in (at_or_above, nearest):
        assert math.isnan(pick("E24", value))
    assert around("E24", value, 3) == []
    assert decade("E24", value, 10.0) == []


def test_a_decade_that_runs_backwards_or_without_end_is_empty() -> None:
    assert decade("E24", 10.0, 1.0) == []
    assert decade("E24", 1.0, math.inf) == []
