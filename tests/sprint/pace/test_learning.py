"""The pace, learnt from what the sprint shows: phase by phase, burst by burst."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    EnterPhase,
    Interrupt,
    JoinLate,
    Meet,
    Park,
    ReachStage,
    SetFact,
    SignOff,
    Waive,
)
from coach.sprint.pace.pace import NOISE, PRIOR, Pace, noise_of, observations, pace_of
from coach.sprint.pace.plan import CHOOSING
from coach.sprint.pace.work import DRAWN, counted_rows, phase_work, shown
from tests.sprint.conftest import Begin, Bench

MINUTE = 60.0


def pace(bench: Bench) -> Pace:
    return pace_of(bench.state, bench.session.t)


def draw(bench: Bench, phase: str, minutes: float, *, sign: bool = True) -> None:
    """Works in a phase for so long, closes its gate and signs it off."""
    bench.session.do(EnterPhase(phase))
    bench.clock.advance(minutes * MINUTE)
    if sign:
        for row in bench.state.rows_of(phase):
            if row.item.essential and not row.closed and bench.state.reached(row):
                bench.session.do(Waive(row.key, "made on paper"))
        bench.session.do(SignOff(phase))


def begin_at_once(bench: Bench) -> None:
    bench.session.do(SetFact("parts_chosen", True))


# ---- phase by phase --------------------------------------------------------------------------


def test_before_anything_happened_the_pace_is_the_prior(bench: Bench) -> None:
    assert pace_of(bench.state, 0.0) == PRIOR
    other = Pace(0.5, 0.2)
    assert pace_of(bench.state, 0.0, other) == other


def test_who_draws_slowly_is_slower_and_who_draws_fast_is_faster(bench: Bench) -> None:
    begin_at_once(bench)
    draw(bench, "power-entry", 6 * 2.2)
    bench.session.do(EnterPhase("closing"))
    slow = pace(bench)
    assert PRIOR.median < slow.median < 2.2
    for phase, minutes in (("regulation", 6), ("debug-access", 4), ("clock-boot", 8)):
        draw(bench, phase, minutes * 0.6)
    bench.session.do(EnterPhase("closing"))
    assert pace(bench).median < PRIOR.median
    assert pace(bench).log_sd < slow.log_sd < PRIOR.log_sd


def test_a_whole_phase_is_one_observation_of_its_ratio(bench: Bench) -> None:
    begin_at_once(bench)
    draw(bench, "clock-boot", 12)
    bench.session.do(EnterPhase("closing"))
    (seen,) = observations(bench.state, bench.session.t)
    confirming = sum(
        row.item.confirm_s for row in bench.state.rows_of("clock-boot") if row.status == "waived"
    )
    assert (seen.phase, seen.noise) == ("clock-boot", noise_of(8 * MINUTE))
    assert seen.ratio == pytest.approx((12 * MINUTE - confirming) / (8 * MINUTE))
    assert pace(bench) == PRIOR.after(seen.ratio, seen.noise)


def test_a_long_phase_says_more_than_a_short_one() -> None:
    assert noise_of(10 * MINUTE) == pytest.approx(NOISE)
    assert noise_of(25 * MINUTE) < noise_of(10 * MINUTE) < noise_of(4 * MINUTE)
    assert noise_of(1) == noise_of(60)


def test_choosing_parts_says_little_of_the_pace_of_drawing(bench: Bench) -> None:
    bench.at(15)
    bench.session.do(EnterPhase("closing"))
    (seen,) = observations(bench.state, bench.session.t)
    assert (seen.phase, seen.ratio) == (CHOOSING, pytest.approx(3.0))
    assert PRIOR.median < pace(bench).median < 1.2 * PRIOR.median


def test_what_was_drawn_before_or_elsewhere_says_nothing(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(JoinLate("regulation"))
    draw(bench, "power-entry", 0.3)  # signed off at once: it was there already
    bench.session.do(EnterPhase("closing"))
    assert observations(bench.state, bench.session.t) == []
    assert pace(bench) == PRIOR


def test_one_odd_phase_does_not_turn_everything_over(bench: Bench) -> None:
    begin_at_once(bench)
    draw(bench, "debug-access", 90)
    bench.session.do(EnterPhase("closing"))
    plain = PRIOR.after(90 / 4, noise_of(4 * MINUTE))
    assert PRIOR.median < pace(bench).median < plain.median / 1.5


def test_an_interruption_is_no_drawing(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(EnterPhase("power-entry"))
    bench.clock.advance(30 * MINUTE)
    stuck = pace(bench)
    bench.session.do(Interrupt())
    assert pace(bench).median < stuck.median


def test_a_phase_with_little_of_it_open_counts_for_what_is_closed(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    begin_at_once(bench)
    bench.session.do(EnterPhase("clock-boot"))
    bench.clock.advance(14 * MINUTE)
    rows = sorted(counted_rows(bench.state, "clock-boot"), key=lambda row: row.item.left_out_min)
    for row in rows[1:]:
        bench.session.do(Waive(row.key, "made on paper"))
    share = shown(bench.state, "clock-boot")
    assert DRAWN <= share < 1
    (seen,) = observations(bench.state, bench.session.t)
    piece = phase_work(bench.state, bench.session.t, "clock-boot")
    assert seen.ratio == pytest.approx(piece.spent / (piece.whole.expected * share))
    assert seen.noise > noise_of(piece.whole.expected)


def test_a_phase_left_half_open_still_says_what_it_said(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(EnterPhase("clock-boot"))
    bench.clock.advance(20 * MINUTE)
    for key in ("boot-level", "strap-shared"):
        bench.session.do(Waive(key, "made on paper"))
    before = pace(bench)
    bench.session.do(EnterPhase("layout"))
    assert observations(bench.state, bench.session.t) == []
    assert pace(bench) == before
    assert before.median > PRIOR.median


# ---- the phase being worked on ---------------------------------------------------------------


def test_who_is_stuck_looks_slower_with_every_minute(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(EnterPhase("power-entry"))
    medians = []
    for minutes in (1, 5, 10, 20, 40, 80):
        bench.at(minutes)
        medians.append(pace(bench).median)
    assert medians == sorted(medians)
    assert medians[0] == pytest.approx(PRIOR.median, rel=0.01)
    assert medians[-1] > 2 * PRIOR.median


def test_a_burst_of_ticks_shows_that_it_goes_quickly(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(ReachStage("routing"))
    bench.session.do(EnterPhase("layout"))
    bench.clock.advance(6 * MINUTE)
    before = pace(bench)
    bench.session.do(Meet("footprints-fit"))  # half of the layout, in 6 of its 20 minutes
    after = pace(bench)
    assert after.median < before.median
    assert after.log_sd < before.log_sd


def test_a_burst_after_long_drawing_shows_nothing_of_that_kind(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(ReachStage("routing"))
    bench.session.do(EnterPhase("layout"))
    bench.clock.advance(35 * MINUTE)
    before = pace(bench)
    bench.session.do(Meet("footprints-fit"))
    assert pace(bench).median == pytest.approx(before.median, rel=0.05)


def test_ticking_everything_at_once_does_not_make_a_genius(bench: Bench) -> None:
    begin_at_once(bench)
    bench.session.do(ReachStage("routing"))
    bench.session.do(EnterPhase("layout"))
    bench.clock.advance(10)
    bench.session.do(Meet("footprints-fit"))
    assert 0.6 * PRIOR.median < pace(bench).median < PRIOR.median


def test_the_pace_hangs_on_the_state_alone(bench: Bench) -> None:
    begin_at_once(bench)
    draw(bench, "power-entry", 9)
    bench.session.do(EnterPhase("regulation"))
    bench.clock.advance(3 * MINUTE)
    bench.session.do(Park("a cable for the bench?"))
    t = bench.session.t
    before = pace_of(bench.state, t)
    bench.reopen()
    assert pace_of(bench.state, t) == before
