"""A glance at a journal says what opening it would, without reading all of it as TOML."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.sprint.brief.document import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, EnterPhase, MoveCutOff, Park, SaveCalculation, Undo
from coach.sprint.past.glance import glance
from coach.sprint.session import Session
from coach.sprint.starting import start_sprint
from phases.kit.refusals import Refusal

START = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


def begun(folder: Path, *, speed: float = 1.0) -> tuple[Session, ManualClock]:
    clock = ManualClock(START)
    session = start_sprint(load_brief("usb-bench-meter"), folder / "s.toml", clock, speed=speed)
    return session, clock


def test_it_says_the_title_the_start_and_the_last_moment(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    clock.advance(754.25)
    session.do(EnterPhase("power-entry"))
    seen = glance(session.journal.path)
    assert (seen.title, seen.started, seen.deadline) == ("USB bench meter", START, 7200.0)
    assert (seen.last_t, seen.last_at) == (754.25, START + timedelta(seconds=754.25))
    assert not seen.ended and not seen.rehearsed
    session.close()


def test_time_goes_on_while_the_coach_is_closed(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.close()
    clock.advance(3600)
    assert glance(session.journal.path).left(clock.wall()) == 3600


def test_the_clock_of_a_rehearsal_stands_still_meanwhile(tmp_path: Path) -> None:
    session, clock = begun(tmp_path, speed=20)
    clock.advance(60)
    session.do(EnterPhase("power-entry"))
    session.close()
    clock.advance(3600)
    seen = glance(session.journal.path)
    assert seen.rehearsed
    assert seen.left(clock.wall()) == pytest.approx(7200 - 20 * 60)


def test_a_cut_off_that_was_moved_is_the_one_that_counts(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.close()
    assert glance(session.journal.path).left(clock.wall()) == 140 * 60


def test_a_move_that_was_taken_back_counts_no_more(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.do(Undo())
    session.close()
    seen = glance(session.journal.path)
    assert seen.deadline == session.state.deadline == 7200.0
    assert seen.left(clock.wall()) == 7200.0


def test_of_two_moves_the_last_one_taken_back_leaves_the_first(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.do(MoveCutOff("+10 min"))
    session.do(Undo())
    session.close()
    assert glance(session.journal.path).deadline == session.state.deadline == 140 * 60


def test_a_move_stands_where_something_else_was_taken_back(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(Park("a thought"))
    session.do(Undo())
    session.do(MoveCutOff("+20 min"))
    session.close()
    assert glance(session.journal.path).deadline == 140 * 60


def test_an_ended_sprint_has_ended_however_often_it_is_opened_again(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(End(accepted=False))
    session.close()
    Session.resume(session.journal.path, clock).close()
    assert glance(session.journal.path).ended


def test_nothing_a_person_types_can_pass_for_the_end_or_for_a_cut_off(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(Park('x\nwhat = "ended"\ndeadline = 1.0\n[[event]]\nn = 9\nat = 1\nt = 99999\n'))
    session.close()
    seen = glance(session.journal.path)
    assert not seen.ended
    assert (seen.deadline, seen.last_t) == (7200.0, 0.0)


def test_what_a_calculation_records_does_not_pass_for_it_either(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(SaveCalculation("strap"))
    session.close()
    assert (seen := glance(session.journal.path)).deadline == 7200.0 and not seen.ended


def test_a_torn_end_is_not_believed(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.close()
    path = session.journal.path
    path.write_bytes(path.read_bytes() + b"[[event]]\nn = 2\nat = 2031-05-05T09:50:00Z\nt = 3000.0")
    assert glance(path).last_t == 0.0


@pytest.mark.parametrize("content", [b"", b"title = 'a brief'\n", b"\xff\xfe\x00", b"[journal]\n"])
def test_what_is_no_journal_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(content)
    with pytest.raises(Refusal):
        glance(path)


def test_a_header_that_was_edited_into_something_else_is_refused(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.close()
    path = session.journal.path
    path.write_bytes(path.read_bytes().replace(b"speed = 1.0", b'speed = "fast"'))
    with pytest.raises(Refusal, match="header"):
        glance(path)


def test_a_folder_or_a_missing_file_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "nowhere.toml"):
        with pytest.raises(Refusal, match="not a file"):
            glance(path)
