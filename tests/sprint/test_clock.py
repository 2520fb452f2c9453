"""Time: what has elapsed survives closing, sleep and a clock that is set."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from freezegun import freeze_time
from hypothesis import given
from hypothesis import strategies as st

from coach.sprint.clock import (
    Clock,
    FastClock,
    ManualClock,
    Step,
    Stopwatch,
    SystemClock,
)
from phases.kit.refusals import Refusal

NOON = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


# --- clocks -----------------------------------------------------------------------------------


def test_the_system_clock_gives_the_time_of_day_with_an_offset() -> None:
    with freeze_time("2031-05-04 12:00:00"):
        wall = SystemClock().wall()
    assert wall == NOON
    assert wall.utcoffset() is not None


def test_the_system_timer_never_goes_back() -> None:
    clock = SystemClock()
    readings = [clock.mono() for _ in range(100)]
    assert readings == sorted(readings)


def test_the_system_timer_counts_sleep_where_the_system_has_such_a_timer() -> None:
    # CLOCK_BOOTTIME "also includes any time that the system is suspended": clock_gettime(2),
    # Linux man-pages.
    assert SystemClock().counts_sleep == hasattr(time, "CLOCK_BOOTTIME")


def test_a_rehearsal_runs_wall_clock_and_timer_faster_from_its_creation_on() -> None:
    real = ManualClock(NOON)
    real.advance(100)
    fast = FastClock(real, 20)
    began, mono = fast.wall(), fast.mono()
    assert began == NOON + timedelta(seconds=100)
    real.advance(60)
    assert fast.wall() - began == timedelta(minutes=20)
    assert fast.mono() - mono == pytest.approx(1200)


def test_a_rehearsal_taken_up_again_begins_where_it_ended() -> None:
    real = ManualClock(NOON)
    fast = FastClock(real, 20, begin=NOON + timedelta(hours=2))
    real.advance(3)
    assert fast.wall() == NOON + timedelta(hours=2, minutes=1)


def test_a_step_of_the_real_clock_keeps_its_size_in_a_rehearsal() -> None:
    real = ManualClock(NOON)
    fast = FastClock(real, 20)
    watch = Stopwatch(fast)
    real.advance(3)
    real.step(600)
    step = watch.check()
    assert step is not None
    assert step.seconds == pytest.approx(600)
    assert watch.elapsed() == pytest.approx(60)


@pytest.mark.parametrize("speed", [0, -1, float("nan"), float("inf")])
def test_a_rehearsal_refuses_a_speed_that_is_none(speed: float) -> None:
    with pytest.raises(Refusal, match="times as fast"):
        FastClock(ManualClock(NOON), speed)


def test_a_manual_clock_keeps_its_zone_across_a_change_of_the_clocks() -> None:
    # Summer time begins at 01:00 UTC on the last Sunday in March: Directive 2000/84/EC, Art. 2.
    clock = ManualClock(datetime(2031, 3, 30, 1, 30, tzinfo=BERLIN))
    clock.advance(3600)
    assert clock.wall().isoformat() == "2031-03-30T03:30:00+02:00"


def test_a_manual_clock_does_not_run_backwards() -> None:
    with pytest.raises(ValueError, match="forwards"):
        ManualClock(NOON).advance(-1)


def test_a_manual_clock_needs_to_know_where_it_stands() -> None:
    with pytest.raises(ValueError, match="aware"):
        ManualClock(NOON.replace(tzinfo=None))


@pytest.mark.usefixtures("machine_in_berlin")
def test_a_rehearsal_shows_the_time_of_day_of_the_day_it_has_come_to() -> None:
    """Its clock runs ahead of the machine's, over a change that the machine has still to see."""
    wall = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=1)))
    real = ManualClock(wall)
    fast = FastClock(real, 3600)
    real.advance(12)
    assert fast.wall().isoformat() == "2031-03-30T09:00:00+02:00"


# --- elapsed ----------------------------------------------------------------------------------


def test_elapsed_begins_at_zero_and_follows_the_timer() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    assert watch.elapsed() == 0
    clock.advance(90)
    assert watch.elapsed() == 90
    assert watch.check() is None
    clock.advance(10)
    assert watch.elapsed() == 100


@pytest.mark.parametrize("seconds", [-3600, 3600])
def test_a_step_of_the_wall_clock_is_said_and_does_not_change_what_has_elapsed(
    seconds: float,
) -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    clock.advance(60)
    clock.step(seconds)
    assert watch.elapsed() == 60
    assert watch.check() == Step(seconds, "step")
    assert watch.check() is None
    clock.advance(60)
    assert watch.elapsed() == 120


@pytest.mark.parametrize("seconds", [-2.0, 2.0])
def test_two_seconds_apart_are_no_step(seconds: float) -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    clock.step(seconds)
    assert watch.check() is None


