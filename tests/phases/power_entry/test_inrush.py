"""What the inrush says: charge, charging behind a limiter, peaks of a straight plug."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import FAIL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.kit.spec_tables import spec_table
from phases.power_entry.inrush import Inrush
from tests.phases.sampling import escapes

LIMITERS = ("none", "slew rate", "rise time", "current limit")


def inrush(**inputs: Any) -> Judgement:
    return judge(Inrush(**inputs))


# ---- Charge ------------------------------------------------------------------------------


def test_the_ordinary_board_may_be_plugged_in() -> None:
    judged = inrush()
    assert judged.limit("usb-capacitance") == judged.limit("usb-charge") == PASS
    assert judged.limit("peak-voltage") == PASS
    assert judged.limit("switch") == NOT_APPLICABLE  # nobody said what the contacts stand


def test_what_hangs_behind_a_regulator_without_soft_start_counts_as_plugged_in() -> None:
    without = inrush(C_bus="4.7 µF", C_after="10 µF")
    assert without.output("C_plug").typ == pytest.approx(14.7e-6)
    assert without.limit("usb-capacitance") == without.limit("usb-charge") == FAIL
    soft = inrush(C_bus="4.7 µF", C_after="10 µF", limiter="rise time", t_r="1 ms")
    assert soft.output("C_plug").typ == pytest.approx(4.7e-6)
    assert soft.limit("usb-capacitance") == soft.limit("usb-charge") == PASS


def test_charge_behind_a_regulator_is_that_of_its_own_voltage() -> None:
    judged = inrush(C_bus="0 F", C_after="10 µF", V_after="3.3 V", V="5 V")
    assert judged.output("Q_plug").typ == pytest.approx(33e-6)
    assert inrush(C_bus="0 F", C_after="10 µF", V="5 V").output("Q_plug").typ == pytest.approx(
        50e-6
    )


@pytest.mark.parametrize(
    ("current", "load", "microcoulombs"),
    [
        ("90 mA", "0 A", 0.0),
        ("200 mA", "0 A", 250.0),
        ("200 mA", "100 mA", 500.0),
        ("400 mA", "0 A", 375.0),
    ],
)
def test_only_current_above_100_ma_counts(current: str, load: str, microcoulombs: float) -> None:
    judged = inrush(
        V="5 V", C_bus="0 F", C_after="100 µF", limiter="current limit", I_lim=current, I_load=load
    )
    assert judged.output("Q_above").typ * 1e6 == pytest.approx(microcoulombs)


@pytest.mark.parametrize(("delay", "together"), [("0 s", True), ("99 µs", True), ("100 µs", False)])
def test_plug_and_charging_count_together_unless_100_us_pass_between_them(
    delay: str, together: bool
) -> None:
    # USB-IF inrush test (Agilent AN 1400): a stretch ends after 100 µs below 100 mA.
    both = {"V": "5 V", "C_bus": "8 µF", "C_after": "20 µF", "limiter": "current limit"}
    charge = inrush(**both, I_lim="200 mA", t_0=delay).output("Q_above").typ
    assert charge == pytest.approx(90e-6 if together else 50e-6)
    assert inrush(**both, I_lim="90 mA").output("Q_above").typ == pytest.approx(40e-6)


def test_the_figures_of_usb_bind_no_other_source_and_no_higher_supply() -> None:
    for inputs in ({"source_kind": "other"}, {"V": "12 V", "V_abs": "40 V"}):
        judged = inrush(C_bus="100 µF", **inputs)
        assert judged.limit("usb-capacitance") == NOT_APPLICABLE
        assert judged.limit("usb-charge") == NOT_APPLICABLE


# ---- Charging ----------------------------------------------------------------------------


def test_slew_rise_time_and_current_limit_are_three_ways_to_say_the_same() -> None:
    common = {"V": "5 V", "C_after": "47 µF"}
    slew = inrush(**common, limiter="slew rate", dV_dt="5 kV/s")
    rise = inrush(**common, limiter="rise time", t_r="1 ms")
    limited = inrush(**common, limiter="current limit", I_lim="235 mA")
    for name in ("I_C", "slew", "t_C"):
        values = [judged.output(name).typ for judged in (slew, rise, limited)]
        assert values == pytest.approx([values[0]] * 3)
    assert slew.output("t_C").typ == pytest.approx(1e-3)


def test_charge_is_current_times_time() -> None:
    for limiter in LIMITERS[1:]:
        judged = inrush(V="5 V", C_after="47 µF", limiter=limiter)
        moved = judged.output("I_C").typ * judged.output("t_C").typ
        assert moved == pytest.approx(47e-6 * 5)


def test_the_source_must_give_load_and_charging_current_together() -> None:
    limited: dict[str, Any] = {"limiter": "current limit", "I_lim": "350 mA", "I_src": "500 mA"}
    assert inrush(**limited, I_load="100 mA").limit("source") == PASS
    assert inrush(**limited, I_load="200 mA").limit("source") == FAIL
    assert inrush(I_load="2 A").limit("source") == NOT_APPLICABLE


# ---- Peaks -------------------------------------------------------------------------------


def test_a_long_cable_rings_higher_and_a_lossy_capacitor_less() -> None:
    peaks = [
        inrush(V="24 V", C_bus="10 µF", L=f"{L} µH", kind="C0G, film or electrolytic")
        .output("V_pk")
        .typ
        for L in (0.1, 0.3, 1, 3, 10)
    ]
    assert peaks == sorted(peaks)
    assert peaks[-1] < 48
    assert inrush(V="24 V", C_bus="10 µF", L="10 µH").output("V_pk").typ > 48
    damped = [
        inrush(V="24 V", C_bus="10 µF", ESR=f"{R} mΩ").output("V_pk").typ
        for R in (10, 100, 300, 1000)
    ]
    assert damped == sorted(damped, reverse=True)


def test_a_24_v_plug_kills_a_part_for_36_v_and_damping_cures_it() -> None:
    judged = inrush(V="24 V", C_bus="10 µF", R_src="0.1 Ω", V_abs="36 V", I_sw="100 A")
    assert judged.limit("peak-voltage") == FAIL
    assert {"R_src", "ESR"} <= {remedy.field for remedy in remedies(judged)}
    assert any("ring at plug-in" in note.what for note in judged.notes)


def test_without_a_capacitor_nothing_rings() -> None:
    assert inrush(V="5 V", C_bus="0 F", C_after="0 F").output("V_pk").typ == 5.0


def test_no_peak_is_above_what_resistance_or_inductance_lets_through() -> None:
    for ohms, henries in (("2 Ω", "1 µH"), ("0.05 Ω", "1 µH")):
        judged = inrush(V="5 V", C_bus="10 µF", C_after="0 F", R_src=ohms, ESR="0 Ω", L=henries)
        R, Z = float(ohms.split()[0]), (1e-6 / 10e-6) ** 0.5
        assert 0.3 * 5 / max(R, Z) < judged.output("I_pk").typ < 5 / max(R, Z)


def test_a_clamp_bounds_the_peak_and_contacts_are_judged_where_they_are_rated() -> None:
    free = inrush(V="24 V", C_bus="10 µF", V_abs="60 V")
    clamped = inrush(V="24 V", C_bus="10 µF", V_abs="60 V", V_clamp="48.4 V")
    assert free.limit("peak-voltage") == FAIL
    assert clamped.limit("peak-voltage") == PASS
    assert clamped.output("V_pk").high == 48.4
    assert inrush(I_sw="5 A").limit("switch") == FAIL
    assert inrush(I_sw="50 A").limit("switch") == PASS


@pytest.mark.parametrize("volts", ["12 V", "24 V"])
def test_sparks_from_12_v_on_are_cautioned_about(volts: str) -> None:
    assert any("spark" in n.what for n in inrush(V=volts, V_abs="60 V").notes)
    assert not any("spark" in n.what for n in inrush().notes)


@pytest.mark.parametrize(("C_bus", "said"), [("1 µF ± 20 %", True), ("2.2 µF ± 20 %", False)])
def test_less_than_a_microfarad_on_vbus_is_said(C_bus: str, said: bool) -> None:
    # cSnkBulk 1 to 10 µF: TI TPS25741A.
    notes = inrush(C_bus=C_bus).notes
    assert any("Less than 1 µF" in note.what for note in notes) is said
    other = inrush(C_bus=C_bus, source_kind="other").notes
    assert not any("Less than 1 µF" in note.what for note in other)


# ---- The ledger, parts, what is refused, what holds in general ----------------------------


def test_supply_allowance_and_capacitance_come_from_the_ledger() -> None:
    given = {
        "rail.vbus.window": "5 V",
        "source.allowed": "300 mA",
        "rail.3v3.output_capacitance": "8 .. 10 µF",
        "rail.3v3.voltage": "3.3 V",
    }
    judged = judge(
        Inrush(
            {"limiter": "current limit", "I_lim": "350 mA"},
            lookup=lambda name: Supply(given[name], "ledger", "it") if name in given else None,
            names={"rail": "vbus", "mcu_rail": "3v3", "connector": "j-usb"},
        )
    )
    assert judged.limit("source") == FAIL
    assert judged.output("t_C").high == pytest.approx(10e-6 * 3.3 / 0.35)
    assert judged.parts[0].where == "from the supply to GND at j-usb"


def test_capacitor_and_soft_start_are_to_be_drawn() -> None:
    assert [part.role for part in inrush().parts] == ["C"]
    soft = inrush(limiter="current limit", I_lim="200 mA", I_load="50 mA")
    assert [part.words for part in soft.parts] == [
        "capacitor 4.7 µF, from the supply to GND at the connector",
        "soft start of 250 mA or less, after the connector",
    ]
    assert inrush(C_bus="0 F").parts == ()


@pytest.mark.parametrize(
    "inputs",
    [
        {"V": "60.1 V"},
        {"V": "230 V"},
        {"V": "24 V AC"},
        {"V_after": "80 V"},
        {"R_src": "0 Ω"},
        {"C_bus": "10 µH"},
        {"limiter": "hope"},
        {"t_r": "0 s"},
        {"step": "half"},
    ],
)
def test_what_cannot_be_meant_is_refused(inputs: dict[str, str]) -> None:
    with pytest.raises(Refusal):
        inrush(**inputs)


def test_every_verdict_is_reached() -> None:
    runs = (
        inrush(),
        inrush(C_bus="22 µF"),
        inrush(V_abs="15.2 V"),
    )
    assert {v.verdict for judged in runs for v in judged.verdicts} == set(VERDICTS)


def test_the_curves_can_be_drawn_with_their_limits() -> None:
    for curve in Inrush.curves:
        traced = trace(judge(Inrush(V="5 V")).calculation, curve)
        assert traced is not None and traced.bound is not None
        assert max(traced.high) > min(traced.low)


@pytest.mark.deeper
@pytest.mark.parametrize("limiter", LIMITERS)
def test_no_random_point_gets_out_of_what_is_reported(limiter: str) -> None:
    judged = inrush(
        limiter=limiter,
        V="4.5 .. 5.5 V",
        C_bus="3 .. 6 µF",
        C_after="2 .. 5 µF",
        L="0.3 .. 3 µH",
        R_src="0.1 .. 1 Ω",
        ESR="5 .. 50 mΩ",
        I_lim="50 .. 150 mA",
        I_load="0 .. 90 mA",
        t_r="0.1 .. 0.5 ms",
        dV_dt="5 .. 50 kV/s",
    )
    assert escapes(judged) == []


def test_each_figure_of_the_table_stands_with_its_source() -> None:
    groups = [group for group in spec_table("usb-inrush").values() if isinstance(group, dict)]
    assert len(groups) == 4
    assert all(group["source"].strip() for group in groups)
