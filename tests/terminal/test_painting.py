"""What happens once is painted once: a command, a question answered, a fold."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.commands import End, EnterPhase, Park, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.terminal.app import CoachApp
from coach.terminal.screens.board import BoardScreen
from coach.terminal.screens.bringup import BringupScreen
from coach.terminal.screens.calculator import CalculatorScreen
from coach.terminal.screens.debrief import DebriefScreen
from coach.terminal.screens.journal import JournalScreen
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.parked import ParkedScreen
from coach.terminal.screens.to_draw import ToDrawScreen
from coach.terminal.screens.walk import WalkScreen
from coach.terminal.widgets.line_view import Lines
from tests.terminal.driving import Driven, begun, driven


@pytest.fixture
def painted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the screens that were painted, one after the other. A forecast and an answer
    are painted when they come, a moment later, so none is asked for."""
    found: list[str] = []
    repaint = PaintedScreen.repaint

    def counted(self: PaintedScreen[object]) -> None:
        found.append(type(self).__name__)
        repaint(self)

    monkeypatch.setattr(PaintedScreen, "repaint", counted)
    monkeypatch.setattr(CoachApp, "ask_forecast", lambda self: None)
    monkeypatch.setattr("coach.terminal.answers.Answers.of_row", lambda self, row: "")
    return found


async def pressed(drive: Driven, painted: list[str], key: str) -> list[str]:
    painted.clear()
    await drive.press(key)
    return list(painted)


async def test_a_key_of_the_sprint_paints_once(tmp_path: Path, painted: list[str]) -> None:
    session = begun(tmp_path)
    async with driven(session) as drive:
        # A phase, met, not here, undone, refused, folded, quiet, a phase again.
        for key in ("1", "m", "n", "u", "o", "f", "z", "2"):
            assert await pressed(drive, painted, key) == ["SprintScreen"], key
        assert len(session.history) >= 7
        session.do(SaveCalculation("type-c-sink", "j-usb"))
        await drive.settled()
        for key in ("d", "D", "u"):
            assert await pressed(drive, painted, key) == ["SprintScreen"], key


async def test_an_answered_question_paints_the_screen_below_once(
    tmp_path: Path, painted: list[str]
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "w")
        await drive.type("bench only")
        assert await pressed(drive, painted, "enter") == ["SprintScreen"]
        drive.screen.query_one("#items", Lines).put_cursor("source-maximum")
        await drive.press("r")
        await drive.type("hearth-33, p. 7")
        assert await pressed(drive, painted, "enter") == ["SprintScreen"]
        await drive.press("x")  # a change that is said to have reopened so many items
        assert await pressed(drive, painted, "1") == ["SprintScreen"]


async def test_a_step_of_a_walk_paints_once(tmp_path: Path, painted: list[str]) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "g")
        for key in ("y", "space", "left", "f", "n", "u"):
            assert await pressed(drive, painted, key) == ["WalkScreen"], key
        assert isinstance(drive.screen, WalkScreen)


@pytest.mark.parametrize(
    ("screen", "keys"),
    [
        (JournalScreen, ("c", "c")),
        (BoardScreen, ("f", "f")),
        (ParkedScreen, ("enter", "u")),
        (ToDrawScreen, ("d", "u", "D")),
    ],
)
async def test_a_key_of_a_list_paints_once(
    tmp_path: Path, painted: list[str], screen: type[PaintedScreen[None]], keys: tuple[str, ...]
) -> None:
    session = begun(tmp_path)
    for command in (
        EnterPhase("power-entry"),
        Park("one"),
        SaveCalculation("type-c-sink", "j-usb"),
    ):
        session.do(command)
    async with driven(session) as drive:
        await drive.show(screen())
        for key in keys:
            assert await pressed(drive, painted, key) == [screen.__name__], key


async def test_a_key_of_the_debrief_and_of_the_bring_up_sheet_paints_once(
    tmp_path: Path, painted: list[str]
) -> None:
    session = begun(tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3"))
    session.do(End(False))
    async with driven(session) as drive:
        await drive.show(DebriefScreen(session.journal.path))
        for key in ("1", "2", "escape", "a", "a"):
            assert await pressed(drive, painted, key) == ["DebriefScreen"], key
        await drive.press("b")
        assert isinstance(drive.screen, BringupScreen)
        await drive.press("down", "enter", *"ok")
        for key in ("enter", "o", "right_square_bracket", "x", "down"):
            assert await pressed(drive, painted, key) == ["BringupScreen"], key


async def test_a_key_of_the_calculator_paints_once(tmp_path: Path, painted: list[str]) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(CalculatorScreen(CalculationKey.of("linear-regulator", "3v3")))
        for key in ("down", "1", "ctrl+r"):
            assert await pressed(drive, painted, key) == ["CalculatorScreen"], key
        saved = await pressed(drive, painted, "enter")
        assert sorted(saved) == ["CalculatorScreen", "SprintScreen"]


async def test_a_key_of_the_questions_of_a_new_board_paints_once(
    tmp_path: Path, painted: list[str]
) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        for key in ("9", "0", "enter", "u", "left", "d", "l", "d"):
            assert await pressed(drive, painted, key) == ["NewScreen"], key


async def test_a_tick_paints_once_and_a_screen_out_of_sight_never(
    tmp_path: Path, painted: list[str]
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "b")
        painted.clear()
        drive.app.say("one")
        drive.app.say("two")
        await drive.later(1)
        assert painted == ["BoardScreen"]
        assert "two" in drive.text
