"""Phases in any order, gates, stages, walks: what may be left, and what is said of it."""

from __future__ import annotations

import itertools

import pytest

from coach.sprint.commands import (
    Affirm,
    Dismiss,
    EnterPhase,
    FinishWalk,
    JoinLate,
    Meet,
    ReachStage,
    SetFact,
    SetStepByStep,
    SignOff,
    Waive,
)
from coach.sprint.events.phases import PhaseEntered, StageReached, Walked
from coach.sprint.gates.gates import gate_count, gate_rows, open_essentials, skipped, skipped_in
from coach.sprint.gates.walks import (
    further_of_phase,
    further_of_stage,
    walk_of_phase,
    walk_of_stage,
)
from coach.sprint.state import Row
from phases.kit.items import CLOSING_ID, PHASE_IDS
from tests.sprint.conftest import Bench


def keys(rows: list[Row] | tuple[Row, ...]) -> list[str]:
    return [row.key for row in rows]


# ---- in any order ----------------------------------------------------------------------------


@pytest.mark.parametrize("first, second", list(itertools.permutations((*PHASE_IDS, CLOSING_ID), 2)))
def test_any_phase_can_follow_any_other(bench: Bench, first: str, second: str) -> None:
    for phase in (first, second, first):
        bench.do(EnterPhase(phase))
        assert bench.state.phase == phase
    assert bench.state.exited == {first, second}
    assert bench.state.entered == {first, second}


