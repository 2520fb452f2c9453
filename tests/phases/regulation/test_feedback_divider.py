"""The feedback divider: which pairs are offered, how exact they are, what is refused."""

from __future__ import annotations

import math
import time
from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.inputs import Supply
from phases.kit.preferred import mantissas
from phases.kit.proposals import propose
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.regulation.feedback_divider import SAME, FeedbackDivider
from tests.phases.sampling import escapes


def offered(**inputs: Any) -> list[tuple[float, float]]:
    """The pairs offered, the best first."""
    calculation = FeedbackDivider(inputs)
    (declared,) = FeedbackDivider.proposals
    pairs = []
    for candidate in propose(calculation, declared):
        judged = FeedbackDivider({**inputs, **candidate.values})
        pairs.append((judged.R1.item(), judged.R2.item()))
    return pairs


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(FeedbackDivider())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["R1", "R2"]


# ---- The pairs -----------------------------------------------------------------------------


@pytest.mark.parametrize("series", ["E24", "E96", "E192"])
def test_every_pair_offered_is_of_the_series(series: str) -> None:
    for R in {value for pair in offered(series=series)[:40] for value in pair}:
        mantissa = float(f"{R:.6e}".partition("e")[0])
        assert any(mantissa == pytest.approx(m) for m in mantissas(series))


def test_a_finer_series_and_tighter_parts_are_never_less_exact() -> None:
    def worst(series: str, tol: str) -> float:
        error = judge(FeedbackDivider(series=series, tol=tol)).output("error")
        return max(-error.low, error.high)

    assert worst("E192", "1 %") <= worst("E96", "1 %") + SAME
    assert worst("E96", "0.1 %") < worst("E96", "1 %")


def test_pairs_are_ranked_by_worst_error_then_by_current() -> None:
    calculation = FeedbackDivider()
    (declared,) = FeedbackDivider.proposals
    passing = [c for c in propose(calculation, declared) if c.verdict == PASS]
    keys = []
    for candidate in passing[:60]:
        judged = judge(FeedbackDivider(candidate.values))
        output = judged.output("V_set")
        worst = max(math.log(output.high / 3.3), -math.log(output.low / 3.3))
        keys.append((round(worst / SAME), judged.output("I_R").high))
    assert keys == sorted(keys)
    assert len({steps for steps, _ in keys}) > 5


def test_of_two_equally_exact_pairs_the_one_with_less_current_comes_first() -> None:
    pairs = offered(V_out="2 V ± 5 %", V_REF="1 V", I_least="1 µA", I_most="1 mA", series="E24")
    equal = [R2 for R1, R2 in pairs if R1 == R2 and R1 < 1e6]  # of 1 MΩ it may be too little
    assert equal == sorted(equal, reverse=True)
    assert pairs[0][0] == pairs[0][1] == pytest.approx(910e3)


def test_a_pick_made_by_hand_stays_and_its_partner_is_found() -> None:
    top_given = judge(FeedbackDivider(R1="47 kΩ ± 1 %"))
    assert top_given.picks == {"R1": "47 kΩ ± 1 %", "R2": "15 kΩ ± 1 %"}
    bottom_given = judge(FeedbackDivider(R2="22 kΩ ± 5 %"))
    assert bottom_given.picks["R2"] == "22 kΩ ± 5 %"
    assert bottom_given.picks["R1"] == "68.1 kΩ ± 1 %"


def test_both_typed_by_hand_are_judged_by_the_same_limits() -> None:
    wrong = judge(FeedbackDivider(R1="10 kΩ ± 1 %", R2="10 kΩ ± 1 %"))
    assert wrong.limit("output-window") == FAIL
    assert wrong.output("error").typ == pytest.approx(1.6 / 3.3 - 1)


