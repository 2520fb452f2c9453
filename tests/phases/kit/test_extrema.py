"""Extremes between the ends of a spread are found, and nothing is added where there are none."""

from __future__ import annotations

import math
from typing import Any

import pytest

from phases.kit import Bound, Calculator, Quantity, below, judge, limit, output
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.bounds import FAIL, PASS
from phases.kit.extrema import with_extrema
from tests.phases.sampling import escapes


class Hill(Calculator, name="hill", title="Hill", per="board", source="a test"):
    """a x - x², which is greatest at x = a / 2, and a x + a / x, which is least at x = 1."""

    x = Quantity("1", "place", default="0.2 / 0.3 / 4")
    a = Quantity("1", "slope", default="1 .. 3", least=0.1)

    @output("1", "closed")
    def closed(self) -> Array:
        return with_extrema(self.x, lambda x: self.a * x - x**2, at=self.a / 2)

    @output("1", "searched")
    def searched(self) -> Array:
        return with_extrema(self.x, lambda x: self.a * x - x**2)

    @output("1", "valley")
    def valley(self) -> Array:
        return with_extrema(self.x, lambda x: self.a * x + self.a / x)

    @limit("Height")
    def low_enough(self) -> Bound:
        return below(self.closed, 2.2)


def test_the_greatest_value_lies_between_the_ends() -> None:
    hill = judge(Hill())
    for name in ("closed", "searched"):
        assert hill.output(name).high == pytest.approx(9 / 4, rel=1e-10)
        assert hill.output(name).low == pytest.approx(4 * 1 - 16)
    assert hill.limit("low-enough") == FAIL  # at the corners alone it is 2 and less


def test_a_least_value_between_the_ends_is_found_too() -> None:
    assert judge(Hill()).output("valley").low == pytest.approx(2, rel=1e-10)


@pytest.mark.deeper
@pytest.mark.parametrize("x", ["0.2 / 0.3 / 4", "0.1 .. 0.4", "2 .. 4", "0.5 .. 0.5"])
def test_nothing_inside_the_spread_escapes(x: str) -> None:
    assert escapes(judge(Hill(x=x)), points=20_000) == []


@pytest.mark.parametrize(("x", "highest"), [("0.1 .. 0.2", 0.2 * 3 - 0.04), ("2 .. 3", 2.0)])
def test_where_it_does_not_turn_the_ends_stand(x: str, highest: float) -> None:
    hill = judge(Hill(x=x))
    assert hill.output("closed").high == pytest.approx(highest)
    assert hill.output("searched").high == pytest.approx(highest)


class Slopes(Calculator, name="slopes", title="Slopes", per="board", source="a test"):
    """x exp(-x), greatest at x = 1; x + 1 / x, least at x = 1; and a roof, with its ridge at a."""

    x = Quantity("1", "place", default="0.2 / 1.7 / 40", least=0.0)
    a = Quantity("1", "ridge", default="1.23456")

    @output("1", "skew")
    def skew(self) -> Array:
        return with_extrema(self.x, lambda x: x * np.exp(-x))

    @output("1", "steep")
    def steep(self) -> Array:
        return with_extrema(self.x, lambda x: x + 1 / x)

    @output("1", "roof")
    def roof(self) -> Array:
        return with_extrema(self.x, lambda x: 5 - np.maximum(x - self.a, 3 * (self.a - x)))


@pytest.mark.parametrize("x", ["0.2 / 1.7 / 40", "0.9 .. 3", "0.99 .. 40", "0.02 .. 1.01"])
def test_a_search_is_as_good_as_the_closed_form(x: str) -> None:
    slopes = judge(Slopes(x=x))
    assert slopes.output("skew").high == pytest.approx(math.exp(-1), rel=1e-9)  # at x = 1
    assert slopes.output("steep").low == pytest.approx(2, rel=1e-9)  # at x = 1


@pytest.mark.parametrize("a", ["0.5", "1.23456", "7", "7 .. 9"])
def test_a_kink_is_found_to_a_millionth_or_so_of_the_span(a: str) -> None:
    assert judge(Slopes(a=a)).output("roof").high == pytest.approx(5, abs=3 * 4e-6 * 40)


def test_an_exact_input_has_one_value() -> None:
    hill = judge(Hill(x="0.5", a="2"))
    figure = hill.output("searched")
    assert (figure.low, figure.typ, figure.high) == (0.75, 0.75, 0.75)
    assert hill.limit("low-enough") == PASS


def test_a_corner_is_named_as_long_as_the_extreme_is_one() -> None:
    def corner(**inputs: Any) -> set[str]:
        (verdict,) = judge(Hill(**inputs)).verdicts
        return set(verdict.corner)

    assert corner(x="0.1 .. 0.2") == {"x", "a"}
    assert corner() == {"a"}