def test_a_phase_is_entered_once_at_a_time_and_has_to_exist(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    assert bench.refused(EnterPhase("layout")) == "Already in this phase."
    assert "Nearest: decoupling" in bench.refused(EnterPhase("decouplin"))


def test_the_phases_worked_in_are_kept_with_their_beginnings(bench: Bench) -> None:
    bench.at(5)
    bench.session.do(EnterPhase("power-entry"))
    bench.at(15)
    bench.session.do(EnterPhase("layout"))
    assert bench.state.stretches == (("", 0.0), ("power-entry", 300.0), ("layout", 900.0))


# ---- left with open essentials ---------------------------------------------------------------


def test_a_phase_may_be_left_and_what_was_skipped_is_said(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    bench.do(Meet("supply-contacts"))
    (event,) = bench.events(EnterPhase("regulation"))
    assert isinstance(event, PhaseEntered)
    assert (event.previous, event.skipped) == ("power-entry", ("source-load",))
    said = bench.do(EnterPhase("debug-access"))
    count = len(skipped_in(bench.state, "regulation"))
    assert said == (
        f"Regulation: {count} essentials still open ({len(skipped(bench.state))} with those left "
        "before), listed under SKIPPED"
    )
    assert len(skipped(bench.state)) == count + 1
    assert bench.do(EnterPhase("clock-boot")).startswith("Debug access: 1 essential still ")


def test_what_was_skipped_is_said_by_severity_until_it_is_closed(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    bench.do(EnterPhase("power-entry"))
    assert skipped(bench.state) == []
    bench.do(EnterPhase("layout"))
    assert keys(skipped(bench.state)) == ["no-back-feed", "source-load", "supply-contacts"]
    bench.do(Meet("no-back-feed"))
    bench.do(Waive("source-load", "one lamp only"))
    assert keys(skipped(bench.state)) == ["supply-contacts"]
    bench.do(EnterPhase("power-entry"))  # while one is at it, it is not skipped
    assert skipped(bench.state) == []


def test_a_further_item_that_is_no_essential_is_not_skipped(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    bench.do(EnterPhase("layout"))
    assert "entrance-clamp" not in keys(skipped(bench.state))
    assert "entrance-clamp" not in keys(open_essentials(bench.state))


def test_what_nobody_entered_is_skipped_once_its_place_is_behind(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    bench.do(EnterPhase("layout"))
    assert "debug-pins" not in keys(skipped(bench.state))
    bench.do(ReachStage("placement"))
    assert "debug-pins" in keys(skipped(bench.state))
    assert "capacitor-close" not in keys(skipped(bench.state))  # its place is here and now
    bench.do(ReachStage("routing"))
    assert "capacitor-close" in keys(skipped(bench.state))
    assert "pin-one-marks" not in keys(skipped(bench.state))


# ---- gates and places ------------------------------------------------------------------------


def test_a_gate_is_signed_off_when_its_rows_are_closed(bench: Bench) -> None:
    said = bench.refused(SignOff("debug-access"))
    assert said == (
        "Gate not closed: Debug pins. "
        "Close it, waive it with a reason, or move on without signing off."
    )
    bench.do(Meet("debug-pins"))
    bench.do(SignOff("debug-access"))
    assert bench.state.signed_off == {"debug-access"}
    assert bench.refused(SignOff("debug-access")) == "Signed off already."


def test_met_waived_and_not_here_all_close_a_gate(bench: Bench) -> None:
    bench.do(Waive("boot-level", "tied by hand"))
    assert "+ 3 more" in bench.refused(SignOff("clock-boot"))
    bench.do(Dismiss("strap-shared"))
    bench.do(Meet("crystal-starts@main", "data sheet", "DS 3, p. 41"))
    bench.do(Affirm("console-wiring@uart1", "spi"))
    assert "Strap source" in bench.refused(SignOff("clock-boot"))
    bench.do(Meet("strap-source"))
    bench.do(SignOff("clock-boot"))


def test_an_open_question_keeps_a_gate_open(bench: Bench) -> None:
    for key in ("boot-level", "strap-source", "strap-shared", "crystal-starts@main"):
        bench.do(Waive(key, "later"))
    assert "Console wiring (Console)" in bench.refused(SignOff("clock-boot"))
    bench.do(Dismiss("strap-source"))
    bench.do(Affirm("console-wiring@uart1", "can"))
    bench.do(SignOff("clock-boot"))


def test_an_item_with_subjects_is_one_row_of_the_gate(bench: Bench) -> None:
    rows = gate_rows(bench.state, "regulation")
    assert [row.item.id for row in rows] == ["enough-left", "not-too-hot", "output-seen"]
    assert keys(rows[2].cells) == ["output-seen@3v3", "output-seen@1v8"]
    bench.do(Meet("output-seen@3v3"))
    assert gate_count(bench.state, "regulation") == (0, 3)
    bench.do(Meet("output-seen@1v8"))
    assert gate_count(bench.state, "regulation") == (1, 3)


def test_only_rows_whose_place_is_reached_count(bench: Bench) -> None:
    assert gate_count(bench.state, "decoupling") == (0, 1)
    bench.do(Meet("capacitors"))
    bench.do(SignOff("decoupling"))
    bench.do(ReachStage("placement"))
    assert gate_count(bench.state, "decoupling") == (1, 2)


def test_a_gate_of_which_nothing_can_be_seen_is_not_signed_off(bench: Bench) -> None:
    said = bench.refused(SignOff("layout"))
    assert said == "This gate can only be checked from placement on. Press P when you get there."
    bench.do(ReachStage("placement"))
    assert "Footprints fit" in bench.refused(SignOff("layout"))


def test_a_place_brings_the_ones_before_it_and_is_reached_once(bench: Bench) -> None:
    events = bench.events(ReachStage("routing"))
    assert [e.stage for e in events if isinstance(e, StageReached)] == ["placement", "routing"]
    assert bench.refused(ReachStage("placement")) == "Placement is reached already."
    assert "There is no stage" in bench.refused(ReachStage("moon"))


def test_entering_layout_does_not_reach_a_place_by_itself(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    assert bench.state.stages == {"schematic"}


# ---- walks -----------------------------------------------------------------------------------


def test_the_walk_before_layout_asks_the_open_essentials_of_the_sheet(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    asked = keys(walk_of_stage(bench.state, "schematic"))
    assert "debug-pins" not in asked
    assert {"supply-contacts", "output-seen@3v3", "output-seen@1v8", "capacitors"} <= set(asked)
    assert not {"no-back-feed", "entrance-clamp", "footprints-fit", "files-whole"} & set(asked)


def test_further_items_are_folded_behind_one_key(bench: Bench) -> None:
    folded = keys(further_of_stage(bench.state, "schematic"))
    assert folded == [
        "entrance-clamp",
        "rail-indicator@vin",
        "rail-indicator@3v3",
        "rail-indicator@1v8",
    ]
    assert keys(further_of_phase(bench.state, "power-entry")) == ["entrance-clamp"]


def test_what_one_walk_confirmed_the_next_does_not_ask(bench: Bench) -> None:
    for key in keys(walk_of_stage(bench.state, "schematic")):
        bench.do(Waive(key, "walked") if key != "capacitors" else Meet(key))
    bench.do(FinishWalk("schematic", 12, 12))
    bench.do(ReachStage("placement"))
    assert keys(walk_of_stage(bench.state, "placement")) == ["capacitor-close", "footprints-fit"]


def test_what_a_walk_left_open_comes_again_in_the_next(bench: Bench) -> None:
    bench.do(FinishWalk("schematic", 3, 0))
    bench.do(ReachStage("placement"))
    assert "capacitors" in keys(walk_of_stage(bench.state, "placement"))


def test_the_walk_of_a_phase_asks_the_open_rows_of_its_gate_in_their_order(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    assert keys(walk_of_phase(bench.state, "regulation")) == [
        "enough-left@3v3",
        "enough-left@1v8",
        "not-too-hot@3v3",
        "not-too-hot@1v8",
        "output-seen@1v8",
    ]
    assert keys(walk_of_phase(bench.state, "decoupling")) == ["capacitors"]
    assert keys(walk_of_phase(bench.state, CLOSING_ID)) == [
        "files-whole",
        "first-upload",
        "accepted-and-paid",
    ]


def test_a_walk_is_kept_with_what_it_asked_and_closed(bench: Bench) -> None:
    bench.do(FinishWalk("schematic", 9, 7))
    bench.do(FinishWalk("regulation", 2, 2))
    walks = [one.event for one in bench.state.of(Walked)]
    assert [(one.of, one.asked, one.closed) for one in walks] == [
        ("schematic", 9, 7),
        ("regulation", 2, 2),
    ]
    assert (
        bench.refused(FinishWalk("schematic", 3, 4)) == "A walk closes no more items than it asks."
    )
    assert "There is no phase" in bench.refused(FinishWalk("garden", 1, 1))


def test_power_entry_is_drawn_already_one_walk_confirms_it(bench: Bench) -> None:
    said = bench.do(JoinLate("power-entry"))
    assert said == "Drawn already; walk its items to confirm them"
    for row in walk_of_phase(bench.state, "power-entry"):
        bench.do(Waive(row.key, "made on paper") if row.item.cites else Meet(row.key))
    bench.do(FinishWalk("power-entry", 2, 2))
    bench.do(SignOff("power-entry"))
    assert not any(bench.state.items[key].late for key in bench.state.items)
    assert bench.state.drawn_before == {"power-entry"}
    assert bench.refused(JoinLate("power-entry")) == "Nothing to join here."
    assert bench.refused(JoinLate(CLOSING_ID)) == "Nothing to join here."


def test_a_phase_can_be_switched_to_step_by_step_and_back(bench: Bench) -> None:
    bench.do(SetStepByStep("layout", True))
    assert bench.state.step_by_step == {"layout"}
    bench.do(SetStepByStep("layout", False))
    assert bench.state.step_by_step == frozenset()


def test_the_closing_list_is_not_signed_off(bench: Bench) -> None:
    said = bench.refused(SignOff(CLOSING_ID))
    assert said == "The closing list is not signed off. Its last line ends the sprint."
