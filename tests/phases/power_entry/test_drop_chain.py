"""What is left at the regulator, what blocking costs, and what the rail publishes."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import FAIL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.power_entry.drop_chain import DIODE, MOSFET, NONE, SWITCH, DropChain
from phases.power_entry.fuse import Fuse
from tests.phases.sampling import escapes

KINDS = (NONE, DIODE, MOSFET, SWITCH)


def chain(**inputs: Any) -> Judgement:
    return judge(DropChain(**inputs))


def compared(judged: Judgement) -> dict[str, dict[str, Any]]:
    return {row["way"]: row for row in judged.listings["comparison"]}


# ---- Stage by stage ----------------------------------------------------------------------


def test_each_stage_takes_its_part_of_the_voltage() -> None:
    part = DropChain(
        V_src="5 V",
        I="1 A",
        R_wire="100 mΩ",
        R_return="50 mΩ",
        R_contact="25 mΩ",
        n_contact=2,
        R_fuse="200 mΩ",
        R_trace="30 mΩ",
        V_other="70 mV",
        blocking=DIODE,
        V_F="0.4 V",
    )
    stages = [part.V_conn, part.V_fuse, part.V_block, part.V_in]
    assert [v.item() for v in stages] == pytest.approx([4.8, 4.6, 4.2, 4.1])


@pytest.mark.parametrize("kind", KINDS)
def test_energy_in_is_energy_out_plus_what_is_lost(kind: str) -> None:
    part = DropChain(blocking=kind, R_fuse="150 mΩ", V_other="20 mV", V_src="5 V", I="0.7 A")
    lost = part.P_cable + part.P_fuse + part.P_block + part.P_trace
    assert part.P_loss.item() == pytest.approx(lost.item())
    arrives = part.V_in * part.I
    assert (part.V_src * part.I).item() == pytest.approx((arrives + part.P_loss).item())
    assert part.eta.item() == pytest.approx((arrives / (part.V_src * part.I)).item())


def test_both_legs_of_the_cable_count() -> None:
    one = DropChain(R_wire="200 mΩ", R_return="0 Ω").V_in.item()
    other = DropChain(R_wire="0 Ω", R_return="200 mΩ").V_in.item()
    assert one == other < DropChain(R_wire="0 Ω", R_return="0 Ω").V_in.item()


def test_without_a_load_only_the_diode_still_drops() -> None:
    for kind in (NONE, MOSFET):
        assert DropChain(blocking=kind, I="0 A", V_src="5 V").V_in.item() == 5.0
    assert DropChain(blocking=DIODE, I="0 A", V_src="5 V", V_F="0.3 V").V_in.item() == 4.7


def test_a_regulated_switch_holds_its_drop_until_its_resistance_takes_over() -> None:
    drops = [
        DropChain(blocking=SWITCH, I=f"{mA} mA").P_block.item() / (mA / 1e3)
        for mA in (1, 100, 300, 1000)
    ]
    assert drops == pytest.approx([0.030, 0.030, 0.030, 0.100])


# ---- Ways of blocking --------------------------------------------------------------------


def test_all_ways_stand_side_by_side_for_the_numbers_given() -> None:
    rows = compared(chain(I="1 A", V_src="4.75 .. 5.25 V", second="yes"))
    assert list(rows) == list(KINDS)
    assert rows[DIODE]["drop"] == "500 mV"
    assert rows[DIODE]["loss"] == "500 mW"
    assert rows[DIODE]["leakage"] == "200 µA"
    assert rows[MOSFET]["drop"] == "96 mV"
    assert rows[SWITCH]["loss"] == "100 mW"
    assert rows[NONE]["leakage"] == "unlimited"
    assert rows[DIODE]["left"] == "3.87 V"


def test_each_way_says_which_limits_it_would_break() -> None:
    rows = compared(chain(I="1.2 A", V_need="4.1 V", second="yes"))
    assert rows[NONE]["breaks"] == "back-feed"
    assert rows[DIODE]["breaks"] == "regulator input, back-feed, dissipation"
    assert rows[MOSFET]["breaks"] == "nothing"


def test_what_the_comparison_says_is_what_the_choice_then_gives() -> None:
    inputs = {"I": "0.9 A", "second": "yes", "V_need": "4 V"}
    rows = compared(chain(**inputs))
    for kind in KINDS:
        judged = chain(blocking=kind, **inputs)
        broken = [
            name.replace("-", " ") if name == "regulator-input" else name
            for name in ("regulator-input", "back-feed", "dissipation")
            if judged.limit(name) == FAIL
        ]
        assert rows[kind]["breaks"] == (", ".join(broken) or "nothing")


def test_below_the_break_even_load_the_mosfet_loses_less() -> None:
    for load, better in (("2 A", True), ("8 A", False)):
        part = DropChain(I=load, V_F="0.4 V", R_DS="80 mΩ", k_hot="1")
        assert bool(part.P_MOSFET.item() < part.P_diode.item()) is better
        assert part.I_even.item() == pytest.approx(5.0)


# ---- Limits ------------------------------------------------------------------------------


def test_back_feed_is_no_question_where_there_is_no_other_supply() -> None:
    assert chain(blocking=NONE).limit("back-feed") == NOT_APPLICABLE
    assert chain(blocking=NONE, second="yes").limit("back-feed") == FAIL
    assert chain(blocking=DIODE, second="yes").limit("back-feed") == FAIL  # hot leakage
    assert chain(blocking=MOSFET, second="yes").limit("back-feed") == PASS


def test_the_hottest_leakage_counts() -> None:
    assert chain(blocking=DIODE, second="yes", I_R="1 .. 20 µA").limit("back-feed") == PASS
    assert chain(blocking=DIODE, second="yes", I_R="1 .. 30 µA").limit("back-feed") == FAIL


def test_the_regulator_s_least_input_counts_at_the_lowest_source_and_the_greatest_load() -> None:
    judged = chain(I="0.1 .. 1.5 A", V_need="4.3 V")
    (verdict,) = [v for v in judged.verdicts if v.limit == "regulator-input"]
    assert verdict.verdict == FAIL
    assert (verdict.corner["V_src"], verdict.corner["I"]) == (4.75, 1.5)


def test_the_blocking_part_must_bear_its_loss() -> None:
    assert chain(blocking=DIODE, I="1.2 A").limit("dissipation") == FAIL
    assert chain(blocking=NONE, I="1.2 A").limit("dissipation") == NOT_APPLICABLE


def test_what_would_cure_a_long_cable_is_a_shorter_one() -> None:
    judged = chain(R_wire="2 Ω", R_return="2 Ω")
    assert judged.limit("regulator-input") == FAIL
    assert {"R_wire", "R_return", "I", "V_need"} <= {r.field for r in remedies(judged)}


def test_every_verdict_is_reached() -> None:
    runs = (chain(), chain(V_need="4.5 V"), chain(V_need="5 V"))
    assert {v.verdict for judged in runs for v in judged.verdicts} == set(VERDICTS)


# ---- The ledger --------------------------------------------------------------------------


def test_the_rail_lies_between_full_load_and_none() -> None:
    judged = judge(DropChain({"I": "1 A"}, names={"rail": "vbus"}))
    rail = record_of(judged).published["rail.vbus.voltage"]
    assert rail.low == judged.output("V_in").low < judged.output("V_conn").high
    assert rail.typ == judged.output("V_in").typ
    assert rail.high == 5.25


def test_the_fuse_s_resistance_reaches_the_drop() -> None:
    fuse = judge(Fuse({"I_N": "500 mA"}, names={"rail": "vbus"}))
    given: dict[str, Any] = record_of(fuse).published

    def ledger(name: str) -> Supply | None:
        return Supply(given[name], "ledger", "fuse@vbus") if name in given else None

    with_fuse = judge(DropChain({"I": "400 mA"}, lookup=ledger, names={"rail": "vbus"}))
    without = judge(DropChain({"I": "400 mA"}, names={"rail": "vbus"}))
    lost = without.output("V_in").low - with_fuse.output("V_in").low
    assert lost == pytest.approx(0.4 * 1.0)


def test_source_and_load_are_those_of_its_rail() -> None:
    asked: list[str] = []

    def ledger(name: str) -> Supply | None:
        asked.append(name)
        return None

    judge(DropChain(lookup=ledger, names={"rail": "vin"}))
    assert {"rail.vin.window", "rail.vin.peak", "rail.vin.fuse_resistance"} <= set(asked)


# ---- Parts, notes, what is refused, what holds in general --------------------------------


def test_the_blocking_part_is_to_be_drawn_and_none_is_not() -> None:
    assert chain().parts == ()
    judged = chain(blocking=DIODE, V_F="0.45 V", I="300 mA")
    assert [p.what for p in judged.parts] == ["Schottky diode, 450 mV or less at 300 mA"]
    assert "low-drop switch, 100 mΩ" in chain(blocking=SWITCH).parts[0].what


def test_a_mosfet_with_its_gate_at_ground_is_warned_of() -> None:
    assert any("not back-feed" in note.what for note in chain(blocking=MOSFET).notes)


@pytest.mark.parametrize(
    "inputs",
    [
        {"V_src": "70 V"},
        {"V_src": "24 V AC"},
        {"V_src": "mains"},
        {"blocking": "magic"},
        {"n_contact": "-1"},
        {"I": "1 V"},
        {"R_wire": "-1 Ω"},
        {"second": "perhaps"},
    ],
)
def test_what_cannot_be_meant_is_refused(inputs: dict[str, str]) -> None:
    with pytest.raises(Refusal):
        chain(**inputs)


def test_mixed_units_and_notations_mean_the_same() -> None:
    one = DropChain(V_src="5000 mV", I="0.3 A", R_wire="R1").V_in.item()
    assert one == pytest.approx(DropChain(V_src="5 V", I="300 mA", R_wire="100 mΩ").V_in.item())


@pytest.mark.parametrize("kind", KINDS)
def test_more_load_leaves_less_and_loses_more(kind: str) -> None:
    runs = [chain(blocking=kind, I=f"{n / 10} A") for n in range(1, 20)]
    left = [run.output("V_in").low for run in runs]
    lost = [run.output("P_loss").high for run in runs]
    assert left == sorted(left, reverse=True)
    assert lost == sorted(lost)


def test_the_curves_can_be_drawn_with_their_limits() -> None:
    calculation = judge(DropChain(blocking=DIODE)).calculation
    for curve in DropChain.curves:
        traced = trace(calculation, curve)
        assert traced is not None and traced.bound is not None


@pytest.mark.deeper
@pytest.mark.parametrize("kind", KINDS)
def test_no_random_point_gets_out_of_what_is_reported(kind: str) -> None:
    judged = chain(
        blocking=kind,
        V_src="4.5 .. 5.5 V",
        I="0.1 .. 1 A",
        R_wire="50 .. 200 mΩ",
        R_fuse="0.1 .. 0.4 Ω",
        V_F="0.3 .. 0.5 V",
        R_DS="40 .. 80 mΩ",
        R_sw="20 .. 120 mΩ",
        I_R="1 .. 300 µA",
        second="yes",
    )
    assert escapes(judged) == []
