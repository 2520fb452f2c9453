"""Each spread has an axis of its own; what is one thing has one axis, and nothing is made twice."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from phases.kit import Bound, Calculator, Column, Quantity, Table, below, judge, limit, output
from phases.kit.arrays import Array
from phases.kit.frame import CORNERS, TYPICAL, Blank, TooMany, View
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread

SHARED = "rail.{rail}.voltage"


class Divider(Calculator, name="divider", title="Divider", per="rail", source="own arithmetic"):
    """What is left at the tap?"""

    V = Quantity("V", "supply", default="6 V", ledger=SHARED)
    V_again = Quantity("V", "supply again", default="6 V", ledger=SHARED)
    R1 = Quantity("Ω", "top", default="10 kΩ ± 1 %")
    R2 = Quantity("Ω", "bottom", default="10 kΩ ± 1 %")
    R_free = Quantity("Ω", "load", free=True)
    calls: list[str] = []  # noqa: RUF012

    @output("1", "ratio")
    def ratio(self) -> Array:
        self.calls.append("ratio")
        return self.R2 / (self.R1 + self.R2)

    @output("V", "tap")
    def tap(self) -> Array:
        return self.V * self.ratio

    @output("V", "difference")
    def difference(self) -> Array:
        return self.V - self.V_again


class Loads(Calculator, name="loads", title="Loads", per="board", source="own arithmetic"):
    """How much do they draw together?"""

    loads = Table(
        "loads",
        (
            Column("name", "text"),
            Column("I", "A"),
            Column("V", "V", default="1 V"),
            Column("count", "count", default="1"),
        ),
        default=({"name": "a", "I": "1 A ± 10 %"}, {"name": "b", "I": "3 A ± 10 %", "count": 2}),
    )

    @output("A", "together")
    def together(self) -> Array:
        return self.loads.sum(self.loads["I"] * self.loads["count"])

    @output("1", "share", along="loads")
    def share(self) -> Array:
        return self.loads["I"] / self.loads.pick(self.loads["I"], 0)

    @output("1", "opposed")
    def opposed(self) -> Array:
        return self.loads.pick(self.loads["I"], 0) / self.loads.pick(self.loads.opposed("I"), 0)

    @output("W", "power", along="loads")
    def power(self) -> Array:
        return self.loads["I"] * self.loads["V"]

    @output("A", "stacked", along="loads")
    def stacked(self) -> Array:
        first = self.loads.pick(self.loads["I"], 0)
        return self.loads.stacked([first, first * 5])

    @output("1", "constants", along="loads")
    def constants(self) -> Array:
        return self.loads.constant([7.0, 8.0])


def fed(origin: str = "ledger", **given: Any) -> Divider:
    supply = Supply(Spread(5.0, 6.0, 7.0), origin, "somebody")
    return Divider(given, lookup={"rail.x.voltage": supply}.get, names={"rail": "x"})


# ---- axes --------------------------------------------------------------------------------


def test_two_parts_of_the_same_tolerance_vary_apart() -> None:
    ratio = judge(Divider()).output("ratio")
    # Own arithmetic: 0.99 / (1.01 + 0.99) and 1.01 / (0.99 + 1.01).
    assert (ratio.low, ratio.typ, ratio.high) == pytest.approx((0.495, 0.5, 0.505))


@pytest.mark.parametrize("origin", ["ledger", "brief"])
def test_two_inputs_fed_by_the_same_name_are_one_thing_and_vary_together(origin: str) -> None:
    difference = judge(fed(origin)).output("difference")
    assert (difference.low, difference.high) == (0.0, 0.0)
    assert judge(fed(origin)).output("tap").high == pytest.approx(7 * 0.505)


def test_a_hand_that_takes_one_of_them_parts_them() -> None:
    apart = judge(fed(V_again="5 .. 7 V")).output("difference")
    assert (apart.low, apart.high) == (-2.0, 2.0)


def test_two_inputs_with_the_same_default_are_two_things() -> None:
    apart = judge(Divider(V="5 .. 7 V", V_again="5 .. 7 V")).output("difference")
    assert (apart.low, apart.high) == (-2.0, 2.0)


def test_where_one_of_the_two_is_sampled_inside_both_are() -> None:
    class Twice(Calculator, name="twice", title="Twice", per="rail", source="own arithmetic"):
        """A field that asks for samples beside one that does not."""

        plain = Quantity("V", "plain", default="1 V", ledger=SHARED)
        sampled = Quantity("V", "sampled", default="1 V", ledger=SHARED, inside=True)

        @output("V", "product")
        def product(self) -> Array:
            return self.plain * (12.0 - self.sampled)

    supply = Supply(Spread(4.0, 5.0, 8.0), "ledger", "somebody")
    calculation = Twice(lookup={"rail.x.voltage": supply}.get, names={"rail": "x"})
    # V (12 - V) is 32 at both ends, 35 at the typical value and greatest at 6 V with 36.
    product = judge(calculation).output("product")
    assert (product.low, product.high) == (32.0, 36.0)


def test_the_spread_of_a_column_is_shared_by_its_rows() -> None:
    judged = judge(Loads())
    together = judged.output("together")
    assert (together.low, together.typ, together.high) == pytest.approx((6.3, 7.0, 7.7))
    shares = judged.rows("share")
    assert (shares["b"].low, shares["b"].high) == pytest.approx((3.0, 3.0))


def test_opposed_ends_of_a_column_can_be_asked_for() -> None:
    opposed = judge(Loads()).output("opposed")
    assert (opposed.low, opposed.high) == pytest.approx((0.9 / 1.1, 1.1 / 0.9))


def test_two_columns_vary_apart() -> None:
    row = {"I": "1 A ± 10 %", "V": "2 V ± 10 %"}
    rows = [{"name": "a", **row}, {"name": "b", **row}]
    power = judge(Loads(loads=rows)).rows("power")["a"]
    assert (power.low, power.high) == pytest.approx((2 * 0.81, 2 * 1.21))


def test_rows_can_be_put_together_and_given_constants() -> None:
    judged = judge(Loads())
    stacked, constants = judged.rows("stacked"), judged.rows("constants")
    assert (stacked["a"].high, stacked["b"].high) == pytest.approx((1.1, 5.5))
    assert (constants["a"].typ, constants["b"].typ) == (7.0, 8.0)


# ---- views -------------------------------------------------------------------------------


def test_by_itself_a_calculation_shows_typical_values() -> None:
    calculation = Divider(V="5 .. 7 V")
    assert calculation.V.size == 1
    assert calculation.tap.item() == pytest.approx(3.0)
    assert calculation.under(TYPICAL).tap.item() == pytest.approx(3.0)


def test_under_corners_a_spread_has_both_its_ends_and_an_exact_value_one() -> None:
    seen = Divider(V="5 .. 7 V").under(CORNERS)
    assert sorted(seen.V.ravel()) == [5.0, 7.0]
    assert seen.V_again.size == 1
    assert seen.tap.size == 8


def test_a_held_input_stays_typical() -> None:
    seen = Divider(V="5 .. 7 V").under(View(corners=True, held=frozenset(("V", "R1"))))
    assert sorted(seen.tap.ravel()) == pytest.approx([6 * 9.9 / 19.9, 6 * 10.1 / 20.1])
    table = Loads().under(View(corners=True, held=frozenset(("loads.I",))))
    assert table.together.ravel().tolist() == [7.0]


def test_a_scan_exchanges_an_input_along_the_last_axis() -> None:
    points = tuple(Spread.exact(float(v)) for v in (1, 2, 3))
    seen = Divider().under(View(scan={"V": points}))
    assert seen.tap.shape[-1] == 3
    assert seen.tap.ravel().tolist() == pytest.approx([0.5, 1.0, 1.5])


def test_a_scanned_spread_keeps_its_corners() -> None:
    points = (Spread(0.9, 1.0, 1.1), Spread(1.8, 2.0, 2.2))
    seen = Divider().under(View(corners=True, scan={"V": points}))
    assert sorted(np.unique(seen.V)) == [0.9, 1.1, 1.8, 2.2]
    assert seen.tap.size == 2 * 2 * 2 * 2


def test_inputs_fed_together_are_scanned_together() -> None:
    points = (Spread(0.9, 1.0, 1.1), Spread(1.8, 2.0, 2.2))
    seen = fed().under(View(corners=True, scan={"V": points, "V_again": points}))
    assert not seen.difference.any()


def test_of_two_fed_together_one_alone_can_be_scanned_and_then_varies_apart() -> None:
    seen = fed().under(View(corners=True, scan={"V": (Spread(5.0, 6.0, 7.0),)}))
    assert sorted(seen.difference.ravel()) == [-2.0, 0.0, 0.0, 2.0]


def test_a_blank_input_cannot_be_read_but_can_be_scanned() -> None:
    with pytest.raises(Blank, match="load is blank"):
        _ = Divider().R_free
    seen = Divider().under(View(scan={"R_free": (Spread.exact(1.0),)}))
    assert seen.R_free.item() == 1.0


def test_an_output_is_made_once_however_often_it_is_read() -> None:
    Divider.calls.clear()
    calculation = Divider()
    for _ in range(3):
        _ = calculation.tap, calculation.ratio
    assert Divider.calls == ["ratio"]


def test_only_what_is_read_is_asked_of_the_ledger() -> None:
    asked: list[str] = []

    def lookup(name: str) -> None:
        asked.append(name)

    calculation = Divider(lookup=lookup, names={"rail": "x"})
    assert calculation.ratio.item() == 0.5
    assert asked == []
    _ = calculation.tap
    assert asked == ["rail.x.voltage"]


# ---- how many corners --------------------------------------------------------------------

NAMES = [f"x{n}" for n in range(24)]


def many(reads: int, limits: int = 1) -> Calculator:
    """A calculation whose inputs all have a spread; each limit reads the next `reads` of them."""
    body: dict[str, Any] = {name: Quantity("V", name, default="1 V ± 10 %") for name in NAMES}

    def declared(start: int) -> limit:
        def method(self: Calculator) -> Bound:
            total: Any = 0.0
            for name in NAMES[start : start + reads]:
                total = total + getattr(self, name)
            sizes.append(np.size(total))
            return below(total, reads * 1.2)

        return limit(f"sum from {start}", unit="V")(method)

    sizes: list[int] = []
    body |= {f"sum{n}": declared(n * reads) for n in range(limits)}
    body["sizes"] = sizes
    declare: Any = type(Calculator)
    made = declare("Many", (Calculator,), body, name="many", title="", per="board", source="own")
    calculation: Calculator = made()
    return calculation


def test_twelve_inputs_with_a_spread_are_looked_at_in_all_4096_corners() -> None:
    calculation = many(reads=12)
    verdict = judge(calculation).verdicts[0]
    assert verdict.value == pytest.approx(12 * 1.1)
    assert len(verdict.corner) == 12
    assert set(type(calculation).sizes) == {4096}  # type: ignore[attr-defined]


def test_corners_are_counted_for_each_limit_by_itself() -> None:
    judged = judge(many(reads=8, limits=3))
    assert [v.verdict for v in judged.verdicts] == ["pass", "pass", "pass"]
    assert [v.value for v in judged.verdicts] == pytest.approx([8.8, 8.8, 8.8])


def test_more_corners_than_can_be_looked_at_are_refused_before_they_are_made() -> None:
    calculation = many(reads=24)
    with pytest.raises(TooMany) as caught:
        judge(calculation)
    assert isinstance(caught.value, Refusal)
    assert str(caught.value) == (
        "21 inputs of one answer have a spread, which makes 2097152 corners. "
        "Give some of them a single value."
    )
    assert type(calculation).sizes == []  # type: ignore[attr-defined]
