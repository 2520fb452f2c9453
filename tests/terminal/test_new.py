"""The way in without a brief: seven questions, one key each, and the sprint runs."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach.sprint.brief.loading import load_brief
from coach.sprint.brief.new import QUESTIONS
from coach.sprint.clock import ManualClock
from coach.terminal.screens import new, start
from coach.terminal.screens.help import HelpScreen
from coach.terminal.screens.new import Asked, NewScreen, new_lines
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.screens.start import StartScreen
from tests.terminal.driving import START, Driven, driven

BY_DEFAULT = ("enter",) * len(QUESTIONS)


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> ManualClock:
    clock = ManualClock(START)
    for screens in (start, new):
        monkeypatch.setattr(screens, "SystemClock", lambda: clock)
    return clock


def asked(drive: Driven) -> Asked:
    assert isinstance(drive.screen, NewScreen)
    return drive.screen.asked


async def test_from_nothing_to_a_running_sprint_takes_eight_keys(tmp_path: Path) -> None:
    keys = ("n", *BY_DEFAULT)
    assert len(keys) == 8
    async with driven(folder=tmp_path) as drive:
        await drive.press(*keys)
        assert isinstance(drive.screen, SprintScreen)
        assert drive.state.deadline == 120 * 60
        assert drive.state.knowledge.get("supply") == "usb-c"


async def test_one_key_answers_and_goes_on(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.type("90")
        await drive.press("enter", "d", "s", "p", "o", "4", "i", "c", "enter")
        assert isinstance(drive.screen, SprintScreen)
        known = drive.state.knowledge
        assert drive.state.deadline == 90 * 60
        assert known.get("supply") == "dc-input"
        assert known.get("regulator", "3v3") == "switching"
        assert known.get("debug_kind") == "pads"
        assert known.get("clock_kind", "main-clock") == "oscillator"
        assert known.get("layers") == 4
        assert {"i2c1", "can1"} <= set(drive.state.subjects)


async def test_the_brief_is_written_where_it_was_said_and_reads_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press(*BY_DEFAULT[:-1], "i")
        assert "briefs/new-board-usb-c-i2c.toml" in drive.text
        assert "New board: USB-C, I2C" in drive.lines[0]
        await drive.press("enter")
        path = tmp_path / "briefs" / "new-board-usb-c-i2c.toml"
        assert load_brief(path).title == "New board: USB-C, I2C"
        assert load_brief(path) == drive.session.setup.brief
        assert "The brief is in briefs/new-board-usb-c-i2c.toml;" in drive.app.status[0]
        assert path.read_text(encoding="utf-8").startswith("# Brief, made from seven answers.")


async def test_a_brief_is_never_written_over_another(tmp_path: Path) -> None:
    first = tmp_path / "briefs" / "new-board-usb-c.toml"
    first.parent.mkdir()
    first.write_text("mine")
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press(*BY_DEFAULT)
        assert isinstance(drive.screen, SprintScreen)
    assert first.read_text() == "mine"
    assert load_brief(tmp_path / "briefs" / "new-board-usb-c-2.toml")


async def test_a_typed_answer_is_checked_while_it_is_typed(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.type("12x")
        assert "cannot be read as a cut-off" in drive.text
        await drive.press("enter")
        assert asked(drive).at == 0
        await drive.press("backspace")
        assert "cannot be read" not in drive.text
        await drive.press("enter")
        assert asked(drive).at == 1 and asked(drive).answers["deadline"] == "12"


async def test_a_cut_off_that_leaves_only_the_reserve_is_refused_at_once(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.type("9:10")
        await drive.press("enter")
        assert asked(drive).at == 0
        assert "Only 10 min left to the cut-off" in drive.text
        await drive.press("backspace", "backspace")
        await drive.type("40")
        await drive.press(*BY_DEFAULT)
        assert drive.session.setup.at_an_instant
        assert drive.state.deadline == 40 * 60


async def test_one_key_goes_back_and_the_earlier_answer_is_still_there(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.type("45")
        await drive.press("enter", "c", "left")
        assert asked(drive).at == 1
        assert drive.line_with("Cut-off").endswith("in 45 min")
        assert "Deadline" not in drive.text
        await drive.press("backspace")
        assert asked(drive).at == 0
        await drive.press("enter")
        assert asked(drive).answers["deadline"] == "45"


async def test_a_key_that_answers_another_question_does_nothing_here(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("enter", "m", "4")
        assert asked(drive).at == 1


async def test_interfaces_are_ticked_and_unticked_until_enter(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press(*BY_DEFAULT[:-1], "u", "i", "u")
        assert drive.line_with("u  [ ] USB data") and drive.line_with("i  [x] I2C")
        await drive.press("enter")
        assert drive.state.knowledge.get("usb_data") is False


async def test_the_board_can_be_given_a_title_of_its_own(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("enter", "f2")
        await drive.type("[/] pump")  # typing replaces what was proposed
        await drive.press("enter", *BY_DEFAULT[1:])
        assert drive.session.setup.brief.title == "[/] pump"
        assert (tmp_path / "briefs" / "pump.toml").is_file()


async def test_a_brief_written_once_is_not_written_again_when_the_start_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from phases.kit.refusals import Refusal

    def refuse(*_: object, **__: object) -> None:
        raise Refusal("No space left on the device")

    async with driven(folder=tmp_path, new=True) as drive:
        with monkeypatch.context() as patched:
            patched.setattr(new, "start_sprint", refuse)
            await drive.press(*BY_DEFAULT, "enter")
        assert "No space left on the device" in drive.text
        await drive.press("enter")
        assert isinstance(drive.screen, SprintScreen)
    assert len(list((tmp_path / "briefs").iterdir())) == 1


async def test_leaving_writes_nothing(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("enter", "u", "escape")
        assert isinstance(drive.screen, StartScreen)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36)])
async def test_every_answer_of_every_question_is_in_view(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with driven(folder=tmp_path, new=True, size=size) as drive:
        for question in QUESTIONS:
            for choice in question.choices:
                line = drive.line_with(f" {choice.key}  ")
                assert choice.label[:20] in line, f"{choice.label} is missing at {size}"
            if question is not QUESTIONS[-1]:
                await drive.press("enter")


async def test_the_question_mark_explains_it_even_while_an_answer_is_typed(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("4", "question_mark")
        assert isinstance(drive.screen, HelpScreen)
        await drive.press("escape", "5", "enter")
        assert asked(drive).answers["deadline"] == "45"


def test_what_enter_takes_is_marked_beside_the_default() -> None:
    lines = [line.text for line in new_lines(Asked(at=1), 60, 20)]
    marked = [line for line in lines if "↵" in line]
    assert len(marked) == 1 and "USB-C" in marked[0]


@pytest.mark.parametrize("over", ["question_mark", "f2"])
async def test_after_help_or_the_title_the_keys_answer_every_question_again(
    tmp_path: Path, over: str
) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("enter", over, "escape", "d")
        assert asked(drive).answers["supply"] == "d"
        await drive.press("enter", "enter", "enter", "enter", over, "escape", "i", "enter")
        assert isinstance(drive.screen, SprintScreen)
        assert "i2c1" in drive.state.subjects


async def test_the_field_that_is_not_shown_never_takes_a_key(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("enter")
        field = drive.screen.query_one(Input)
        await drive.press("tab", "x", "tab", "7", "question_mark", "escape", "x")
        assert field.value == "" and drive.screen.focused is None
        await drive.press("left")
        assert drive.screen.focused is field and field.value == "120"


@pytest.mark.parametrize("size", [(40, 16), (80, 24)])
async def test_before_the_last_enter_it_says_what_will_start(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with driven(folder=tmp_path, new=True, size=size) as drive:
        await drive.press("enter", "l", *BY_DEFAULT[2:-1])
        words = " ".join(drive.text.split())
        assert "↵ starts the clock: 2 h, lithium-ion cell, no interface" in words
        await drive.press("i", "c")
        words = " ".join(drive.text.split())
        assert "↵ starts the clock: 2 h, lithium-ion cell, I2C, CAN. ←" in words


async def test_a_board_is_named_after_its_supply_once_that_is_said(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        assert drive.lines[0].split("  ")[0] == " New board"
        await drive.press("enter", "f2", "enter")
        assert drive.lines[0].split("  ")[0] == " New board"
        await drive.press("c")
        assert drive.lines[0].startswith(" New board: coin cell")


async def test_a_title_reaches_the_brief_whole_and_one_too_long_is_refused(tmp_path: Path) -> None:
    title = "Feeder valve and level sensor for the northern greenhouse, revision Ü2"
    assert len(title) == 70
    async with driven(folder=tmp_path, new=True, size=(40, 24)) as drive:
        await drive.press("f2", "ctrl+u")
        await drive.type(f"{title}!")
        assert "71 characters, 70 is the most" in drive.text
        await drive.press("enter", "backspace", "enter", *BY_DEFAULT)
        assert drive.session.setup.brief.title == title


async def test_a_title_that_no_brief_may_have_is_refused_while_it_is_typed(tmp_path: Path) -> None:
    async with driven(folder=tmp_path, new=True) as drive:
        await drive.press("f2", "ctrl+u")
        await drive.type("Lamp for 230 V AC mains")
        assert "mains" in drive.text.replace("Lamp for 230 V AC mains", "")
        await drive.press("enter", "escape")
        assert "Lamp" not in drive.text


def test_a_path_below_the_current_folder_is_said_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    below = tmp_path / "here" / "sessions" / "briefs" / "x.toml"
    assert new.from_here(below) == "sessions/briefs/x.toml"
    assert new.from_here(Path("briefs/x.toml")) == "briefs/x.toml"
    assert new.from_here(tmp_path / "x.toml") == str(tmp_path / "x.toml")