def test_the_best_pairs_are_listed_with_what_they_give() -> None:
    judgement = judge(FeedbackDivider())
    rows = judgement.later_listings()["best_pairs"]
    assert len(rows) == 6
    assert {name: rows[0][name] for name in ("R1", "R2")} == dict(judgement.picks)
    assert rows[0]["output"] == "3.2 V .. 3.37 V"
    # What a hand typed does not hide what else there is.
    assert judge(FeedbackDivider(R1="10 kΩ", R2="10 kΩ")).later_listings()["best_pairs"] == rows
    assert judge(FeedbackDivider(V_out="0.6 V")).later_listings()["best_pairs"] == []


@pytest.mark.parametrize(
    ("inputs", "most"),
    [
        ({}, 0.016),
        ({"series": "E192"}, 0.016),
        ({"series": "E192", "I_least": "1 µA", "I_most": "1 mA"}, 0.060),
        (
            {
                "series": "E192",
                "I_least": "0 A",
                "I_most": "10 kA",
                "I_FB": "0 .. 100 nA",
                "dV_reg": "-1 .. 1 %",
            },
            0.060,
        ),
        (
            {
                "series": "E192",
                "I_least": "0 A",
                "I_most": "10 kA",
                "V_REF": "1 mV",
                "V_out": "60 V",
            },
            0.060,
        ),
    ],
    ids=["default", "fine series", "three decades", "twelve decades", "far ratio"],
)
def test_offering_pairs_keeps_up_with_typing(inputs: dict[str, str], most: float) -> None:
    took = []
    for _ in range(5):
        begun = time.process_time()
        judge(FeedbackDivider(inputs))
        took.append(time.process_time() - begun)
    assert min(took) < most


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("V_out", "verdict"),
    [
        ("3.3 V ± 5 %", PASS),
        ("3.3 V ± 2.75 %", MARGINAL),
        ("3.3 V ± 2.5 %", FAIL),
        ("3.3 V", NOT_APPLICABLE),
    ],
)
def test_the_output_stays_inside_what_the_rail_stands(V_out: str, verdict: str) -> None:
    judgement = judge(
        FeedbackDivider(V_out=V_out, V_REF="0.8 V ± 1 %", R1="36 kΩ ± 1 %", R2="11.5 kΩ ± 1 %")
    )
    assert judgement.limit("output-window") == verdict


@pytest.mark.parametrize(
    ("inputs", "verdict"),
    [
        ({"R2": "40 kΩ"}, PASS),
        ({"R2": "40.1 kΩ"}, FAIL),
        ({"R2": "1.6 kΩ"}, PASS),
        ({"R2": "1.59 kΩ"}, FAIL),
        ({"R2": "10 kΩ", "I_FB": "0 .. 0.79 µA"}, PASS),
        ({"R2": "10 kΩ", "I_FB": "0 .. 0.81 µA"}, FAIL),
    ],
)
def test_the_divider_current_has_two_ends_and_follows_the_bias_current(
    inputs: dict[str, str], verdict: str
) -> None:
    judgement = judge(FeedbackDivider({"V_REF": "0.8 V", "R1": "31.6 kΩ", **inputs}))
    assert judgement.limit("divider-current") == verdict


def test_a_bias_current_of_either_sign_moves_the_output_both_ways() -> None:
    part = {"R1": "1 MΩ", "R2": "100 kΩ", "V_REF": "0.8 V"}
    judgement = judge(FeedbackDivider(part, I_FB="-100 .. 100 nA"))
    middle = FeedbackDivider(part).V_set.item()
    assert judgement.output("V_set").low == pytest.approx(middle - 0.1)
    assert judgement.output("V_set").high == pytest.approx(middle + 0.1)
    # A hundred times the bias current, whichever way it flows: 0.8 V / 100 kΩ is 8 µA.
    for bias, verdict in (("-0.07 .. 0 µA", PASS), ("-0.09 .. 0 µA", FAIL)):
        slow = judge(FeedbackDivider(part, I_FB=bias, I_least="1 µA"))
        assert slow.limit("divider-current") == verdict


