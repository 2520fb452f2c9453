"""The plan: boxes from drawing work, scaled to the brief, and where it ends."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    AddSubject,
    DeclareValue,
    DropFeature,
    DropSubject,
    End,
    EnterPhase,
    JoinLate,
    Meet,
    ReachStage,
    SetFact,
    SignOff,
    Waive,
)
from coach.sprint.fold import begin as nothing_yet
from coach.sprint.pace.plan import (
    CHOOSING,
    PRIOR_PACE,
    Plan,
    expected_minutes,
    plan_of,
    progress_of,
    sizes,
    used_of,
)
from coach.sprint.state import State
from phases.kit.items import CLOSING_ID, PHASE_IDS, Drawing
from tests.sprint.conftest import Begin, Bench, bench_setup

MINUTE = 60.0


def still(bench: Bench, phase: str) -> float:
    """Minutes that are still to do in a phase."""
    return progress_of(bench.state, bench.session.t).phases[phase] / MINUTE


def close_gate(bench: Bench, phase: str) -> None:
    for row in bench.state.rows_of(phase):
        if row.item.essential and not row.closed and bench.state.reached(row):
            bench.session.do(Waive(row.key, "made on paper"))


# ---- boxes -----------------------------------------------------------------------------------


def test_expected_drawing_work_is_the_mean_of_its_three_points() -> None:
    """(o + 4 m + p) / 6: Anderson, Sweeney, Williams, An Introduction to Management Science,
    chapter 9 (PERT)."""
    drawing = Drawing(optimistic=2, likely=4, pessimistic=12)
    assert expected_minutes(drawing, {}) == pytest.approx(5)


def test_drawing_work_grows_with_what_the_brief_counts() -> None:
    drawing = Drawing(
        optimistic=5, likely=10, pessimistic=15, grows_with={"parts": 0.5, "rails": 0.2}
    )
    assert expected_minutes(drawing, {"parts": 45, "rails": 2}) == pytest.approx(10)
    assert expected_minutes(drawing, {"parts": 90, "rails": 2}) == pytest.approx(15)
    assert expected_minutes(drawing, {"parts": 90, "rails": 4}) == pytest.approx(17)
    assert expected_minutes(drawing, {"parts": 22.5, "rails": 1}) == pytest.approx(6.5)


def test_a_box_is_drawing_at_the_pace_assumed_and_its_walk(bench: Bench) -> None:
    slow, fast = plan_of(bench.state, 2.0), plan_of(bench.state, 1.0)
    box = fast.box("debug-access")
    assert box.drawing == pytest.approx(4 * MINUTE)
    assert box.walk == 6.0
    assert slow.box("debug-access").drawing == pytest.approx(8 * MINUTE)
    assert plan_of(bench.state).box("debug-access").drawing == pytest.approx(4 * 60 * PRIOR_PACE)


def test_walks_and_the_closing_list_take_no_pace(bench: Bench) -> None:
    slow, fast = plan_of(bench.state, 3.0), plan_of(bench.state, 0.5)
    for name in (*PHASE_IDS, CLOSING_ID):
        assert slow.box(name).walk == fast.box(name).walk
    assert fast.box(CLOSING_ID).seconds == slow.box(CLOSING_ID).seconds == 6 * MINUTE


def test_there_is_a_box_for_choosing_for_each_phase_and_for_closing(bench: Bench) -> None:
    plan = plan_of(bench.state)
    assert [box.phase for box in plan.boxes] == [CHOOSING, *PHASE_IDS, CLOSING_ID]
    assert plan.seconds == pytest.approx(sum(box.seconds for box in plan.boxes))


def test_parts_that_are_chosen_need_no_choosing(bench: Bench) -> None:
    assert plan_of(bench.state).box(CHOOSING).seconds > 0
    bench.do(SetFact("parts_chosen", True))
    assert plan_of(bench.state).box(CHOOSING).seconds == 0


def test_the_plan_follows_the_board(bench: Bench) -> None:
    before = sizes(bench.state)
    assert before == {"parts": 45, "rails": 3, "interfaces": 1, "layers": 2}
    bench.do(AddSubject("5v", "rail", "vin"))
    bench.do(DropFeature("talk"))
    bench.do(DeclareValue("board.layers", "4"))
    after = sizes(bench.state)
    assert (after["rails"], after["interfaces"], after["layers"]) == (4, 0, 4)
    assert after["parts"] == 45
    bench.do(DropSubject("5v"))
    assert sizes(bench.state)["rails"] == 3


@pytest.mark.parametrize("name", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_the_boxes_of_a_bundled_brief_can_fit_its_time(name: str) -> None:
    """Shares of drawing work: our own estimate, as the design sets it; layout is the largest."""
    brief = load_brief(name)
    state: State = nothing_yet(bench_setup(brief))
    plan: Plan = plan_of(state, 1.0)
    assert plan.seconds < state.deadline
    assert max(PHASE_IDS, key=lambda phase: plan.box(phase).seconds) == "layout"


# ---- where it ends ---------------------------------------------------------------------------


def test_at_the_start_the_whole_plan_is_to_do(bench: Bench) -> None:
    progress = progress_of(bench.state, 0.0)
    plan = plan_of(bench.state)
    assert progress.remaining == pytest.approx(plan.seconds)
    assert progress.ends == pytest.approx(plan.seconds)
    assert progress.spare == pytest.approx(120 * MINUTE - plan.seconds)


def test_a_plan_that_does_not_fit_says_by_how_much(begin: Begin) -> None:
    bench = begin(deadline=30 * MINUTE)
    progress = progress_of(bench.state, 0.0)
    assert progress.spare == pytest.approx(30 * MINUTE - plan_of(bench.state).seconds)
    assert progress.spare < 0
    assert progress.remaining == pytest.approx(plan_of(bench.state).seconds)  # nothing is shrunk


def test_work_within_its_box_does_not_move_the_end(bench: Bench) -> None:
    bench.session.do(EnterPhase("layout"))
    ends = progress_of(bench.state, bench.session.t).ends
    bench.at(10)
    assert progress_of(bench.state, bench.session.t).ends == pytest.approx(ends)
    assert used_of(bench.state, bench.session.t, "layout") == pytest.approx(600)


def test_an_overrun_box_counts_for_what_its_open_gate_still_takes(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.at(20)
    progress = progress_of(bench.state, bench.session.t)
    assert progress.phases["debug-access"] == 6.0
    box = plan_of(bench.state).box("debug-access")
    assert progress.overrun == pytest.approx(20 * MINUTE - box.seconds)
    bench.session.do(Meet("debug-pins"))
    assert still(bench, "debug-access") == 0


def test_what_is_signed_off_or_was_drawn_before_is_done(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.do(SignOff("debug-access"))
    bench.do(JoinLate("power-entry"))
    assert still(bench, "debug-access") == 0
    assert still(bench, "power-entry") == 0


def test_choosing_is_done_when_a_phase_is_entered(bench: Bench) -> None:
    assert still(bench, CHOOSING) > 0
    bench.do(EnterPhase("layout"))
    assert still(bench, CHOOSING) == 0


def test_a_look_into_every_phase_makes_no_progress(bench: Bench) -> None:
    before = progress_of(bench.state, bench.session.t)
    for phase in (*PHASE_IDS, PHASE_IDS[0]):
        bench.do(EnterPhase(phase))
    after = progress_of(bench.state, bench.session.t)
    for phase in PHASE_IDS:
        assert after.phases[phase] == pytest.approx(before.phases[phase], abs=11)


def test_a_phase_left_with_its_gate_closed_is_done(bench: Bench) -> None:
    bench.do(EnterPhase("clock-boot"))
    close_gate(bench, "clock-boot")
    bench.do(EnterPhase("layout"))
    assert still(bench, "clock-boot") == 0


def test_a_phase_left_half_way_keeps_what_its_box_has_left(bench: Bench) -> None:
    bench.session.do(EnterPhase("clock-boot"))
    bench.session.do(Waive("boot-level", "tied"))
    bench.at(4)
    before = progress_of(bench.state, bench.session.t)
    bench.session.do(EnterPhase("layout"))
    box = plan_of(bench.state).box("clock-boot")
    assert still(bench, "clock-boot") == pytest.approx(box.seconds / 60 - 4)
    assert progress_of(bench.state, bench.session.t).ends == pytest.approx(before.ends)


def test_a_dropped_feature_takes_its_stated_minutes_off_the_drawing(bench: Bench) -> None:
    """6 min of drawing at pace 1 for the display of the bundled meter."""
    brief = load_brief("usb-bench-meter")
    state: State = nothing_yet(bench_setup(brief))
    dropped = replace(state, dropped=frozenset(("show",)))
    drawing = [sum(box.drawing for box in plan_of(s, 1.0).boxes[1:]) for s in (state, dropped)]
    assert drawing[0] - drawing[1] == pytest.approx(6 * 60)


def test_layout_is_not_done_when_its_placement_is(bench: Bench) -> None:
    bench.do(ReachStage("placement"))
    bench.do(EnterPhase("layout"))
    bench.do(Meet("footprints-fit"))
    bench.do(EnterPhase("decoupling"))
    assert still(bench, "layout") > plan_of(bench.state).box("layout").seconds / 60 / 3


def test_what_was_skipped_counts_with_its_own_minutes(bench: Bench) -> None:
    bench.do(EnterPhase("debug-access"))
    bench.clock.advance(30 * MINUTE)
    bench.do(EnterPhase("layout"))
    progress = progress_of(bench.state, bench.session.t)
    assert progress.phases["debug-access"] == pytest.approx(4 * MINUTE)
    bench.do(Meet("debug-pins"))
    assert progress_of(bench.state, bench.session.t).phases["debug-access"] == 0


def test_the_closing_list_counts_until_it_is_closed(bench: Bench) -> None:
    assert still(bench, CLOSING_ID) == 6
    bench.do(Meet("files-whole"))
    assert still(bench, CLOSING_ID) == 4


def test_after_the_end_nothing_is_to_do(bench: Bench) -> None:
    bench.do(End(True))
    assert progress_of(bench.state, bench.session.t).remaining == 0
