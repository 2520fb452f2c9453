"""The charger: the cell's limits, the source's, heat, and a load that runs meanwhile."""

from __future__ import annotations

import math
from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.power_entry.charger import HOUR, Charger
from tests.phases.sampling import escapes

# Without spreads: 400 mA at 5 V into 3.7 V, 0.52 W, 52 K.
EXACT: dict[str, Any] = {
    "V_in": "5 V",
    "K": "1000 V",
    "R_SET": "2.5 kΩ",
    "V_FLT": "4.2 V",
    "k_PRE": "10 %",
    "k_TERM": "10 %",
    "V_BAT": "3.7 V",
    "I_Q": "0 A",
    "load": "source",
    "I_load": "30 mA",
    "I_peak": "80 mA",
    "I_CL": "450 mA",
    "T_A": "50 °C",
    "k_board": "1",
    "theta_JA": "100 K/W",
    "k_t": "1.4",
}


def exact(**more: Any) -> Charger:
    return Charger({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(Charger())
    assert judgement.verdict == PASS
    assert [part.role for part in judgement.parts] == ["U", "R_SET", "NTC"]


# ---- The current ---------------------------------------------------------------------------


def test_the_resistor_offered_is_the_nearest_that_the_cell_stands() -> None:
    assert judge(Charger()).picks["R_SET"] == "2.49 kΩ ± 1 %"
    # 500 mA wanted of a cell of 500 mA: the nearest that stays below with part and tolerance.
    careful = judge(Charger(I_want="500 mA", I_source="1 A"))
    assert careful.limit("cell-current") in (PASS, MARGINAL)
    assert careful.output("I_CHG").high <= 0.5


def test_a_resistor_chosen_by_hand_stays_and_one_set_by_the_part_needs_none() -> None:
    assert judge(exact(R_SET="2 kΩ")).picks == {"R_SET": "2 kΩ"}
    by_part = judge(exact(how="part", I_want="300 mA"))
    assert by_part.output("I_CHG").typ == pytest.approx(0.3)
    assert [part.role for part in by_part.parts] == ["U", "NTC"]


def test_heat_takes_current_and_a_part_that_does_not_give_way_gets_hot() -> None:
    cool, hot = exact(theta_JA="100 K/W"), exact(theta_JA="200 K/W")
    assert cool.I_BAT.item() == pytest.approx(0.4)
    assert cool.T_J.item() == pytest.approx(50 + 52)
    assert hot.I_BAT.item() == pytest.approx(70 / 200 / 1.3)
    assert hot.T_J.item() == pytest.approx(120)
    stubborn = exact(theta_JA="200 K/W", folds="no")
    assert stubborn.T_J.item() == pytest.approx(50 + 104)
    assert judge(stubborn).limit("junction") == FAIL
    assert judge(hot).limit("junction") == PASS


def test_above_the_temperature_it_holds_nothing_is_left() -> None:
    judgement = judge(exact(T_A="121 °C"))
    assert judgement.output("I_BAT").high == 0
    assert judgement.output("t_full").high == math.inf
    assert judgement.limit("left") == judgement.limit("timer") == FAIL


def test_the_current_that_is_held_and_the_heat_of_it_agree() -> None:
    for load in ("cell", "power path", "source"):
        part = exact(theta_JA="250 K/W", load=load, I_Q="2 mA")
        assert part.T_J.item() == pytest.approx(120)


# ---- The board's load ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("load", "into", "source", "share"),
    [
        ("source", 0.4, 0.48, 0.4),
        ("power path", 0.4, 0.45, 0.37),
        ("cell", 0.37, 0.4, 0.4),
    ],
)
def test_where_the_load_is_decides_who_feeds_it(
    load: str, into: float, source: float, share: float
) -> None:
    part = exact(load=load)
    assert part.I_BAT.item() == pytest.approx(into)
    assert part.I_IN.item() == pytest.approx(source)
    assert part.I_share.item() == pytest.approx(share)


def test_a_power_path_gives_the_cell_what_is_left() -> None:
    part = exact(load="power path", I_load="300 mA", I_peak="500 mA")
    assert part.I_BAT.item() == pytest.approx(0.15)
    assert part.I_IN.item() == pytest.approx(0.45)
    assert part.I_share.item() == 0
    assert judge(exact(load="power path", I_load="460 mA")).limit("left") == FAIL


def test_only_a_load_on_the_cell_meets_pre_charge_and_end() -> None:
    for limit in ("pre-charge", "termination"):
        assert judge(exact()).limit(limit) == NOT_APPLICABLE
        for load, verdict in (("35 mA", PASS), ("39 mA", MARGINAL), ("41 mA", FAIL)):
            assert judge(exact(load="cell", I_load=load)).limit(limit) == verdict


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "passes", "marginal", "fails"),
    [
        ("cell-current", "I_cell", "0.5 A", "0.41 A", "0.39 A"),
        ("headroom", "V_in", "4.5 V", "4.405 V", "4.39 V"),
        ("input-rating", "V_inmax", "5.5 V", "5.1 V", "4.9 V"),
        ("junction", "T_Jmax", "120 °C", "104 °C", "101 °C"),
        ("timer", "t_safe", "4 h", "3.6 h", "3.4 h"),
        ("time", "t_want", "4 h", "3.6 h", "3.4 h"),
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
        ("cell-voltage", "V_FLT", "4.2 V ± 1 %", "4.2 V ± 1.3 %"),
        ("cell-voltage", "V_cell", "4.2 V", "4.19 V"),
        ("source", "I_source", "480 mA", "470 mA"),
        ("temperature", "T_chg", "0 .. 45 °C", "0 .. 46 °C"),
        ("temperature", "T_chg", "1 .. 45 °C", "-1 .. 45 °C"),
        ("temperature", "T_cell", "0 .. 45 °C", "5 .. 45 °C"),
    ],
)
def test_what_a_sheet_states_needs_no_margin_of_its_own(
    limit: str, field: str, passes: str, fails: str
) -> None:
    assert judge(exact(**{field: passes})).limit(limit) == PASS
    assert judge(exact(**{field: fails})).limit(limit) == FAIL


