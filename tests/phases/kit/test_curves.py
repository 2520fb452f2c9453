"""A curve shows an output against one input: its band over all corners, and the limit drawn in."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from phases.kit import (
    Bound,
    Calculator,
    Column,
    Curve,
    Quantity,
    Table,
    Verdictable,
    above,
    below,
    holds,
    inside,
    limit,
    not_applicable,
    output,
)
from phases.kit.arrays import Array
from phases.kit.curves import Traced, trace
from phases.kit.inputs import Supply
from phases.kit.spread import Spread


class Line(Calculator, name="line", title="Line", per="rail", source="own arithmetic"):
    """y = a x, with limits of every kind."""

    x = Quantity("V", "x", default="2 V ± 10 %", ledger="rail.{rail}.voltage", span=(1.0, 5.0))
    x_again = Quantity("V", "x again", default="0 V", ledger="rail.{rail}.voltage")
    a = Quantity("1", "slope", default="2 .. 4")
    top = Quantity("V", "limit", default="9 .. 10 V")
    T = Quantity("°C", "temperature", default="-10 .. 10 °C")
    R = Quantity("Ω", "resistor", free=True)
    rows = Table(
        "rows",
        (Column("row", "text"), Column("V", "V")),
        default=({"row": "p", "V": "1 V"}, {"row": "q", "V": "2 V"}),
        scenarios=True,
    )
    case = Quantity("1", "case", default="0")

    @output("V", "y")
    def y(self) -> Array:
        return self.a * self.x

    @output("V", "of both")
    def both(self) -> Array:
        return self.x - self.x_again

    @output("°C", "warm")
    def warm(self) -> Array:
        return self.T + 1.0

    @output("A", "current")
    def current(self) -> Array:
        return self.x / self.R

    @output("V", "of rows", along="rows")
    def of_rows(self) -> Array:
        return self.rows["V"] * self.x

    @limit("Below", unit="V")
    def beneath(self) -> Bound:
        return below(self.y, self.top)

    @limit("Above", unit="V")
    def over(self) -> Bound:
        return above(self.y, self.top)

    @limit("Inside", unit="V")
    def between(self) -> Bound:
        return inside(self.y, 2.0, 12.0)

    @limit("Rows", unit="V", along="rows")
    def rowed(self) -> Bound:
        return below(self.y, self.rows["V"] * 5)

    @limit("None", unit="V")
    def none(self) -> Verdictable:
        return not_applicable("It never does")

    @limit("Check", unit="V")
    def check(self) -> Verdictable:
        return holds(self.y > 0, "y is negative")


def traced(
    y: str = "y", *, x: str = "x", given: dict[str, Any] | None = None, **curve: Any
) -> Traced:
    found = trace(Line(given or {}), Curve("Curve", x=x, y=y, **curve), 5)
    assert found is not None
    return found


def test_the_band_runs_over_all_corners_of_the_others() -> None:
    found = traced()
    assert found.x == (1.0, 2.0, 3.0, 4.0, 5.0)
    assert found.low == (2.0, 4.0, 6.0, 8.0, 10.0)
    assert found.typ == (3.0, 6.0, 9.0, 12.0, 15.0)
    assert found.high == (4.0, 8.0, 12.0, 16.0, 20.0)
    assert (found.at, found.x_unit, found.y_unit) == (2.0, "V", "V")


def test_a_logarithmic_curve_has_its_points_at_even_ratios() -> None:
    found = traced(log=True, span=(1.0, 16.0))
    assert found.x == pytest.approx((1.0, 2.0, 4.0, 8.0, 16.0))


def test_the_limit_is_drawn_at_its_strictest_corner() -> None:
    assert traced(limit="beneath").bound == (9.0,) * 5
    assert traced(limit="over").bound == (10.0,) * 5
    assert traced(limit="rowed").bound == (5.0,) * 5


def test_of_two_ends_the_one_that_is_nearer_where_least_is_left_is_drawn() -> None:
    # y is 2 .. 4 at x = 1: at the low end; 10 .. 20 at x = 5: over the high one.
    assert traced(limit="between").bound == (2.0, 2.0, 12.0, 12.0, 12.0)


@pytest.mark.parametrize("name", ["none", "check", None])
def test_without_a_bound_nothing_is_drawn(name: str | None) -> None:
    assert traced(limit=name).bound is None


def test_where_the_calculation_stands_is_always_on_the_curve() -> None:
    found = traced(given={"x": "10 V ± 10 %"})
    assert (found.x[0], found.x[-1]) == (1.0, 11.0)
    found = traced(given={"x": "0.5 V"})
    assert found.x[0] == 0.5


def test_a_temperature_is_looked_at_a_hundred_degrees_to_each_side() -> None:
    found = traced("warm", x="T")
    assert (found.x[0], found.x[-1]) == (-100.0, 100.0)
    assert found.low == found.high


def test_without_a_span_a_curve_runs_over_two_decades() -> None:
    found = traced(x="a")
    assert (found.x[0], found.x[-1]) == pytest.approx((0.3, 30.0))
    assert found.high == pytest.approx(tuple(2.2 * x for x in found.x))


def test_an_output_that_does_not_depend_on_x_is_a_flat_line() -> None:
    assert traced("warm").high == (11.0,) * 5


def test_rows_of_an_output_make_one_band() -> None:
    found = traced("of_rows")
    assert (found.low[0], found.high[0]) == (1.0, 2.0)


def test_inputs_of_one_ledger_name_move_together() -> None:
    supply = Supply(Spread(1.0, 2.0, 3.0), "brief", "brief")
    fed = Line(lookup={"rail.r.voltage": supply}.get, names={"rail": "r"})
    found = trace(fed, Curve("Both", x="x", y="both"), 5)
    assert found is not None
    assert found.low == found.high == (0.0,) * 5


def test_while_an_input_is_blank_there_is_no_curve() -> None:
    assert trace(Line(), Curve("Current", x="x", y="current")) is None
    assert trace(Line(), Curve("Current", x="R", y="current")) is None
    assert trace(Line(R="10 Ω"), Curve("Current", x="x", y="current")) is not None


def test_a_table_without_rows_has_no_curve_and_no_bound() -> None:
    empty: dict[str, Any] = {"rows": []}
    assert trace(Line(empty), Curve("Rows", x="x", y="of_rows")) is None
    assert traced(given=empty, limit="rowed").bound is None


def test_a_point_that_cannot_be_evaluated_is_no_fault() -> None:
    class Pole(Calculator, name="pole", title="Pole", per="board", source="own arithmetic"):
        """It has a pole at 1 V and a root below it."""

        x = Quantity("V", "x", default="2 V", span=(0.0, 2.0))

        @output("1", "y")
        def y(self) -> Array:
            return 1.0 / np.sqrt(self.x - 1.0)

    found = trace(Pole(), Curve("Pole", x="x", y="y"), 5)
    assert found is not None
    assert [bool(np.isfinite(y)) for y in found.typ] == [False, False, False, True, True]
