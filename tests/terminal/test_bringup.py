"""The bring-up sheet on the terminal: its lines at every width, readings, boards, taking back."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from coach.bringup.planning import sheet_of
from coach.bringup.sheet import Sheet
from coach.history.read_sprint import read_sprint
from coach.sprint.commands import End, SaveCalculation
from coach.terminal import glyphs
from coach.terminal.app import CoachApp
from coach.terminal.drawing.lines import width_of
from coach.terminal.screens.bringup import (
    CAUTIONS,
    BringupScreen,
    bringup_lines,
    bringup_title,
    step_key,
    step_of,
)
from coach.terminal.screens.debrief import DebriefScreen
from coach.terminal.screens.help import HelpScreen
from coach.terminal.screens.prompts import AskLine
from phases.kit.inputs import Given
from tests.terminal.driving import SIZES, Driven, begun

RAIL = "rail.3v3.voltage"


def sprint(folder: Path, *, end: bool = True) -> Path:
    with begun(folder) as session:
        for name, subject in (("load-budget", ""), ("linear-regulator", "3v3")):
            session.do(SaveCalculation(name, subject))
        if end:
            session.do(End(accepted=False))
    return folder / "sprint.toml"


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    return sprint(tmp_path)


@asynccontextmanager
async def opened(path: Path, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Driven]:
    """The sheet alone, as the command line opens it."""
    app = CoachApp(folder=path.parent, first=BringupScreen(path))
    async with app.run_test(size=size, notifications=True) as pilot:
        drive = Driven(app, pilot)
        await drive.settled()
        yield drive


def screen_of(drive: Driven) -> BringupScreen:
    assert isinstance(drive.screen, BringupScreen)
    return drive.screen


async def go_to(drive: Driven, point: str) -> None:
    screen = screen_of(drive)
    assert screen.sheet is not None
    screen._go_to(step_key(screen.sheet.by_id[point]))
    await drive.settled()


async def enter(drive: Driven, text: str) -> None:
    await drive.press("enter")
    assert isinstance(drive.screen, AskLine)
    await drive.type(text)
    await drive.press("enter")


def measured(path: Path) -> dict[tuple[str, str], str]:
    return {key: one.text for key, one in read_sprint(path).state.measured.items()}


# ---- lines -----------------------------------------------------------------------------------


def sheet(path: Path) -> Sheet:
    return sheet_of(read_sprint(path))


@pytest.mark.parametrize("width", [40, 60, 80, 120, 160])
def test_no_line_is_wider_than_the_screen(journal: Path, width: int) -> None:
    told = sheet(journal)
    for step in told.steps:
        lines = bringup_lines(told, "1", step_key(step), width)
        assert max(width_of(one.text.rstrip()) for one in lines) <= width, step.id
    title = bringup_title(told, "1", ("1", "2"), width)
    assert max(width_of(one.text) for one in title) <= width


def test_only_the_step_under_the_cursor_is_unfolded(journal: Path) -> None:
    told = sheet(journal)
    folded = bringup_lines(told, "1", "nothing", 80)
    unfolded = bringup_lines(told, "1", step_key(told.by_id[RAIL]), 80)
    assert "calculated: Linear regulator (Main supply)" not in "\n".join(one.text for one in folded)
    assert "calculated: Linear regulator (Main supply)" in "\n".join(one.text for one in unfolded)


def test_every_step_has_a_line_of_its_own(journal: Path) -> None:
    told = sheet(journal)
    keys = [one.key for one in bringup_lines(told, "1", CAUTIONS, 80) if one.key]
    assert keys == [CAUTIONS, *(step_key(step) for step in told.steps)]
    assert step_of(told, keys[1]) == told.steps[0]


# ---- the screen ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
async def test_it_opens_with_what_to_heed_and_fits(journal: Path, size: tuple[int, int]) -> None:
    async with opened(journal, size) as drive:
        assert "Before anything else" in drive.text
        assert "current-limited" in drive.text
        assert max(map(len, drive.lines)) <= size[0]
        assert "?" in drive.lines[-1]


@pytest.mark.parametrize("size", SIZES)
async def test_a_step_is_seen_whole_with_its_expectation(
    journal: Path, size: tuple[int, int]
) -> None:
    async with opened(journal, size) as drive:
        await go_to(drive, RAIL)
        assert "expect 3.2 .. 3.4 V" in drive.text


@pytest.mark.parametrize("size", SIZES)
async def test_a_reading_is_judged_at_once_and_the_next_step_follows(
    journal: Path, size: tuple[int, int]
) -> None:
    async with opened(journal, size) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.31")
        assert "3.31 V, inside 3.2 .. 3.4 V." in drive.text
        assert screen_of(drive).rows.key == "step/rail.3v3a.voltage"
    assert measured(journal) == {("1", RAIL): "3.31 V"}


async def test_outside_is_said_with_what_to_look_at_first_and_stays(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.61 V")
        assert "3.61 V, outside 3.2 .. 3.4 V, over by 210 mV. Look first at:" in drive.text
        assert screen_of(drive).rows.key == f"step/{RAIL}"
        assert "1 outside" in drive.lines[0]


async def test_what_cannot_be_read_is_said_while_it_is_typed(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, RAIL)
        await drive.press("enter")
        await drive.type("3,31")
        assert "has a comma in a number" in drive.text
        await drive.press("enter")
        assert isinstance(drive.screen, AskLine)
        await drive.press("escape")
    assert not measured(journal)


async def test_one_key_says_as_expected_where_the_answer_is_words(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, "look.polarity")
        await drive.press("o")
        assert "Noted: as expected." in drive.text
        await go_to(drive, RAIL)
        await drive.press("o")
        assert "Enter a number" in drive.text
    assert measured(journal) == {("1", "look.polarity"): "as expected"}


async def test_words_on_a_row_of_numbers_are_a_remark_and_the_row_stays_open(
    journal: Path,
) -> None:
    async with opened(journal) as drive:
        done = drive.lines[0]
        await go_to(drive, RAIL)
        await enter(drive, "warm")
        assert "Noted: warm. Enter a number: 3.2 .. 3.4 V." in drive.text
        assert screen_of(drive).rows.key == f"step/{RAIL}"
        assert drive.lines[0] == done  # "0 of 30" still


def failing(folder: Path) -> Path:
    with begun(folder) as session:
        hot = {"theta_JA": Given("900 K/W", "hand")}
        session.do(SaveCalculation("load-budget"))
        session.do(SaveCalculation("linear-regulator", "3v3", given=hot))
        session.do(End(accepted=False))
    return folder / "sprint.toml"


PAPER = "look.calculation.linear-regulator@3v3"


async def test_what_failed_on_paper_is_asked_once_where_power_is_on(tmp_path: Path) -> None:
    async with opened(failing(tmp_path)) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.31")
        flat = " ".join(drive.text.split())
        assert "3.31 V, inside" in flat
        assert "Changed first?" in flat
        await go_to(drive, RAIL)
        await enter(drive, "3.32")
        assert "3.32 V, inside" in drive.text
        assert "Changed first" not in drive.text


async def test_power_on_says_first_what_forbids_it_until_it_is_answered(tmp_path: Path) -> None:
    path = failing(tmp_path)
    async with opened(path, (80, 48)) as drive:
        await go_to(drive, RAIL)
        assert "1 calculation failing, unresolved. Do not apply power." in drive.text
        await go_to(drive, PAPER)
        await drive.press("o")  # "as expected" would not say which of the two it is
        assert isinstance(drive.screen, AskLine)
        assert "allowed by its data sheet" in drive.text
        await drive.press("down", "enter")
        await go_to(drive, RAIL)
        assert "Do not apply power" not in drive.text
    assert measured(path) == {("1", PAPER): "changed"}


async def test_what_was_said_on_the_sheet_does_not_stay_under_the_debrief(journal: Path) -> None:
    app = CoachApp(folder=journal.parent, first=DebriefScreen(journal))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        drive = Driven(app, pilot)
        await drive.settled()
        await drive.press("b")
        await go_to(drive, RAIL)
        await enter(drive, "3.61 V")
        assert "outside 3.2 .. 3.4 V" in drive.text
        await drive.press("question_mark")
        await drive.press("escape")
        assert "outside 3.2 .. 3.4 V" in drive.text  # help takes nothing away
        await drive.press("escape")
        assert isinstance(drive.screen, DebriefScreen)
        assert "outside 3.2 .. 3.4 V" not in drive.lines[-2] + drive.lines[-3]
        assert app.status == ("", "plain")


async def test_brackets_change_the_board_and_the_first_stands_beside(journal: Path) -> None:
    async with opened(journal, (120, 36)) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.30 V")
        await drive.press("right_square_bracket")
        assert "board 2" in drive.lines[0]
        await go_to(drive, RAIL)
        assert "board 1 read 3.30 V, inside" in drive.text
        await enter(drive, "3.38 V")
        assert "3.38 V, inside 3.2 .. 3.4 V, but board 1 read 3.30 V." in drive.text
        await drive.press("left_square_bracket")
        assert "board 1" in drive.lines[0]
        await drive.press("left_square_bracket")
        assert "board 3" in drive.lines[0]


async def test_a_board_is_named_by_its_number(journal: Path) -> None:
    async with opened(journal) as drive:
        await drive.press("b")
        await drive.type("B07")
        await drive.press("enter")
        assert "board B07" in drive.lines[0]


async def test_a_reading_is_taken_back(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.31 V")
        await go_to(drive, RAIL)
        await drive.press("x")
        assert "Reading deleted" in drive.text
        await drive.press("x")
        assert "No reading here of board 1" in drive.text
    assert not measured(journal)


async def test_it_opens_where_the_board_was_left(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, "look.polarity")
        await drive.press("o", "o")
    async with opened(journal) as drive:
        assert screen_of(drive).rows.key == "step/look.bridges"


async def test_nothing_is_entered_while_the_sprint_goes_on(tmp_path: Path) -> None:
    running = sprint(tmp_path, end=False)
    before = running.read_bytes()
    async with opened(running) as drive:
        assert "The sprint goes on" in drive.text
        await go_to(drive, RAIL)
        for key in ("enter", "o", "x"):
            await drive.press(key)
            assert isinstance(drive.screen, BringupScreen)
            assert "readings are entered after its end" in drive.text
    assert running.read_bytes() == before


async def test_a_journal_held_by_another_coach_is_said(journal: Path) -> None:
    from coach.sprint.clock import SystemClock
    from coach.sprint.session import Session

    with Session.afterwards(journal, SystemClock()):
        async with opened(journal) as drive:
            await go_to(drive, RAIL)
            await enter(drive, "3.31")
            assert "another" in drive.text.lower() or "open" in drive.text.lower()
    assert not measured(journal)


async def test_a_file_that_is_no_journal_is_said(tmp_path: Path) -> None:
    path = tmp_path / "no.toml"
    path.write_text("title = 'x'\n")
    async with opened(path) as drive:
        assert "no.toml" in drive.text.replace("\n ", "")
        await drive.press("enter", "o", "x", "h", "c")


async def test_the_page_and_the_text_are_put_beside_the_journal(journal: Path) -> None:
    async with opened(journal) as drive:
        await drive.press("h")
        assert "The sheet is in" in drive.text
        await drive.press("c")
    assert "<!doctype html>" in (journal.parent / "sprint-bringup.html").read_text()
    assert "Bring-up sheet" in (journal.parent / "sprint-bringup.txt").read_text()


async def test_help_explains_the_marks_and_every_key(journal: Path) -> None:
    async with opened(journal, (80, 48)) as drive:
        await drive.press("question_mark")
        assert isinstance(drive.screen, HelpScreen)
        for words in ("inside what was expected", "was a mistake", "The next board", "as expected"):
            assert words in drive.text


async def test_typed_markup_stays_text(journal: Path) -> None:
    async with opened(journal) as drive:
        await go_to(drive, "look.polarity")
        await enter(drive, "[/] [b]x")
        assert "[/] [b]x" in drive.text


async def test_it_can_be_read_without_glyphs(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(glyphs, "_ASCII", True)
    async with opened(journal) as drive:
        await go_to(drive, RAIL)
        await enter(drive, "3.31 V")
        drawn = "".join(line[:78] for line in drive.lines)
        assert drawn.replace("▸", "").isascii()


async def test_escape_and_q_leave(journal: Path) -> None:
    for key in ("escape", "q"):
        async with opened(journal) as drive:
            await drive.press(key)
        assert drive.app.return_value == 0