def test_without_a_thermistor_the_ambient_has_to_suit_the_cell() -> None:
    assert judge(exact(ntc="no", T_A="5 .. 40 °C")).limit("temperature") == PASS
    assert judge(exact(ntc="no", T_A="-5 .. 40 °C")).limit("temperature") == FAIL
    assert judge(exact(ntc="yes", T_A="-5 .. 40 °C")).limit("temperature") == PASS


def test_no_timer_and_no_wish_give_no_verdict() -> None:
    assert judge(exact(t_safe="0 h")).limit("timer") == NOT_APPLICABLE
    assert judge(exact()).limit("time") == NOT_APPLICABLE


def test_a_cell_charged_too_fast_is_told_what_would_cure_it() -> None:
    judgement = judge(exact(how="part", I_want="600 mA", I_source="1 A"))
    assert judgement.limit("cell-current") == FAIL
    assert "I_want" in {remedy.field for remedy in remedies(judgement)}


# ---- The ledger, and what is said ----------------------------------------------------------


def test_load_and_source_come_from_the_board_and_the_share_goes_back() -> None:
    ledger = {
        "board.load": Supply("40 mA", "ledger", "load-budget"),
        "rail.vbus.peak": Supply("200 mA", "ledger", "load-budget"),
        "rail.vbus.rating": Supply("450 mA", "brief", "brief"),
        "rail.vbus.voltage": Supply("4.6 .. 5.2 V", "ledger", "drop-chain@vbus"),
        "board.ambient": Supply("0 .. 40 °C", "brief", "brief"),
    }
    judgement = judge(Charger(lookup=ledger.get, names={"rail": "vbus"}))
    readings = {reading.field: reading.text for reading in judgement.readings}
    assert (readings["I_load"], readings["I_peak"]) == ("40 mA", "200 mA")
    assert (readings["I_source"], readings["V_in"]) == ("450 mA", "4.6 .. 5.2 V")
    assert readings["T_A"] == "0 .. 40 °C"
    given = record_of(judgement).published
    assert set(given) == {"rail.vbus.charge_current"}
    assert given["rail.vbus.charge_current"].high == pytest.approx(0.3)
    assert "vbus to cell" in judgement.parts[0].words


