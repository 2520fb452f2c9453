"""The end: asked in one place, and what is shown before and after it: the debrief as it is now."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach.history.read_sprint import read_sprint
from coach.report.account import Account
from coach.report.report import report_of
from coach.sprint.commands import (
    End,
    EnterPhase,
    Meet,
    NoteChange,
    ReachStage,
    SaveCalculation,
    Waive,
)
from coach.sprint.gates.forgotten import left_open_words
from coach.sprint.session import Session
from coach.terminal.drawing.debrief_lines import debrief_text
from coach.terminal.screens.bringup import BringupScreen
from coach.terminal.screens.debrief import DebriefScreen
from coach.terminal.screens.sprint import SprintScreen
from tests.terminal.driving import Driven, begun, clock_of, driven

JOURNAL = "sprint.toml"
FAULT = "R5 is 10 kΩ, not 1 kΩ"


def worked(folder: Path) -> Session:
    """A sprint in which a little of everything went wrong."""
    session = begun(folder)
    session.do(EnterPhase("power-entry"))
    session.do(Meet("supply-contacts"))
    session.do(Waive("source-load", "The port is known to give it"))
    session.do(SaveCalculation("strap"))
    clock_of(session).advance(20 * 60)
    session.do(EnterPhase("regulation"))
    session.do(Meet("source-maximum"))
    session.do(NoteChange("connector-part"))
    return session


async def shown(drive: Driven) -> DebriefScreen:
    """The debrief of the sprint that is open."""
    screen = DebriefScreen(drive.session.journal.path)
    await drive.show(screen)
    return screen


# ---- before the end --------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36)])
async def test_before_the_end_it_says_what_would_be_forgotten_and_escape_goes_back(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with driven(worked(tmp_path), size=size) as drive:
        await drive.press("E", "1")
        assert isinstance(drive.screen, DebriefScreen)
        assert "Still running, 1 h 40 min before" in drive.text
        assert drive.line_with("1 Still changeable")
        assert "E end" in drive.lines[-1] and "late finding" not in drive.lines[-1]
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)
        assert not drive.state.ended


async def test_a_little_of_everything_that_went_wrong_is_there(tmp_path: Path) -> None:
    async with driven(worked(tmp_path), size=(120, 36)) as drive:
        screen = await shown(drive)
        await drive.press("a")
        words = " ".join(" ".join(one.text for one in screen.rows.lines).split())
    for said in (
        "Open again: Supply connector pinout",
        "Because: A connector changed",
        "Reason: The port is known to give it",
        "BOOT to GND",
        "Maximum supply incl. transients",
        "Closed 0:20, due 0:16. Found unprompted.",
        "Still to come: ",
        "Closing list: 14 of 14 lines open",
        "More checks, not essential",
    ):
        assert said in words, said


async def test_it_follows_what_is_closed_meanwhile(tmp_path: Path) -> None:
    async with driven(worked(tmp_path), size=(120, 48)) as drive:
        await shown(drive)
        assert drive.line_with("Closing list: 14 of 14 lines open")
        drive.app.do(ReachStage("files"))
        drive.app.do(Meet("cut-offs-known"))
        await drive.settled()
        assert drive.line_with("Closing list: 13 of 14 lines open")


async def test_before_the_end_nothing_is_noted_as_found_late(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await shown(drive)
        await drive.press("f")
        assert isinstance(drive.screen, DebriefScreen)
        assert "noted after the end" in drive.app.status[0]


# ---- the end ---------------------------------------------------------------------------------


async def test_the_sprint_is_ended_from_there_with_the_order_accepted_or_without(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        screen = await shown(drive)
        await drive.press("E", "1")
        assert not drive.state.ended and drive.screen is screen
        await drive.press("E", "2")
        assert drive.state.ended and drive.state.accepted
        assert drive.screen is screen
        assert drive.line_with("The order was accepted and paid 1 h 40 min before the cut-off.")
        assert "late finding" in drive.lines[-1] and "E end" not in drive.lines[-1]
        await drive.press("E")
        assert drive.screen is screen
        await drive.press("q")
        assert drive.app.return_code == 0 and not drive.app.is_running


async def test_the_question_is_the_same_on_both_screens(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        for _ in range(2):
            await drive.press("E")
            for words in (
                "End the sprint? 14 lines of the closing list are open.",
                "1  Show what is still open first",
                "2  The order is accepted and paid",
                "3  End without ordering",
            ):
                assert drive.line_with(words), words
            await drive.press("escape")
            await shown(drive)


async def test_from_the_sprint_screen_the_end_leads_to_the_debrief(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.press("E", "3")
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.line_with("The sprint ended without an order 1 h 40 min before the cut-off.")
        await drive.press("b")
        assert isinstance(drive.screen, BringupScreen)
        await drive.press("escape", "escape")
        assert isinstance(drive.screen, SprintScreen)
        await drive.press("E")
        assert isinstance(drive.screen, DebriefScreen)


async def test_who_leaves_the_coach_there_leaves_a_sprint_that_is_running(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await shown(drive)
        await drive.press("q")
        assert drive.app.return_code == 0
    read = read_sprint(tmp_path / JOURNAL)
    assert not read.state.ended
    assert read.history[-1].event.what == "coach-closed"


# ---- after the end ---------------------------------------------------------------------------


def ended(folder: Path, *, accepted: bool = True) -> Session:
    session = worked(folder)
    session.do(End(accepted=accepted))
    return session


async def test_there_a_finding_goes_into_the_journal_that_is_open(tmp_path: Path) -> None:
    async with driven(ended(tmp_path)) as drive:
        screen = await shown(drive)
        await drive.press("f")
        for text in (FAULT, "boot source", "", "", ""):
            drive.screen.query_one(Input).value += text
            await drive.press("enter")
        assert drive.state.findings[1].item == "boot-source"
        assert any(FAULT in line for line in drive.lines)
        assert screen.part == "9"
    read = read_sprint(tmp_path / JOURNAL)
    assert read.faults == () and read.state.findings[1].fault == FAULT


def test_the_living_state_is_told_as_its_journal_is(tmp_path: Path) -> None:
    with ended(tmp_path, accepted=False) as session:
        told = Account(read_sprint(tmp_path / JOURNAL))
        assert told.state == session.state
        text = debrief_text(report_of(told.read))
    assert "Forgotten: " not in text and " 2 Forgotten\n" in text
    for words in left_open_words(told.state).split(". "):  # between the two, of what severity
        assert words.rstrip(".") in " ".join(text.split())


async def test_all_of_it_is_copied_to_the_clipboard_and_to_a_file_beside_the_journal(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        await shown(drive)
        await drive.press("c")
        copy = (tmp_path / "sprint-debrief.txt").read_text(encoding="utf-8")
        assert drive.app.clipboard == copy
        assert "Reason: The port is known to give it" in copy
        assert "sprint.toml" in copy.splitlines()[-1]
        assert "Copied to the clipboard and to" in drive.text


async def test_a_file_that_cannot_be_written_is_said_and_the_clipboard_has_it(
    tmp_path: Path,
) -> None:
    (tmp_path / "sprint-debrief.txt").mkdir()
    async with driven(worked(tmp_path)) as drive:
        await shown(drive)
        await drive.press("c")
        assert "Copied to the clipboard only" in drive.text
        assert drive.app.clipboard
