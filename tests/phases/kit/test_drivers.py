"""A driver is the input whose spread costs the margin; the one that costs most comes first."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import Bound, Calculator, Column, Quantity, Table, below, judge, limit
from phases.kit.bounds import NotApplicable, not_applicable
from phases.kit.drivers import Driver, drivers
from phases.kit.inputs import Supply
from phases.kit.spread import Spread


class Sum(Calculator, name="sum", title="Sum", per="rail", source="own arithmetic"):
    """Three inputs of different spread, a table, and limits that read some of them."""

    a = Quantity("V", "a", default="1 V ± 10 %", ledger="rail.{rail}.voltage")
    again = Quantity("V", "a again", default="0 V", ledger="rail.{rail}.voltage")
    b = Quantity("V", "b", default="1 V ± 50 %")
    c = Quantity("V", "c", default="1 V ± 20 %")
    exact = Quantity("V", "exact", default="1 V")
    loads = Table(
        "loads",
        (Column("name", "text"), Column("V", "V", "drop")),
        default=({"name": "x", "V": "1 V ± 30 %"},),
    )

    @limit("All", unit="V")
    def all_(self) -> Bound:
        return below(self.a + self.again + self.b + self.c + self.exact, 10.0)

    @limit("Thin", unit="V")
    def thin(self) -> Bound:
        return below(self.a + self.loads.sum(self.loads["V"]), 2.41)

    @limit("Never", unit="V")
    def never(self) -> NotApplicable:
        return not_applicable("It never does")


def found(given: dict[str, Any] | None = None, most: int = 3) -> list[Driver]:
    return drivers(judge(Sum(given or {})), most)


def test_drivers_are_ranked_by_the_margin_they_cost() -> None:
    of_all = [d for d in found() if d.limit == "all"]
    assert [d.field for d in of_all] == ["b", "c", "a"]
    # Own arithmetic: held at its typical value each gives back its own reach.
    assert [d.gain for d in of_all] == pytest.approx([0.5, 0.2, 0.1])
    assert {d.unit for d in of_all} == {"V"}


def test_the_limit_with_the_least_margin_comes_first() -> None:
    assert [d.limit for d in found()][:2] == ["thin", "thin"]


def test_a_column_of_a_table_can_be_a_driver() -> None:
    first = found()[0]
    assert (first.field, first.title) == ("loads.V", "loads, drop")
    assert first.gain == pytest.approx(0.3)


def test_only_so_many_are_named_for_each_limit() -> None:
    assert [d.field for d in found(most=1)] == ["loads.V", "b"]


def test_what_has_no_spread_and_what_does_not_apply_drives_nothing() -> None:
    assert {d.field for d in found()} == {"a", "b", "c", "loads.V"}
    assert "never" not in {d.limit for d in found()}
    loads = [{"name": "x", "V": "1 V"}]
    assert found({"a": "1 V", "b": "1 V", "c": "1 V", "loads": loads}) == []


def test_shares_need_not_add_up() -> None:
    class Product(Calculator, name="product", title="", per="board", source="own arithmetic"):
        """Spreads that multiply."""

        x = Quantity("V", "x", default="10 V ± 50 %")
        y = Quantity("V", "y", default="10 V ± 50 %")

        @limit("Product", unit="V")
        def product(self) -> Bound:
            return below(self.x * self.y, 200.0)

    judged = judge(Product())
    gains = [d.gain for d in drivers(judged)]
    assert gains == pytest.approx([75.0, 75.0])
    assert sum(gains) > 225.0 - 100.0


def test_two_inputs_of_one_ledger_name_are_one_driver() -> None:
    supply = Supply(Spread(0.5, 1.0, 1.5), "brief", "brief")
    fed = Sum(lookup={"rail.x.voltage": supply}.get, names={"rail": "x"})
    of_all = [d for d in drivers(judge(fed)) if d.limit == "all"]
    assert [(d.field, d.gain) for d in of_all][:2] == [
        ("a", pytest.approx(1.0)),
        ("b", pytest.approx(0.5)),
    ]
