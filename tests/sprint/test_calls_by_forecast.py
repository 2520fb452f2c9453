"""What a forecast calls, what was left behind, and which forecasts are kept in the journal."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from coach.sprint.calls import (
    CUT_OFF,
    MOST_RINGING,
    SKIPPED,
    SKIPPED_FOR,
    TOGETHER,
    due_calls,
    still_so,
)
from coach.sprint.commands import (
    DropFeature,
    End,
    EnterPhase,
    JoinLate,
    Meet,
    MoveCutOff,
    SetQuiet,
)
from coach.sprint.events.run import CallMade, ForecastMade
from coach.sprint.pace.checkpoints import (
    CHECKPOINTS,
    FALLEN,
    LATEST_START,
    RECOVERED,
    RESERVE_EATEN,
)
from coach.sprint.pace.forecast import Forecast, forecast_of
from coach.sprint.pace.latest_start import LatestStart
from phases.kit.items import PHASE_IDS
from tests.sprint.conftest import Bench, rung

MINUTE = 60.0


def made(bench: Bench, **changed: Any) -> Forecast:
    """The forecast of now, with what a test wants otherwise; by itself all is well."""
    well = {"chance_essentials": 0.9, "latest": (), "proposal": None, "drawing": 600.0, **changed}
    return replace(forecast_of(bench.state, bench.session.t, draws=200), **well)


def look(bench: Bench, minutes: float, **changed: Any) -> list[CallMade]:
    """What is called when so many minutes have elapsed and a forecast says this."""
    bench.at(minutes)
    bench.session.take_forecast(made(bench, **changed))
    return bench.session.tick()


def causes(calls: list[CallMade]) -> list[str]:
    return [call.cause for call in calls]


def kept(bench: Bench) -> list[ForecastMade]:
    return [s.event for s in bench.session.history if isinstance(s.event, ForecastMade)]


def late(bench: Bench, key: str, at: float, *, with_phase: bool = False) -> LatestStart:
    return LatestStart(bench.row(key), at, 240.0, with_phase)


# ---- the chance ------------------------------------------------------------------------------


def test_a_chance_under_the_threshold_is_called_once(bench: Bench) -> None:
    (call,) = look(bench, 30, chance_essentials=0.62)
    assert (call.cause, call.rings) == (FALLEN, True)
    assert call.message == "Chance of finishing with all essentials: 6 in 10 (target 8 in 10)."
    assert look(bench, 31, chance_essentials=0.55) == []
    assert look(bench, 55, chance_essentials=0.30) == []


def test_it_says_what_to_drop(bench: Bench) -> None:
    bench.at(60)
    real = forecast_of(bench.state, bench.session.t, draws=2000)
    bench.session.take_forecast(real)
    call = next(c for c in bench.session.tick() if c.cause == FALLEN)
    assert real.proposal is not None
    assert call.message.endswith(real.proposal.message)


def test_in_the_first_fifth_of_the_time_nothing_is_called(bench: Bench) -> None:
    everything: dict[str, Any] = {"chance_essentials": 0.1}
    for minutes in (1, 10, 23.5):
        bad = (late(bench, "debug-pins", 0.0),)
        assert look(bench, minutes, latest=bad, **everything) == []
    assert causes(look(bench, 24.5, **everything)) == [FALLEN]


def test_it_is_called_again_only_after_it_had_recovered(bench: Bench) -> None:
    look(bench, 25, chance_essentials=0.62)
    assert look(bench, 50, chance_essentials=0.79) == []
    assert look(bench, 51, chance_essentials=0.81) == []  # not clearly over it
    assert look(bench, 52, chance_essentials=0.85) == []
    assert causes(look(bench, 53, chance_essentials=0.70)) == [FALLEN]
    because = [one.because for one in kept(bench) if one.because]
    assert because == [FALLEN, RECOVERED, FALLEN]


@pytest.mark.parametrize(
    ("now", "stands"), [(0.62, True), (0.58, True), (0.66, True), (0.56, False), (0.7, False)]
)
def test_a_chance_that_was_called_stands_while_it_is_so(
    bench: Bench, now: float, stands: bool
) -> None:
    (call,) = look(bench, 30, chance_essentials=0.62)
    assert still_so(bench.state, bench.session.t, call, made(bench, chance_essentials=now)) is (
        stands
    )


def test_a_latest_start_stands_until_all_it_names_is_closed(bench: Bench) -> None:
    both = (late(bench, "debug-pins", 0.0), late(bench, "capacitors", 0.0))
    (call,) = look(bench, 30, latest=both)
    bench.session.do(Meet("capacitors"))
    assert still_so(bench.state, bench.session.t, call)
    bench.session.do(Meet("debug-pins"))
    assert not still_so(bench.state, bench.session.t, call)


def test_it_does_not_flicker(bench: Bench) -> None:
    look(bench, 25, chance_essentials=0.62)
    look(bench, 26, chance_essentials=0.9)
    assert look(bench, 27, chance_essentials=0.62) == []  # called two minutes ago
    assert causes(look(bench, 25 + TOGETHER / MINUTE + 1, chance_essentials=0.62)) == [FALLEN]


# ---- latest starts ---------------------------------------------------------------------------


def test_latest_starts_that_passed_make_one_call_the_worst_first(bench: Bench) -> None:
    passed = (
        late(bench, "capacitors", 1700.0),
        late(bench, "debug-pins", 1750.0),
        late(bench, "footprints-fit", 1760.0, with_phase=True),
        late(bench, "pin-one-marks", 5000.0, with_phase=True),
    )
    (call,) = look(bench, 30, latest=passed)
    assert (call.cause, call.rings) == (LATEST_START, True)
    assert call.message == (
        "To keep the reserve, start now: Debug pins (dead board) and Capacitors (degraded), "
        "then layout (1 essential)."
    )
    assert set(call.items) == {"debug-pins", "capacitors", "footprints-fit"}


def test_what_passes_meanwhile_comes_with_the_next_call(bench: Bench) -> None:
    first, second = late(bench, "debug-pins", 0.0), late(bench, "capacitors", 0.0)
    look(bench, 25, latest=(first,))
    assert look(bench, 26, latest=(first, second)) == []
    (call,) = look(bench, 26 + TOGETHER / MINUTE, latest=(first, second))
    assert call.items == ("capacitors",)
    assert call.message == "To keep the reserve, start now: Capacitors (degraded)."


def test_of_many_phases_the_first_three_are_named(bench: Bench) -> None:
    passed = tuple(
        late(
            bench,
            next(r.key for r in bench.state.rows_of(p.id) if r.essential),
            9.0,
            with_phase=True,
        )
        for p in bench.session.setup.phases[:5]
    )
    (call,) = look(bench, 30, latest=passed)
    assert call.message == (
        "To keep the reserve, start now: power entry, then regulation, then debug access and "
        "2 more phases (5 essentials)."
    )


def test_latest_starts_wait_where_the_chance_was_just_called(bench: Bench) -> None:
    passed = (late(bench, "debug-pins", 0.0),)
    assert causes(look(bench, 25, latest=passed, chance_essentials=0.4)) == [FALLEN]
    assert look(bench, 26, latest=passed, chance_essentials=0.4) == []
    (call,) = look(bench, 25 + TOGETHER / MINUTE, latest=passed, chance_essentials=0.4)
    assert (call.cause, call.rings) == (LATEST_START, True)


def test_after_the_last_call_no_forecast_calls(bench: Bench) -> None:
    bench.at(110)
    bench.session.tick()
    passed = (late(bench, "debug-pins", 0.0),)
    assert look(bench, 111, latest=passed, chance_essentials=0.1) == []


# ---- the reserve -----------------------------------------------------------------------------


def test_drawing_in_the_reserve_is_called_after_four_minutes(bench: Bench) -> None:
    bench.session.do(EnterPhase("layout"))
    bench.at(99)
    bench.session.tick()
    assert RESERVE_EATEN not in causes(look(bench, 103))
    (call,) = look(bench, 104.5, drawing=12 * MINUTE, closing=6 * MINUTE)
    assert call.message == (
        "Into the reserve: 16 min left, closing list needs 6 min, drawing 12 min more. "
        "Stop as soon as it can be ordered."
    )
    assert call.rings
    assert look(bench, 106) == []


def test_the_closing_list_does_not_eat_the_reserve(bench: Bench) -> None:
    bench.session.do(EnterPhase("closing"))
    assert RESERVE_EATEN not in causes(look(bench, 105))


def test_without_drawing_left_the_reserve_is_whole(bench: Bench) -> None:
    for phase in PHASE_IDS:
        bench.session.do(JoinLate(phase))
    assert RESERVE_EATEN not in causes(look(bench, 105, drawing=0.0))


# ---- left behind -----------------------------------------------------------------------------


def test_what_was_left_behind_is_called_silently_after_ten_minutes(bench: Bench) -> None:
    bench.session.do(EnterPhase("debug-access"))
    bench.session.do(EnterPhase("layout"))
    assert due_calls(bench.state, SKIPPED_FOR - 1) == []
    (call,) = due_calls(bench.state, SKIPPED_FOR)
    assert (call.cause, call.rings, call.items) == (SKIPPED, False, ("debug-pins",))
    assert call.message == "Skipped 10 min ago, still open: Debug pins (dead board)."
    bench.at(11)
    bench.session.tick()
    bench.at(40)
    assert bench.session.tick() == []


def test_what_was_made_good_or_kills_nothing_is_not_called(bench: Bench) -> None:
    for phase in ("debug-access", "decoupling", "layout"):
        bench.session.do(EnterPhase(phase))
    bench.session.do(Meet("debug-pins"))
    assert due_calls(bench.state, 30 * MINUTE) == []  # capacitors: degraded


# ---- rings -----------------------------------------------------------------------------------


def test_what_the_clock_will_call_keeps_its_rings(bench: Bench) -> None:
    """Five of the clock and the reserve are still to come: two rings are left for a forecast."""
    bad = made(bench, chance_essentials=0.3)
    (call,) = due_calls(rung(bench.state, 1), 30 * MINUTE, bad)
    assert call.rings
    (call,) = due_calls(rung(bench.state, 2), 30 * MINUTE, bad)
    assert not call.rings


def test_a_whole_bad_sprint_rings_at_most_eight_times(bench: Bench) -> None:
    bench.session.do(EnterPhase("layout"))
    keys = [row.key for row in bench.state.rows if row.essential]
    for minute in range(1, 126):
        worse = tuple(late(bench, key, 0.0) for key in keys[: minute // 8])
        low = 0.3 if minute // 7 % 2 else 0.9
        look(bench, minute, latest=worse, chance_essentials=low)
    loud = [one.event.cause for one in bench.state.of(CallMade) if one.event.rings]
    assert len(loud) <= MOST_RINGING
    assert {"half", "first upload due", "last call", "last five minutes", CUT_OFF} <= set(loud)
    assert {RESERVE_EATEN, FALLEN} <= set(loud)


def test_quiet_calls_do_not_ring(bench: Bench) -> None:
    bench.session.do(SetQuiet(True))
    (call,) = look(bench, 30, chance_essentials=0.2)
    assert not call.rings


def test_after_the_end_nothing_is_called_or_kept(bench: Bench) -> None:
    bench.session.do(End(True))
    assert look(bench, 70, chance_essentials=0.1) == []
    assert kept(bench) == []


# ---- which forecasts count -------------------------------------------------------------------


def test_a_forecast_from_before_a_command_calls_nothing(bench: Bench) -> None:
    bench.at(30)
    bench.session.take_forecast(made(bench, chance_essentials=0.2))
    bench.do(DropFeature("talk"))
    assert bench.session.tick() == []
    assert causes(look(bench, 31, chance_essentials=0.2)) == [FALLEN]


def test_a_forecast_that_is_old_calls_nothing(bench: Bench) -> None:
    bench.at(30)
    bench.session.take_forecast(made(bench, chance_essentials=0.2))
    bench.at(33)
    assert bench.session.tick() == []


def test_a_forecast_for_another_cut_off_calls_nothing(bench: Bench) -> None:
    bench.at(30)
    bench.session.do(MoveCutOff("+20 min"))
    old = made(bench, chance_essentials=0.2)
    bench.session.take_forecast(replace(old, deadline=old.deadline - 1200))
    assert bench.session.tick() == []


# ---- kept in the journal ---------------------------------------------------------------------


def test_forecasts_are_kept_at_their_marks_whatever_they_say(bench: Bench) -> None:
    for minute in range(1, 120):
        look(bench, minute, drawing=0.0)
    assert [one.checkpoint for one in kept(bench)] == list(CHECKPOINTS)
    assert [round(one.t / MINUTE) for one in bench.state.of(ForecastMade)] == [30, 60, 90]
    assert {one.chance_essentials for one in kept(bench)} == {0.9}


def test_a_mark_nobody_looked_at_stays_missed(bench: Bench) -> None:
    look(bench, 70)
    look(bench, 80)
    look(bench, 91)
    assert [one.checkpoint for one in kept(bench)] == [50, 75]


def test_one_that_changes_a_call_is_kept_with_its_cause(bench: Bench) -> None:
    look(bench, 40, chance_essentials=0.5)
    assert [(one.checkpoint, one.because) for one in kept(bench)] == [(25, FALLEN)]
    look(bench, 45, chance_essentials=0.95)
    (first, second) = kept(bench)
    assert (second.checkpoint, second.because) == (0, RECOVERED)
    assert first.chance_essentials == 0.5


def test_a_kept_forecast_has_what_a_score_needs(bench: Bench) -> None:
    bench.at(30)
    real = forecast_of(bench.state, bench.session.t, draws=2000, seed=3)
    bench.session.take_forecast(real)
    bench.session.tick()
    (one,) = kept(bench)
    assert one.low == pytest.approx(real.low, abs=0.1)
    assert one.high == pytest.approx(real.high, abs=0.1)
    assert (one.draws, one.seed, one.costliest) == (2000, 3, "layout")
    assert bench.state.of(ForecastMade)[0].event.expected == one.expected
