"""From the start screen a sprint is one key away, new, from a brief or taken up again."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from coach.history.listing import Listed
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, EnterPhase
from coach.sprint.journal.file import Journal
from coach.sprint.journal.sessions_folder import journals
from coach.terminal.screens import start
from coach.terminal.screens.new import NewScreen
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.screens.start import Offers, StartScreen, left_words
from tests.terminal.driving import START, begun, clock_of, driven

OWN = """\
title = "Greenhouse fan"
deadline = { minutes = 60, reserve = 10 }
board = { parts = 12, layers = 2, mcu_rail = "3v3" }
rail = [{ id = "3v3", voltage = "3.3 V ± 3 %" }]
"""


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> ManualClock:
    """The start screen reads this clock instead of the machine's."""
    clock = ManualClock(START)
    monkeypatch.setattr(start, "SystemClock", lambda: clock)
    return clock


def left_running(folder: Path, name: str, minutes: float, brief: str = "usb-bench-meter") -> Path:
    """A journal of a sprint that began at START and was closed after so many minutes."""
    session = begun(folder, brief, name)
    clock_of(session).advance(minutes * 60)
    session.do(EnterPhase("power-entry"))
    session.close()
    return session.journal.path


async def test_the_bundled_briefs_and_a_new_board_are_offered_with_their_keys(
    tmp_path: Path,
) -> None:
    async with driven(folder=tmp_path) as drive:
        assert drive.line_with("n  New board")
        assert "2 h    42 parts" in drive.line_with("c  USB bench meter")
        assert "2 h 30 min" in drive.line_with("b  Pump driver")
        assert "Take up again" not in drive.text


async def test_the_key_of_a_brief_begins_its_sprint_in_the_folder(tmp_path: Path) -> None:
    async with driven(folder=tmp_path) as drive:
        await drive.press("c")
        assert isinstance(drive.screen, SprintScreen)
        assert drive.session.setup.brief.title == "USB bench meter"
        assert drive.session.state.deadline == 120 * 60
        assert journals(tmp_path) == [drive.session.journal.path]
        assert drive.session.journal.path.name == "usb-bench-meter-2031-05-05-0900.toml"


async def test_enter_begins_with_what_is_under_the_cursor(tmp_path: Path) -> None:
    async with driven(folder=tmp_path) as drive:
        await drive.press("down", "down", "enter")
        assert drive.session.setup.brief.title.startswith("Pump driver")


async def test_sprints_that_have_not_ended_come_first_with_the_time_they_still_have(
    tmp_path: Path, clock: ManualClock
) -> None:
    left_running(tmp_path, "one.toml", 10)
    ended = begun(tmp_path, name="two.toml")
    ended.do(End(accepted=True))
    ended.close()
    clock.advance(40 * 60)
    async with driven(folder=tmp_path) as drive:
        taken_up = drive.line_with("1  USB bench meter")
        assert "2031-05-05 09:00" in taken_up
        assert taken_up.endswith("1 h 20 min left")
        assert not drive.line_with("2  USB bench meter")


async def test_a_digit_takes_a_sprint_up_again_where_it_stood(
    tmp_path: Path, clock: ManualClock
) -> None:
    path = left_running(tmp_path, "one.toml", 10)
    clock.advance(30 * 60)
    async with driven(folder=tmp_path) as drive:
        await drive.press("1")
        assert isinstance(drive.screen, SprintScreen)
        assert drive.session.journal.path == path
        assert drive.state.phase == "power-entry"
        assert drive.session.t == pytest.approx(30 * 60)


async def test_the_cursor_waits_on_a_sprint_that_still_has_time(tmp_path: Path) -> None:
    left_running(tmp_path, "one.toml", 10)
    async with driven(folder=tmp_path) as drive:
        await drive.press("enter")
        assert drive.state.phase == "power-entry"


async def test_a_sprint_open_in_another_coach_is_refused_in_a_line(tmp_path: Path) -> None:
    other = begun(tmp_path, name="one.toml")
    async with driven(folder=tmp_path) as drive:
        await drive.press("1")
        assert isinstance(drive.screen, StartScreen)
        said = "".join(line.strip() for line in drive.lines)  # the path is broken over lines
        assert "one.toml" in said and "another" in drive.text.lower()
    other.close()


async def test_own_briefs_are_offered_and_their_faults_said_when_chosen(tmp_path: Path) -> None:
    (tmp_path / "briefs").mkdir()
    (tmp_path / "briefs" / "fan.toml").write_text(OWN, encoding="utf-8")
    (tmp_path / "beside.toml").write_text(OWN.replace("fan", "lamp").replace("3v3", "5v", 1))
    (tmp_path / "other.toml").write_text("[tool]\nname = 'something else'\n")
    async with driven(folder=tmp_path) as drive:
        assert "own" in drive.line_with("d  Greenhouse fan")
        assert drive.line_with("e  Greenhouse lamp")
        assert "something else" not in drive.text and "other" not in drive.text
        await drive.press("e")
        assert isinstance(drive.screen, StartScreen)
        assert "5v" in drive.text, "the fault names the rail that is not there"
        await drive.press("d")
        assert drive.session.setup.brief.title == "Greenhouse fan"


