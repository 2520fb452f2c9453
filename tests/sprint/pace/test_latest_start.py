"""Latest starts: the backward pass over what is left.

The lamp's chain at pace 1: choosing 5, then 6, 6, 4, 8, 4, 20, 4 minutes and the walks, then the
reserve of 20 minutes before the cut-off at 120.
"""

from __future__ import annotations

from itertools import accumulate

import pytest

from coach.sprint.commands import (
    End,
    EnterPhase,
    JoinLate,
    Meet,
    ReachStage,
    Reopen,
    SetFact,
    SignOff,
    Waive,
)
from coach.sprint.pace.latest_start import LatestStart, latest_starts, work_ends
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import skipped_past_stage, work_of
from phases.kit.items import PHASE_IDS
from tests.sprint.conftest import Bench

MINUTE = 60.0


def starts(bench: Bench, pace: float = 1.0) -> dict[str, LatestStart]:
    return {one.row.key: one for one in latest_starts(bench.state, bench.session.t, pace)}


def begin_of(bench: Bench, phase: str, pace: float = 1.0) -> float:
    """The latest moment, in minutes, at which a phase to come can be begun."""
    found = {one.at for one in starts(bench, pace).values() if one.row.item.phase == phase}
    (at,) = found
    return at / MINUTE


def test_a_chain_is_taken_off_from_its_end() -> None:
    """Latest start = latest finish - duration; the durations of the critical path A-E-H-I-J of
    Anderson et al., chapter 9 (6, 3, 4, 2, 2 weeks), finish 17: latest starts 0, 6, 9, 13, 15."""
    points = ((4, 5, 12), (2, 3, 4), (2.5, 3.5, 7.5), (1.5, 2, 2.5), (1, 2, 3))
    took = [ThreePoint(*three).expected for three in points]
    assert [17 - rest for rest in accumulate(reversed(took))][::-1] == pytest.approx(
        [0, 6, 9, 13, 15]
    )


def test_phases_to_come_are_begun_in_their_order(bench: Bench) -> None:
    bench.session.do(SetFact("parts_chosen", True))
    walk = {
        phase: sum(
            row.item.confirm_s
            for row in bench.state.rows_of(phase)
            if row.essential and not row.closed
        )
        for phase in PHASE_IDS
    }
    took = dict(zip(PHASE_IDS, (6, 6, 4, 8, 4, 20, 4), strict=True))
    end = 100.0
    for phase in reversed(PHASE_IDS):
        end -= took[phase] + walk[phase] / MINUTE
        assert begin_of(bench, phase) == pytest.approx(end)


def test_the_reserve_is_held_until_it_begins(bench: Bench) -> None:
    work = work_of(bench.state, 0)
    assert work_ends(bench.state, 0, work) == 100 * MINUTE
    assert work_ends(bench.state, 101 * MINUTE, work) == 114 * MINUTE  # the closing list takes 6


def test_a_slower_pace_makes_everything_start_sooner(bench: Bench) -> None:
    assert begin_of(bench, "layout", 1.5) < begin_of(bench, "layout")
    assert begin_of(bench, "labelling", 1.5) == pytest.approx(begin_of(bench, "labelling") - 2)


def test_what_is_being_worked_on_has_begun(bench: Bench) -> None:
    bench.session.do(EnterPhase("power-entry"))
    assert "power-entry" not in {one.row.item.phase for one in starts(bench).values()}


def test_a_skipped_essential_stands_before_what_builds_on_it(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.session.do(Meet("debug-pins"))
    bench.session.do(SignOff("debug-access"))
    bench.session.do(EnterPhase("decoupling"))
    bench.session.do(Reopen("debug-pins"))
    one = starts(bench)["debug-pins"]
    assert (one.with_phase, one.takes) == (False, 4 * MINUTE)
    # Before layout, and after the sheet phases that are still to come.
    assert one.at == pytest.approx(begin_of(bench, "layout") * MINUTE - 4 * MINUTE)
    assert begin_of(bench, "clock-boot") * MINUTE < one.at


def test_once_layout_is_under_way_it_can_wait_for_the_end(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.clock.advance(4 * MINUTE)
    bench.session.do(EnterPhase("layout"))
    for phase in ("power-entry", "regulation", "clock-boot", "decoupling"):
        bench.session.do(JoinLate(phase))
    bench.session.do(ReachStage("files"))
    found = starts(bench)
    last = max(found.values(), key=lambda one: one.at)
    assert last.at + last.takes == pytest.approx(100 * MINUTE)


def test_of_several_skipped_the_worst_is_begun_first(bench: Bench) -> None:
    bench.session.do(SetFact("second_supply", True))
    for phase in ("power-entry", "debug-access", "decoupling"):
        bench.session.do(EnterPhase(phase))
        bench.clock.advance(4 * MINUTE)
    bench.session.do(EnterPhase("regulation"))
    left = {row.key for row in skipped_past_stage(bench.state)}
    alone = [one for one in latest_starts(bench.state, bench.session.t, 1.0) if one.row.key in left]
    ranks = [one.row.item.severity.rank for one in alone]
    assert ranks == sorted(ranks, reverse=True)
    assert alone[0].row.key == "no-back-feed"
    assert [one.at for one in alone] == sorted(one.at for one in alone)


def test_every_open_essential_has_one(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.clock.advance(4 * MINUTE)
    bench.session.do(EnterPhase("decoupling"))
    open_ones = {
        row.key
        for row in bench.state.rows
        if row.essential and not row.closed and row.item.phase not in ("closing", "decoupling")
    }
    assert set(starts(bench)) == open_ones
    bench.session.do(Meet("debug-pins"))
    assert "debug-pins" not in starts(bench)


def test_what_does_not_fit_has_passed(bench: Bench) -> None:
    bench.at(70)
    passed = [one for one in starts(bench, 1.3).values() if one.at <= bench.session.t]
    assert {"power-entry", "regulation"} <= {one.row.item.phase for one in passed}


def test_after_the_end_nothing_is_begun(bench: Bench) -> None:
    bench.session.do(End(False))
    assert starts(bench) == {}


def test_a_waived_essential_needs_no_start(bench: Bench) -> None:
    bench.session.do(Waive("debug-pins", "pads on the bottom"))
    assert "debug-pins" not in starts(bench)


def test_what_waits_in_a_phase_that_is_drawn_is_begun_by_itself(bench: Bench) -> None:
    """Its phase is not to be begun again: only its rows are left, for a walk."""
    bench.session.do(JoinLate("layout"))
    found = latest_starts(bench.state, bench.session.t, 1.0)
    of_layout = [one for one in found if one.row.item.phase == "layout"]
    assert of_layout and not any(one.with_phase for one in of_layout)
    assert all(one.with_phase for one in found if one.row.item.phase == "labelling")
