"""Calls: what the coach says unasked, each once, at most eight that ring."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.sprint.calls import MOST_RINGING, due_calls, still_so
from coach.sprint.commands import (
    End,
    EnterPhase,
    Meet,
    MoveCutOff,
    ReachStage,
    SetFact,
    SetQuiet,
    Waive,
)
from coach.sprint.events.run import CallMade
from coach.sprint.gates.gates import skipped
from tests.sprint.conftest import Begin, Bench, changed, rung


def called(bench: Bench, minutes: float) -> list[CallMade]:
    """What is called when so many minutes have elapsed."""
    bench.at(minutes)
    return bench.session.tick()


def causes(calls: list[CallMade]) -> list[str]:
    return [call.cause for call in calls]


def close_all(bench: Bench, *but: str) -> None:
    for row in bench.state.rows:
        if row.item.phase != "closing" and not row.closed and row.key not in but:
            bench.session.do(Waive(row.key, "made on paper"))


# ---- one after the other ---------------------------------------------------------------------


def test_a_sprint_of_two_hours_is_called_five_times_by_itself(bench: Bench) -> None:
    said = {m: causes(called(bench, m)) for m in range(1, 131)}
    assert {minute: names for minute, names in said.items() if names} == {
        60: ["half"],
        100: ["first upload due"],
        110: ["last call"],
        115: ["last five minutes"],
        120: ["cut-off passed"],
    }


def test_a_quarter_is_called_where_the_reserve_does_not_begin_soon_after(begin: Begin) -> None:
    bench = begin(deadline=240 * 60.0)
    assert causes(called(bench, 180)) == ["quarter"]
    assert causes(called(bench, 220)) == ["first upload due"]


def test_time_calls_say_how_much_is_left(bench: Bench) -> None:
    (half,) = called(bench, 60)
    assert (half.message, half.rings) == ("Half the time is gone, 1 h left.", True)
    called(bench, 110)
    (end,) = called(bench, 115)
    assert end.message == "5 min left: order what you have now."


def test_a_call_stays_in_the_journal_and_in_the_list(bench: Bench) -> None:
    calls = called(bench, 60)
    assert [(one.event.cause, one.event.message) for one in bench.state.of(CallMade)] == [
        (calls[0].cause, calls[0].message)
    ]
    assert bench.session.history[-1].by == 0


# ---- the first upload ------------------------------------------------------------------------


def test_a_first_upload_is_due_when_the_reserve_begins(bench: Bench) -> None:
    bench.session.do(ReachStage("files"))
    called(bench, 99)
    (call,) = called(bench, 100)
    assert call.message == (
        "Reserve starts: upload a complete set now. You can replace it later; you cannot be late."
    )


def test_a_layout_that_is_not_finished_is_no_complete_upload(bench: Bench) -> None:
    called(bench, 99)
    (call,) = called(bench, 100)
    assert call.message == (
        "Reserve starts, layout unfinished: get it orderable, then do a first upload."
    )


def test_an_upload_that_is_made_is_not_asked_for(bench: Bench) -> None:
    called(bench, 99)
    bench.session.do(Meet("first-upload"))
    close_all(bench)
    (call,) = called(bench, 100)
    assert call.message == "Reserve starts, first upload done: go on with the closing list."


def test_after_the_first_upload_the_reserve_begins_with_the_last_walk(bench: Bench) -> None:
    called(bench, 99)
    bench.session.do(Meet("first-upload"))
    close_all(bench, "debug-pins")
    (call,) = called(bench, 100)
    assert call.message == ("Reserve starts, first upload done: walk through 1 open essential now.")


def test_without_a_reserve_no_upload_is_called_for(bench: Bench) -> None:
    brief = bench.session.setup.brief
    none = brief.model_copy(update={"deadline": brief.deadline.model_copy(update={"reserve": 0})})
    state = replace(bench.state, setup=changed(bench.session.setup, brief=none))
    for minute in range(0, 130):
        assert "first upload due" not in causes(due_calls(state, minute * 60.0))


# ---- the last call ---------------------------------------------------------------------------


def test_the_last_call_lists_the_open_essentials_by_severity(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    close_all(bench, "capacitors", "debug-pins", "no-back-feed", "entrance-clamp")
    called(bench, 109)
    (call,) = called(bench, 110)
    assert call.message == (
        "Last call: 10 min left, 3 essentials open: No back feed (hazard), "
        "Debug pins (dead board) and Capacitors (degraded)."
    )
    assert call.items == ("no-back-feed", "debug-pins", "capacitors")


def test_what_is_open_is_told_from_what_was_skipped(bench: Bench) -> None:
    """The SKIPPED line has what was skipped; calls at the end count all phases."""
    bench.do(SetFact("second_supply", True))
    close_all(bench, "capacitors", "debug-pins", "no-back-feed")
    bench.session.do(EnterPhase("debug-access"))
    bench.session.do(EnterPhase("regulation"))
    assert [row.key for row in skipped(bench.state)] == ["debug-pins"]
    called(bench, 109)
    (last,) = called(bench, 110)
    assert "3 essentials open (1 skipped): No back feed" in last.message
    called(bench, 119)
    (passed,) = called(bench, 121)
    assert "3 essentials open (1 skipped), order not accepted." in passed.message


# ---- what is so still ------------------------------------------------------------------------


def test_a_call_of_time_stands_until_the_cut_off_is_moved_away(bench: Bench) -> None:
    (half,) = called(bench, 60)
    assert still_so(bench.state, bench.session.t, half)
    bench.session.do(MoveCutOff("+20 min"))
    assert not still_so(bench.state, bench.session.t, half)


def test_an_upload_that_was_made_is_not_asked_for_any_more(bench: Bench) -> None:
    bench.session.do(ReachStage("files"))
    called(bench, 99)
    (call,) = called(bench, 100)
    assert still_so(bench.state, bench.session.t, call)
    bench.session.do(Meet("first-upload"))
    assert not still_so(bench.state, bench.session.t, call)


def test_after_the_end_no_call_stands(bench: Bench) -> None:
    (half,) = called(bench, 60)
    bench.session.do(End(False))
    assert not still_so(bench.state, bench.session.t, half)


# ---- the last call again ---------------------------------------------------------------------


def test_the_worst_comes_first_and_the_others_are_counted(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    called(bench, 109)
    (call,) = called(bench, 110)
    assert call.items[0] == "no-back-feed"
    severities = [bench.row(key).item.severity for key in call.items]
    assert severities == sorted(severities, reverse=True)
    assert "No back feed (hazard)" in call.message
    assert call.message.endswith(f" and {len(call.items) - 4} more.")


def test_where_nothing_is_open_the_last_call_says_so(bench: Bench) -> None:
    close_all(bench)
    called(bench, 109)
    (call,) = called(bench, 110)
    assert (call.message, call.items) == ("Last call: 10 min left, every essential closed.", ())


# ---- late and together -----------------------------------------------------------------------


def test_a_look_that_comes_late_says_the_minutes_that_are_left(bench: Bench) -> None:
    (half,) = called(bench, 60.9)
    assert half.message == "Half the time is gone, 59 min left."
    called(bench, 109)
    (last,) = called(bench, 110.2)
    assert last.message.startswith("Last call: 10 min left, ")


def test_of_time_marks_passed_together_only_the_latest_is_called(bench: Bench) -> None:
    calls = called(bench, 116)
    assert causes(calls) == ["last five minutes", "first upload due", "last call"]
    assert next(c for c in calls if c.cause == "last call").message.startswith(
        "Last call: 4 min left, "
    )
    assert called(bench, 117) == []


def test_half_the_time_that_is_long_gone_is_said_to_be_more(bench: Bench) -> None:
    (half,) = called(bench, 80)
    assert half.message == "More than half the time is gone, 40 min left."


# ---- the cut-off -----------------------------------------------------------------------------


def test_the_cut_off_is_called_once_with_what_is_open_and_what_to_do(bench: Bench) -> None:
    close_all(bench, "debug-pins", "capacitors")
    called(bench, 119)
    (call,) = called(bench, 120)
    assert (call.cause, call.rings) == ("cut-off passed", True)
    assert call.message == (
        "The cut-off has passed: 2 essentials open, order not accepted. "
        "Order what you have now, or move the cut-off."
    )
    assert called(bench, 121) == []


def test_with_every_essential_closed_it_says_so(bench: Bench) -> None:
    close_all(bench)
    called(bench, 119)
    (call,) = called(bench, 120)
    assert "passed: every essential closed, order not accepted." in call.message


def test_past_the_cut_off_nothing_else_is_called_any_more(bench: Bench) -> None:
    (call,) = called(bench, 150)
    assert call.message.startswith("The cut-off passed 30 min ago: ")
    assert called(bench, 160) == []


def test_the_cut_off_keeps_its_ring(bench: Bench) -> None:
    state = rung(bench.state, MOST_RINGING - 1)
    assert [call.rings for call in due_calls(state, state.deadline)] == [True]


def test_once_the_order_is_accepted_nothing_is_called(bench: Bench) -> None:
    bench.session.do(Meet("accepted-and-paid"))
    assert called(bench, 116) == []
    assert called(bench, 121) == []


# ---- short sprints ---------------------------------------------------------------------------


def test_in_a_short_sprint_the_marks_do_not_pile_up(begin: Begin) -> None:
    bench = begin(deadline=15 * 60.0)
    said = {m: causes(called(bench, m / 2)) for m in range(1, 30)}
    assert {minute / 2: names for minute, names in said.items() if names} == {
        0.5: ["first upload due"],
        7.5: ["half"],
        10.0: ["last five minutes"],
        12.5: ["last call"],
    }
    assert causes(called(bench, 15)) == ["cut-off passed"]


# ---- ringing ---------------------------------------------------------------------------------


def test_quieted_calls_are_kept_and_do_not_ring(bench: Bench) -> None:
    bench.do(SetQuiet(True))
    (call,) = called(bench, 60)
    assert not call.rings
    bench.session.do(SetQuiet(False))
    (call,) = called(bench, 100)
    assert call.rings


def test_at_most_eight_calls_ring(bench: Bench) -> None:
    state = rung(bench.state, MOST_RINGING)
    assert [call.rings for call in due_calls(state, 3600.0)] == [False]
    state = rung(bench.state, MOST_RINGING - 1)
    assert [call.rings for call in due_calls(state, 3600.0)] == [True]


def test_leaving_a_phase_with_open_essentials_does_not_ring(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    bench.do(EnterPhase("layout"))
    assert bench.session.tick() == []
    assert bench.state.of(CallMade) == ()


def test_nothing_is_called_after_the_end(bench: Bench) -> None:
    bench.do(End(False))
    assert called(bench, 116) == []


# ---- a cut-off that moves --------------------------------------------------------------------


def test_a_cut_off_that_moves_away_is_called_when_it_comes(bench: Bench) -> None:
    assert len(called(bench, 116)) == 3
    bench.session.do(MoveCutOff("+60 min"))
    assert called(bench, 117) == []
    assert causes(called(bench, 160)) == ["first upload due"]
    assert causes(called(bench, 170)) == ["last call"]
    assert causes(called(bench, 175)) == ["last five minutes"]
    assert called(bench, 176) == []


def test_half_and_quarter_are_of_the_time_as_it_stands_now(bench: Bench) -> None:
    bench.do(MoveCutOff("+120 min"))
    assert called(bench, 60) == []
    (half,) = called(bench, 120)
    assert half.message == "Half the time is gone, 2 h left."
    (quarter,) = called(bench, 180)
    assert quarter.message == "A quarter of the time is left: 1 h left."
    bench.session.do(MoveCutOff("+200 min"))
    assert called(bench, 181) == []  # said once, and not true any more


def test_a_cut_off_moved_away_is_called_when_it_passes_again(bench: Bench) -> None:
    called(bench, 120)
    bench.session.do(MoveCutOff("+3 min"))
    assert [call.message for call in called(bench, 120.5) if call.cause == "last five minutes"] == [
        "2 min left: order what you have now."
    ]
    assert causes(called(bench, 123)) == ["cut-off passed"]


@pytest.mark.parametrize("minutes", [1, 30, 59.9])
def test_before_its_moment_nothing_is_called(bench: Bench, minutes: float) -> None:
    assert called(bench, minutes) == []
