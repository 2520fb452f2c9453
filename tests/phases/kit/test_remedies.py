"""A remedy is the range of one input within which everything passes, or that there is none."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from phases.kit import (
    Bound,
    Calculator,
    Choice,
    Count,
    Quantity,
    above,
    below,
    judge,
    limit,
    output,
)
from phases.kit.arrays import Array
from phases.kit.bounds import PASS, VERDICTS
from phases.kit.frame import View
from phases.kit.grids import codes
from phases.kit.inputs import Supply
from phases.kit.remedies import Remedy, dependencies, remedies
from phases.kit.spread import Spread
from tests.depth import deep


class Regulator(
    Calculator, name="regulator", title="Regulator", per="rail", source="own arithmetic"
):
    """How hot does it get, and is there headroom?"""

    V_in = Quantity("V", "input", default="5 V", ledger="rail.{parent}.voltage", span=(1.0, 40.0))
    V_out = Quantity("V", "output", default="3 V", fixed=True)
    I = Quantity("A", "load", default="300 mA", span=(1e-3, 5.0))  # noqa: E741
    theta = Quantity("K/W", "thermal resistance", default="100 K/W ± 20 %", span=(1.0, 1000.0))
    T_A = Quantity("°C", "ambient", default="40 .. 60 °C")
    T_max = Quantity("°C", "junction limit", default="125 °C", fixed=True)

    @output("°C", "junction")
    def T_J(self) -> Array:
        return self.T_A + self.theta * (self.V_in - self.V_out) * self.I

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self.T_J, self.T_max, of=self.T_max - self.T_A)

    @limit("Headroom", unit="V", asked=0.0)
    def headroom(self) -> Bound:
        return above(self.V_in - self.V_out, 0.5)


def cures(calculation: Calculator) -> dict[str, Remedy]:
    return {remedy.field: remedy for remedy in remedies(judge(calculation))}


def made(
    limits: dict[str, Callable[[Any], Bound]], default: str = "1 V", **more: Any
) -> Calculator:
    """A calculation of one input x under some limits."""
    body: dict[str, Any] = {"x": Quantity("V", "x", default=default, **more)}
    for name, method in limits.items():
        body[name] = limit(name, unit="V", asked=0.0)(method)
    declare: Any = type(Calculator)
    kind = declare("Made", (Calculator,), body, name="made", title="", per="board", source="own")
    calculation: Calculator = kind()
    return calculation


def passes(calculation: Calculator, field: str, typ: float) -> bool:
    """Whether everything passes with `field` moved there, its relative spread kept."""
    value: Spread = calculation.inputs.reading(field).value
    unit = type(calculation).fields[field].unit  # type: ignore[attr-defined]
    moved = value.shifted(typ) if unit == "°C" else value.about(typ)
    found = codes(calculation, View(corners=True, scan={field: (moved,)}))
    return bool((found <= VERDICTS.index(PASS)).all())


# ---- found -------------------------------------------------------------------------------


def test_what_passes_needs_no_remedy() -> None:
    assert remedies(judge(Regulator(I="50 mA"))) == []


def test_each_input_that_alone_would_cure_it_is_given_with_its_range() -> None:
    # Own arithmetic: 60 °C + 120 K/W * 2 V * I within 125 °C less 5 % of 65 K: I to 257.29 mA;
    # theta to 85.76 K/W typical at 300 mA; V_in from 3.5 V to 4.7152 V; T_A to 39.2 °C + 10 K.
    found = cures(Regulator())
    assert found["I"].intervals == ((-math.inf, pytest.approx(0.257)),)
    assert found["theta"].intervals == ((-math.inf, pytest.approx(85.7)),)
    assert found["V_in"].intervals == ((pytest.approx(3.5), pytest.approx(4.71)),)
    assert found["I"].words == "Passes with load 257 mA or less"
    assert found["V_in"].words == "Passes with input 3.5 V to 4.71 V"
    assert all(remedy.whole for remedy in found.values())


def test_an_input_that_nobody_can_change_is_no_remedy() -> None:
    assert not {"V_out", "T_max"} & set(cures(Regulator()))


def test_a_marginal_limit_is_cured_to_the_margin_asked() -> None:
    marginal = Regulator(I="265 mA")
    assert judge(marginal).limit("junction") == "marginal"
    assert cures(marginal)["I"].intervals[0][1] == pytest.approx(0.257)


def test_a_temperature_is_moved_by_distance() -> None:
    found = cures(Regulator(I="280 mA"))
    # 67.2 K above ambient: (125 - 67.2 - 0.05 * 125) / 0.95 = 54.26 °C at the hot end.
    assert found["T_A"].intervals == ((-math.inf, pytest.approx(44.2)),)
    assert found["T_A"].words == "Passes with ambient 44.2 °C or less, typical"


# ---- rounded to the safe side ------------------------------------------------------------


@pytest.mark.parametrize("current", ["300 mA", "700 mA", "2 A"])
def test_the_end_that_is_named_passes_and_a_little_beyond_fails(current: str) -> None:
    calculation = Regulator(I=current)
    for remedy in remedies(judge(calculation)):
        for low, high in remedy.intervals:
            for end, beyond in ((low, 1 / 1.012), (high, 1.012)):
                if math.isfinite(end) and remedy.field != "T_A":
                    assert passes(calculation, remedy.field, end)
                    assert not passes(calculation, remedy.field, end * beyond)


def test_an_end_that_is_a_round_number_is_named_as_it_is() -> None:
    found = cures(made({"low": lambda c: below(c.x, 4.0)}, default="5 V"))
    assert found["x"].words == "Passes with x 4 V or less"
    found = cures(made({"high": lambda c: above(c.x, 12.3)}, default="5 V"))
    assert found["x"].words == "Passes with x 12.3 V or more"


def test_an_end_between_three_digits_goes_inward() -> None:
    found = cures(made({"low": lambda c: below(c.x, 4.0079)}, default="5 V"))
    assert found["x"].intervals[0][1] == pytest.approx(4.0)
    found = cures(made({"high": lambda c: above(c.x, 12.345)}, default="5 V"))
    assert found["x"].intervals[0][0] == pytest.approx(12.4)


def test_ends_are_rounded_in_the_unit_they_are_named_in() -> None:
    class Runtime(Calculator, name="runtime", title="", per="board", source="own arithmetic"):
        """A charge in mAh is not rounded in coulombs."""

        Q = Quantity("mAh", "capacity", default="100 mAh", span=(36.0, 36000.0))

        @limit("Charge", unit="C", asked=0.0)
        def charge(self) -> Bound:
            return above(self.Q, 1234.0)

    # 1234 C are 342.8 mAh; three digits of coulombs would be named as 344 mAh.
    assert cures(Runtime())["Q"].words == "Passes with capacity 343 mAh or more"


@settings(max_examples=deep(60))
@given(st.floats(0.02, 50.0), st.floats(0.02, 50.0), st.sampled_from(["", " ± 5 %", " ± 20 %"]))
def test_whatever_the_bounds_a_named_range_passes_and_its_outside_does_not(
    one: float, other: float, tolerance: str
) -> None:
    least, most = sorted((one, other))
    assume(most / least > 2.0)
    calculation = made(
        {"high": lambda c: above(c.x, least), "low": lambda c: below(c.x, most)},
        default=f"{most * 4:.6g} V{tolerance}",
        span=(1e-3, 1e3),
    )
    (remedy,) = remedies(judge(calculation))
    ((low, high),) = remedy.intervals
    for end, beyond in ((low, 1 / 1.012), (high, 1.012)):
        assert passes(calculation, "x", end)
        assert not passes(calculation, "x", end * beyond)


# ---- two intervals, none, partly ---------------------------------------------------------


def test_a_region_in_two_pieces_is_named_in_both() -> None:
    # (x - 2) (x - 5) must not be negative: up to 2 V, and from 5 V.
    found = cures(made({"outside": lambda c: above((c.x - 2) * (c.x - 5), 0.0)}, default="3 V"))
    assert found["x"].intervals == ((-math.inf, pytest.approx(2.0)), (pytest.approx(5.0), math.inf))
    assert found["x"].words == "Passes with x 2 V or less or 5 V or more"


def test_where_no_value_within_the_range_cures_it_there_is_no_remedy() -> None:
    assert remedies(judge(made({"never": lambda c: above(-c.x, 1.0)}))) == []
    contrary = made({"high": lambda c: above(c.x, 5.0), "low": lambda c: below(c.x, 4.0)})
    found = remedies(judge(contrary))
    assert not [remedy for remedy in found if remedy.whole]


def test_a_remedy_may_not_break_what_holds() -> None:
    # Less input would cool it, but below 3.5 V the headroom goes: nothing is left of V_in.
    found = cures(Regulator(I="5 A"))
    assert "V_in" not in found
    assert "I" in found


def test_where_no_input_cures_all_each_says_what_it_cures() -> None:
    class Two(Calculator, name="two", title="Two", per="board", source="own arithmetic"):
        """Two limits that read nothing in common."""

        x = Quantity("V", "x", default="10 V")
        y = Quantity("V", "y", default="4.1 V")

        @limit("x below", unit="V", asked=0.05)
        def x_low(self) -> Bound:
            return below(self.x, 4.0)

        @limit("y below", unit="V", asked=0.05)
        def y_low(self) -> Bound:
            return below(self.y, 4.2)

    judged = judge(Two())
    assert (judged.limit("x-low"), judged.limit("y-low")) == ("fail", "marginal")
    found = remedies(judged)
    # What cures a fail comes before what cures a narrow margin.
    assert [(r.field, r.cures, r.whole) for r in found] == [
        ("x", ("x-low",), False),
        ("y", ("y-low",), False),
    ]
    assert found[0].words == "x below passes with x 3.8 V or less"


def test_one_cure_of_everything_goes_before_cures_of_a_part() -> None:
    class Product(Calculator, name="product", title="", per="board", source="own arithmetic"):
        """x is in both limits, y in one."""

        x = Quantity("V", "x", default="10 V")
        y = Quantity("V", "y", default="10 V")

        @limit("x", unit="V", asked=0.0)
        def alone(self) -> Bound:
            return below(self.x, 4.0)

        @limit("product", unit="V", asked=0.0)
        def product(self) -> Bound:
            return below(self.x * self.y, 80.0)

    found = remedies(judge(Product()))
    assert [(r.field, r.whole) for r in found] == [("x", True)]
    assert found[0].cures == ("alone", "product")


def test_a_blank_input_is_not_cured_by_moving_another() -> None:
    class Blank(Calculator, name="blank", title="", per="board", source="own arithmetic"):
        """One input is still blank."""

        x = Quantity("V", "x", default="10 V")
        R = Quantity("Ω", "resistor", free=True)

        @limit("current", unit="A")
        def current(self) -> Bound:
            return below(self.x / self.R, 1.0)

    assert remedies(judge(Blank())) == []


# ---- what a person can change ------------------------------------------------------------


class Lamp(Calculator, name="lamp", title="Lamp", per="rail", source="own arithmetic"):
    """P = V² / (n R), which the case of each of n resistors must carry."""

    V = Quantity("V", "supply", default="10 V", of="board", ledger="rail.{rail}.window")
    R = Quantity("Ω", "resistor", default="500 Ω ± 1 %", of="board")
    P_max = Quantity("W", "rating", default="0.1 W", of="part", span=(0.01, 10.0))
    k = Quantity("1", "factor", default="1", of="practice")
    n = Count("resistors in parallel", default=1, least=1, of="board")
    case = Choice("case", ("small", "large"), default="small", of="board", way=True)
    sheet = Choice("formula", ("true", "kind"), default="true", of="practice")

    @limit("Power of each", unit="W", asked=0.0)
    def power(self) -> Bound:
        more = 3.0 if self.case == "large" else 1.0
        less = 0.1 if self.sheet == "kind" else 1.0
        return below(self.k * less * self.V**2 / (self.n * self.R), self.P_max * more)


def test_a_part_a_value_a_count_or_another_way_comes_before_what_the_board_is_asked_for() -> None:
    found = remedies(judge(Lamp()))
    assert [r.field for r in found] == ["R", "P_max", "n", "case", "k", "V"]
    assert found[2].words == "Passes with resistors in parallel 3"
    assert found[3].words == "Passes with case large"
    assert found[-1].words.startswith("Passes with supply 7.03 V or less")


def test_a_count_or_a_way_that_is_named_cures_and_fewer_do_not() -> None:
    assert judge(Lamp(n=3)).verdict == judge(Lamp(case="large")).verdict == PASS
    assert judge(Lamp(n=2)).verdict != PASS


def test_another_formula_is_no_remedy() -> None:
    assert "sheet" not in cures(Lamp())


def test_a_range_about_which_a_spread_stays_is_said_to_be_typical() -> None:
    assert cures(Lamp())["R"].words == "Passes with resistor 1.02 kΩ or more, typical"
    assert cures(Lamp(R="500 Ω"))["R"].words == "Passes with resistor 1 kΩ or more"


# ---- the ledger --------------------------------------------------------------------------


def from_ledger(origin: str, owner: str, **given_: Any) -> Regulator:
    supply = Supply(Spread.exact(5.0), origin, owner)
    return Regulator(given_, lookup={"rail.vbus.voltage": supply}.get, names={"parent": "vbus"})


def test_an_input_from_the_ledger_is_named_with_its_owner() -> None:
    found = cures(from_ledger("ledger", "step-down@vbus"))
    assert found["V_in"].owner == "step-down@vbus"
    assert found["V_in"].words == "Passes with input 3.5 V to 4.71 V (step-down@vbus)"
    assert cures(from_ledger("brief", "brief"))["V_in"].words.endswith("(brief)")
    assert cures(from_ledger("ledger", "step-down@vbus", V_in="5 V"))["V_in"].owner is None


def test_two_inputs_of_one_ledger_name_are_moved_together_and_named_once() -> None:
    class Twice(Calculator, name="twice", title="", per="rail", source="own arithmetic"):
        """The same voltage in two places."""

        one = Quantity("V", "one", default="1 V", ledger="rail.{rail}.voltage")
        two = Quantity("V", "two", default="1 V", ledger="rail.{rail}.voltage")

        @limit("sum", unit="V", asked=0.0)
        def sum(self) -> Bound:
            return below(self.one + self.two, 8.0)

    supply = Supply(Spread.exact(5.0), "brief", "brief")
    fed = Twice(lookup={"rail.x.voltage": supply}.get, names={"rail": "x"})
    assert [r.words for r in remedies(judge(fed))] == ["Passes with one 4 V or less (brief)"]
    apart = Twice(one="5 V", two="5 V")
    assert [r.words for r in remedies(judge(apart))] == [
        "Passes with one 3 V or less",
        "Passes with two 3 V or less",
    ]


def test_a_limit_depends_on_the_inputs_it_reads() -> None:
    assert dependencies(Regulator(), "headroom") == ["V_in", "V_out"]
    assert "theta" in dependencies(Regulator(), "junction")
