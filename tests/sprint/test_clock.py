"""Time: what has elapsed survives closing, sleep and a clock that is set; cut-offs are instants."""

from __future__ import annotations

import time
from collections.abc import Iterator
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
    cut_off,
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
    watch = Stopwatch.start(fast)
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


# --- elapsed ----------------------------------------------------------------------------------


def test_elapsed_begins_at_zero_and_follows_the_timer() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch.start(clock)
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
    watch = Stopwatch.start(clock)
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
    watch = Stopwatch.start(clock)
    clock.step(seconds)
    assert watch.check() is None


def test_a_slow_drift_is_no_step_however_long_it_goes_on() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch.start(clock)
    for _ in range(100):
        clock.advance(1)
        clock.step(0.1)
        assert watch.check() is None
    assert watch.elapsed() == pytest.approx(100)


def test_sleep_counts_where_the_timer_counts_it() -> None:
    clock = ManualClock(NOON)
    watch = Stopwatch.start(clock)
    clock.sleep(1800)
    assert watch.elapsed() == 1800
    assert watch.check() is None


def test_sleep_counts_and_is_said_where_the_timer_stands_still() -> None:
    clock = ManualClock(NOON, counts_sleep=False)
    watch = Stopwatch.start(clock)
    clock.advance(60)
    clock.sleep(1800)
    assert watch.elapsed() == 1860
    assert watch.check() == Step(1800, "sleep")
    clock.advance(60)
    assert watch.elapsed() == 1920
    assert watch.check() is None


def test_a_clock_set_back_is_no_sleep_even_where_the_timer_stands_still_in_sleep() -> None:
    clock = ManualClock(NOON, counts_sleep=False)
    watch = Stopwatch.start(clock)
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
    watch = Stopwatch.start(clock)
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
    watch = Stopwatch.start(clock)
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
    watch = Stopwatch.start(clock)
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


# --- cut-offs ---------------------------------------------------------------------------------

AFTERNOON = datetime(2031, 5, 4, 14, 0, tzinfo=BERLIN)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("15:36", "2031-05-04T15:36:00+02:00"),
        (" 15:36 ", "2031-05-04T15:36:00+02:00"),
        ("9:05", "2031-05-05T09:05:00+02:00"),
        ("14:00", "2031-05-05T14:00:00+02:00"),
        ("00:30", "2031-05-05T00:30:00+02:00"),
        ("2031-05-04 15:36", "2031-05-04T15:36:00+02:00"),
        ("2031-05-04T15:36:20", "2031-05-04T15:36:20+02:00"),
        ("2031-05-06, 9:00", "2031-05-06T09:00:00+02:00"),
        ("2031-05-04T15:36Z", "2031-05-04T17:36:00+02:00"),
        ("2031-05-04T15:36:00-05:00", "2031-05-04T22:36:00+02:00"),
        ("90 min", "2031-05-04T15:30:00+02:00"),
        ("90min", "2031-05-04T15:30:00+02:00"),
        ("90 minutes", "2031-05-04T15:30:00+02:00"),
        ("120", "2031-05-04T16:00:00+02:00"),
        ("2 h", "2031-05-04T16:00:00+02:00"),
        ("1.5 h", "2031-05-04T15:30:00+02:00"),
        ("1 hour", "2031-05-04T15:00:00+02:00"),
        ("1 h 30", "2031-05-04T15:30:00+02:00"),
        ("1h30", "2031-05-04T15:30:00+02:00"),
        ("1 h 30 min", "2031-05-04T15:30:00+02:00"),
    ],
)
def test_a_cut_off_is_read_as_a_person_means_it(text: str, expected: str) -> None:
    assert cut_off(text, AFTERNOON, None).isoformat() == expected


def test_a_cut_off_past_midnight_is_tomorrows() -> None:
    evening = datetime(2031, 5, 4, 22, 0, tzinfo=BERLIN)
    assert cut_off("01:30", evening, None) - evening == timedelta(hours=3, minutes=30)


def test_a_zone_by_name_says_whose_time_it_is() -> None:
    found = cut_off("18:00", AFTERNOON, "America/New_York")
    assert found.isoformat() == "2031-05-04T18:00:00-04:00"


def test_a_published_time_with_offset_is_the_published_instant() -> None:
    # RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z.
    now = datetime(1996, 12, 19, 12, 0, tzinfo=UTC)
    assert cut_off("1996-12-19T16:39:57-08:00", now, "UTC").isoformat() == (
        "1996-12-20T00:39:57+00:00"
    )


# Summer time from 01:00 UTC on the last Sunday in March to 01:00 UTC on the last Sunday in
# October: Directive 2000/84/EC, Art. 2 and 3. In 2031 these are 30 March and 26 October.


def test_a_duration_over_a_change_of_the_clocks_is_real_time() -> None:
    before = datetime(2031, 3, 30, 1, 30, tzinfo=BERLIN)
    assert cut_off("2 h", before, None).isoformat() == "2031-03-30T04:30:00+02:00"


