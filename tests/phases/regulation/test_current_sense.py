"""The current sense: shunt, range, causes of its error, and odd input."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.regulation.current_sense import CurrentSense
from tests.phases.sampling import escapes

# 20 mΩ at 2 A: 40 mV, 80 mW, 2 V at the output.
EXACT: dict[str, Any] = {
    "I_FS": "2 A",
    "V_bus": "12 V",
    "R_S": "20 mΩ",
    "V_S": "3.3 V",
    "V_Stest": "3.3 V",
    "V_REF": "3.3 V",
}


def exact(**more: Any) -> CurrentSense:
    return CurrentSense({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(CurrentSense())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["R_S", "U"]


# ---- The shunt -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inputs", "fitted"),
    [
        ({}, "25 mΩ ± 1 %"),  # 31 mΩ by the swing, of which 30 mΩ would leave too little
        ({"dV": "20 mV", "eps_want": "20 %", "eps_low": "60 %"}, "8.2 mΩ ± 1 %"),
        ({"P_S": "20 mW"}, "2.2 mΩ ± 1 %"),
        ({"G": "200"}, "7.5 mΩ ± 1 %"),
        ({"I_FS": "20 mA"}, "2.5 Ω ± 1 %"),
    ],
)
def test_the_shunt_offered_is_the_greatest_stocked_one_that_fits(
    inputs: dict[str, str], fitted: str
) -> None:
    judgement = judge(CurrentSense(inputs))
    assert judgement.picks["R_S"] == fitted
    for limit in ("power", "drop", "swing", "converter-range"):
        assert judgement.limit(limit) in (PASS, MARGINAL)


def test_a_shunt_chosen_by_hand_stays() -> None:
    judgement = judge(exact(R_S="50 mΩ"))
    assert judgement.picks == {"R_S": "50 mΩ"}
    assert judgement.limit("swing") == judgement.limit("converter-range") == FAIL


# ---- The error -----------------------------------------------------------------------------


def test_the_sum_is_that_of_its_causes_and_the_root_lies_between() -> None:
    part = exact()
    rows = {row["cause"]: row for row in part.budget}
    assert sum(float(row["full scale"].split()[0]) for row in rows.values()) == pytest.approx(
        part.eps.item() * 100, abs=0.05
    )
    assert part.eps_rss.item() < part.eps.item()
    assert part.eps_small_rss.item() < part.eps_small.item()
    shares = [float(row["full scale"].split()[0]) for row in rows.values()]
    assert shares == sorted(shares, reverse=True)
    assert max(shares) / 100 < part.eps_rss.item()


def test_at_a_tenth_offset_and_converter_count_tenfold() -> None:
    # 150 µV of 40 mV, then of 4 mV; the rest stays.
    quiet = {"TC_OS": "0 V", "CMR": "0 ppm", "PSR": "0 ppm", "E_ADC": "0"}
    part = exact(**quiet)
    assert part.eps_small.item() - part.eps.item() == pytest.approx(9 * 150e-6 / 40e-3)
    assert exact(**quiet, low="100 %").eps_small.item() == pytest.approx(part.eps.item())


def test_only_what_is_away_from_the_test_condition_adds_offset() -> None:
    at_test = exact(V_bus="12 V", CMR="100 ppm").V_off.item()
    assert exact(V_bus="22 V", CMR="100 ppm").V_off.item() == pytest.approx(at_test + 1e-3)
    assert exact(V_bus="2 V", CMR="100 ppm").V_off.item() == pytest.approx(at_test + 1e-3)
    across = judge(exact(V_bus="2 .. 22 V", CMR="100 ppm")).output("V_off")
    assert (across.low, across.high) == pytest.approx((at_test, at_test + 1e-3))
    # On the low side the common mode is that of ground, wherever the rail is.
    low = exact(side="low side", V_bus="50 V", CMR="100 ppm").V_off.item()
    assert low == pytest.approx(at_test + 1.2e-3)


def test_the_tolerance_of_the_reference_is_an_error_of_the_reading() -> None:
    base = exact().eps.item()
    assert exact(V_REF="3.3 V ± 2 %").eps.item() == pytest.approx(base + 0.02)
    assert exact(V_REF="3.2 / 3.3 / 3.35 V").eps.item() == pytest.approx(base + 0.1 / 3.3)


def test_copper_in_the_path_fails_and_counts() -> None:
    judgement = judge(exact(kelvin="no", squares="2"))
    assert judgement.limit("kelvin") == judgement.limit("error") == FAIL
    (found,) = (f for v in judgement.verdicts if v.limit == "kelvin" for f in v.findings)
    assert "5 % too much" in found.words
    assert judgement.output("eps").typ == pytest.approx(exact().eps.item() + 0.05)


# ---- Both directions and the low side ------------------------------------------------------


def test_in_both_directions_zero_is_in_the_middle_and_half_the_range_is_left() -> None:
    one, both = exact(), exact(both="yes")
    assert both.V_0.item() == pytest.approx(1.65)
    assert both.V_out.item() == pytest.approx(1.65 + 50 * 0.04)
    assert both.R_max.item() == pytest.approx(1.55 / 100)
    assert one.R_max.item() == pytest.approx(3.2 / 100)
    assert judge(both).limit("swing") == FAIL
    assert judge(exact(both="yes", R_S="15 mΩ")).limit("lower-swing") == PASS
    assert judge(exact(both="yes", R_S="17 mΩ")).limit("lower-swing") == FAIL
    assert judge(one).limit("lower-swing") == NOT_APPLICABLE
    assert judge(both).limit("smallest") == NOT_APPLICABLE
    assert both.I_still.item() == 0


def test_on_the_low_side_the_amplifier_has_to_reach_ground() -> None:
    low = {"side": "low side"}
    assert judge(exact(**low)).limit("common-mode") == PASS
    assert judge(exact(**low, V_CMmin="2.7 V")).limit("common-mode") == FAIL
    below = {**low, "both": "yes", "R_S": "10 mΩ"}
    assert judge(exact(**below, V_below="30 mV")).limit("common-mode") == PASS
    assert judge(exact(**below, V_below="10 mV")).limit("common-mode") == FAIL


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "passes", "marginal", "fails"),
    [
        ("power", "P_S", "200 mW", "164 mW", "156 mW"),
        ("drop", "dV", "50 mV", "41 mV", "39 mV"),
        ("swing", "V_top", "1.1 V", "1.25 V", "1.35 V"),
        ("smallest", "V_bot", "0.1 V", "0.195 V", "0.21 V"),
        ("error", "eps_want", "4 %", "3.2 %", "3 %"),
        ("error-small", "eps_low", "10 %", "8.7 %", "8 %"),
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
        ("common-mode", "V_CMmax", "12 V", "11.9 V"),
        ("common-mode", "V_CMmin", "2.7 V", "12.1 V"),
        ("converter-range", "V_REF", "2 V", "1.9 V"),
    ],
)
def test_what_a_part_states_needs_no_margin_of_its_own(
    limit: str, field: str, passes: str, fails: str
) -> None:
    assert judge(exact(**{field: passes})).limit(limit) == PASS
    assert judge(exact(**{field: fails})).limit(limit) == FAIL


def test_an_error_that_is_too_large_is_told_what_would_cure_it() -> None:
    judgement = judge(exact(V_OS="2 mV"))
    assert judgement.limit("error") == FAIL
    assert "V_OS" in {remedy.field for remedy in remedies(judgement)}


# ---- The ledger, and what is said ----------------------------------------------------------


def said(**inputs: Any) -> str:
    return " ".join(note.words for note in judge(exact(**inputs)).notes)


def test_peak_and_voltages_come_from_the_rails() -> None:
    ledger = {
        "rail.5v.peak": Supply("1.2 A", "ledger", "load-budget"),
        "rail.5v.voltage": Supply("4.9 .. 5.1 V", "ledger", "step-down@5v"),
        "rail.3v3.voltage": Supply("3.2 / 3.3 / 3.4 V", "ledger", "linear-regulator@3v3"),
    }
    part = CurrentSense(lookup=ledger.get, names={"rail": "5v", "mcu_rail": "3v3"})
    judgement = judge(part)
    readings = {reading.field: reading.text for reading in judgement.readings}
    assert (readings["I_FS"], readings["V_bus"]) == ("1.2 A", "4.9 .. 5.1 V")
    assert readings["V_S"] == readings["V_REF"] == "3.2 / 3.3 / 3.4 V"
    assert any("measures against 3v3" in note.what for note in judgement.notes)
    assert "in series with 5v" in judgement.parts[0].words
    assert "measures against" not in said()


def test_a_rail_that_feeds_the_amplifier_too_is_one_voltage() -> None:
    one = Supply("3 .. 14 V", "brief", "brief")
    ledger = {"rail.3v3.voltage": one}
    part = CurrentSense(
        {"V_REF": "2.5 V", "CMR": "10 ppm", "PSR": "10 ppm", "V_OS": "0 V", "TC_OS": "0 V"},
        lookup=ledger.get,
        names={"rail": "3v3", "mcu_rail": "3v3"},
    )
    offset = judge(part).output("V_off")
    # 12 V and 5 V are what the offsets are stated at: between them 70 µV, at 3 V 110 µV.
    assert offset.low == pytest.approx(70e-6)
    assert offset.high == pytest.approx(110e-6)


def test_cautions_are_those_of_the_worst_corner() -> None:
    assert "lifted by up to 41.6 mV" in said(side="low side", R_S="20 mΩ ± 4 %")
    assert "lifted" not in said()
    assert "below its common mode range" in said(V_CMmin="2.7 V")
    assert "below its common mode range" not in said()


def test_the_curve_of_the_error_falls_with_the_reading() -> None:
    error, power = (trace(exact(), curve) for curve in CurrentSense.curves)
    assert error is not None and power is not None
    assert list(error.high) == sorted(error.high, reverse=True)
    assert error.bound is not None and set(error.bound) == {0.2}


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {"both": "yes", "I_FS": "0.5 .. 1 A", "V_bus": "3 .. 20 V", "V_S": "3 .. 5.5 V"},
        {"side": "low side", "kelvin": "no", "V_OS": "50 .. 150 µV", "G": "49 .. 51"},
        {"V_S": "4.5 .. 5.5 V", "V_REF": "2.5 V ± 1 %", "CMR": "1 .. 30 ppm", "low": "5 .. 20 %"},
    ],
    ids=["default", "both", "low side", "wide"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(CurrentSense(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_without_any_error_nothing_is_left_of_it() -> None:
    none = dict.fromkeys(("tol_R", "eps_G", "eps_L"), "0 %") | {"TCR": "0 ppm", "CMR": "0 ppm"}
    part = exact(**none, V_OS="0 V", TC_OS="0 V", PSR="0 ppm", E_ADC="0")
    assert part.eps.item() == part.eps_rss.item() == part.eps_small.item() == 0
    assert part.budget == []


def test_units_may_be_mixed() -> None:
    mixed = exact(I_FS="2000 mA", R_S="0.02 Ω", V_OS="0.15 mV", TCR="0.01 %")
    assert mixed.eps.item() == pytest.approx(exact().eps.item())


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("I_FS", "0 A"),
        ("I_FS", "2 .. 1 A"),
        ("R_S", "0 Ω"),
        ("R_S", "10 mF"),
        ("V_bus", "72 V"),
        ("V_S", "230 V AC"),
        ("G", "0"),
        ("k_P", "120 %"),
        ("low", "0 %"),
        ("N", "30"),
        ("side", "middle"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(CurrentSense({field: text}))
    assert refused.value.where.startswith(field)
