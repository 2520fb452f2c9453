"""The sampling that all calculators are tested with finds what a judgement has missed."""

from __future__ import annotations

import pytest

from phases.kit import Bound, Calculator, Column, Quantity, Table, below, judge, limit, output
from phases.kit.arrays import Array
from tests.phases.sampling import escapes


class Hump(Calculator, name="hump", title="Hump", per="board", source="a test"):
    """An output with its greatest value inside the spread, which corners alone do not see."""

    D = Quantity("1", "duty", default="0.2 / 0.3 / 0.8")

    @output("1", "hump")
    def height(self) -> Array:
        return self.D * (1 - self.D)

    @limit("Height")
    def low_enough(self) -> Bound:
        return below(self.height, 0.2)


class SampledHump(Hump, name="sampled-hump", title="Hump", per="board", source="a test"):
    """The same, declared to be sampled inside."""

    D = Quantity("1", "duty", default="0.2 / 0.3 / 0.8", inside=True)


class Loads(Calculator, name="loads", title="Loads", per="board", source="a test"):
    """A sum over rows, in which a row that returns current counts the other way."""

    loads = Table(
        "loads",
        (Column("name", "text"), Column("I", "A"), Column("returns", "yes/no")),
        default=(
            {"name": "a", "I": "1 .. 2 A", "returns": "no"},
            {"name": "b", "I": "1 .. 2 A", "returns": "yes"},
        ),
    )

    @output("A", "sum")
    def total(self) -> Array:
        return self.loads.sum(self.loads["I"] * (1 - 2 * self.loads["returns"]))


def test_a_greatest_value_between_the_corners_escapes_twice() -> None:
    height, low_enough = escapes(judge(Hump()), points=5_000)
    assert height.startswith("height: 0.16")
    assert height.endswith("reported 0.16 .. 0.21")  # the typical duty 0.3 gives 0.21
    assert low_enough == "low-enough: fails at a sample, reported pass"


def test_declared_to_be_sampled_it_does_not() -> None:
    assert escapes(judge(SampledHump()), points=5_000) == []


def test_rows_of_a_table_are_drawn_each_for_itself() -> None:
    (total,) = escapes(judge(Loads()), points=20_000)
    assert total.startswith("total: ")


def test_without_a_spread_there_is_nothing_to_sample() -> None:
    with pytest.raises(ValueError, match="no input has a spread"):
        escapes(judge(Hump(D="0.5")), points=5_000)
