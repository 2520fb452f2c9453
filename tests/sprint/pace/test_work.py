"""What is left to do, as a state shows it. The bench lamp's phases take 6, 6, 4, 8, 4, 20 and 4
minutes at pace 1, its closing list 6."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    AddSubject,
    Defer,
    DropFeature,
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
from coach.sprint.pace.plan import CHOOSING, plan_of
from coach.sprint.pace.work import (
    FURTHER_SHARE,
    Work,
    drawing_seconds,
    phase_work,
    shown,
    was_drawn,
    work_of,
)
from phases.kit.items import PHASE_IDS
from tests.sprint.conftest import Begin, Bench

MINUTE = 60.0


def work(bench: Bench) -> Work:
    return work_of(bench.state, bench.session.t)


def phases_of(bench: Bench) -> list[str]:
    return [piece.phase for piece in work(bench).drawing]


def close_gate(bench: Bench, phase: str, *but: str) -> None:
    for row in bench.state.rows_of(phase):
        gate = row.item.essential and not row.closed and bench.state.reached(row)
        if gate and row.key not in but:
            bench.session.do(Waive(row.key, "made on paper"))


# ---- drawing work ----------------------------------------------------------------------------


def test_at_the_start_every_phase_is_to_be_drawn(bench: Bench) -> None:
    left = work(bench)
    assert phases_of(bench) == [CHOOSING, *PHASE_IDS]
    expected = {piece.phase: piece.whole.expected / MINUTE for piece in left.drawing}
    assert expected["layout"] == pytest.approx(20)
    assert sum(expected.values()) - expected[CHOOSING] == pytest.approx(52)
    assert left.left_open == ()
    assert left.closing.expected == pytest.approx(6 * MINUTE)


@pytest.mark.parametrize("name", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_drawing_work_is_what_the_plan_takes_it_for(begin: Begin, name: str) -> None:
    state = begin(load_brief(name)).state
    plan = plan_of(state, 1.0)
    for phase in PHASE_IDS:
        assert phase_work(state, 0, phase).whole.expected == pytest.approx(plan.box(phase).drawing)
    (first, *_) = work_of(state, 0).drawing
    assert first.whole.expected == pytest.approx(plan.box(CHOOSING).drawing)


def test_parts_that_are_chosen_are_no_work(bench: Bench) -> None:
    bench.do(SetFact("parts_chosen", True))
    assert CHOOSING not in phases_of(bench)


def test_a_board_that_grows_is_more_work(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    before = phase_work(bench.state, 0, "regulation").whole.expected
    bench.do(AddSubject("5v", "rail", "vbus"))
    assert phase_work(bench.state, 0, "regulation").whole.expected > before


def test_what_is_signed_off_or_was_drawn_before_is_no_work(bench: Bench) -> None:
    bench.do(EnterPhase("debug-access"))
    bench.do(Meet("debug-pins"))
    bench.do(SignOff("debug-access"))
    bench.do(JoinLate("regulation"))
    assert set(PHASE_IDS) - set(phases_of(bench)) == {"debug-access", "regulation"}


def test_closed_items_show_how_far_a_phase_is(bench: Bench) -> None:
    bench.session.do(EnterPhase("clock-boot"))
    assert shown(bench.state, "clock-boot") == 0
    bench.session.do(Waive("boot-level", "tied"))
    bench.session.do(Waive("strap-source", "tied"))
    assert shown(bench.state, "clock-boot") == pytest.approx(2 / 5)  # of five with equal minutes
    piece = work(bench).piece("clock-boot")
    assert piece is not None
    assert piece.expected(1.0) == pytest.approx((1 - 0.4) * 1.5 * 8 * MINUTE, rel=0.1)


def test_a_phase_whose_items_are_all_closed_has_nothing_left(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.session.do(Meet("debug-pins"))
    piece = work(bench).piece("debug-access")
    assert piece is None or piece.expected(1.3) == 0


def test_a_look_into_a_phase_leaves_its_work_to_come(bench: Bench) -> None:
    bench.do(SetFact("parts_chosen", True))
    for phase in ("regulation", "clock-boot", "layout"):
        bench.do(EnterPhase(phase))
    bench.do(EnterPhase("power-entry"))
    left = work(bench)
    assert [piece.phase for piece in left.drawing] == list(PHASE_IDS)
    assert left.left_open == ()


def test_a_phase_worked_in_and_left_is_drawn_once_most_of_it_is_closed(bench: Bench) -> None:
    """Whoever looks back counts it as drawn; what is left of it stays what it was in it."""
    bench.session.do(EnterPhase("regulation"))
    bench.clock.advance(4 * MINUTE)
    before = work(bench)
    bench.session.do(EnterPhase("layout"))
    assert was_drawn(bench.state, bench.session.t, "regulation")
    assert work(bench) == before
    close_gate(bench, "regulation")
    assert "regulation" not in phases_of(bench)


def test_parts_may_be_chosen_within_the_first_phases_but_not_for_ever(bench: Bench) -> None:
    """Choosing takes five minutes: going on at the first second leaves them, drawing uses them."""
    bench.session.do(EnterPhase("power-entry"))
    lefts = []
    for minutes in (0, 2, 4, 6):
        bench.at(minutes)
        piece = work(bench).piece(CHOOSING)
        lefts.append(piece.expected(1.0) / MINUTE if piece else 0.0)
    assert lefts == pytest.approx([5, 3, 1, 0], abs=0.02)


# ---- skipped items, walks, more checks -----------------------------------------------------


def test_what_was_left_open_takes_its_own_minutes(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.session.do(Meet("debug-pins"))
    bench.session.do(SignOff("debug-access"))
    bench.session.do(EnterPhase("layout"))
    bench.session.do(Reopen("debug-pins"))
    (left,) = work(bench).left_open
    assert (left.phase, left.keys) == ("debug-access", ("debug-pins",))
    assert left.expected(1.0) == pytest.approx(4 * MINUTE)
    bench.session.do(Meet("debug-pins"))
    assert work(bench).left_open == ()


def test_what_was_left_open_never_takes_longer_than_drawing_it_anew(bench: Bench) -> None:
    """Power entry takes 6 minutes to draw; its open essentials take more, one by one."""
    bench.session.do(EnterPhase("power-entry"))
    bench.clock.advance(30 * MINUTE)
    bench.session.do(EnterPhase("regulation"))
    piece = work(bench).piece("power-entry")
    assert piece is not None
    assert piece.open.expected > 6 * MINUTE
    assert piece.expected(1.0) == pytest.approx(6 * MINUTE)


def test_beyond_layout_what_was_left_open_takes_what_it_takes(bench: Bench) -> None:
    bench.session.do(EnterPhase("power-entry"))
    bench.clock.advance(30 * MINUTE)
    bench.session.do(EnterPhase("layout"))
    bench.session.do(ReachStage("placement"))
    taken = []
    for minutes in (0, 13, 26):  # of 20 minutes of layout at pace 1.3
        bench.at(30 + minutes)
        piece = work(bench).piece("power-entry")
        assert piece is not None
        taken.append(piece.expected(1.0))
    assert taken[0] == pytest.approx(6 * MINUTE, rel=0.02)
    assert taken == sorted(taken)
    assert taken[-1] == pytest.approx(piece.open.expected)


def test_items_that_come_with_the_next_walk_are_not_skipped(bench: Bench) -> None:
    """Decoupling is left and placement begins: its placement row is seen in the walk to come."""
    bench.session.do(EnterPhase("decoupling"))
    bench.session.do(Meet("capacitors"))
    bench.session.do(SignOff("decoupling"))
    bench.session.do(EnterPhase("layout"))
    bench.session.do(ReachStage("placement"))
    assert work(bench).left_open == ()
    bench.session.do(ReachStage("routing"))
    assert work(bench).left_open_count == 1  # now its place is passed


def test_walks_take_the_seconds_of_essentials_that_are_open(bench: Bench) -> None:
    before = work(bench).walks
    bench.session.do(Meet("debug-pins"))
    assert work(bench).walks == pytest.approx(before - 6)


def test_everything_has_the_further_items_besides(bench: Bench) -> None:
    left = work(bench)
    rows = [r for r in bench.state.rows if not r.essential and r.applies is not False]
    assert left.further_walks == pytest.approx(sum(r.item.confirm_s for r in rows))
    assert left.further == ()


def test_further_items_left_behind_take_their_own_minutes(bench: Bench) -> None:
    bench.session.do(EnterPhase("power-entry"))
    close_gate(bench, "power-entry")
    bench.session.do(SignOff("power-entry"))
    bench.session.do(EnterPhase("regulation"))
    (further,) = work(bench).further  # the entrance clamp
    assert further.expected == pytest.approx(4 * MINUTE)


def test_the_closing_list_counts_down_while_it_is_seen_to(bench: Bench) -> None:
    bench.session.do(EnterPhase("closing"))
    assert work(bench).closing.expected == pytest.approx(6 * MINUTE)
    bench.clock.advance(MINUTE)
    assert work(bench).closing.expected == pytest.approx(5 * MINUTE)
    bench.clock.advance(5 * MINUTE)  # no line takes less than nothing
    assert work(bench).closing.expected == pytest.approx(4 * MINUTE)
    bench.session.do(Meet("files-whole"))
    assert work(bench).closing.expected == pytest.approx(4 * MINUTE)


def test_after_the_end_nothing_is_left(bench: Bench) -> None:
    bench.do(End(True))
    assert work(bench) == Work()


# ---- less of it ------------------------------------------------------------------------------


def test_a_dropped_feature_takes_its_own_minutes_off(begin: Begin) -> None:
    """Spread over the phases as their drawing is: the display of the bench meter, 6 minutes."""
    bench = begin(load_brief("usb-bench-meter"))
    before = {piece.phase: piece.expected(1.0) for piece in work(bench).drawing}
    bench.session.do(DropFeature("show"))
    after = {piece.phase: piece.expected(1.0) for piece in work(bench).drawing}
    saved = sum(before.values()) - sum(after.values())
    assert saved == pytest.approx(6 * MINUTE, rel=0.02)
    assert after["layout"] / before["layout"] == pytest.approx(
        after["power-entry"] / before["power-entry"]
    )


def test_a_feature_without_minutes_is_what_the_sizes_say(bench: Bench) -> None:
    """The lamp's phases do not grow, so its console is worth nothing in drawing."""
    bench.session.do(DropFeature("talk"))
    assert all(piece.keep == 1.0 for piece in work(bench).drawing)


