"""The step-up converter: its inductor, capacitors and losses in the worst case, and odd input."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.curves import trace
from phases.kit.facts import Knowledge, match
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.regulation.step_down import StepDown
from phases.regulation.step_up import StepUp
from tests.phases.sampling import escapes

# Without spreads, at a duty of a half: 1 A with a ripple of 0.25 A.
EXACT: dict[str, Any] = {
    "V_in": "2.5 V",
    "V_out": "5 V",
    "I_out": "500 mA",
    "f": "1 MHz",
    "L": "5 µH",
    "DCR": "0 Ω",
    "V_SW": "0 V",
    "V_F": "0 V",
    "C_out": "10 µF",
    "ESR": "10 mΩ",
    "C_in": "5 µF",
    "ESR_in": "5 mΩ",
    "I_lim": "1.5 A",
    "T_A": "50 °C",
    "k_board": "1",
    "theta_JA": "100 K/W",
    "V_D": "0.5 V",
}
LOSSY = {"DCR": "0.1 Ω", "V_SW": "0.1 V", "V_F": "0.15 V"}


def exact(**more: Any) -> StepUp:
    return StepUp({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(StepUp())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["U", "L", "C_in", "C_out"]


# ---- The inductor --------------------------------------------------------------------------


def test_at_a_duty_of_a_half_half_of_it_flows_on() -> None:
    part = exact()
    assert part.D.item() == pytest.approx(0.5)
    assert part.I_L.item() == pytest.approx(1.0)
    assert part.dI_L.item() == pytest.approx(0.25)
    assert part.I_PK.item() == pytest.approx(1.125)
    assert part.L_min.item() == pytest.approx(5e-6 * 0.25 / 0.3)


def test_between_the_ends_of_the_input_the_ripple_is_greatest_at_a_duty_of_a_half() -> None:
    across = judge(exact(V_in="1.5 .. 4.5 V"))
    assert across.output("dI_L").high == pytest.approx(0.25)
    assert across.output("L_min").high == pytest.approx(5 * (2 / 3) ** 2 / 3 / (1e6 * 0.3 * 0.5))
    lossy = judge(exact(**LOSSY, V_in="1.5 .. 4.5 V")).output("dI_L").high
    inputs = [1.5 + n / 1000 for n in range(3001)]
    assert lossy == pytest.approx(max(exact(**LOSSY, V_in=V).dI_L.item() for V in inputs), rel=1e-6)


def test_volt_seconds_balance_with_every_drop() -> None:
    part = exact(**LOSSY)
    D, I_L = part.D.item(), part.I_L.item()
    on, off = 2.5 - 0.1 * I_L - 0.1, 5 + 0.15 + 0.1 * I_L - 2.5
    assert D * on == pytest.approx((1 - D) * off)
    assert pytest.approx(0.5) == I_L * (1 - D)


def test_what_losses_eat_up_never_reaches_the_output() -> None:
    judgement = judge(exact(DCR="5 Ω"))
    assert judgement.limit("duty") == judgement.limit("saturation") == FAIL
    assert judge(exact(V_SW="3 V")).limit("duty") == FAIL
    # Its resistance alone bounds the load: V_in² / (4 DCR) over the output.
    most = 2.5**2 / (4 * 5) / 5
    assert judge(exact(DCR="5 Ω", I_out=f"{most * 0.999} A")).limit("current-limit") == PASS
    assert judge(exact(DCR="5 Ω", I_out=f"{most * 1.001} A")).limit("current-limit") == FAIL


def test_at_its_max_load_the_peak_is_the_current_limit() -> None:
    for more in ({}, LOSSY, {"duty": "efficiency"}, {"kind": "buck-boost"}):
        most = exact(**more).I_max.item()
        peak = exact(**more, I_out=most).I_PK.item()
        assert peak == pytest.approx(1.5, rel=0.01)
        assert most > 0.5


def test_the_inductor_offered_gives_about_the_ripple_wanted_from_the_lowest_input() -> None:
    for V_in, load in (("3 .. 4.2 V", "200 mA"), ("1.8 .. 3.2 V", "50 mA"), ("4.5 V", "1 mA")):
        judgement = judge(StepUp(V_in=V_in, I_out=load))
        lowest = StepUp(V_in=V_in.partition(" ")[0] + " V", I_out=load, L=judgement.picks["L"])
        assert 0.22 < lowest.dI_L.item() / lowest.I_L.item() < 0.4


# ---- Buck-boost ----------------------------------------------------------------------------


def test_a_buck_boost_steps_both_ways_and_is_still_where_they_meet() -> None:
    low, even, high = (
        exact(kind="buck-boost", V_in=V_in, eta_D="100 %") for V_in in ("2.5 V", "5 V", "10 V")
    )
    assert [round(part.I_L.item(), 9) for part in (low, even, high)] == [1.0, 0.5, 0.5]
    assert even.dI_L.item() == even.I_CIN.item() == even.I_CO.item() == 0
    assert high.dI_L.item() == pytest.approx(5 * 0.5 / (1e6 * 5e-6))
    # Above the output its input is cut, at a duty of a half: I/2 and the ripple's share.
    assert high.I_CIN.item() == pytest.approx((0.25**2 + 0.5 * 0.5**2 / 12) ** 0.5)
    assert high.V_ripple.item() == pytest.approx(0.5 * (1 / (8 * 1e6 * 10e-6) + 0.01))


def test_a_window_across_the_output_is_seen_where_they_meet() -> None:
    across = judge(exact(kind="buck-boost", V_in="2.5 .. 10 V"))
    assert across.output("dI_L").low == 0
    assert across.output("dI_L").high == pytest.approx(0.5)
    assert across.limit("output-above-input") == NOT_APPLICABLE
    assert judge(exact(V_in="2.5 .. 10 V")).limit("output-above-input") == FAIL


# ---- Energy --------------------------------------------------------------------------------


@pytest.mark.parametrize("more", [{}, {"rectifier": "diode"}, {"kind": "buck-boost"}])
def test_what_goes_in_comes_out_or_is_lost(more: dict[str, str]) -> None:
    part = exact(**LOSSY, **more)
    total = sum(x.item() for x in (part.P_on, part.P_rect, part.P_SW, part.P_CU)) + 5 * 0.5e-3
    assert part.P.item() == pytest.approx(total)
    assert (part.V_in * part.I_in).item() == pytest.approx(2.5 + total)
    assert part.eta.item() == pytest.approx(2.5 / (2.5 + total))
    own = total - part.P_CU.item() - (part.P_rect.item() if "rectifier" in more else 0)
    assert part.T_J.item() == pytest.approx(50 + 100 * own)


def test_a_boost_takes_from_its_input_what_flows_through_its_inductor() -> None:
    # But for switching, supply and the ripple's share in the copper, which the duty leaves out.
    part = exact(**LOSSY, t_r="0 s", I_Q="0 A", L="1 mH")
    assert part.I_in.item() == pytest.approx(part.I_L.item(), rel=1e-6)


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "passes", "marginal", "fails"),
    [
        ("saturation", "I_sat", "1.2 A", "1.15 A", "1.12 A"),
        ("current-limit", "I_lim", "1.2 A", "1.15 A", "1.12 A"),
        ("output-above-input", "V_in", "4.7 V", "4.9 V", "5.1 V"),
        ("input-range", "V_inmin", "2 V", "2.4 V", "2.6 V"),
        ("ripple", "dV", "40 mV", "36.5 mV", "36 mV"),
        ("input-ripple", "dV_in", "8 mV", "7.6 mV", "7.4 mV"),
        ("output-capacitor", "I_COr", "0.6 A", "0.51 A", "0.5 A"),
        ("input-capacitor", "I_CIr", "80 mA", "74 mA", "71 mA"),
        ("junction", "theta_JA", "100 K/W", "2700 K/W", "2800 K/W"),
    ],
)
def test_each_limit_passes_runs_thin_and_fails(
    limit: str, field: str, passes: str, marginal: str, fails: str
) -> None:
    for text, verdict in ((passes, PASS), (marginal, MARGINAL), (fails, FAIL)):
        assert judge(exact(**{field: text})).limit(limit) == verdict


@pytest.mark.parametrize(
    ("limit", "field", "passes", "fails"),
    [
        ("duty", "D_max", "50 %", "49 %"),
        ("switch-rating", "V_outmax", "5 V", "4.9 V"),
        ("input-range", "V_inmax", "3 V", "2.4 V"),
    ],
)
def test_what_a_part_states_needs_no_margin_of_its_own(
    limit: str, field: str, passes: str, fails: str
) -> None:
    assert judge(exact(**{field: passes})).limit(limit) == PASS
    assert judge(exact(**{field: fails})).limit(limit) == FAIL


def test_a_buck_boost_switches_its_input_as_well() -> None:
    assert judge(exact(kind="buck-boost", V_in="5.6 V")).limit("switch-rating") == FAIL
    assert judge(exact(kind="buck-boost", V_in="5.4 V")).limit("switch-rating") == PASS


def test_a_diode_has_two_ratings_and_a_switch_none() -> None:
    for limit in ("diode-current", "diode-voltage"):
        assert judge(exact()).limit(limit) == NOT_APPLICABLE
        assert judge(exact(rectifier="diode")).limit(limit) == PASS
    assert judge(exact(rectifier="diode", I_FD="0.49 A")).limit("diode-current") == FAIL
    assert judge(exact(rectifier="diode", V_RD="4.9 V")).limit("diode-voltage") == FAIL


def test_the_lowest_input_is_the_worst_corner_and_the_least_limit_counts() -> None:
    (worst,) = (v for v in judge(StepUp()).verdicts if v.limit == "current-limit")
    assert worst.corner["V_in"] == 3
    assert worst.bound == pytest.approx(1.2)


def test_an_inductor_that_saturates_is_told_which_one_would_not() -> None:
    judgement = judge(exact(I_sat="1.12 A"))
    assert judgement.limit("saturation") == FAIL
    cures = {remedy.field for remedy in remedies(judgement)}
    assert {"I_sat", "I_out"} <= cures


# ---- What is not switched off --------------------------------------------------------------


def said(**inputs: Any) -> str:
    return " ".join(note.words for note in judge(exact(**inputs)).notes)


def test_a_boost_stays_joined_to_its_input_unless_the_part_disconnects() -> None:
    assert exact().V_off.item() == pytest.approx(2.0)
    assert exact(disconnects="yes").V_off.item() == 0.1
    assert exact(kind="buck-boost").V_off.item() == 0.1
    assert exact(V_in="0.3 V").V_off.item() == 0
    assert "stays connected to the input, at 2 V" in said()
    assert "stays connected" not in said(disconnects="yes")


def test_cautions_are_those_of_the_worst_corner() -> None:
    assert "too hot to touch" in said(T_A="25 .. 61 °C")
    assert "too hot to touch" not in said(T_A="25 °C", theta_JA="50 K/W")
    assert "Not in continuous conduction" in said(I_out="50 .. 500 mA")
    assert "Not in continuous conduction" not in said(I_out="70 .. 500 mA")
    assert "Start-up and faults" in said(I_sat="1.9 A", I_lim="1.5 / 1.8 / 2 A")
    assert "Start-up and faults" not in said(I_sat="2 A", I_lim="1.5 / 1.8 / 2 A")
    assert "less than assumed" in said(**LOSSY, kind="buck-boost", eta_D="95 %")
    assert "less than assumed" not in said(kind="buck-boost", eta_D="80 %")


def test_the_lowest_right_half_plane_zero_is_told() -> None:
    # V_out (1 - D)² / (2 π L I_out): 79.6 kHz, and 63.7 kHz with a fifth more inductance.
    assert "at 80 kHz" in said()
    assert "at 66 kHz" in said(L="5 µH ± 20 %")
    assert "below 13 kHz" in said(L="5 µH ± 20 %")


def test_what_is_to_draw_carries_the_figures_that_were_judged() -> None:
    parts = {p.role: p.words for p in judge(exact(rectifier="diode", I_lim="1.4 .. 2 A")).parts}
    assert "limited at 1.4 A or more" in parts["U"]
    assert "saturation current 1.9 A or more" in parts["L"]
    assert "20 V, 1 A or more" in parts["D"]


# ---- The ledger ----------------------------------------------------------------------------

NAMES = {"rail": "5v", "parent": "cell"}


def test_it_sizes_from_the_lowest_of_the_declared_window() -> None:
    ledger = {
        "rail.cell.window": Supply("3 .. 4.2 V", "brief", "brief"),
        "rail.5v.set_voltage": Supply("5 V ± 3 %", "ledger", "feedback-divider@5v"),
        "rail.5v.peak": Supply("400 mA", "ledger", "load-budget"),
        "rail.5v.output_capacitance": Supply("12 .. 20 µF", "ledger", "output-capacitor@5v"),
    }
    judgement = judge(StepUp(lookup=ledger.get, names=NAMES))
    readings = {reading.field: reading.text for reading in judgement.readings}
    assert (readings["V_in"], readings["I_out"]) == ("3 .. 4.2 V", "400 mA")
    given = record_of(judgement).published
    assert set(given) == {"rail.5v.voltage", "rail.5v.ripple", "rail.5v.input_current"}
    assert [part.role for part in judgement.parts] == ["U", "L", "C_in"]


@pytest.mark.parametrize("made_by", ["step-up", "switching", "linear", "none"])
def test_one_of_the_converters_gives_the_rail_what_it_gets(made_by: str) -> None:
    known = Knowledge.of([("5v", "regulator", made_by)])
    up, down = (
        record_of(
            judge(kind(names=NAMES, facts=lambda when: match((when,), known, "5v")))
        ).published
        for kind in (StepUp, StepDown)
    )
    assert (len(up), len(down)) == {"step-up": (3, 0), "switching": (0, 3)}.get(made_by, (0, 0))


def test_the_curve_of_the_peak_falls_with_the_input_under_its_limit() -> None:
    peak, most, efficiency = (trace(judge(StepUp()).calculation, c) for c in StepUp.curves)
    assert peak is not None and most is not None and efficiency is not None
    assert list(peak.high) == sorted(peak.high, reverse=True)
    assert peak.bound is not None


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "V_in": "2 .. 4.5 V",
            "I_out": "10 .. 400 mA",
            "rectifier": "diode",
            "V_F": "0.3 .. 0.5 V",
        },
        {"duty": "efficiency", "eta_D": "80 .. 92 %", "V_in": "2 .. 4.8 V"},
        {"V_in": "3 .. 6 V", "I_out": "1 .. 600 mA"},
        {"V_in": "2.3 .. 4.9 V", "I_out": "100 .. 300 mA", "DCR": "0.1 .. 0.6 Ω"},
        {"V_in": "0.9 .. 1.6 V", "I_out": "100 .. 150 mA", "V_out": "3.3 V", "L": "1 .. 10 µH"},
        {"kind": "buck-boost", "V_in": "2.5 .. 5.5 V", "V_out": "3.3 V ± 2 %"},
        {"kind": "buck-boost", "V_in": "1.8 .. 12 V", "I_out": "1 .. 150 mA", "L": "1 .. 10 µH"},
    ],
    ids=[
        "default",
        "diode",
        "efficiency",
        "across",
        "lossy",
        "light",
        "buck-boost",
        "light buck-boost",
    ],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(StepUp(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_no_load_draws_only_what_the_part_needs_and_its_ripple_costs() -> None:
    judgement = judge(exact(I_out="0 A"))
    assert judgement.output("I_L").high == judgement.output("P_on").high == 0
    assert judgement.output("eta").high == 0
    assert judgement.output("P").low > 0


def test_an_input_above_the_output_fails_and_does_not_stumble() -> None:
    judgement = judge(exact(V_in="6 V"))
    assert judgement.limit("output-above-input") == FAIL
    assert judgement.output("D").high == judgement.output("dI_L").high == 0


def test_units_may_be_mixed() -> None:
    mixed = exact(V_in="2500 mV", L="0.005 mH", f="1000 kHz", ESR="0.01 Ω")
    assert mixed.V_ripple.item() == pytest.approx(exact().V_ripple.item())


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_in", "4.2 .. 3 V"),
        ("V_in", "72 V"),
        ("V_out", "230 V AC"),
        ("V_in", "0 V"),
        ("L", "0 H"),
        ("L", "10 µF"),
        ("D_max", "120 %"),
        ("eta_D", "0 %"),
        ("f", "0 Hz"),
        ("kind", "flyback"),
        ("disconnects", "perhaps"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(StepUp({field: text}))
    assert refused.value.where.startswith(field)
