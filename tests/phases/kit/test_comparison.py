"""A comparison reruns one calculation over the options of a choice, everything else kept."""

from __future__ import annotations

import pytest

from phases.kit import Bound, Calculator, Choice, Quantity, below, judge, limit, output
from phases.kit.arrays import Array
from phases.kit.comparison import compare
from phases.kit.refusals import Refusal


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
