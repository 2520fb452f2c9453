"""The load switch: on at the gate drive that is there, off in reset, whole after turn-off."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.regulation.load_switch import LoadSwitch
from tests.phases.sampling import escapes

# Without spreads: half of the pin's level would be lost in nothing, 0.1 W at 1 A.
EXACT: dict[str, Any] = {
    "V_S": "12 V",
    "I": "1 A",
    "L": "10 mH",
    "V_G": "3.3 V",
    "R_on": "0.1 Ω",
    "V_spec": "2.5 V",
    "V_th": "1 V",
    "R_pd": "10 kΩ",
    "R_G": "0 Ω",
    "I_leak": "1 µA",
    "V_F": "1 V",
    "V_cl": "24 V",
    "T_A": "50 °C",
    "k_board": "1",
    "theta_JA": "100 K/W",
    "T_Jmax": "150 °C",
    "I_FD": "2 A",
}


def exact(**more: Any) -> LoadSwitch:
    return LoadSwitch({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(LoadSwitch())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["Q", "R_pd", "R_G", "D"]


# ---- The gate ------------------------------------------------------------------------------


def test_a_series_resistor_takes_its_part_of_the_drive() -> None:
    assert exact(R_G="1 kΩ", R_pd="10 kΩ").V_GS.item() == pytest.approx(3.0)
    assert exact().V_GS.item() == pytest.approx(3.3)


def test_a_floating_pin_lifts_the_gate_by_its_leakage() -> None:
    assert exact().V_reset.item() == pytest.approx(0.01)
    assert exact(R_pd="1 MΩ").V_reset.item() == pytest.approx(1.0)


def test_a_pull_up_in_the_pin_divides_with_the_pull_down() -> None:
    part = exact(R_pu="40 kΩ", I_leak="0 A")
    assert part.V_reset.item() == pytest.approx(3.3 * 10 / 50)
    assert judge(part).limit("off-in-reset") == PASS
    weak = exact(R_pu="40 kΩ", R_pd="47 kΩ")
    assert judge(weak).limit("off-in-reset") == FAIL
    assert any(remedy.field == "R_pd" for remedy in remedies(judge(weak)))


def test_the_pull_down_offered_keeps_it_off_and_lets_it_on() -> None:
    strong = judge(LoadSwitch(R_pu="30 kΩ ± 30 %"))
    assert strong.limit("off-in-reset") == PASS
    assert strong.picks["R_pd"] == "2.7 kΩ ± 5 %"
    by_hand = judge(LoadSwitch(R_pd="100 kΩ ± 5 %"))
    assert by_hand.picks == {"R_pd": "100 kΩ ± 5 %"}


# ---- Heat ----------------------------------------------------------------------------------


def test_the_greatest_load_lies_just_on_the_junction_limit() -> None:
    for more in ({}, {"f": "100 kHz", "t_sw": "500 ns"}, {"D": "30 %"}):
        part = exact(**more)
        at_it = exact(**more, I=part.I_max.item())
        assert at_it.T_J.item() == pytest.approx(150)


def test_chopping_adds_switching_loss_and_takes_off_conduction() -> None:
    assert exact(D="50 %").P.item() == pytest.approx(0.05)
    assert exact(f="20 kHz", t_sw="1 µs").P.item() == pytest.approx(0.1 + 0.12)


def test_no_conduction_has_no_greatest_load() -> None:
    assert judge(exact(D="0 %")).output("I_max").low == float("inf")
    assert judge(exact(T_A="160 °C")).output("I_max").high == 0


# ---- Turn-off ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("load", "flyback", "peak"),
    [
        ("resistive", "none", 12.0),
        ("inductive", "diode", 13.0),
        ("inductive", "clamp", 24.0),
        ("inductive", "none", float("inf")),
    ],
)
def test_the_peak_follows_the_path_of_the_current(load: str, flyback: str, peak: float) -> None:
    assert judge(exact(load=load, flyback=flyback)).output("V_peak").high == peak


def test_a_coil_without_a_path_breaks_the_switch_and_is_said() -> None:
    judgement = judge(exact(flyback="none"))
    assert judgement.limit("peak") == FAIL
    assert judgement.limit("diode-current") == FAIL
    (verdict,) = (v for v in judgement.verdicts if v.limit == "diode-current")
    assert "no path" in verdict.findings[0].what
    assert judge(exact(flyback="none", load="resistive")).limit("diode-current") == NOT_APPLICABLE


def test_a_clamp_below_the_supply_never_ends_the_current() -> None:
    judgement = judge(exact(flyback="clamp", V_cl="11 V"))
    assert judgement.output("E_off").high == float("inf")
    assert judgement.limit("clamp-energy") == FAIL


def test_a_diode_holds_the_current_longer_than_a_clamp() -> None:
    assert exact().t_off.item() > 2 * exact(flyback="clamp").t_off.item()


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "values"),
    [
        ("drive", "V_spec", ("3 V", "3.25 V", "4.5 V")),
        ("gate-rating", "V_GSmax", ("8 V", "3.4 V", "3.2 V")),
        ("junction", "R_on", ("0.9 Ω", "0.97 Ω", "1.1 Ω")),
        ("off-in-reset", "R_pd", ("100 kΩ", "0.9 MΩ", "1.1 MΩ")),
        ("peak", "V_DSmax", ("20 V", "13.2 V", "12.9 V")),
        ("diode-current", "I_FD", ("2 A", "1.02 A", "0.9 A")),
        ("clamp-energy", "E_cl", ("20 mJ", "10.2 mJ", "9.8 mJ")),
    ],
)
def test_each_limit_passes_runs_thin_and_fails(
    limit: str, field: str, values: tuple[str, str, str]
) -> None:
    flyback = "clamp" if limit == "clamp-energy" else "diode"
    for text, verdict in zip(values, (PASS, MARGINAL, FAIL), strict=True):
        assert judge(exact(**{"flyback": flyback, field: text})).limit(limit) == verdict


def test_the_drive_is_the_least_that_is_really_there() -> None:
    judgement = judge(LoadSwitch(V_G="1.8 V ± 5 %"))
    assert judgement.limit("drive") == FAIL
    (verdict,) = (v for v in judgement.verdicts if v.limit == "drive")
    assert verdict.corner["V_G"] == pytest.approx(1.71)


# ---- The ledger and the curve --------------------------------------------------------------


def test_it_takes_its_load_and_the_voltages_of_its_rails_from_the_ledger() -> None:
    ledger = {
        "load.pump.peak": Supply("800 mA", "brief", "brief"),
        "rail.vin.voltage": Supply("10 .. 28 V", "brief", "brief"),
        "rail.3v3.voltage": Supply("3.2 .. 3.4 V", "ledger", "linear-regulator@3v3"),
        "board.ambient": Supply("-10 / 25 / 60 °C", "brief", "brief"),
    }
    names = {"load": "pump", "rail": "vin", "mcu_rail": "3v3", "entry": "vin"}
    judgement = judge(LoadSwitch(lookup=ledger.get, names=names))
    readings = {reading.field: reading.text for reading in judgement.readings}
    assert (readings["V_S"], readings["V_G"]) == ("10 .. 28 V", "3.2 .. 3.4 V")
    assert readings["I"] == "800 mA"
    assert record_of(judgement).published == {}
    assert judgement.parts[0].where == "pump to GND"
    assert judgement.parts[3].where == "switch of pump to vin"


def test_heat_rises_with_load_to_the_limit_drawn_in() -> None:
    traced = trace(exact(), LoadSwitch.curves[0])
    assert traced is not None and traced.bound is not None
    assert list(traced.high) == sorted(traced.high)
    assert set(traced.bound) == {150.0}


# ---- What is said --------------------------------------------------------------------------


def said(**inputs: Any) -> str:
    return " ".join(note.what for note in judge(exact(**inputs)).notes)


def test_cautions_stand_beside_the_numbers_they_belong_to() -> None:
    assert "too hot to touch" in said(I="2 A")
    assert "too hot to touch" not in said(I="0.1 A")
    assert "motor" in said() and "releases late" in said()
    assert "motor" not in said(load="resistive")
    assert "releases late" not in said(f="20 kHz")


def test_a_clamp_is_drawn_in_the_place_of_the_diode() -> None:
    words = [part.words for part in judge(exact(flyback="clamp", R_G="0 Ω")).parts]
    assert words[-1] == "clamp, 24 V, across the switch of load"
    assert len(words) == 3


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "V_S": "5 .. 20 V",
            "I": "0.1 .. 2 A",
            "flyback": "clamp",
            "f": "0 .. 50 kHz",
            "D": "10 .. 90 %",
            "R_pu": "30 .. 60 kΩ",
            "t_sw": "100 .. 300 ns",
            "L": "1 .. 20 mH",
        },
        {"load": "resistive", "V_S": "0 .. 12 V", "V_th": "0.4 .. 0.9 V", "R_G": "10 .. 1000 Ω"},
        {"flyback": "none", "I": "0 .. 1 A"},
    ],
    ids=["default", "clamp", "resistive", "without a path"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(LoadSwitch(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_nothing_flows_without_supply_and_nothing_divides() -> None:
    judgement = judge(exact(V_S="0 V", I="0 A"))
    assert judgement.output("t_off").high == 0
    assert judgement.output("T_J").high == 50
    assert judgement.verdict == PASS


def test_units_may_be_mixed() -> None:
    mixed = exact(V_S="12000 mV", I="1000 mA", R_on="100 mΩ", L="0.01 H")
    assert mixed.T_J.item() == pytest.approx(exact().T_J.item())


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_S", "230 V AC"),
        ("V_S", "61 V"),
        ("I", "-1 A"),
        ("R_pd", "0 Ω"),
        ("V_F", "0 V"),
        ("D", "110 %"),
        ("flyback", "snubber"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(LoadSwitch({field: text}))
    assert refused.value.where.startswith(field)


# ---- Gate charge, capacitive loads, above the load ------------------------------------------


def test_a_slow_gate_sets_the_edges() -> None:
    # 20 nC through 1 kΩ with 3.3 V less 1 V of threshold: 8.7 µs an edge.
    part = exact(f="20 kHz", Q_G="20 nC", R_G="1 kΩ", R_pd="10 kΩ", V_G="3.3 V", V_th="1 V")
    t = 20e-9 * 1e3 / (3.3 - 1.0)
    assert part.t_gate.item() == pytest.approx(t)
    still = exact(R_G="1 kΩ", R_pd="10 kΩ", V_G="3.3 V", V_th="1 V")
    edges = part.V_S.item() * part.I.item() * 2 * t * 20e3 / 2
    assert part.P.item() - still.P.item() == pytest.approx(edges)


@pytest.mark.parametrize(("R_G", "verdict"), [("100 Ω", FAIL), ("100 kΩ", PASS)])
def test_a_capacitive_load_is_charged_as_fast_as_the_gate_allows(R_G: str, verdict: str) -> None:
    given = {"load": "capacitive", "C_load": "100 µF", "R_pd": "1 MΩ", "V_spec": "2 V"}
    judgement = judge(LoadSwitch(given, R_G=R_G, I_DM="15 A", I_leak="0 A"))
    assert judgement.limit("inrush") == verdict
    t = judgement.output("t_gate").typ
    most = judgement.output("I_inrush").typ
    assert most == pytest.approx(min(100e-6 * 12 / t, 12 / 55e-3))
    assert judge(LoadSwitch()).limit("inrush") == "not applicable"


def test_a_switch_above_the_load_has_the_supply_at_its_gate() -> None:
    above = {"side": "supply and load", "V_S": "12 V", "R_G": "100 Ω", "R_pd": "10 kΩ"}
    judgement = judge(LoadSwitch(above, names={"load": "fan", "rail": "12v"}))
    assert judgement.output("V_GS").typ == pytest.approx(12 * 10 / 10.1)
    assert judgement.limit("gate-rating") == FAIL  # 8 V at most: it needs a divider
    divided = judge(LoadSwitch({**above, "R_G": "10 kΩ"}))
    assert divided.limit("gate-rating") == PASS
    drawn = {part.role: part.where for part in judgement.parts}
    assert drawn["Q"] == "12v to fan" and drawn["R_pd"] == "gate to 12v, switch of fan"
    assert "Q_G" in drawn and drawn["D"] == "GND to fan"


def test_what_was_judged_is_what_is_to_draw() -> None:
    # 90 mΩ hot were judged, not the 55 mΩ typical.
    (switch,) = (part.what for part in judge(LoadSwitch()).parts if part.role == "Q")
    assert switch == "MOSFET, 40 V or more, 90 mΩ or less at a gate of 2.5 V"
