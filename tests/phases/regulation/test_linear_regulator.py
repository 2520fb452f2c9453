"""The linear regulator: headroom and heat in the worst case, and what it makes of odd input."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.regulation.linear_regulator import LinearRegulator
from tests.phases.sampling import escapes


def test_the_default_set_runs_and_passes() -> None:
    assert judge(LinearRegulator()).verdict == PASS


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("V_in", "verdict"),
    [("4 .. 6 V", PASS), ("3.61 .. 6 V", MARGINAL), ("3.59 .. 6 V", FAIL)],
)
def test_headroom_is_taken_at_the_least_input(V_in: str, verdict: str) -> None:
    judgement = judge(LinearRegulator(V_in=V_in, V_out="3.3 V", V_DO="0.3 V"))
    assert judgement.limit("headroom") == verdict


@pytest.mark.parametrize(
    ("theta_JA", "verdict"), [("100 K/W", PASS), ("121 K/W", MARGINAL), ("126 K/W", FAIL)]
)
def test_the_junction_is_taken_at_the_pessimistic_end_of_the_board(
    theta_JA: str, verdict: str
) -> None:
    part = LinearRegulator(
        V_in="5 V",
        V_out="3 V",
        I_out="150 mA",
        I_GND="0 A",
        T_A="50 °C",
        theta_JA=theta_JA,
        k_board="1.3 / 1.6 / 2",
    )
    judgement = judge(part)
    (junction,) = (v for v in judgement.verdicts if v.limit == "junction")
    assert junction.corner == {"k_board": 2.0}
    assert junction.verdict == verdict


@pytest.mark.parametrize(
    ("P_pkg", "verdict"), [("0.4 W", PASS), ("0.31 W", MARGINAL), ("0.29 W", FAIL)]
)
def test_the_package_carries_the_dissipation(P_pkg: str, verdict: str) -> None:
    part = LinearRegulator(V_in="5 V", V_out="3 V", I_out="150 mA", I_GND="0 A", P_pkg=P_pkg)
    assert judge(part).limit("package-power") == verdict


@pytest.mark.parametrize(
    ("V_in", "verdict"), [("12 V", PASS), ("5 .. 15.9 V", MARGINAL), ("5 .. 16.1 V", FAIL)]
)
def test_the_input_stays_below_its_absolute_maximum(V_in: str, verdict: str) -> None:
    part = LinearRegulator(V_in=V_in, I_out="1 mA", V_inmax="16 V")
    assert judge(part).limit("input-rating") == verdict


@pytest.mark.parametrize(("V_in", "verdict"), [("12 V", PASS), ("15 V", PASS), ("15.2 V", FAIL)])
def test_an_absolute_maximum_is_no_recommended_one(V_in: str, verdict: str) -> None:
    part = LinearRegulator(V_in=V_in, I_out="1 mA", V_inmax="16 V", V_inrec="15 V")
    assert judge(part).limit("recommended-input") == verdict
    assert judge(part).limit("input-rating") != FAIL


@pytest.mark.parametrize(("V_in", "verdict"), [("3 .. 5 V", PASS), ("2.6 .. 5 V", FAIL)])
def test_below_its_lockout_it_does_not_run(V_in: str, verdict: str) -> None:
    part = LinearRegulator(V_in=V_in, V_out="1.8 V", V_inmin="2.7 V")
    assert judge(part).limit("min-input") == verdict


@pytest.mark.parametrize(
    ("I_rated", "verdict"), [("160 mA", PASS), ("155 mA", MARGINAL), ("145 mA", FAIL)]
)
def test_it_is_rated_for_the_load(I_rated: str, verdict: str) -> None:
    part = LinearRegulator(I_out="150 mA", I_rated=I_rated)
    assert judge(part).limit("rated-current") == verdict


def test_below_its_dropout_the_rail_follows_the_input() -> None:
    # 3.0 V in, 0.3 V dropout: 2.7 V at 150 mA, 45 mW and 5 mA · 3 V; no gain, no negative loss.
    judgement = judge(LinearRegulator(V_in="3 V", V_out="3.3 V", V_DO="0.3 V", I_GND="5 mA"))
    assert judgement.limit("headroom") == FAIL
    assert judgement.output("V_rail").typ == pytest.approx(2.7)
    assert judgement.output("P_D").typ == pytest.approx(0.3 * 0.15 + 3 * 0.005)
    assert judgement.output("eta").typ == pytest.approx(2.7 * 0.15 / (3 * 0.155))
    assert judge(LinearRegulator(V_in="0 V")).output("V_rail").low == 0


def test_efficiency_is_best_where_the_dropout_begins() -> None:
    judgement = judge(LinearRegulator(V_in="3 .. 5 V", V_out="3.3 V", V_DO="0.3 V"))
    assert judgement.output("eta").high == pytest.approx(3.3 / 3.6 * 150 / 155)


def test_each_greatest_value_lies_just_on_the_junction_limit() -> None:
    plain: dict[str, Any] = {
        "V_in": "5 V",
        "V_out": "3.3 V",
        "I_out": "150 mA",
        "I_GND": "5 mA",
        "T_A": "50 °C",
        "theta_JA": "100 K/W",
        "k_board": "1.5",
    }
    part = LinearRegulator(plain)
    for field, value in (
        ("I_out", part.I_max.item()),
        ("V_in", part.V_max.item()),
        ("theta_JA", part.theta_max.item() / 1.5),
    ):
        assert LinearRegulator({**plain, field: value}).T_J.item() == pytest.approx(125)


def test_a_hot_part_is_told_at_which_current_it_passes() -> None:
    judgement = judge(LinearRegulator(I_out="400 mA"))
    assert judgement.limit("junction") == FAIL
    cure = next(r for r in remedies(judgement) if r.field == "I_out")
    high = cure.intervals[0][1]
    assert judge(LinearRegulator(I_out=high)).verdict == PASS
    assert judge(LinearRegulator(I_out=1.02 * high)).verdict != PASS


# ---- The ledger ----------------------------------------------------------------------------


def test_it_takes_what_the_ledger_has_and_gives_voltage_and_current_of_its_rail() -> None:
    ledger = {
        "rail.vbus.voltage": Supply("4.5 .. 5.5 V", "ledger", "drop-chain"),
        "rail.3v3.set_voltage": Supply("3.3 V ± 3 %", "ledger", "feedback-divider"),
        "rail.3v3.peak": Supply("180 mA", "ledger", "load-budget"),
    }
    names = {"rail": "3v3", "parent": "vbus"}
    judgement = judge(LinearRegulator(lookup=ledger.get, names=names))
    given = record_of(judgement).published
    assert set(given) == {
        "rail.3v3.voltage",
        "rail.3v3.input_current",
        "rail.3v3.ground_current",
    }
    assert given["rail.3v3.voltage"].low == pytest.approx(3.3 * 0.97)
    assert given["rail.3v3.input_current"].typ == pytest.approx(0.185)
    assert [p.words for p in judgement.parts] == [
        "linear regulator, 3.3 V, 180 mA or more, vbus to 3v3"
    ]


def test_a_rail_that_something_else_makes_gets_nothing_from_it() -> None:
    names = {"rail": "3v3", "parent": "vbus"}
    kinds: list[bool | None] = [True, None, False]
    given = [
        set(record_of(judge(LinearRegulator(names=names, facts=facts))).published)
        for facts in (lambda when, is_so=is_so: is_so for is_so in kinds)
    ]
    assert given[0] == given[1] > {"rail.3v3.voltage", "rail.3v3.input_current"}
    assert given[2] == set()


# ---- Curves --------------------------------------------------------------------------------


def test_heat_rises_with_load_to_the_limit_drawn_in() -> None:
    junction, headroom, efficiency = (
        trace(LinearRegulator(), curve) for curve in LinearRegulator.curves
    )
    assert junction is not None and headroom is not None and efficiency is not None
    assert junction.bound is not None and set(junction.bound) == {125.0}
    assert list(junction.high) == sorted(junction.high)
    crossing = next(x for x, T in zip(junction.x, junction.high, strict=True) if T > 125)
    assert crossing == pytest.approx(judge(LinearRegulator()).output("I_max").low, abs=0.02)
    assert headroom.bound is not None and set(headroom.bound) == {0.3}
    assert list(efficiency.typ) == sorted(efficiency.typ)
    assert max(efficiency.high) < 3.3 * 1.02 / 4.75


# ---- Cautions ------------------------------------------------------------------------------


def test_a_part_too_hot_to_touch_is_said() -> None:
    hot = judge(LinearRegulator(I_out="300 mA"))
    assert "too hot to touch" in hot.notes[0].what
    assert judge(LinearRegulator(I_out="10 mA")).notes == ()


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "V_in": "4.2 .. 16 V",
            "I_out": "10 .. 400 mA",
            "I_GND": "0.1 .. 8 mA",
            "V_DO": "0.2 .. 0.5 V",
            "T_A": "-20 .. 70 °C",
            "theta_JA": "50 .. 220 K/W",
        },
        {"V_in": "3.0 .. 3.6 V", "V_out": "3.2 .. 3.4 V"},
    ],
    ids=["default", "everything spread", "in and out overlap"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(LinearRegulator(inputs))) == []


def test_it_is_too_hot_to_touch_where_the_worst_corner_is() -> None:
    # Typical 37.5 °C + 1.6 · 75 K/W · 0.161 W = 57 °C; at 5.25 V, 50 °C and a factor of 2 80 °C.
    judgement = judge(LinearRegulator(I_out="80 mA"))
    assert judgement.output("T_J").typ < 60 < judgement.output("T_J").high
    assert any("too hot to touch" in note.what for note in judgement.notes)


# ---- Odd input -----------------------------------------------------------------------------


def test_no_load_needs_headroom_all_the_same() -> None:
    judgement = judge(LinearRegulator(I_out="0 A", I_GND="0 A", V_in="3.4 V"))
    assert judgement.output("P_D").high == 0
    assert judgement.output("theta_max").low == float("inf")
    assert judgement.limit("headroom") == FAIL


def test_an_input_of_zero_fails_and_does_not_divide() -> None:
    judgement = judge(LinearRegulator(V_in="0 V"))
    assert judgement.verdict == FAIL
    assert judgement.limit("headroom") == FAIL


def test_an_ambient_above_the_junction_limit_leaves_no_load() -> None:
    judgement = judge(LinearRegulator(T_A="130 °C"))
    assert judgement.output("I_max").high == 0
    assert judgement.limit("junction") == FAIL


def test_an_input_below_the_output_has_no_load_that_overheats_it() -> None:
    judgement = judge(LinearRegulator(V_in="3.0 V", V_out="3.3 V"))
    assert judgement.output("I_max").low == float("inf")
    assert judgement.limit("headroom") == FAIL


def test_units_may_be_mixed() -> None:
    mixed = judge(LinearRegulator(V_in="4750 mV .. 5.25 V", I_out="0.15 A", theta_JA="75 °C/W"))
    assert mixed.output("T_J") == judge(LinearRegulator()).output("T_J")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V_in", "5.25 .. 4.75 V"),
        ("V_in", "inf V"),
        ("V_in", "-5 V"),
        ("V_in", "80 V"),
        ("V_in", "24 V AC"),
        ("I_out", "180 mV"),
        ("T_A", "-300 °C"),
        ("theta_JA", "75 V"),
        ("k_board", "2 / 1.6 / 1.3"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(LinearRegulator({field: text}))
    assert refused.value.where.startswith(field)
