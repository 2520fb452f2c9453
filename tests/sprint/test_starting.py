"""Starting a sprint: its deadline from the brief, its clock, and a cut-off that leaves no time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coach.sprint.brief.document import Brief, Deadline
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import MoveCutOff
from coach.sprint.session import Session, start_sprint
from coach.sprint.setup import setup_of
from phases.kit.refusals import Refusal

NOW = datetime(2031, 5, 5, 12, 0, tzinfo=UTC)


def brief(**deadline: Any) -> Brief:
    return load_brief("usb-bench-meter").model_copy(update={"deadline": Deadline(**deadline)})


def test_minutes_count_from_the_start() -> None:
    setup = setup_of(brief(minutes=95), NOW)
    assert (setup.deadline, setup.at_an_instant) == (95 * 60.0, False)
    assert not setup.rehearsed


def test_a_cut_off_is_an_instant_in_its_own_zone() -> None:
    # Vienna keeps summer time in May, UTC+2: Directive 2000/84/EC, article 2.
    setup = setup_of(brief(cut_off="15:36", zone="Europe/Vienna"), NOW)
    assert (setup.deadline, setup.at_an_instant) == (96 * 60.0, True)


def test_a_cut_off_without_a_zone_is_read_by_the_clock_it_starts_at() -> None:
    here = NOW.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert setup_of(brief(cut_off="18:30"), here).deadline == 60 * 60.0


def test_a_cut_off_past_midnight_is_tomorrows() -> None:
    assert setup_of(brief(cut_off="00:30"), NOW).deadline == (12 * 60 + 30) * 60.0


@pytest.mark.parametrize("cut_off", ["12:20", "12:01", "2031-05-05 12:15"])
def test_a_cut_off_within_the_reserve_leaves_no_time(cut_off: str) -> None:
    with pytest.raises(Refusal, match="left to the cut-off, and the reserve is 20 min"):
        setup_of(brief(cut_off=cut_off, reserve=20), NOW)


def test_a_cut_off_that_has_passed_is_refused() -> None:
    with pytest.raises(Refusal, match="not in the future"):
        setup_of(brief(cut_off="2031-05-05 11:59"), NOW)


def test_a_faster_clock_marks_the_journal_as_rehearsed_and_runs_faster(tmp_path: Path) -> None:
    clock = ManualClock(NOW)
    path = tmp_path / "fast.toml"
    with start_sprint(brief(minutes=120), path, clock, speed=20.0) as session:
        clock.advance(60)
        assert session.t == pytest.approx(1200.0)
        assert session.setup.rehearsed
    with Session.resume(path, clock) as session:
        assert (session.setup.speed, session.setup.rehearsed) == (20.0, True)


def test_a_speed_no_clock_runs_at_leaves_no_journal(tmp_path: Path) -> None:
    path = tmp_path / "fast.toml"
    for speed in (0.0, -3.0, 1e9):
        with pytest.raises(Refusal, match="times as fast"):
            start_sprint(brief(minutes=120), path, ManualClock(NOW), speed=speed)
    assert not path.exists()


def test_a_cut_off_without_time_leaves_no_journal(tmp_path: Path) -> None:
    path = tmp_path / "late.toml"
    with pytest.raises(Refusal):
        start_sprint(brief(cut_off="12:10"), path, ManualClock(NOW))
    assert not path.exists()


# ---- the night the clocks change -------------------------------------------------------------

# 2026: summer time from 29 March to 25 October, 01:00 UTC. Directive 2000/84/EC, Art. 2 and 3.
SPRING = datetime(2026, 3, 28, 20, 0, tzinfo=ZoneInfo("Europe/Berlin"))
AUTUMN = datetime(2026, 10, 24, 20, 0, tzinfo=ZoneInfo("Europe/Berlin"))
NIGHTS = pytest.mark.parametrize(("evening", "hours"), [(SPRING, 14), (AUTUMN, 16)])


@pytest.mark.parametrize("machine", ["Europe/Berlin", "UTC", "America/New_York"])
@NIGHTS
def test_a_cut_off_of_tomorrow_is_said_as_it_is_written_whatever_the_clocks_do(
    tmp_path: Path, evening: datetime, hours: float, machine: str
) -> None:
    clock = ManualClock(evening.astimezone(ZoneInfo(machine)))
    with start_sprint(
        brief(cut_off="11:00", zone="Europe/Berlin"), tmp_path / "night.toml", clock
    ) as session:
        assert session.state.deadline == hours * 3600
        assert f"{session.now:%H:%M}" == "20:00"
        assert f"{session.wall_of(session.state.deadline):%H:%M}" == "11:00"
        clock.advance(3600)
        assert session.do(MoveCutOff("+20 min")) == "Cut-off now 11:20, +20 min"
        assert session.do(MoveCutOff("11:00")) == "Cut-off now 11:00, −20 min"
        assert session.state.deadline == hours * 3600


@pytest.mark.usefixtures("machine_in_berlin")
@NIGHTS
def test_without_a_zone_the_clocks_of_the_machine_say_what_the_time_will_be(
    tmp_path: Path, evening: datetime, hours: float
) -> None:
    # What a machine tells is the offset of the moment alone.
    clock = ManualClock(evening.astimezone(timezone(evening.utcoffset() or timedelta())))
    with start_sprint(brief(cut_off="11:00"), tmp_path / "night.toml", clock) as session:
        assert session.state.deadline == hours * 3600
        assert f"{session.wall_of(session.state.deadline):%H:%M}" == "11:00"
        session.do(MoveCutOff("90 min"))
        assert session.do(MoveCutOff("11:00")).startswith("Cut-off now 11:00, +")
        assert session.state.deadline == hours * 3600


@pytest.mark.parametrize(
    ("evening", "hours", "shown"),
    [
        (SPRING, 6.5, "03:30"),  # the clocks skip it: as much later as they were set forward
        (AUTUMN, 6.5, "02:30"),  # they show it twice: the first
    ],
)
def test_a_time_of_day_that_is_skipped_or_shown_twice_has_one_instant(
    tmp_path: Path, evening: datetime, hours: float, shown: str
) -> None:
    clock = ManualClock(evening)
    with start_sprint(brief(cut_off="02:30"), tmp_path / "night.toml", clock) as session:
        assert session.state.deadline == hours * 3600
        assert f"{session.wall_of(session.state.deadline):%H:%M}" == shown
