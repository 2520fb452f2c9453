"""Help explains the screen one is on, and names every key that does something there."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding

from coach.terminal.actions import SPRINT, Action
from coach.terminal.screens.board import BoardScreen
from coach.terminal.screens.help import HelpScreen, help_lines, page
from coach.terminal.screens.journal import JournalScreen
from coach.terminal.screens.parked import ParkedScreen
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.screens.to_draw import ToDrawScreen
from coach.terminal.screens.walk import WalkScreen
from tests.terminal.driving import begun, driven

SCREENS: list[Any] = [JournalScreen, BoardScreen, ToDrawScreen, ParkedScreen]


def said(name: str, actions: Sequence[Action] = (), width: int = 100) -> str:
    lines = help_lines(page(name), actions, width)
    return " ".join(" ".join(line.text for line in lines).split())


@pytest.mark.parametrize("width", [40, 80, 120])
def test_every_action_of_the_sprint_is_there_with_its_key(width: int) -> None:
    lines = [line.text.strip() for line in help_lines(page("sprint"), SPRINT, width)]
    for action in SPRINT:
        assert any(line.split()[:1] == [action.shown_key] for line in lines), action.name
    whole = " ".join(" ".join(lines).split())
    assert all(action.help in whole for action in SPRINT)
    assert max(len(line) for line in lines) <= width


def test_what_the_lines_and_marks_of_the_sprint_mean_is_said() -> None:
    words = said("sprint")
    for mark in ("NEXT", "SKIPPED", "DRAW", "═", "╸now", "┃", "├──●", "gate 3 of 7", "reopened"):
        assert mark in words
    assert "Data sheets, local codes and qualified people have the last word" in words


@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: screen.__name__)
def test_every_screen_explains_itself_and_all_its_actions(screen: Any) -> None:
    words = said(screen.NAME, screen.ACTIONS)
    assert page(screen.NAME).words in words
    assert all(action.help in words for action in screen.ACTIONS)


def test_every_key_of_the_walk_is_explained() -> None:
    marks = " ".join(mark.mark for mark in page("walk").marks).split()
    shown = {"enter": "↵", "escape": "esc", "right": "→", "left": "←", "question_mark": "?"}
    for binding in WalkScreen.BINDINGS:
        assert isinstance(binding, Binding)
        for key in binding.key.split(","):
            assert key == "question_mark" or shown.get(key, key) in marks, key


async def test_the_question_mark_explains_the_screen_one_is_on(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("question_mark")
        assert isinstance(drive.screen, HelpScreen)
        assert drive.lines[0].strip() == "The sprint"
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)
        for screen in SCREENS:
            await drive.show(screen())
            await drive.press("question_mark")
            assert drive.lines[0].strip() == page(screen.NAME).title
            await drive.press("escape", "escape")


@pytest.mark.parametrize("size", [(40, 12), (80, 24)])
async def test_it_scrolls_to_its_last_key(tmp_path: Path, size: tuple[int, int]) -> None:
    async with driven(begun(tmp_path), size=size) as drive:
        await drive.show(HelpScreen("sprint", SPRINT))
        assert not drive.line_with(SPRINT[-1].help[:20])
        for _ in range(20):
            await drive.press("space")
        assert drive.line_with(SPRINT[-1].help[:20])
        await drive.press("home")
        assert drive.line_with("At a glance")


async def test_a_screen_nobody_described_still_shows_the_keys_it_is_given(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(HelpScreen("something new", SPRINT[:2]))
        assert drive.lines[0].strip() == "Something new"
        assert SPRINT[0].help in drive.text
