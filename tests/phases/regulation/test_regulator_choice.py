"""Linear or switching: the same question to both, their own answers side by side."""

from __future__ import annotations

import time
from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, NOT_APPLICABLE
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.regulation.linear_regulator import LinearRegulator
from phases.regulation.regulator_choice import RegulatorChoice
from phases.regulation.step_down import StepDown
from tests.phases.sampling import escapes

FROM_24_V: dict[str, Any] = {
    "V_inrec": "30 V",
    "V_in": "18 .. 30 V",
    "V_out": "3.3 V ± 2 %",
    "I_out": "200 mA",
    "V_inmax": "40 V",
}


def rows(**inputs: Any) -> dict[str, tuple[str, str]]:
    found = judge(RegulatorChoice(inputs)).later_listings()["comparison"]
    return {row["what"]: (row["linear"], row["switching"]) for row in found}


def broken(**inputs: Any) -> set[tuple[str, str]]:
    """(kind, limit) of what fails."""
    found = judge(RegulatorChoice(inputs)).later_listings()["limits_broken"]
    return {(row["kind"], row["message"].split(" ")[0]) for row in found if row["verdict"] == FAIL}


def test_it_gives_no_verdict_and_no_recommendation() -> None:
    judgement = judge(RegulatorChoice())
    assert judgement.verdict == NOT_APPLICABLE
    assert judgement.verdicts == ()
    said = " ".join(
        str(value) for row in judgement.later_listings()["comparison"] for value in row.values()
    )
    said += " ".join(note.what for note in judgement.notes)
    for slogan in ("recommend", "better", "should", "best", "prefer"):
        assert slogan not in said.lower()


# ---- The same question ---------------------------------------------------------------------


def test_both_answer_as_they_would_by_themselves() -> None:
    judgement = judge(RegulatorChoice(FROM_24_V))
    linear = judge(
        LinearRegulator(V_in="18 .. 30 V", V_out="3.3 V ± 2 %", I_out="200 mA", V_inmax="40 V")
    )
    coil = judgement.picks["L"]
    converter = judge(
        StepDown(
            V_in="18 .. 30 V",
            V_out="3.3 V ± 2 %",
            I_out="200 mA",
            L=coil,
            I_sat="0.4 A",
            I_lim="0.4 A",
            I_Crms="0.4 A",
        )
    )
    for own, (other, name) in {
        "P_linear_all": (linear, "P_D"),
        "T_J_linear": (linear, "T_J"),
        "eta_linear": (linear, "eta"),
        "P_switching_all": (converter, "P"),
        "T_J_switching": (converter, "T_J"),
        "eta_switching": (converter, "eta"),
        "V_ripple": (converter, "V_ripple"),
    }.items():
        here, there = judgement.output(own), other.output(name)
        assert (here.low, here.typ, here.high) == pytest.approx(
            (there.low, there.typ, there.high), rel=1e-9
        ), own


def test_the_runtime_is_the_current_taken_at_the_average_load() -> None:
    judgement = judge(RegulatorChoice(I_avg="50 mA", V_in="5 V", V_out="3.3 V"))
    linear = LinearRegulator(V_in="5 V", V_out="3.3 V", I_out="50 mA").I_in.item()
    converter = StepDown(V_in="5 V", V_out="3.3 V", I_out="50 mA", L=judgement.picks["L"])
    assert judgement.output("runtime").typ == pytest.approx(linear / converter.I_in.item())
    listed = rows(I_avg="50 mA", V_in="5 V")["runtime / runtime of the linear one"]
    assert listed[0] == "1"
    assert listed[1].startswith(f"{linear / converter.I_in.item():.2f} (")


# ---- What each would break -----------------------------------------------------------------


def test_from_24_v_the_linear_one_breaks_by_heat_and_says_so() -> None:
    assert broken(**FROM_24_V) == {("linear", "Junction"), ("linear", "Dissipation")}
    listed = rows(**FROM_24_V)["limits it fails"]
    assert listed == ("Junction, Dissipation", "none")


def test_with_little_headroom_both_break_each_by_its_own_limit() -> None:
    tight = broken(V_in="3.3 .. 3.6 V", V_out="3.3 V")
    assert ("linear", "Headroom") in tight
    assert ("switching", "Duty") in tight


def test_a_narrow_pulse_breaks_the_switching_one() -> None:
    assert ("switching", "On-time") in broken(
        V_in="40 .. 48 V", V_out="1.2 V", f="2 MHz", V_inmax="60 V", V_inrec="55 V"
    )


def test_what_stands_no_ripple_breaks_the_switching_one_alone() -> None:
    assert broken(dV="0.5 mV", L="22 µH ± 20 %") == {("switching", "Output")}
    assert broken(dV="0.5 mV") == set()  # a larger coil is found


def test_ranks_stand_as_they_are_given() -> None:
    listed = rows(area_switching="4", cost_linear="2")
    assert listed["rank of area"] == ("1", "4")
    assert listed["rank of cost"] == ("2", "2")
    assert listed["parts besides capacitors"] == ("1 (U)", "2 (U, L)")
    assert listed["ripple it adds"][0] == "none"


def test_a_change_of_the_load_moves_both() -> None:
    light, heavy = (judge(RegulatorChoice(I_out=load)) for load in ("50 mA", "500 mA"))
    for name in ("P_linear_all", "P_switching_all", "T_J_linear", "T_J_switching"):
        assert light.output(name).high < heavy.output(name).high


# ---- The ledger and the record -------------------------------------------------------------


def test_it_takes_the_question_from_the_board_and_gives_nothing_to_it() -> None:
    ledger = {
        "rail.vin.window": Supply("10 .. 28 V", "brief", "brief"),
        "rail.5v.set_voltage": Supply("5 V ± 3 %", "ledger", "feedback-divider@5v"),
        "rail.5v.peak": Supply("180 mA", "ledger", "load-budget"),
        "rail.5v.load": Supply("70 mA", "ledger", "load-budget"),
    }
    names = {"rail": "5v", "parent": "vin"}
    judgement = judge(RegulatorChoice(lookup=ledger.get, names=names))
    origins = {reading.field: reading.origin for reading in judgement.readings}
    assert [origins[name] for name in ("V_in", "V_out", "I_out", "I_avg")] == [
        "brief",
        "ledger",
        "ledger",
        "ledger",
    ]
    assert record_of(judgement).published == {}
    assert judgement.parts == ()
    rows = record_of(judgement, "5v").listings["comparison"]
    assert {row["what"] for row in rows} >= {"heat", "efficiency"}


def test_an_input_below_the_output_leaves_no_coil_and_does_not_stumble() -> None:
    judgement = judge(RegulatorChoice(V_in="3 V", V_out="5 V"))
    assert judgement.picks == {}
    assert judgement.later_listings()["comparison"] == []
    assert "above its input" in judgement.notes[0].what


def test_it_keeps_nobody_waiting() -> None:
    judge(RegulatorChoice())
    begun = time.process_time()
    judge(RegulatorChoice(FROM_24_V))
    assert time.process_time() - begun < 2.0


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs", [{}, {**FROM_24_V, "I_avg": "10 .. 80 mA", "f": "300 .. 700 kHz"}]
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(RegulatorChoice(inputs))) == []


@pytest.mark.parametrize(
    ("field", "text"),
    [("V_in", "230 V AC"), ("V_in", "65 V"), ("V_out", "0 V"), ("f", "0 Hz"), ("area_linear", "0")],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(RegulatorChoice({field: text}))
    assert refused.value.where.startswith(field)