def test_work_that_is_done_is_not_saved_by_dropping(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    for phase in PHASE_IDS[:5]:
        bench.session.do(JoinLate(phase))
    before = sum(piece.expected(1.0) for piece in work(bench).drawing)
    bench.session.do(DropFeature("show"))
    after = sum(piece.expected(1.0) for piece in work(bench).drawing)
    assert 0 < before - after < 3 * MINUTE


def test_further_items_set_aside_take_their_share_off(bench: Bench) -> None:
    """Power entry has one more check, the entrance clamp: it stands for all of that share."""
    before = work(bench).further_walks
    bench.session.do(Defer(("entrance-clamp",)))
    assert work(bench).further_walks == pytest.approx(before - 6)
    piece = work(bench).piece("power-entry")
    assert piece is not None
    assert piece.keep == pytest.approx(1 - FURTHER_SHARE)


# ---- time in a phase -------------------------------------------------------------------------


def test_confirming_is_not_drawing(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.clock.advance(100)
    bench.session.do(Meet("debug-pins"))
    assert drawing_seconds(bench.state, bench.session.t, "debug-access") == pytest.approx(94)


def test_what_went_into_items_of_other_phases_is_not_drawing(bench: Bench) -> None:
    """A walk before layout that finds something: its minutes are not those of decoupling."""
    bench.session.do(EnterPhase("decoupling"))
    bench.clock.advance(120)
    bench.session.do(Meet("capacitors"))
    bench.clock.advance(200)
    bench.session.do(Meet("debug-pins"))
    assert bench.state.elsewhere == {"decoupling": pytest.approx(200)}
    assert drawing_seconds(bench.state, bench.session.t, "decoupling") == pytest.approx(114)


def test_no_item_takes_more_than_its_own_minutes_off(bench: Bench) -> None:
    bench.session.do(EnterPhase("decoupling"))
    bench.clock.advance(1000)
    bench.session.do(Meet("debug-pins"))
    assert bench.state.elsewhere == {"decoupling": pytest.approx(240)}
