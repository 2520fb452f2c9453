"""A list says of a journal what reading all of it would, from its header and its last events."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.history import listing
from coach.history.ended import newest_worked_on
from coach.history.listing import going_on, listed, newest
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import (
    End,
    EnterPhase,
    MeasurePoint,
    MoveCutOff,
    NoteFinding,
    Park,
    SaveCalculation,
    Undo,
)
from coach.sprint.session import Session, start_sprint
from phases.kit.refusals import Refusal
from tests.history.copies import blocks_of, forged, sealed

START = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


def begun(folder: Path, *, speed: float = 1.0) -> tuple[Session, ManualClock]:
    clock = ManualClock(START)
    session = start_sprint(load_brief("usb-bench-meter"), folder / "s.toml", clock, speed=speed)
    return session, clock


def test_it_says_the_title_the_start_and_the_last_moment(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    clock.advance(754.25)
    session.do(EnterPhase("power-entry"))
    seen = listed(session.journal.path)
    assert (seen.run.title, seen.run.started, seen.deadline) == ("USB bench meter", START, 7200.0)
    assert (seen.t, seen.at) == (754.25, START + timedelta(seconds=754.25))
    assert not seen.ended and not seen.run.rehearsed
    session.close()


def test_time_goes_on_while_the_coach_is_closed(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.close()
    clock.advance(3600)
    assert listed(session.journal.path).left(clock.wall()) == 3600


def test_the_clock_of_a_rehearsal_stands_still_meanwhile(tmp_path: Path) -> None:
    session, clock = begun(tmp_path, speed=20)
    clock.advance(60)
    session.do(EnterPhase("power-entry"))
    session.close()
    clock.advance(3600)
    seen = listed(session.journal.path)
    assert seen.run.rehearsed
    assert seen.left(clock.wall()) == pytest.approx(7200 - 20 * 60)


def test_a_cut_off_that_was_moved_is_the_one_that_counts(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.close()
    assert listed(session.journal.path).left(clock.wall()) == 140 * 60


def test_a_move_that_was_taken_back_counts_no_more(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.do(Undo())
    session.close()
    seen = listed(session.journal.path)
    assert seen.deadline == session.state.deadline == 7200.0
    assert seen.left(clock.wall()) == 7200.0


def test_of_two_moves_the_last_one_taken_back_leaves_the_first(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(MoveCutOff("+20 min"))
    session.do(MoveCutOff("+10 min"))
    session.do(Undo())
    session.close()
    assert listed(session.journal.path).deadline == session.state.deadline == 140 * 60


def test_a_move_stands_where_something_else_was_taken_back(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(Park("a thought"))
    session.do(Undo())
    session.do(MoveCutOff("+20 min"))
    session.close()
    assert listed(session.journal.path).deadline == 140 * 60


def test_an_ended_sprint_has_ended_however_often_it_is_opened_again(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.do(End(accepted=False))
    session.close()
    Session.resume(session.journal.path, clock).close()
    assert listed(session.journal.path).ended


def test_nothing_a_person_types_can_pass_for_the_end_or_for_a_cut_off(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(Park('x\nwhat = "ended"\ndeadline = 1.0\n[[event]]\nn = 9\nat = 1\nt = 99999\n'))
    session.close()
    seen = listed(session.journal.path)
    assert not seen.ended
    assert (seen.deadline, seen.t) == (7200.0, 0.0)


def test_what_a_calculation_records_does_not_pass_for_it_either(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(SaveCalculation("strap"))
    session.close()
    assert (seen := listed(session.journal.path)).deadline == 7200.0 and not seen.ended


def test_a_torn_end_is_not_believed(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.close()
    path = session.journal.path
    path.write_bytes(path.read_bytes() + b"[[event]]\nn = 2\nat = 2031-05-05T09:50:00Z\nt = 3000.0")
    assert listed(path).t == 0.0


@pytest.mark.parametrize("content", [b"", b"title = 'a brief'\n", b"\xff\xfe\x00", b"[journal]\n"])
def test_what_is_no_journal_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(content)
    with pytest.raises(Refusal):
        listed(path)


def test_a_header_that_was_edited_into_something_else_is_refused(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.close()
    path = session.journal.path
    path.write_bytes(path.read_bytes().replace(b"speed = 1.0", b'speed = "fast"'))
    with pytest.raises(Refusal, match="header"):
        listed(path)


def test_a_folder_or_a_missing_file_is_refused(tmp_path: Path) -> None:
    for path, says in ((tmp_path, "a folder"), (tmp_path / "nowhere.toml", "no journal here")):
        with pytest.raises(Refusal, match=says):
            listed(path)


def test_of_an_intact_journal_no_event_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listing, "sprint_of", None)
    session, _ = begun(tmp_path)
    session.do(EnterPhase("power-entry"))
    assert not listed(session.journal.path).ended
    session.do(End(accepted=True))
    session.do(NoteFinding("The lead is too thin"))
    session.do(MeasurePoint("1", "rail.3v3", "3v3", "3.31 V", "V"))
    session.close()
    assert listed(session.journal.path).ended


def test_an_end_that_was_not_summed_up_is_found_all_the_same(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(End(accepted=True))
    session.close()
    path = session.journal.path
    blocks = blocks_of(path.read_bytes())
    path.write_bytes(sealed(blocks[:-1]))  # killed between the end and its summary
    assert listed(path).ended


def test_what_another_program_sealed_is_read_in_full(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(EnterPhase("power-entry"))
    session.close()
    path = session.journal.path
    data = path.read_bytes()
    for old, new in ((b"\nt = 0.0", b"\nt = 1e300"), (b'"phase-entered"', b'"phase-sung"')):
        path.write_bytes(forged(data, lambda text, old=old, new=new: text.replace(old, new)))
        assert listed(path).run.title == "USB bench meter"


def test_the_last_sprint_of_a_title_that_goes_on_is_found(tmp_path: Path) -> None:
    session, clock = begun(tmp_path)
    session.close()
    title = "USB bench meter"
    found = going_on(tmp_path, title, clock.wall())
    assert found is not None and found.path == session.journal.path
    assert going_on(tmp_path, "Another", clock.wall()) is None
    clock.advance(7201)
    assert going_on(tmp_path, title, clock.wall()) is None


def test_a_finding_goes_to_the_newest_sprint_that_was_worked_on(tmp_path: Path) -> None:
    paths = []
    for name, accepted in (("a", True), ("b", False), ("c", False)):
        clock = ManualClock(START)
        path = tmp_path / f"{name}.toml"
        with start_sprint(load_brief("usb-bench-meter"), path, clock) as session:
            session.do(End(accepted))
        os.utime(path, (len(paths), len(paths)))
        paths.append(path)
    assert newest_worked_on(tmp_path) == (paths[0], 2)
    paths[0].unlink()
    assert newest_worked_on(tmp_path) == (paths[2], 0)


def test_the_newest_that_goes_on_is_found(tmp_path: Path) -> None:
    for at, (name, ended) in enumerate((("old", False), ("goes-on", False), ("ended", True))):
        path = tmp_path / f"{name}.toml"
        with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
            if ended:
                session.do(End(accepted=True))
        os.utime(path, (at, at))
    (tmp_path / "notes.toml").write_text("a = 1\n", encoding="utf-8")
    assert newest(tmp_path, ended=False) == tmp_path / "goes-on.toml"


def test_where_nothing_goes_on_it_says_so(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.do(End(accepted=True))
    session.close()
    for folder in (tmp_path, tmp_path / "never made"):
        with pytest.raises(Refusal, match="no sprint to go on with"):
            newest(folder, ended=False)