def test_a_slow_drift_is_no_step_however_long_it_goes_on() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    for _ in range(100):
        clock.advance(1)
        clock.step(0.1)
        assert watch.check() is None
    assert watch.elapsed() == pytest.approx(100)


def test_sleep_counts_where_the_timer_counts_it() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    clock.sleep(1800)
    assert watch.elapsed() == 1800
    assert watch.check() is None


def test_sleep_counts_and_is_said_where_the_timer_stands_still() -> None:
    clock = ManualClock(NOON, counts_sleep=False)
    watch = Stopwatch(clock)
    clock.advance(60)
    clock.sleep(1800)
    assert watch.elapsed() == 1860
    assert watch.check() == Step(1800, "sleep")
    clock.advance(60)
    assert watch.elapsed() == 1920
    assert watch.check() is None


def test_a_clock_set_back_is_no_sleep_even_where_the_timer_stands_still_in_sleep() -> None:
    clock = ManualClock(NOON, counts_sleep=False)
    watch = Stopwatch(clock)
    clock.advance(60)
    clock.step(-1800)
    assert watch.check() == Step(-1800, "step")
    assert watch.elapsed() == 60


def test_a_pause_of_the_program_between_two_readings_is_no_step() -> None:
    class Interrupted(ManualClock):
        """Now and then stopped for a minute between reading the timer and the wall clock."""

        pauses = iter((0, 60, 0, 60, 60))

        def wall(self) -> datetime:
            self.advance(next(self.pauses))
            return super().wall()

    clock = Interrupted(NOON)
    watch = Stopwatch(clock)
    assert [watch.check() for _ in range(3)] == [None] * 3
    assert watch.elapsed() == pytest.approx(clock.mono(), abs=30)


def test_time_while_the_program_was_closed_counts() -> None:
    clock = ManualClock(NOON + timedelta(minutes=10))
    watch = Stopwatch.resume(clock, elapsed=300, wall=NOON)
    assert watch.elapsed() == 900
    assert watch.check() is None
    clock.advance(1)
    assert watch.elapsed() == 901


def test_a_clock_set_back_while_closed_counts_nothing_and_is_said_once() -> None:
    clock = ManualClock(NOON - timedelta(minutes=10))
    watch = Stopwatch.resume(clock, elapsed=300, wall=NOON)
    assert watch.elapsed() == 300
    assert watch.check() == Step(-600, "step")
    assert watch.check() is None
    clock.advance(5)
    assert watch.elapsed() == 305


def test_time_while_closed_over_a_change_of_the_clocks_is_real_time() -> None:
    # Summer time ends at 01:00 UTC on the last Sunday in October: Directive 2000/84/EC, Art. 3.
    before = datetime(2031, 10, 26, 1, 30, tzinfo=BERLIN)
    after = datetime(2031, 10, 26, 3, 30, tzinfo=BERLIN)
    watch = Stopwatch.resume(ManualClock(after), elapsed=0, wall=before)
    assert watch.elapsed() == 3 * 3600


def test_a_journalled_time_without_an_offset_is_refused() -> None:
    with pytest.raises(Refusal, match="no offset"):
        Stopwatch.resume(ManualClock(NOON), elapsed=0, wall=datetime(2031, 5, 4, 12, 0))


moves = st.lists(
    st.tuples(
        st.sampled_from(["advance", "sleep", "step", "check"]),
        st.floats(-1e5, 1e5, allow_nan=False),
    ),
    max_size=30,
)


@given(moves=moves, counts_sleep=st.booleans())
def test_elapsed_never_goes_backwards_and_never_lags_the_timer(
    moves: list[tuple[str, float]], counts_sleep: bool
) -> None:
    clock = ManualClock(NOON, counts_sleep=counts_sleep)
    watch = Stopwatch(clock)
    last = 0.0
    for move, seconds in moves:
        if move == "check":
            watch.check()
        elif move == "step":
            clock.step(seconds)
        else:
            getattr(clock, move)(abs(seconds))
        elapsed = watch.elapsed()
        assert elapsed >= last
        assert elapsed >= clock.mono() - 1e-6
        last = elapsed


@given(moves=moves)
def test_where_the_timer_counts_sleep_the_wall_clock_has_no_say(
    moves: list[tuple[str, float]],
) -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch(clock)
    for move, seconds in moves:
        if move == "check":
            watch.check()
        elif move == "step":
            clock.step(seconds)
        else:
            getattr(clock, move)(abs(seconds))
    assert watch.elapsed() == pytest.approx(clock.mono())


def test_every_clock_is_a_clock() -> None:
    clocks: list[Clock] = [SystemClock(), FastClock(SystemClock(), 2), ManualClock(NOON)]
    assert all(clock.wall().tzinfo is not None for clock in clocks)