def said(**inputs: Any) -> str:
    return " ".join(note.words for note in judge(exact(**inputs)).notes)


def test_that_lithium_can_burn_is_always_said() -> None:
    for inputs in ({}, {"load": "cell"}, {"how": "part"}):
        assert "can burn" in said(**inputs) and "data sheets of cell and charger decide" in said()


def test_cautions_are_those_of_the_worst_corner() -> None:
    assert "Thermal regulation lowers its current" in said(T_A="20 .. 69 °C")
    assert "Thermal regulation lowers its current" not in said(T_A="20 .. 67 °C")
    assert "too hot to touch" in said(T_A="5 .. 9 °C")
    assert "too hot to touch" not in said(T_A="5 .. 7 °C")
    assert "come out of the cell" in said(load="power path", I_peak="100 .. 460 mA")
    assert "come out of the cell" not in said(load="power path", I_peak="440 mA")
    assert "Nothing stops the charge" in said(ntc="no")
    assert "takes from the charge" in said(load="cell")


def test_the_curves_fall_as_heat_takes_over() -> None:
    by_cell, by_ambient = (trace(exact(theta_JA="150 K/W"), curve) for curve in Charger.curves)
    assert by_cell is not None and by_ambient is not None
    assert list(by_cell.typ) == sorted(by_cell.typ)
    assert list(by_ambient.typ) == sorted(by_ambient.typ, reverse=True)
    assert by_cell.typ[0] == pytest.approx(70 / 150 / 2.5)


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {"load": "cell", "I_load": "5 .. 60 mA", "theta_JA": "60 .. 120 K/W"},
        {"load": "source", "how": "part", "I_want": "350 .. 450 mA", "T_A": "0 .. 100 °C"},
        {"I_load": "50 .. 480 mA", "I_peak": "0.1 .. 1 A", "V_BAT": "2.5 .. 4.9 V"},
        {"folds": "no", "T_REG": "100 .. 130 °C", "I_CL": "90 .. 500 mA"},
    ],
    ids=["default", "on the cell", "on the source", "power path", "stubborn"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(Charger(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_no_load_leaves_all_of_it_to_the_cell() -> None:
    for load in ("cell", "power path", "source"):
        part = exact(load=load, I_load="0 A", I_peak="0 A")
        assert part.I_BAT.item() == part.I_share.item() == pytest.approx(0.4)


def test_an_input_below_the_cell_loses_nothing_and_fills_nothing() -> None:
    judgement = judge(exact(V_in="3.5 V"))
    assert judgement.limit("headroom") == FAIL
    assert judgement.output("P").high == 0


def test_units_may_be_mixed() -> None:
    mixed = exact(Q="1 Ah", V_in="5000 mV", R_SET="2500 Ω", t_safe="480 min")
    assert mixed.t_full.item() / HOUR == pytest.approx(exact().t_full.item() / HOUR)
    assert mixed.C.item() == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_in", "5.5 .. 5 V"),
        ("V_in", "72 V"),
        ("V_in", "230 V AC"),
        ("Q", "0 mAh"),
        ("Q", "1 V"),
        ("R_SET", "0 Ω"),
        ("I_want", "0 A"),
        ("load", "nowhere"),
        ("ntc", "perhaps"),
        ("T_cell", "45 .. 0 °C"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(Charger({field: text}))
    assert refused.value.where.startswith(field)