def test_tomorrow_keeps_its_time_of_day_when_the_clocks_change_at_night() -> None:
    evening = datetime(2031, 3, 29, 20, 0, tzinfo=BERLIN)
    found = cut_off("08:00", evening, None)
    assert found.isoformat() == "2031-03-30T08:00:00+02:00"
    assert found.astimezone(UTC) - evening.astimezone(UTC) == timedelta(hours=11)


def test_a_time_the_clocks_skip_is_taken_as_much_later_as_they_were_set_forward() -> None:
    before = datetime(2031, 3, 30, 1, 0, tzinfo=BERLIN)
    assert cut_off("02:30", before, None).isoformat() == "2031-03-30T03:30:00+02:00"


def test_of_a_time_shown_twice_the_first_still_to_come_is_meant() -> None:
    before = datetime(2031, 10, 26, 1, 0, tzinfo=BERLIN)
    between = datetime(2031, 10, 26, 2, 45, tzinfo=BERLIN)
    assert cut_off("02:30", before, None).isoformat() == "2031-10-26T02:30:00+02:00"
    assert cut_off("02:30", between, None).isoformat() == "2031-10-26T02:30:00+01:00"
    assert cut_off("2031-10-26 02:30", between, None).isoformat() == "2031-10-26T02:30:00+01:00"


@pytest.fixture
def machine_in_berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "Europe/Berlin")
        time.tzset()
        yield
    time.tzset()


@pytest.mark.usefixtures("machine_in_berlin")
def test_without_a_zone_the_rules_of_the_machine_hold_beyond_the_offset_of_the_moment() -> None:
    # What SystemClock gives: the offset of this moment, +01:00, one hour before summer time.
    evening = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=1)))
    assert cut_off("08:00", evening, None).isoformat() == "2031-03-30T08:00:00+02:00"


@pytest.mark.usefixtures("machine_in_berlin")
def test_an_offset_that_is_not_the_machines_is_kept() -> None:
    elsewhere = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=-5)))
    assert cut_off("21:00", elsewhere, None).isoformat() == "2031-03-29T21:00:00-05:00"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "noon",
        "25:00",
        "15:60",
        "15.36",
        "1536",
        "2031-02-30 12:00",
        "2031-13-01 12:00",
        "2031-05-04",
        "2031-05-04T15:36+24:00",
        "04.05.2031 15:36",
        "-5 min",
        "1 h 75",
        "1,5 h",
        "nan",
        "99999 h",
        "٣:٠٠",
        "15:36 15:36",
        "9" * 500,
        "15:36; rm",
    ],
)
def test_anything_else_is_refused_in_one_sentence_that_shows_how(text: str) -> None:
    with pytest.raises(Refusal) as refused:
        cut_off(text, AFTERNOON, None)
    assert "cannot be read as a cut-off" in str(refused.value)
    assert '"15:36"' in str(refused.value)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize("text", ["2031-05-04 13:59", "2031-05-04T12:00Z", "0 min", "0", "0 h"])
def test_a_cut_off_that_has_passed_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="not in the future"):
        cut_off(text, AFTERNOON, None)


def test_a_cut_off_never_repeats_an_escape_sequence() -> None:
    with pytest.raises(Refusal) as refused:
        cut_off("\x1b]0;title\x07never", AFTERNOON, None)
    assert "\x1b" not in str(refused.value)
    assert '"never"' in str(refused.value)


@pytest.mark.parametrize("zone", ["", "Europe/Berln", "../../etc/passwd", "Europe", "/etc/hosts"])
def test_a_zone_that_does_not_exist_is_refused(zone: str) -> None:
    with pytest.raises(Refusal, match="There is no time zone"):
        cut_off("15:36", AFTERNOON, zone)


def test_a_misspelt_zone_is_answered_with_the_nearest() -> None:
    with pytest.raises(Refusal, match="Nearest: Europe/Berlin"):
        cut_off("15:36", AFTERNOON, "Europe/Berln")


@given(
    start=st.datetimes(datetime(2030, 1, 1), datetime(2037, 1, 1)),
    hour=st.integers(0, 23),
    minute=st.integers(0, 59),
    zone=st.sampled_from(["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "UTC"]),
)
def test_a_time_of_day_is_the_next_instant_the_clock_shows_it(
    start: datetime, hour: int, minute: int, zone: str
) -> None:
    now = start.replace(tzinfo=UTC)
    found = cut_off(f"{hour}:{minute:02d}", now, zone)
    ahead = found.astimezone(UTC) - now
    assert timedelta(0) < ahead <= timedelta(hours=26)
    shown = (found.hour, found.minute) == (hour, minute)
    if not shown:  # skipped in spring: the clocks have just been set forward
        before = (found.astimezone(UTC) - timedelta(hours=2)).astimezone(found.tzinfo)
        assert found.utcoffset() != before.utcoffset()
