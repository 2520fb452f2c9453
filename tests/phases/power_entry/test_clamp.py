"""What the clamp says of surge and discharge, and of a data line."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import FAIL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.kit.spec_tables import spec_table
from phases.power_entry.clamp import Clamp
from tests.phases.sampling import escapes


def clamp(**inputs: Any) -> Judgement:
    return judge(Clamp(**inputs))


# ---- Discharge ---------------------------------------------------------------------------


def test_a_desk_device_is_judged_by_stand_off_and_discharge_alone() -> None:
    judged = clamp()
    given = {v.limit: v.verdict for v in judged.verdicts}
    assert given == {
        "stand-off": PASS,
        "breakdown": PASS,
        "discharge-rating": PASS,
        "clamping": NOT_APPLICABLE,
        "series-mosfet": NOT_APPLICABLE,
        "pulse-rating": NOT_APPLICABLE,
        "pulse-current": NOT_APPLICABLE,
    }
    reasons = {v.reason for v in judged.verdicts if v.verdict == NOT_APPLICABLE}
    assert reasons == {"No surge reaches this connector"}


def test_a_discharge_gets_no_clamp_verdict_however_low_the_maximum() -> None:
    assert clamp(V_abs="3 V").limit("clamping") == NOT_APPLICABLE
    assert any("nanoseconds" in note.what for note in clamp().notes)


@pytest.mark.parametrize(
    ("discharge", "level", "rated", "verdict"),
    [
        ("contact", "4", "8 kV", PASS),
        ("contact", "4", "6 kV", FAIL),
        ("air", "4", "8 kV", FAIL),
        ("air", "4", "15 kV", PASS),
        ("contact", "2", "4 .. 5 kV", PASS),
    ],
)
def test_the_level_is_compared_with_the_clamp_s_rating(
    discharge: str, level: str, rated: str, verdict: str
) -> None:
    judged = clamp(discharge=discharge, level=level, V_ESD=rated)
    assert judged.limit("discharge-rating") == verdict


def test_a_discharge_through_air_has_no_stated_waveform() -> None:
    judged = clamp(discharge="air")
    assert np.isnan(judged.output("I_first").typ)
    assert judged.output("E").typ > 0


# ---- Surge -------------------------------------------------------------------------------


def test_a_surge_is_judged_by_what_is_left_of_it() -> None:
    judged = clamp(surge="yes", V_surge="42 V", R_surge="2 Ω", V_abs="16 V")
    assert judged.limit("clamping") == judged.limit("pulse-rating") == PASS
    assert (
        clamp(surge="yes", V_surge="500 V", R_surge="2 Ω", V_abs="16 V").limit("clamping") == FAIL
    )


def test_the_whole_surge_over_its_resistance_is_the_worse_case() -> None:
    whole = clamp(surge="yes", V_surge="42 V", R_surge="2 Ω")
    less = clamp(surge="yes", V_surge="42 V", R_surge="2 Ω", less_clamp="yes")
    assert less.output("I_P").high < whole.output("I_P").high == 21.0


def test_less_the_clamp_current_and_clamp_voltage_agree_with_each_other() -> None:
    # I_P = (V_surge - V_C) / R_surge holds at the current that was found.
    given = {"V_BR": "7 V", "V_surge": "100 V", "R_surge": "2 Ω", "less_clamp": "yes"}
    part = judge(Clamp(given, surge="yes")).calculation
    assert part.I_P.item() == pytest.approx((100 - part.V_C25.item()) / 2)


def test_a_surge_below_the_breakdown_drives_nothing() -> None:
    judged = clamp(surge="yes", V_surge="6 V", V_BR="6.4 V", less_clamp="yes")
    assert judged.output("I_P").high == 0.0
    assert judged.output("P").high == 0.0


def test_a_test_current_stands_instead_of_a_surge() -> None:
    judged = clamp(I_test="43.5 A", V_BR="7.2 V")
    assert judged.output("V_C25").typ == pytest.approx(9.2)
    assert judged.limit("clamping") == PASS


def test_heat_raises_the_clamp_voltage() -> None:
    hot = [clamp(I_test="10 A", T_A=f"{T} °C").output("V_CT").high for T in (-40, 25, 60, 100)]
    assert hot == sorted(hot)


def test_a_series_mosfet_is_judged_only_where_there_is_one() -> None:
    assert clamp(surge="yes").limit("series-mosfet") == NOT_APPLICABLE
    assert clamp(surge="yes", V_DS="30 V").limit("series-mosfet") == PASS
    assert clamp(surge="yes", V_DS="12 V").limit("series-mosfet") == FAIL


@pytest.mark.parametrize(
    ("wave", "rated", "power"),
    [
        ("8/20 µs", "8/20 µs", 400),
        ("8/20 µs", "10/1000 µs", 2300),
        ("10/1000 µs", "8/20 µs", 69.565),
    ],
)
def test_a_short_wave_may_have_more_power(wave: str, rated: str, power: float) -> None:
    assert clamp(wave=wave, rated=rated).output("P_wave").typ == pytest.approx(power, rel=1e-4)


def test_heat_takes_pulse_power_and_current_away() -> None:
    # Derating of pulse power over temperature: straight from 25 °C to nothing at the junction
    # limit (Vishay document 88446, as on the sheets of the makers): 40 % are left at 100 °C.
    hot = clamp(T_A="100 °C", T_Pmax="150 °C", rated="8/20 µs", I_test="20 A", V_C="9.2 V")
    assert hot.output("k_P").typ == pytest.approx(0.4)
    assert hot.output("P_wave").typ == pytest.approx(160)
    assert hot.limit("pulse-rating") == hot.limit("pulse-current") == FAIL
    assert clamp(T_A="25 °C", rated="8/20 µs", I_test="20 A").limit("pulse-rating") == PASS
    assert clamp(T_A="200 °C", T_Pmax="150 °C").output("P_wave").high == 0.0


def test_a_pulse_beyond_the_rated_one_fails_whatever_it_would_clamp_to() -> None:
    judged = clamp(I_test="500 A", I_PP="13.2 A", rated="8/20 µs", V_abs="1 kV", P_PP="50 kW")
    assert judged.limit("pulse-current") == FAIL


def test_in_the_cold_the_part_breaks_down_earlier() -> None:
    cold = clamp(V_work="6.2 V", V_RWM="6.3 V", V_BR="6.4 V", T_A="-40 °C", alpha_T="0.1 %")
    assert cold.output("V_BRT").typ == pytest.approx(6.4 * (1 - 0.065))
    assert cold.limit("stand-off") == cold.limit("breakdown") == FAIL
    warm = clamp(V_work="6.2 V", V_RWM="6.3 V", V_BR="6.4 V", T_A="25 °C")
    assert warm.limit("stand-off") == warm.limit("breakdown") == PASS


def test_where_only_the_min_breakdown_is_known_the_max_is_counted_from_it_alone() -> None:
    judged = clamp(V_BR="6.4 .. 7.2 V", breakdown="min given, 1.11 times")
    assert judged.output("V_BRmax").high == pytest.approx(6.4 * 1.11)


# ---- Stand-off, data line ----------------------------------------------------------------


def test_the_highest_working_voltage_counts_against_the_stand_off() -> None:
    assert clamp(V_work="10 .. 28 V", V_RWM="24 V").limit("stand-off") == FAIL
    high = clamp(V_work="10 .. 28 V", V_RWM="28 V", V_BR="31.1 .. 34.4 V")
    assert high.verdict == PASS
    low = clamp(V_work="10 .. 28 V", V_RWM="24 V", V_BR="31.1 .. 34.4 V")
    cures = {r.field: r.intervals for r in remedies(low)}
    assert cures["V_RWM"] == ((28.0, 31.1),)


def test_a_part_that_breaks_down_below_its_stand_off_fails() -> None:
    assert clamp(V_RWM="6.4 V").limit("breakdown") == PASS
    assert clamp(V_RWM="6.41 V").limit("breakdown") == FAIL
    assert clamp(V_RWM="28 V", breakdown="min given, 1.22 times").limit("breakdown") == FAIL


def test_a_part_that_conducts_at_the_working_voltage_fails_whatever_its_stand_off() -> None:
    judged = clamp(V_work="10 .. 28 V", V_RWM="28 V", V_BR="6.4 .. 7.2 V")
    assert judged.limit("stand-off") == judged.limit("breakdown") == FAIL


def test_no_remedy_raises_the_stand_off_above_the_breakdown() -> None:
    for stand_off in ("5.5 V", "28 V"):
        judged = clamp(V_work="24 V", V_RWM=stand_off, V_BR="6.4 .. 7.2 V")
        assert judged.verdict == FAIL
        assert remedies(judged) == []
    assert [r.intervals for r in remedies(clamp(V_RWM="5 V"))] == [((5.25, 6.4),)]


def test_capacitance_slows_a_data_line() -> None:
    judged = clamp(C_T="10 pF", R_line="50 Ω")
    assert judged.output("t_edge").typ == pytest.approx(1.1e-9)
    assert judged.output("f_c").typ == pytest.approx(318.3e6, rel=1e-3)
    # 2.2 R C against the 0.35 / f_c that engineers say (common practice).
    assert judged.output("t_edge").typ * judged.output("f_c").typ == pytest.approx(0.35, abs=0.001)
    assert clamp(C_T="0 F").output("f_c").high == np.inf


# ---- The ledger, parts, what is refused, what holds in general ----------------------------


def test_working_voltage_and_ambient_come_from_the_ledger() -> None:
    given = {"rail.vin.window": "10 .. 28 V", "board.ambient": "-10 / 25 / 60 °C"}
    judged = judge(
        Clamp(
            {"I_test": "5 A"},
            lookup=lambda name: Supply(given[name], "brief", "brief") if name in given else None,
            names={"rail": "vin", "connector": "j-supply"},
        )
    )
    assert judged.limit("stand-off") == FAIL
    assert judged.output("k_T").high == pytest.approx(1.035)
    assert "j-supply" in judged.parts[0].where


def test_the_power_of_the_part_is_to_be_drawn_only_against_a_surge() -> None:
    assert "W" not in clamp().parts[0].what.replace("stand-off", "")
    assert "400 W" in clamp(surge="yes").parts[0].what


def test_a_surge_is_cautioned_about() -> None:
    assert any("can injure people" in note.what for note in clamp(surge="yes").notes)
    assert not any("can injure people" in note.what for note in clamp().notes)


@pytest.mark.parametrize(
    "inputs",
    [
        {"V_work": "61 V"},
        {"V_work": "230 V AC"},
        {"level": "5"},
        {"discharge": "spark"},
        {"V_surge": "10 kV"},
        {"R_surge": "0 Ω"},
        {"I_PP": "0 A"},
        {"wave": "50 Hz"},
        {"C_T": "1 V"},
    ],
)
def test_what_cannot_be_meant_is_refused(inputs: dict[str, str]) -> None:
    with pytest.raises(Refusal):
        clamp(**inputs)


def test_every_verdict_is_reached() -> None:
    runs = (clamp(), clamp(V_RWM="5 V"), clamp(surge="yes", V_abs="8 V"))
    assert {v.verdict for judged in runs for v in judged.verdicts} == set(VERDICTS)


def test_the_curve_can_be_drawn_with_its_limit() -> None:
    traced = trace(judge(Clamp(surge="yes")).calculation, Clamp.curves[0])
    assert traced is not None and traced.bound is not None
    assert list(traced.high) == sorted(traced.high)


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {"surge": "yes", "V_surge": "30 .. 60 V"},
        {"surge": "yes", "V_surge": "60 .. 100 V", "less_clamp": "yes"},
        {"I_test": "5 .. 20 A", "method": "dynamic resistance", "R_dyn": "20 .. 60 mΩ"},
        {"surge": "yes", "breakdown": "min given, 1.22 times", "V_BR": "6.4 V"},
    ],
)
def test_no_random_point_gets_out_of_what_is_reported(inputs: dict[str, str]) -> None:
    judged = clamp(
        T_A="-20 .. 70 °C",
        V_C="9 .. 9.4 V",
        C_T="0.3 .. 0.8 pF",
        P_PP="500 .. 600 W",
        R_surge="1.8 .. 2.2 Ω",
        V_ESD="8 .. 15 kV",
        V_DS="38 .. 40 V",
        **inputs,
    )
    assert escapes(judged) == []


def test_each_figure_of_the_table_stands_with_its_source() -> None:
    groups = [group for group in spec_table("esd-levels").values() if isinstance(group, dict)]
    assert len(groups) == 5
    assert all(group["source"].strip() for group in groups)
