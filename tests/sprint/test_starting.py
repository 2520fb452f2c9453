"""Starting a sprint: its deadline from the brief, its clock, and a cut-off that leaves no time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from coach.sprint.brief.document import Brief, Deadline, load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.session import Session
from coach.sprint.starting import setup_of, start_sprint
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
    with pytest.raises(Refusal, match="are left to the cut-off, and 20 of them are the reserve"):
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