async def test_briefs_of_one_title_are_told_apart_by_when_they_were_written(
    tmp_path: Path,
) -> None:
    (tmp_path / "briefs").mkdir()
    names = ("fan.toml", "fan-2.toml", "fan-3.toml", "fan-4.toml")
    times = (START - timedelta(days=1), START, START, START - timedelta(hours=1))
    for name, at in zip(names, times, strict=True):
        path = tmp_path / "briefs" / name
        path.write_text(OWN, encoding="utf-8")
        os.utime(path, (at.timestamp(), at.timestamp()))
    async with driven(folder=tmp_path) as drive:
        listed = [line.strip() for line in drive.lines if "Greenhouse fan" in line]
        starts = [line.partition("Greenhouse")[0].split(" ", 1)[1].strip() for line in listed]
        assert starts == ["09:00", "09:00, 2", "08:00", "2031-05-04 09:00"]


async def test_a_folder_that_cannot_be_written_is_said_and_nothing_begins(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file where the folder should be")
    async with driven(folder=tmp_path / "taken") as drive:
        await drive.press("c")
        assert isinstance(drive.screen, StartScreen)
        assert "folder" in drive.text


async def test_keys_work_while_journals_are_still_being_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left_running(tmp_path, "one.toml", 10)
    go_on, look = threading.Event(), start.list_folder

    def slow(folder: Path) -> Iterator[Listed]:
        go_on.wait(20)
        yield from look(folder)

    monkeypatch.setattr(start, "list_folder", slow)
    from coach.terminal.app import CoachApp

    app = CoachApp(folder=tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        await pilot.press("n")
        await pilot.pause()
        assert isinstance(app.screen, NewScreen)
        go_on.set()


async def test_a_hundred_sprints_leave_the_briefs_where_they_can_be_seen(tmp_path: Path) -> None:
    path = left_running(tmp_path, "first.toml", 10)
    for number in range(99):
        (tmp_path / f"{number}.toml").write_bytes(path.read_bytes())
    async with driven(folder=tmp_path) as drive:
        assert isinstance(drive.screen, StartScreen)
        assert len(drive.screen.offers.sprints) == 100
        assert drive.line_with("9  USB bench meter")
        assert drive.line_with("n  New board") and drive.line_with("c  USB bench meter")
        await drive.press("end")
        assert drive.screen.rows.key == "sprint:99"


async def test_a_rehearsal_stands_apart_from_the_day_it_began(tmp_path: Path) -> None:
    left_running(tmp_path, "one.toml", 10)
    async with driven(folder=tmp_path) as drive:
        screen = drive.screen
        assert isinstance(screen, StartScreen)
        one = screen.offers.sprints[0]
        run = one.run.model_copy(update={"rehearsed": True})
        one = replace(one, run=run, deadline=10 * 3600 + 37 * 60)
        screen.offers = Offers((one,), screen.offers.briefs, reading=False)
        screen.repaint()
        await drive.settled()
        assert "09:00  rehearsal, 10 h 27 min left" in drive.line_with("1  USB bench meter")


async def test_the_bundled_briefs_are_in_view_on_a_low_strip(tmp_path: Path) -> None:
    path = left_running(tmp_path, "first.toml", 10)
    for number in range(5):
        (tmp_path / f"{number}.toml").write_bytes(path.read_bytes())
    async with driven(folder=tmp_path, size=(40, 12)) as drive:
        for words in (
            "n  New board",
            "Begin with a brief",
            "a  Orchard",
            "b  Pump",
            "c  USB bench",
        ):
            assert drive.line_with(words), words
        assert drive.line_with("3  USB bench") and "More sprints" in drive.text
        await drive.press("end")
        assert drive.line_with("6  USB bench")


async def test_on_the_smallest_strip_names_and_their_keys_are_left(tmp_path: Path) -> None:
    left_running(tmp_path, "one.toml", 10)
    async with driven(folder=tmp_path, size=(20, 5)) as drive:
        assert drive.lines[0].split() == ["coach", "09:00"]
        assert drive.line_with("1  USB bench meter") and drive.line_with("n  New board")
        assert drive.line_with("a  Orchard radio") and "help" in drive.lines[-1]
        await drive.press("down", "down", "down", "down")
        assert drive.line_with("c  USB bench meter")


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36), (160, 48)])
async def test_the_start_is_readable_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    left_running(tmp_path, "one.toml", 10)
    async with driven(folder=tmp_path, size=size) as drive:
        assert "min left" in drive.line_with("1  USB bench")
        assert drive.line_with("n  New board")
        assert "? help" in drive.lines[-1]


async def test_coach_new_goes_straight_to_the_questions(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        assert isinstance(drive.screen, NewScreen)
        await drive.press("escape")
        assert isinstance(drive.screen, StartScreen)


async def test_a_title_is_shown_as_it_was_written_and_never_as_markup(tmp_path: Path) -> None:
    (tmp_path / "x.toml").write_text(OWN.replace("Greenhouse fan", "[/] [b]fan"), encoding="utf-8")
    async with driven(folder=tmp_path) as drive:
        assert drive.line_with("[/] [b]fan")


async def test_a_journal_that_broke_off_is_offered_and_its_cut_is_journalled(
    tmp_path: Path,
) -> None:
    path = left_running(tmp_path, "one.toml", 10)
    path.write_bytes(
        path.read_bytes() + b"[[event]]\nn = 4\nat = 2031-05-05T09:11:00+00:00\nt = 66"
    )
    async with driven(folder=tmp_path) as drive:
        assert drive.line_with("1  USB bench meter").endswith("1 h 50 min left")
        await drive.press("1")
        assert drive.state.phase == "power-entry"
    events = Journal.look(path).events
    assert "tail-cut" in [event["what"] for event in events]


def test_time_left_is_said_in_words_and_time_past_too() -> None:
    assert left_words(74 * 60) == ("1 h 14 min left", "next")
    assert left_words(-5 * 60) == ("5 min past", "due")
    assert left_words(-3 * 24 * 3600) == ("3 days past", "quiet")
