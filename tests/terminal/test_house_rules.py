"""House rules where a sprint begins in the terminal: said, asked, and never in its way."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.brief.house_rules import house_file
from coach.terminal.screens.sprint import SprintScreen
from tests.sprint.brief.written_rule import rule
from tests.terminal.driving import driven


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    path = house_file(tmp_path)
    path.parent.mkdir()
    return path


async def test_the_start_screen_begins_with_the_house_rules_and_says_so(
    tmp_path: Path, rules: Path
) -> None:
    rules.write_text(rule() + rule("house-two"), encoding="utf-8")
    async with driven(folder=tmp_path) as drive:
        await drive.press("a")
        assert isinstance(drive.screen, SprintScreen)
        assert drive.line_with("2 house rules from briefs/house-rules.toml.")
        assert {"house-lamp", "house-two"} <= set(drive.state.by_key)


async def test_a_faulty_file_is_said_and_the_sprint_begins_all_the_same(
    tmp_path: Path, rules: Path
) -> None:
    rules.write_text("[[item]\n", encoding="utf-8")
    async with driven(folder=tmp_path, size=(160, 36)) as drive:
        await drive.press("a")
        assert isinstance(drive.screen, SprintScreen)
        assert "Without house rules: " in drive.text
        assert "Not valid TOML" in drive.text
        assert drive.app.status[1] == "due"


async def test_a_new_board_is_begun_with_them_too(tmp_path: Path, rules: Path) -> None:
    rules.write_text(rule(), encoding="utf-8")
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press(*["enter"] * 7)
        assert isinstance(drive.screen, SprintScreen)
        assert "house-lamp" in drive.state.by_key
        said = drive.app.status[0]
        assert said.startswith("The brief is in ")
        assert said.endswith("for the next time. 1 house rule from briefs/house-rules.toml.")


async def test_without_any_nothing_is_said_of_them(tmp_path: Path) -> None:
    async with driven(folder=tmp_path) as drive:
        await drive.press("a")
        assert drive.app.status == ("", "plain")
