"""The step-down converter: its coil, capacitors and losses in the worst case, and odd input."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.curves import trace
from phases.kit.facts import Knowledge, match
from phases.kit.inputs import Supply
from phases.kit.preferred import mantissas
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.regulation.step_down import StepDown
from tests.phases.sampling import escapes

# Without spreads, at a coil ripple of 0.25 A about 0.5 A.
EXACT: dict[str, Any] = {
    "V_in": "12 V",
    "V_out": "6 V",
    "I_out": "500 mA",
    "f": "600 kHz",
    "L": "20 µH",
    "DCR": "0.1 Ω",
    "R_hi": "0.2 Ω",
    "R_lo": "0.1 Ω",
    "C_out": "10 µF",
    "ESR": "5 mΩ",
    "C_in": "10 µF",
    "ESR_in": "5 mΩ",
    "I_lim": "1.5 A",
    "T_A": "50 °C",
    "k_board": "1",
    "theta_JA": "100 K/W",
    "V_F": "0.4 V",
    "duty": "ideal",
}


def exact(**more: Any) -> StepDown:
    return StepDown({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(StepDown())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["U", "L", "C_in", "C_out"]


# ---- The coil ------------------------------------------------------------------------------


def test_the_coil_offered_is_a_stocked_value_near_the_ripple_wanted() -> None:
    for V_in, load in (("4.5 .. 5.5 V", "200 mA"), ("10 .. 28 V", "1 A"), ("7 V", "3 A")):
        pick = judge(StepDown(V_in=V_in, V_out="3.3 V", I_out=load)).picks["L"]
        L = StepDown(L=pick).L.item()
        mantissa = float(f"{L:.6e}".partition("e")[0])
        assert any(mantissa == pytest.approx(m) for m in mantissas("E12"))
        ripple = StepDown(V_in=V_in, V_out="3.3 V", I_out=load, L=pick)
        most = judge(ripple).output("dI_L").high / ripple.I_out.item()
        assert 0.2 < most < 0.6


def test_a_coil_chosen_by_hand_stays_and_is_judged_by_the_same_limits() -> None:
    judgement = judge(StepDown(L="4.7 µH ± 20 %", I_sat="0.8 A"))
    assert judgement.picks == {"L": "4.7 µH ± 20 %"}
    assert judgement.limit("saturation") == FAIL


def test_the_drops_of_switches_and_inductor_lengthen_the_duty() -> None:
    # Volt-seconds: 5.1 V + 1 A (100 + 120 mΩ) from 5.5 V - 1 A (180 - 120 mΩ): 97.8 %, where
    # 5.1 V / 5.5 V is 92.7 %.
    close = {"V_in": "5.5 V", "V_out": "5 V ± 2 %", "I_out": "1 A"}
    judgement = judge(StepDown(close))
    assert judgement.output("D").high == pytest.approx(5.32 / 5.44)
    assert judgement.limit("duty") == FAIL
    ideal = judge(StepDown(close, duty="ideal"))
    assert ideal.output("D").high == pytest.approx(5.1 / 5.5)
    assert ideal.limit("duty") == PASS


def test_a_diode_lengthens_the_duty_and_the_ripple_of_the_inductor() -> None:
    # 12 V to 3.3 V at 2 A: off 3.3 + 0.4 + 2 · 0.1 V, both 12 + 0.4 - 2 · 0.2 V; own arithmetic.
    part = exact(V_out="3.3 V", I_out="2 A", rectifier="diode", duty="with losses")
    assert part.D.item() == pytest.approx(3.9 / 12.0)
    assert part.dI_L.item() == pytest.approx((12.0 - 3.9) * 3.9 / 12.0 / 600e3 / 20e-6)


def test_between_an_input_and_half_of_it_the_ripple_is_greatest() -> None:
    judgement = judge(exact(V_out="5 .. 7 V"))
    assert judgement.output("dI_L").high == pytest.approx(0.25)
    assert judgement.output("dI_L").low == pytest.approx(5 * 7 / 12 / 600e3 / 20e-6)


def test_the_tolerance_of_the_coil_is_in_its_peak() -> None:
    assert judge(exact(L="20 µH ± 20 %")).output("I_PK").high == pytest.approx(0.5 + 0.125 / 0.8)


# ---- Energy --------------------------------------------------------------------------------


@pytest.mark.parametrize("duty", ["ideal", "with losses"])
@pytest.mark.parametrize("rectifier", ["switch", "diode"])
@pytest.mark.parametrize("V_in", ["7 V", "12 V", "40 V"])
def test_what_goes_in_comes_out_or_is_lost(rectifier: str, V_in: str, duty: str) -> None:
    part = exact(rectifier=rectifier, V_in=V_in, duty=duty)
    losses = (
        part.P_COND,
        part.P_low,
        part.P_SW,
        part.P_GD,
        part.P_Q,
        part.P_CU,
        part.P_CIN,
        part.P_CO,
    )
    total = sum(loss.item() for loss in losses)
    assert part.P.item() == pytest.approx(total)
    assert (part.V_in * part.I_in).item() == pytest.approx(6 * 0.5 + total)
    assert part.eta.item() == pytest.approx(3 / (3 + total))
    own = part.P_COND + part.P_SW + part.P_GD + part.P_Q
    own = own + part.P_low if rectifier == "switch" else own
    assert part.P_IC.item() == pytest.approx(own.item())
    assert part.T_J.item() == pytest.approx(50 + 100 * own.item())


def test_losses_rise_with_the_load_and_efficiency_falls_at_both_ends() -> None:
    loads = (0.01, 0.1, 0.5, 2.0)
    parts = [exact(I_out=load) for load in loads]
    losses = [part.P.item() for part in parts]
    efficiencies = [part.eta.item() for part in parts]
    assert losses == sorted(losses)
    assert max(efficiencies) == efficiencies[1] or max(efficiencies) == efficiencies[2]
    assert min(efficiencies) > 0 and max(efficiencies) < 1


def test_the_best_efficiency_lies_inside_a_wide_load() -> None:
    wide = judge(exact(I_out="10 mA .. 2 A")).output("eta").high
    assert wide > max(exact(I_out=load).eta.item() for load in (0.01, 2.0)) + 0.01
    best = max(exact(I_out=0.01 * 1.02**n).eta.item() for n in range(268))
    assert wide == pytest.approx(best, abs=1e-5)


def test_half_the_load_flows_through_the_input_capacitor_at_a_duty_of_a_half() -> None:
    assert exact().I_CIN.item() == pytest.approx(0.25)
    crossing = judge(exact(V_in="8 .. 20 V"))
    assert crossing.output("I_CIN").high == pytest.approx(0.25)
    assert crossing.output("I_CIN").low < 0.24


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "passes", "marginal", "fails"),
    [
        ("saturation", "I_sat", "0.7 A", "0.64 A", "0.62 A"),
        ("current-limit", "I_lim", "0.7 A", "0.64 A", "0.62 A"),
        ("on-time", "t_min", "700 ns", "810 ns", "840 ns"),
        ("ripple", "dV", "10 mV", "6.6 mV", "6.4 mV"),
        ("input-capacitor", "I_Crms", "0.3 A", "0.26 A", "0.24 A"),
        ("switch-rating", "V_inmax", "15 V", "12.1 V", "11.9 V"),
        ("recommended-input", "V_inrec", "12 V", None, "11.9 V"),
        ("min-input", "V_inmin", "12 V", None, "12.1 V"),
        ("input-ripple", "dV_in", "30 mV", "23.5 mV", "23 mV"),
        ("load-step", "C_out", "7 µF", "5.7 µF", "5.5 µF"),
        ("junction", "theta_JA", "100 K/W", "750 K/W", "780 K/W"),
    ],
)
def test_each_limit_passes_runs_thin_and_fails(
    limit: str, field: str, passes: str, marginal: str | None, fails: str
) -> None:
    for text, verdict in ((passes, PASS), (marginal, MARGINAL), (fails, FAIL)):
        assert text is None or judge(exact(**{field: text})).limit(limit) == verdict


@pytest.mark.parametrize(("V_in", "verdict"), [("6.4 V", PASS), ("6.2 V", FAIL), ("5 V", FAIL)])
def test_the_input_must_stay_above_what_the_greatest_duty_needs(V_in: str, verdict: str) -> None:
    assert judge(exact(V_in=V_in)).limit("duty") == verdict


def test_the_swing_at_a_load_step_has_the_esr_in_it() -> None:
    # 0.25 A: 0.5 A / (600 kHz · 10 µF) = 83.3 mV, and 0.25 A · 0.2 Ω = 50 mV more.
    assert exact().V_swing.item() == pytest.approx(0.5 / 6 + 0.25 * 5e-3)
    assert judge(exact(dV_step="120 mV")).limit("load-step") == PASS
    assert judge(exact(dV_step="120 mV", ESR="0.2 Ω")).limit("load-step") == FAIL


def test_a_small_output_capacitor_is_charged_by_the_inductor_at_a_release() -> None:
    # √(36 + 200 µH (0.35² - 0.1²) / 1 µF) - 6 V; own arithmetic.
    part = exact(L="200 µH", C_out="1 µF", f="20 MHz")
    assert part.V_swing.item() == pytest.approx((36 + 200 * 0.1125) ** 0.5 - 6)


def test_what_is_to_draw_has_the_figures_that_were_judged() -> None:
    found = {p.role: p.what for p in judge(StepDown(rectifier="diode", I_sat="2.2 .. 2.5 A")).parts}
    assert found["L"] == "inductor 47 µH ± 20 %, saturation at 2.2 A or more"
    assert found["D"] == "Schottky diode, 40 V, 1 A or more"
    assert found["U"] == "step-down converter, 28 V in, 5 V out, 500 mA or more"
    assert found["C_in"] == "4 / 6 / 10 µF effective at 15 V, 1 A RMS or more"


def test_a_diode_has_two_ratings_and_a_switch_none() -> None:
    for limit in ("diode-current", "diode-voltage"):
        assert judge(exact()).limit(limit) == NOT_APPLICABLE
        assert judge(exact(rectifier="diode")).limit(limit) == PASS
    assert judge(exact(rectifier="diode", I_FD="0.24 A")).limit("diode-current") == FAIL
    assert judge(exact(rectifier="diode", I_FD="0.26 A")).limit("diode-current") == MARGINAL
    assert judge(exact(rectifier="diode", V_RD="11.9 V")).limit("diode-voltage") == FAIL
    assert judge(exact(rectifier="diode", V_RD="12.1 V")).limit("diode-voltage") == MARGINAL


def test_the_worst_corner_is_named() -> None:
    (worst,) = (v for v in judge(StepDown()).verdicts if v.limit == "saturation")
    assert worst.corner["V_in"] == 15
    assert worst.corner["f"] == pytest.approx(450e3)


def test_a_coil_that_saturates_is_told_which_one_would_not() -> None:
    judgement = judge(exact(L="4 µH", I_sat="1 A", I_lim="3 A", dV="60 mV"))
    assert judgement.limit("saturation") == FAIL
    cures = {remedy.field for remedy in remedies(judgement)}
    assert {"L", "I_sat"} <= cures


# ---- The ledger ----------------------------------------------------------------------------


NAMES = {"rail": "5v", "parent": "vin"}


def test_it_sizes_against_the_declared_window_and_gives_what_the_rail_gets() -> None:
    ledger = {
        "rail.vin.window": Supply("10 .. 28 V", "brief", "brief"),
        "rail.vin.voltage": Supply("9 .. 27 V", "ledger", "drop-chain@vin"),
        "rail.5v.set_voltage": Supply("5 V ± 3 %", "ledger", "feedback-divider@5v"),
        "rail.5v.peak": Supply("400 mA", "ledger", "load-budget"),
        "rail.5v.output_capacitance": Supply("12 .. 20 µF", "ledger", "output-capacitor@5v"),
    }
    judgement = judge(StepDown(lookup=ledger.get, names=NAMES))
    readings = {reading.field: reading.text for reading in judgement.readings}
    assert (readings["V_in"], readings["I_out"]) == ("10 .. 28 V", "400 mA")
    assert readings["C_out"] == "12 .. 20 µF"
    given = record_of(judgement).published
    assert set(given) == {"rail.5v.voltage", "rail.5v.ripple", "rail.5v.input_current"}
    assert given["rail.5v.voltage"].low == pytest.approx(4.85)
    # What is drawn as output capacitor is another calculation's.
    assert [part.role for part in judgement.parts] == ["U", "L", "C_in"]


@pytest.mark.parametrize(("made_by", "gives"), [("switching", 3), ("linear", 0), ("none", 0)])
def test_a_rail_that_something_else_makes_gets_nothing_from_it(made_by: str, gives: int) -> None:
    known = Knowledge.of([("5v", "regulator", made_by)])
    part = StepDown(names=NAMES, facts=lambda when: match((when,), known, "5v"))
    assert len(record_of(judge(part)).published) == gives


# ---- Curves and what is said ---------------------------------------------------------------


def test_the_curve_of_efficiency_rises_and_falls_again() -> None:
    junction, efficiency, current = (trace(exact(), curve) for curve in StepDown.curves)
    assert efficiency is not None and junction is not None and current is not None
    best = max(range(97), key=lambda i: efficiency.typ[i])
    assert 0 < best < 96
    assert efficiency.high == pytest.approx(efficiency.typ)
    assert list(junction.high) == sorted(junction.high)
    assert junction.bound is not None and set(junction.bound) == {125.0}
    assert max(current.high) == pytest.approx(0.25, rel=1e-3)


def said(**inputs: Any) -> str:
    return " ".join(note.what for note in judge(exact(**inputs)).notes)


def test_cautions_stand_beside_the_numbers_they_belong_to() -> None:
    assert "too hot to touch" in said(theta_JA="300 K/W")
    assert "too hot to touch" not in said(T_A="25 °C", theta_JA="50 K/W")
    assert "Not in continuous conduction" in said(I_out="100 mA")
    assert "Not in continuous conduction" not in said()
    assert "Not in continuous conduction" not in said(I_out="100 mA", light="forced continuous")
    assert "Not in continuous conduction" in said(
        I_out="100 mA", light="forced continuous", rectifier="diode"
    )
    assert "drive the current to the switch's limit" in said(I_lim="1.5 / 2 / 2.1 A")
    assert "drive the current to the switch's limit" not in said()
    assert "the same margin twice" in said(counted="0.8 of it", L="20 µH ± 20 %")
    assert "below the output" in said(V_in="5.9 .. 12 V")
    assert "below the output" not in said(V_in="6.1 .. 12 V")
    assert "Stability" in said()


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "V_in": "6 .. 42 V",
            "V_out": "3.2 .. 3.4 V",
            "I_out": "0.02 .. 2 A",
            "rectifier": "diode",
            "counted": "0.8 of it",
            "ripple_form": "root",
            "overshoot": "first order",
        },
        {"V_in": "9 .. 10 V", "V_out": "5 V ± 4 %", "I_L": "0 .. 50 mA", "dV_step": "50 .. 90 mV"},
        {"V_in": "5.2 .. 15 V", "duty": "with efficiency", "eta_D": "80 .. 90 %"},
        {"V_in": "4 .. 20 V", "I_out": "0.01 .. 1 A", "overshoot": "twice"},
        {"V_in": "10.2 V", "V_out": "5 V", "I_out": "0.2 .. 1 A"},
        {"V_in": "5.6 .. 6 V", "I_out": "0.1 .. 1 A", "rectifier": "diode", "duty": "ideal"},
    ],
    ids=[
        "default",
        "diode",
        "output at half the input",
        "with efficiency",
        "below the output",
        "half by the drops alone",
        "ideal",
    ],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(StepDown(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_no_load_loses_only_what_does_not_follow_the_load() -> None:
    judgement = judge(exact(I_out="0 A"))
    assert judgement.output("P_COND").high == judgement.output("P_SW").high == 0
    assert judgement.output("P").low > 0
    assert judgement.output("eta").high == 0


def test_a_step_down_from_a_cell_says_that_it_cannot_step_up() -> None:
    judgement = judge(StepDown(V_in="3.0 .. 4.2 V", V_out="5 V", I_out="100 mA"))
    (said,) = (v.reason for v in judgement.verdicts if v.limit == "steps-down")
    assert said.startswith("A step-down converter makes no 5 V of 3 V: take a step-up")
    assert judgement.limit("steps-down") == FAIL
    assert judgement.output("D").high == 1
    assert judge(StepDown()).limit("steps-down") == PASS


def test_an_input_below_the_output_fails_and_does_not_stumble() -> None:
    judgement = judge(exact(V_in="5 V"))
    assert judgement.limit("duty") == FAIL
    assert judgement.output("dI_L").high == 0
    assert judgement.output("I_CIN").high == 0


def test_units_may_be_mixed() -> None:
    mixed = exact(V_in="12000 mV", L="0.02 mH", f="0.6 MHz", R_hi="200 mΩ")
    assert mixed.P.item() == pytest.approx(exact().P.item())


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_in", "28 .. 10 V"),
        ("V_in", "72 V"),
        ("V_in", "24 V AC"),
        ("V_in", "0 V"),
        ("L", "0 H"),
        ("L", "10 µF"),
        ("D_max", "120 %"),
        ("f", "0 Hz"),
        ("rectifier", "tube"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(StepDown({field: text}))
    assert refused.value.where.startswith(field)
