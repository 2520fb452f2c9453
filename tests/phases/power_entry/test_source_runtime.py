"""What the battery calculator says: duty cycle, runtime, sag under a pulse, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import FAIL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.curves import trace
from phases.kit.fields import Quantity
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.kit.spec_tables import spec_table
from phases.power_entry.source_runtime import CELLS, SourceRuntime
from tests.phases.sampling import escapes

HOUR = 3600.0
DUTY = [
    {"state": "asleep", "I": "2 µA", "t": "9.9 s"},
    {"state": "sending", "I": "10 mA", "t": "0.1 s"},
]
TESTS = {"I_1": "5 A", "Q_1": "100 Ah", "I_2": "20 A", "Q_2": "60 Ah"}


def cell(**inputs: Any) -> Judgement:
    return judge(SourceRuntime(**inputs))


# ---- The load ----------------------------------------------------------------------------


def test_a_duty_cycle_gives_average_and_greatest_current() -> None:
    judged = cell(states=DUTY)
    assert judged.output("period").typ == pytest.approx(10.0)
    assert judged.output("I_avg").typ == pytest.approx((2e-6 * 9.9 + 10e-3 * 0.1) / 10)
    assert judged.output("I_p").typ == pytest.approx(10e-3)


def test_without_states_load_and_pulse_are_those_of_the_rail() -> None:
    given = {
        "rail.cell.load": "3.93 µA",
        "rail.cell.peak": "19.8 mA",
        "rail.cell.window": "2.2 / 3.0 / 3.3 V",
    }
    judged = judge(
        SourceRuntime(
            lookup=lambda name: Supply(given[name], "ledger", "it") if name in given else None,
            names={"rail": "cell"},
        )
    )
    assert judged.output("I_avg").typ == pytest.approx(3.93e-6)
    assert judged.limit("pulse") == FAIL  # 19.8 mA, the usual coin cell gives 15 mA
    runtime = record_of(judged).published["board.runtime"]
    assert runtime.typ == pytest.approx(judged.output("t_run").typ)


def test_half_the_load_lasts_twice_as_long_without_self_discharge() -> None:
    whole, half = (cell(I_load=load, s="0 %").output("t_run").typ for load in ("40 µA", "20 µA"))
    assert half == pytest.approx(2 * whole)


# ---- How long ----------------------------------------------------------------------------


def test_charge_in_is_charge_out() -> None:
    judged = cell(s="0 %", Q="230 mAh", usable="80 %", beside=2, I_load="1 mA")
    taken = judged.output("t_run").typ * 1e-3
    assert taken == pytest.approx(2 * 230e-3 * HOUR * 0.8)


def test_self_discharge_alone_never_ends_but_shortens_everything() -> None:
    assert cell(I_load="0 A").output("t_run").high == np.inf
    runs = [cell(s=f"{s} %", I_load="2 µA").output("t_run").typ for s in (0, 1, 5, 30)]
    assert runs == sorted(runs, reverse=True)
    almost_none = cell(s="0.000001 %", I_load="2 µA").output("t_run").typ
    assert almost_none == pytest.approx(runs[0], rel=1e-6)


def test_runtime_is_worst_for_the_least_cell_under_the_greatest_load() -> None:
    judged = cell(Q="200 .. 240 mAh", I_load="10 .. 30 µA", s="0 %", usable="100 %")
    assert judged.output("t_run").low / HOUR == pytest.approx(0.2 / 30e-6)
    assert judged.output("t_run").high / HOUR == pytest.approx(0.24 / 10e-6)


@pytest.mark.parametrize(
    ("wanted", "verdict"), [("0 h", NOT_APPLICABLE), ("1 yr", PASS), ("3 yr", FAIL)]
)
def test_a_runtime_is_judged_only_where_one_is_wanted(wanted: str, verdict: str) -> None:
    assert cell(t_want=wanted, usable="100 %").limit("runtime") == verdict


@pytest.mark.parametrize(
    ("load", "told"),
    [
        ("5 µA", "About 5.1 years"),
        ("20 µA", "About 15 months"),
        ("1 mA", "About 9.4 days"),
        ("15 mA", "About 15 hours"),
    ],
)
def test_the_worst_runtime_is_told_in_words(load: str, told: str) -> None:
    # 225 mAh; at 5 µA and 20 µA without self-discharge.
    assert cell(I_load=load, usable="100 %", s="0 %").notes[0].what == told


def test_the_kind_of_cell_is_the_boards_unless_another_is_taken() -> None:
    def facts(when: Mapping[str, Any]) -> bool:
        return when == {"battery_kind": "lithium-ion"}

    part = SourceRuntime(facts=facts)
    assert part.cell == "lithium-ion"
    assert judge(part).output("Q_usable").low == pytest.approx(1.9 * HOUR)
    assert SourceRuntime({"cell": "alkaline"}, facts=facts).cell == "alkaline"
    assert SourceRuntime().cell == "coin-cell"


def test_a_coin_cell_is_counted_to_where_its_resistance_is_30_ohm() -> None:
    # 170 of 230 mAh used: 30 Ω (interactive-matter).
    assert cell(Q="230 mAh").output("Q_usable").typ / HOUR == pytest.approx(0.170, rel=2e-3)


def test_resistance_in_the_cold_multiplies() -> None:
    # It doubles every 20 K below 20 °C (common practice): 30 Ω are 120 Ω at -20 °C.
    assert cell(T_A="-20 .. 50 °C").output("R").high == pytest.approx(120)
    assert cell(T_A="-20 .. 50 °C").output("R").low == pytest.approx(18)
    assert cell(T_A="20 °C").output("R").high == pytest.approx(30)


def test_peukert_for_anything_but_lead_acid_is_warned_of() -> None:
    for kind in CELLS:
        said = any("lead-acid" in n.what for n in cell(cell=kind, law="Peukert, C / I^k").notes)
        assert said is (kind != "other")


# ---- The peaks ---------------------------------------------------------------------------


def test_a_tired_cell_sags_most() -> None:
    judged = cell(I_peak="20 mA")
    assert judged.output("V_peak").low == pytest.approx(2.8 - 20e-3 * 30)
    assert judged.output("V_peak").high == pytest.approx(3.3 - 20e-3 * 18)


def test_cells_in_series_add_their_voltage_strings_side_by_side_share_the_current() -> None:
    two = cell(cells=2, V_OC="1.5 V", R_int="0.3 Ω", I_peak="100 mA")
    assert two.output("V_0").typ == 3.0
    assert two.output("V_peak").typ == pytest.approx(3.0 - 0.06)
    pair = cell(beside=2, R_int="20 Ω", V_OC="3 V", I_peak="20 mA")
    assert pair.output("I_cell").typ == pytest.approx(10e-3)
    assert pair.output("V_peak").typ == pytest.approx(3 - 20e-3 * 10)


def test_a_capacitor_beside_the_cell_takes_a_short_pulse() -> None:
    bare = cell(I_peak="25 mA", t_p="5 ms", V_need="2.2 .. 3.3 V")
    assert bare.limit("peak-voltage") == bare.limit("pulse") == FAIL
    helped = cell(I_peak="25 mA", t_p="5 ms", V_need="2.2 .. 3.3 V", C_bulk="470 µF")
    assert helped.limit("peak-voltage") == helped.limit("pulse") == PASS
    assert [part.words for part in helped.parts] == [
        "cell, 230 mAh or more, feeding its rail",
        "capacitor 470 µF, its rail to GND",
    ]
    assert {"C_bulk", "I_peak"} <= {r.field for r in remedies(bare)}


def test_a_capacitor_falls_by_its_charge_at_first_and_ends_where_the_cell_alone_would() -> None:
    # For a pulse far shorter than R C the sag is I t / C, for a long one I R.
    short = cell(I_peak="20 mA", t_p="10 µs", C_bulk="1 mF", V_OC="3 V", R_int="20 Ω")
    assert 3 - short.output("V_peak").typ == pytest.approx(20e-3 * 10e-6 / 1e-3, rel=1e-3)
    long = cell(I_peak="20 mA", t_p="10 s", C_bulk="1 mF", V_OC="3 V", R_int="20 Ω")
    assert 3 - long.output("V_peak").typ == pytest.approx(20e-3 * 20)


def test_the_pulse_that_still_leaves_what_is_needed_does_just_that() -> None:
    most = cell(V_OC="3 V", R_int="20 Ω", V_need="2.4 .. 3.3 V").output("I_most").typ
    at_it = cell(V_OC="3 V", R_int="20 Ω", V_need="2.4 .. 3.3 V", I_peak=f"{most} A")
    assert at_it.output("V_peak").typ == pytest.approx(2.4)


# ---- Cells -------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", CELLS)
def test_a_usual_cell_of_each_kind_stands_in_and_holds_together(kind: str) -> None:
    judged = cell(cell=kind)
    figures = {r.field: r.text for r in judged.readings if r.origin == "default"}
    for name in ("V_OC", "Q", "R_int", "V_cut", "I_cont", "I_pulse", "s"):
        assert figures[name] == spec_table("battery-kinds")[kind][name]
    fields = {n: f for n, f in SourceRuntime.fields.items() if isinstance(f, Quantity)}
    assert (
        fields["I_cont"].read(figures["I_cont"])[0].high
        <= fields["I_pulse"].read(figures["I_pulse"])[0].low
    )
    assert (
        fields["V_cut"].read(figures["V_cut"])[0].high < fields["V_OC"].read(figures["V_OC"])[0].low
    )


def test_a_figure_typed_for_a_cell_stays_when_the_kind_is_changed() -> None:
    assert cell(cell="lithium-ion", Q="500 mAh").output("Q_usable").typ == 500 * 3.6


@pytest.mark.parametrize(
    ("kind", "need", "verdict"),
    [
        ("lithium-ion", "3.0 .. 4.2 V", PASS),
        ("lithium-ion", "2.8 .. 4.2 V", FAIL),
        ("other", "1.8 .. 2.4 V", PASS),
        ("coin-cell", "1.8 .. 3.3 V", NOT_APPLICABLE),
    ],
)
def test_a_cell_that_is_charged_again_is_not_emptied(kind: str, need: str, verdict: str) -> None:
    assert cell(cell=kind, V_need=need).limit("cut-off") == verdict


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("lithium-ion", "can burn"),
        ("coin-cell", "Never charge or short"),
        ("alkaline", "Never charge alkaline"),
    ],
)
def test_each_cell_has_its_caution(kind: str, words: str) -> None:
    assert any(words in note.what for note in cell(cell=kind).notes)


# ---- What is refused, and what holds in general ------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {"V_OC": "61 V"},
        {"V_need": "2 .. 80 V"},
        {"V_need": "230 V AC"},
        {"Q": "1 V"},
        {"usable": "120 %"},
        {"cells": 0},
        {"k": "0.5"},
        {"law": "hope"},
        {"cell": "potato"},
        {"cells": 20, "cell": "lithium-ion"},
        {"states": [{"state": "x", "I": "1 mA"}]},
    ],
)
def test_what_cannot_be_meant_is_refused(inputs: dict[str, Any]) -> None:
    with pytest.raises(Refusal):
        cell(**inputs)


def test_a_string_above_60_v_names_its_cells() -> None:
    with pytest.raises(Refusal, match=r"20 x 3.3 / 3.7 / 4.2 V.*60 V DC.*low-voltage"):
        cell(cells=20, cell="lithium-ion")


def test_every_verdict_is_reached() -> None:
    runs = (cell(), cell(I_peak="14.5 mA"), cell(I_peak="30 mA"))
    assert {v.verdict for judged in runs for v in judged.verdicts} == set(VERDICTS)


def test_the_curves_can_be_drawn() -> None:
    calculation = judge(SourceRuntime(t_want="1 yr")).calculation
    for curve in SourceRuntime.curves:
        traced = trace(calculation, curve)
        assert traced is not None
        assert list(traced.low) == sorted(traced.low, reverse=True)
        assert (traced.bound is not None) is (curve.limit is not None)


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {"C_bulk": "100 .. 470 µF", "t_p": "1 .. 20 ms"},
        {"law": "Peukert, C / I^k", "k": "1.1 .. 1.3", "cell": "other", "I_load": "0.5 .. 2 A"},
        {
            "law": "Peukert, rated hours",
            "k": "1.1 .. 1.3",
            "H": "10 .. 20 h",
            "cell": "other",
            "I_load": "0.1 .. 2 A",
        },
        {"states": [{"state": "on", "I": "5 .. 10 mA", "t": "1 .. 2 ms"}], "T": "1 .. 1.1 s"},
    ],
)
def test_no_random_point_gets_out_of_what_is_reported(inputs: dict[str, Any]) -> None:
    common = {"I_load": "10 .. 40 µA", "I_peak": "5 .. 15 mA", "usable": "60 .. 90 %"}
    given = {**TESTS, **common, **inputs}
    if "states" not in inputs:
        given["T"] = "1 s"
    assert escapes(cell(**given)) == []


def test_each_cell_of_the_table_stands_with_its_source() -> None:
    groups = [group for group in spec_table("battery-kinds").values() if isinstance(group, dict)]
    assert len(groups) == len(CELLS)
    assert all(group["source"].strip() for group in groups)