def test_the_bias_current_raises_the_output() -> None:
    part = {"V_REF": "0.8 V", "R1": "1 MΩ", "R2": "320 kΩ"}
    without = FeedbackDivider(part).V_set.item()
    assert FeedbackDivider({**part, "I_FB": "50 nA"}).V_set.item() == pytest.approx(without + 0.05)


def test_regulation_counts_in_the_output() -> None:
    part: dict[str, Any] = {"V_REF": "1 V", "R1": "10 kΩ", "R2": "10 kΩ"}
    figure = judge(FeedbackDivider({**part, "dV_reg": "-1 / 0 / 2 %"})).output("V_set")
    assert (figure.low, figure.typ, figure.high) == pytest.approx((1.98, 2.0, 2.04))


# ---- The ledger ----------------------------------------------------------------------------


def test_it_takes_the_window_of_the_rail_and_gives_the_voltage_set() -> None:
    ledger = {"rail.5v.window": Supply("5 V ± 3 %", "brief", "brief")}
    judgement = judge(FeedbackDivider(lookup=ledger.get, names={"rail": "5v", "parent": "vin"}))
    given = record_of(judgement, advice=False).published
    assert set(given) == {"rail.5v.set_voltage"}
    assert 4.85 < given["rail.5v.set_voltage"].low < 5 < given["rail.5v.set_voltage"].high < 5.15
    assert judgement.parts[0].where == "5v to feedback"


# ---- What is said --------------------------------------------------------------------------


def said(**inputs: str) -> str:
    return " ".join(note.what for note in judge(FeedbackDivider(inputs)).notes)


def test_a_resistor_without_a_tolerance_is_said_to_count_as_exact() -> None:
    assert "exact" in said(R1="31.6 kΩ", R2="10 kΩ ± 1 %")
    assert "exact" not in said()


def test_an_output_below_the_reference_has_no_pair_and_says_why() -> None:
    judgement = judge(FeedbackDivider(V_out="0.6 V ± 5 %"))
    assert judgement.picks == {}
    assert judgement.parts == ()
    assert judgement.limit("output-window") == FAIL
    assert "below the reference" in judgement.notes[0].what


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "V_REF": "0.59 / 0.6 / 0.612 V",
            "V_out": "1.8 V ± 5 %",
            "R1": "20 kΩ ± 5 %",
            "R2": "10 kΩ ± 1 %",
            "I_FB": "-0 .. 200 nA",
            "dV_reg": "-0.5 .. 0.3 %",
            "I_least": "10 .. 20 µA",
            "I_most": "0.4 .. 1 mA",
        },
        {"R1": "10 kΩ ± 20 %", "R2": "10 kΩ ± 20 %", "V_out": "1.6 V ± 50 %"},
    ],
    ids=["default", "everything spread", "coarse"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(FeedbackDivider(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


@pytest.mark.parametrize("V_out", ["0 V", "0.8 V", "1 GV .. 2 GV"])
def test_an_output_that_no_divider_makes_fails_and_does_not_stumble(V_out: str) -> None:
    try:
        judgement = judge(FeedbackDivider(V_out=V_out))
    except Refusal as refusal:
        assert refusal.where.startswith("V_out")
    else:
        assert judgement.verdict == FAIL


def test_units_may_be_mixed() -> None:
    mixed = FeedbackDivider(V_REF="800 mV", R1="0.0316 MΩ", R2="10000")
    assert mixed.V_set.item() == pytest.approx(3.328)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_out", "3.465 .. 3.135 V"),
        ("V_REF", "0 V"),
        ("V_REF", "0.8 A"),
        ("R1", "0 Ω"),
        ("R1", "-10 kΩ"),
        ("tol", "30 %"),
        ("series", "E7"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(FeedbackDivider({field: text}))
    assert refused.value.where.startswith(field)
