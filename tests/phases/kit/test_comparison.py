"""A comparison: one calculation over the options of a choice, or several on one question."""

from __future__ import annotations

import pytest

from phases.kit import Bound, Calculator, Choice, Quantity, below, judge, limit, output
from phases.kit.arrays import Array
from phases.kit.comparison import answer_of, compare, side_by_side
from phases.kit.inputs import Given
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from tests.phases.sampling import escapes


class Protection(Calculator, name="protection", title="", per="board", source="own arithmetic"):
    """What does each way of blocking back-feed cost?"""

    I = Quantity("A", "load", default="0.5 A")  # noqa: E741
    kind = Choice("protection", ("none", "diode", "transistor"), default="diode")

    @output("V", "drop")
    def drop(self) -> Array:
        return {"none": 0.0, "diode": 0.4, "transistor": 0.05}[self.kind] * self.I / self.I

    @limit("Drop", unit="V")
    def little(self) -> Bound:
        return below(self.drop, 0.3)


def test_each_option_gets_a_judgement_in_the_order_declared() -> None:
    found = compare(Protection(), "kind")
    assert list(found) == ["none", "diode", "transistor"]
    assert [judged.output("drop").typ for judged in found.values()] == [0.0, 0.4, 0.05]
    assert [judged.verdict for judged in found.values()] == ["pass", "fail", "pass"]


def test_everything_else_stays_as_given() -> None:
    for judged in compare(Protection(I="2 A", kind="none"), "kind").values():
        assert judged.calculation.text("I") == "2 A"


def test_the_option_that_is_set_is_judged_as_it_was() -> None:
    calculation = Protection(kind="transistor")
    assert compare(calculation, "kind")["transistor"].verdicts == judge(calculation).verdicts


@pytest.mark.parametrize("field", ["I", "nothing"])
def test_what_is_no_choice_cannot_be_compared_over(field: str) -> None:
    with pytest.raises(Refusal) as caught:
        compare(Protection(), field)
    assert caught.value.where == "protection"
    assert "kind" in caught.value.do


# ---- several calculations on one question ------------------------------------------------


class Resistor(Calculator, name="resistor", title="", per="board", source="own arithmetic"):
    """What does a resistor lose?"""

    I = Quantity("A", "load", default="1 A")  # noqa: E741
    R = Quantity("Ω", "resistance", default="1 Ω ± 10 %")

    @output("W", "loss")
    def P(self) -> Array:
        return self.I * self.I * self.R


class Both(Calculator, name="both", title="", per="board", source="own arithmetic"):
    """What do two of them lose, each by itself?"""

    x = Quantity("1", "something else", default="1")
    load = Quantity("A", "load", default="1 .. 2 A")

    def _one(self, R: str) -> Resistor:
        spread: Spread = self.inputs.reading("load").value
        return Resistor(I=Given(spread), R=R)

    @output("W", "loss of the first")
    def first(self) -> Array:
        return answer_of(self._one("1 Ω ± 10 %"), "P", self, {"I": "load"})

    @output("W", "loss of the second")
    def second(self) -> Array:
        return answer_of(self._one("3 Ω"), "P", self, {"I": "load"})


def test_each_of_several_is_judged_by_what_it_is() -> None:
    found = side_by_side({"thin": Resistor(R="2 Ω"), "thick": Resistor(R="0.5 Ω")})
    assert [(name, judged.output("P").typ) for name, judged in found.items()] == [
        ("thin", 2.0),
        ("thick", 0.5),
    ]


def test_an_answer_of_another_has_all_its_corners() -> None:
    judged = judge(Both())
    first = judged.output("first")
    assert (first.low, first.typ, first.high) == pytest.approx((0.9, 2.25, 4.4))
    assert judged.output("second").high == pytest.approx(12)


@pytest.mark.deeper
def test_what_the_asker_exchanges_the_other_exchanges_too() -> None:
    assert escapes(judge(Both()), points=20_000) == []
