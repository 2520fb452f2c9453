"""A candidate is judged as the real part it would be, and frozen like something typed by hand."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Any

import pytest

from phases.kit import (
    Bound,
    Calculator,
    Finding,
    Findings,
    Quantity,
    above,
    below,
    found,
    judge,
    limit,
    output,
    proposal,
)
from phases.kit.arrays import Array
from phases.kit.inputs import Given
from phases.kit.notation import read_quantity
from phases.kit.preferred import around
from phases.kit.proposals import Candidate, fill_blanks, propose


class Series(Calculator, name="series", title="Series", per="board", source="own arithmetic"):
    """Which resistor keeps the current between 9 and 11 mA?"""

    V = Quantity("V", "supply", default="5 V")
    tol = Quantity("%", "tolerance of the resistor", default="5 %")
    R = Quantity("Ω", "resistor", free=True, least=1.0, most=1e4)

    @proposal("R", tolerance="tol", rank="farthest_from_10_mA")
    def some(self) -> Iterator[float]:
        yield from (430.0, 470.0, 510.0, 560.0, 1000.0)

    def farthest_from_10_mA(self) -> Array:
        off: Array = abs(self.I - 0.01)
        return off

    @output("A", "current")
    def I(self) -> Array:  # noqa: E743
        return self.V / self.R

    @limit("Least current", unit="A", asked=0.0)
    def least(self) -> Bound:
        return above(self.I, 9e-3)

    @limit("Greatest current", unit="A", asked=0.0)
    def most(self) -> Bound:
        return below(self.I, 11e-3)


class Pair(Calculator, name="pair", title="Pair", per="board", source="own arithmetic"):
    """Which two resistors halve the supply, with 10 kΩ together?"""

    V = Quantity("V", "supply", default="5 V")
    R1 = Quantity("Ω", "top", free=True)
    R2 = Quantity("Ω", "bottom", free=True)
    C = Quantity("F", "capacitor", free=True)

    @proposal("R1", "R2", tolerance="1 %")
    def pairs(self) -> Iterator[tuple[float, float]]:
        for R1 in around("E12", 4.7e3, 3):
            for R2 in around("E12", 4.7e3, 3):
                yield R1, R2

    @proposal("C")
    def filtered(self) -> Iterator[float]:
        yield 1e-3 / (self.R1 * self.R2 / (self.R1 + self.R2)).item()

    @limit("Tap", unit="V", asked=0.0)
    def tap(self) -> Bound:
        off = self.V * self.R2 / (self.R1 + self.R2) - 2.5
        return below(off * off, 0.01)


def names(candidates: list[Candidate]) -> list[str]:
    return [candidate.values["R"] for candidate in candidates]


def offered(**inputs: Any) -> list[Candidate]:
    return propose(Series(inputs), Series.proposals[0])


# ---- ranking -----------------------------------------------------------------------------


def test_candidates_come_by_verdict_first_and_then_by_rank() -> None:
    # Own arithmetic, resistors ± 5 %: 510 Ω gives 9.34 to 10.3 mA and 470 Ω 10.1 to 11.2 mA.
    candidates = offered()
    assert names(candidates) == [
        "510 Ω ± 5 %",
        "470 Ω ± 5 %",
        "560 Ω ± 5 %",
        "430 Ω ± 5 %",
        "1 kΩ ± 5 %",
    ]
    assert [c.verdict for c in candidates] == ["pass", "fail", "fail", "fail", "fail"]
    scores = [c.score for c in candidates[1:]]
    assert scores == sorted(scores)


def test_a_pass_comes_before_a_marginal_one_whatever_their_rank() -> None:
    class Narrow(Calculator, name="narrow", title="Narrow", per="board", source="own arithmetic"):
        """The smaller one is wanted, the larger one has margin."""

        C = Quantity("F", "capacitor", free=True)

        @proposal("C", rank="size")
        def usual(self) -> Iterator[float]:
            yield from (0.9e-6, 1.01e-6, 1e-5)

        def size(self) -> Array:
            return self.C

        @limit("Enough", unit="F")
        def enough(self) -> Bound:
            return above(self.C, 1e-6)

    found_ = propose(Narrow(), Narrow.proposals[0])
    assert [(c.values["C"], c.verdict) for c in found_] == [
        ("10 µF", "pass"),
        ("1.01 µF", "marginal"),
        ("900 nF", "fail"),
    ]


def test_a_candidate_is_judged_with_the_tolerance_of_the_real_part() -> None:
    passing = {
        tolerance: [c.values["R"] for c in offered(tol=tolerance) if c.verdict == "pass"]
        for tolerance in ("0.1 %", "5 %", "20 %")
    }
    assert passing["0.1 %"] == ["510 Ω ± 0.1 %", "470 Ω ± 0.1 %"]
    assert passing["5 %"] == ["510 Ω ± 5 %"]
    assert passing["20 %"] == []


def test_without_a_rank_candidates_stay_in_the_order_they_were_offered_in() -> None:
    class Plain(Calculator, name="plain", title="Plain", per="board", source="own arithmetic"):
        """Candidates in an order of their own."""

        R = Quantity("Ω", "resistor", free=True)

        @proposal("R")
        def own_order(self) -> Iterator[float]:
            yield from (300.0, 100.0, 200.0, 900.0, *range(1, 400))

        @limit("Below", unit="Ω", asked=0.0)
        def low(self) -> Bound:
            return below(self.R, 500.0)

    order = names(propose(Plain(), Plain.proposals[0]))
    assert order[:4] == ["300 Ω", "100 Ω", "200 Ω", "1 Ω"]
    assert order[-1] == "900 Ω"
    # Of a value that is offered twice the first place counts.
    assert len(order) == 4 + 399 - 3


def test_a_fault_that_no_candidate_cures_does_not_decide_between_them() -> None:
    class Faulty(Series, name="faulty", title="Faulty", per="board", source="own arithmetic"):
        """The same with a connection missing."""

        @limit("Connections")
        def connections(self) -> Findings:
            return found(Finding("CC2", "It floats"))

    candidates = propose(Faulty(), Faulty.proposals[0])
    assert {c.verdict for c in candidates} == {"fail"}
    assert names(candidates) == names(offered())


# ---- frozen ------------------------------------------------------------------------------


def test_the_best_candidate_fills_the_blank_as_a_proposal() -> None:
    judged = judge(Series())
    reading = next(r for r in judged.readings if r.field == "R")
    assert (reading.text, reading.origin) == ("510 Ω ± 5 %", "proposed")
    assert reading.value == read_quantity("510 Ω ± 5 %", "Ω")
    assert judged.picks == {"R": "510 Ω ± 5 %"}
    assert judged.verdict == "pass"


def test_a_pick_typed_by_hand_is_judged_by_the_same_limits() -> None:
    for candidate in offered():
        by_hand = judge(Series(R=candidate.values["R"]))
        assert by_hand.verdict == candidate.verdict
        assert next(r for r in by_hand.readings if r.field == "R").origin == "hand"


def test_a_later_change_tests_the_fitted_part_and_chooses_no_other() -> None:
    fitted = Series(R=Given("510 Ω ± 5 %", "proposed"), V="3.3 V")
    judged = judge(fitted)
    assert judged.picks == {"R": "510 Ω ± 5 %"}
    assert judged.limit("least") == "fail"


def test_a_candidate_is_judged_as_it_is_written() -> None:
    class Computed(Calculator, name="computed", title="", per="board", source="own arithmetic"):
        """A candidate computed to stand exactly at its limit."""

        w = Quantity("mm", "width", free=True)

        @proposal("w")
        def least(self) -> Iterator[float]:
            yield 0.1234561e-3

        @limit("Wide enough", unit="mm", asked=0.0)
        def wide(self) -> Bound:
            return above(self.w, 0.1234561e-3)

    # Six digits are written; the seventh must not pass in the proposal and fail in the pick.
    (candidate,) = propose(Computed(), Computed.proposals[0])
    assert candidate.values["w"] == "0.123456 mm"
    assert candidate.verdict == judge(Computed()).verdict == "fail"


# ---- none, some, chained -----------------------------------------------------------------


@pytest.mark.parametrize("candidates", [(), (math.nan,), (0.0, -5.0), (math.inf,), (0.5,), (2e4,)])
def test_without_a_candidate_that_the_field_takes_the_blank_stays(
    candidates: tuple[float, ...],
) -> None:
    class None_(Calculator, name="none", title="None", per="board", source="own arithmetic"):
        """Nothing usable is offered."""

        R = Quantity("Ω", "resistor", free=True, least=1.0, most=1e4)

        @proposal("R")
        def nothing(self) -> Iterator[float]:
            yield from candidates

        @limit("Below", unit="Ω")
        def low(self) -> Bound:
            return below(self.R, 500.0)

    judged = judge(None_())
    assert judged.picks == {}
    assert [v.reason for v in judged.verdicts] == ["Not evaluated: resistor is blank"]


def test_a_candidate_whose_tolerance_leaves_the_field_is_not_offered() -> None:
    assert "1 kΩ ± 5 %" in names(offered())
    # Of the others a five-hundredth is below the 1 Ω that the field asks for.
    assert set(names(offered(tol="99.8 %"))) == {
        "1 kΩ ± 99.8 %",
        "560 Ω ± 99.8 %",
        "510 Ω ± 99.8 %",
    }


def test_two_free_inputs_are_proposed_together() -> None:
    judged = judge(Pair())
    assert judged.picks["R1"] == judged.picks["R2"] == "2.7 kΩ ± 1 %"
    assert judged.verdict == "pass"


def test_what_a_hand_typed_of_a_pair_stays_and_the_other_is_chosen_for_it() -> None:
    judged = judge(Pair(R1="6.8 kΩ"))
    origins = {r.field: (r.text, r.origin) for r in judged.readings}
    assert origins["R1"] == ("6.8 kΩ", "hand")
    assert origins["R2"] == ("6.8 kΩ ± 1 %", "proposed")
    assert judged.verdict == "pass"


def test_of_a_whole_pair_alternatives_can_still_be_asked_for() -> None:
    alternatives = propose(Pair(R1="6.8 kΩ", R2="6.8 kΩ"), Pair.proposals[0])
    assert len(alternatives) == 49
    assert set(alternatives[0].values) == {"R1", "R2"}


def test_a_proposal_that_rests_on_another_blank_follows_it() -> None:
    judged = judge(Pair())
    # 1 ms over half of 2.7 kΩ.
    assert judged.picks["C"] == "740.741 nF"
    assert propose(Pair(), Pair.proposals[1]) == []


def test_nothing_blank_changes_nothing() -> None:
    calculation = Series(R="510 Ω")
    assert fill_blanks(calculation) is calculation


def test_proposals_without_end_are_cut() -> None:
    class Endless(Calculator, name="endless", title="", per="board", source="own arithmetic"):
        """More candidates than anybody wants."""

        R = Quantity("Ω", "resistor", free=True)

        @proposal("R", tolerance="1 %")
        def all_of_them(self) -> Iterator[float]:
            yield from (1.0 + n / 1e4 for n in itertools.count())

        @limit("Above", unit="Ω")
        def low(self) -> Bound:
            return above(self.R, 1.1)

    assert len(propose(Endless(), Endless.proposals[0])) == 2000
