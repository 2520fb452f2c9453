"""The calculator in the terminal: keys go into the field, and at each the verdict is there."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen

from coach.sprint.commands import DeclareValue, DropSubject, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.terminal import glyphs
from coach.terminal.screens.calculator import CalculatorPane, CalculatorScreen
from coach.terminal.screens.prompts import AskChoice
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.widgets.calculator_view import CalculatorView, CurveView
from coach.terminal.widgets.field_line import FieldLine
from coach.terminal.widgets.line_view import Lines
from tests.terminal.driving import SIZES, Driven, begun, driven


@asynccontextmanager
async def calculator(
    folder: Path,
    name: str = "linear-regulator",
    subject: str = "3v3",
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[Driven]:
    """A calculator open over the sprint screen."""
    async with driven(begun(folder), size=size) as drive:
        await drive.show(CalculatorScreen(CalculationKey.of(name, subject)))
        yield drive


def pane(drive: Driven) -> CalculatorPane:
    return drive.screen.query_one(CalculatorPane)


async def until(drive: Driven, so: Callable[[], bool]) -> None:
    """Waits for what comes a moment later; fails where it never does."""
    for _ in range(200):
        if so():
            break
        await drive.pilot.pause(0.01)
    assert so()
    await drive.settled()


def said(drive: Driven) -> str:
    return drive.app.status[0]


def row(drive: Driven) -> str:
    """The line under the cursor."""
    return drive.line_with("▸")


async def fill(drive: Driven, text: str) -> None:
    """Another text in the field, as if typed; a key in a test costs a whole frame."""
    pane(drive).entry.value = text
    await drive.settled()


# ---- opening and saving --------------------------------------------------------------------------


async def test_a_prefilled_calculation_is_saved_with_one_key(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        assert "Passes; tightest margin: min input" in drive.text
        assert drive.line_with("input voltage").split()[-1] == "brief"
        assert "not saved" in drive.lines[0]
        await drive.press("enter")
        assert isinstance(drive.screen, SprintScreen)
        assert "linear-regulator@3v3" in drive.state.calculations
        assert said(drive).startswith("Saved")


async def test_from_the_item_it_is_two_keys(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("2")
        await drive.press("c", "enter")
        assert "linear-regulator@3v3" in drive.state.calculations


async def test_the_cursor_begins_at_what_nobody_has_given_yet(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        assert row(drive).split()[1:3] == ["load", "current"]
        assert row(drive).split()[-1] == "default"


async def test_what_is_typed_replaces_the_value_and_the_verdict_is_there(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await drive.type("400 mA")
        assert "Fails: Junction" in drive.text
        assert row(drive).split()[1:] == ["load", "current", "400", "mA", "hand"]
        assert "changed, not saved" in drive.lines[0]
        await drive.press("enter")
        saved = drive.state.calculations["linear-regulator@3v3"].record
        assert saved.inputs["I_out"].text == "400 mA"
        assert saved.inputs["V_in"].origin == "brief"
        assert "Saved" in said(drive) and "fails" in said(drive)


async def test_what_would_fix_it_follows_a_moment_later(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "400 mA")
        assert "Passes with junction to ambient" in drive.text


async def test_an_arrow_key_edits_the_value_instead_of_replacing_it(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await drive.press("home", "9")
        assert "9150 mA" in row(drive)


async def test_a_text_that_is_not_read_says_why_and_is_not_saved(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "0,4")
        assert "Last valid result; current entry not" in drive.text
        assert "not read" in row(drive)
        assert "'0,4' has a comma in a number. Use a point, as in 0.4." in drive.text
        await drive.press("down", "enter")
        assert isinstance(drive.screen, CalculatorScreen)
        assert said(drive).startswith("load current: '0,4' has a comma")
        assert row(drive).split()[1:3] == ["load", "current"]
        assert not drive.state.calculations


async def test_what_was_said_goes_with_the_next_key_typed(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await drive.type("x")
        await drive.press("enter")
        assert "load current: 'x'" in drive.text
        await drive.press("backspace")
        assert "load current: 'x'" not in drive.text


async def test_leaving_a_changed_calculation_says_that_it_is_not_saved(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await drive.type("1")
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)
        assert said(drive) == "Not saved"
        assert not drive.state.calculations


async def test_leaving_an_unchanged_one_says_nothing(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        before = said(drive)
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)
        assert said(drive) == before


async def test_a_cleared_field_goes_back_to_default_and_shows_it_beside(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "400 mA")
        await drive.press("ctrl+u")
        assert row(drive).split()[-3:] == ["150", "mA", "default"]
        assert pane(drive).entry.placeholder == "default 150 mA"


async def test_one_key_takes_a_field_back_to_what_it_was(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "what")
        await drive.press("ctrl+r")
        assert row(drive).split()[-3:] == ["150", "mA", "default"]
        assert pane(drive).entry.value == "150 mA"


async def test_a_saved_calculation_opens_as_it_was_saved(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "0.2 A")
        await drive.press("enter")
        await drive.show(CalculatorScreen(CalculationKey.of("linear-regulator", "3v3")))
        assert row(drive).split()[-3:] == ["0.2", "A", "hand"]
        assert drive.lines[0].endswith("saved") and "not saved" not in drive.lines[0]


async def test_a_calculator_of_a_subject_that_is_not_there_is_refused(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(CalculatorScreen(CalculationKey.of("linear-regulator", "5v0")))
        assert isinstance(drive.screen, SprintScreen)
        assert "no rail '5v0'" in said(drive)


# ---- choices, proposals, free text ---------------------------------------------------------------


async def test_a_choice_is_turned_by_the_arrows_and_picked_by_its_first_letters(
    tmp_path: Path,
) -> None:
    async with calculator(tmp_path, "strap", "") as drive:
        await drive.press("down")
        assert "default · low | high" in drive.text
        await drive.press("right")
        assert row(drive).split()[-2:] == ["high", "hand"]
        await drive.press("left")
        assert row(drive).split()[-2:] == ["low", "hand"]
        await drive.type("hi")
        assert row(drive).split()[-2:] == ["high", "hand"]
        await drive.press("ctrl+right")
        assert row(drive).split()[-2:] == ["low", "hand"]


async def test_proposals_are_offered_with_their_verdict_and_one_is_taken(tmp_path: Path) -> None:
    async with calculator(tmp_path, "strap", "") as drive:
        await drive.press("down", "down", "down")
        assert row(drive).split()[-1] == "proposed"
        assert pane(drive).entry.placeholder == "proposed 10 kΩ ± 5 %"
        await drive.press("f2")
        assert isinstance(drive.screen, AskChoice)
        assert "1  10 kΩ ± 5 %   pass" in drive.text
        second = drive.screen.choices[1][1].partition("   ")[0]
        await drive.press("2")
        assert pane(drive).entry.value == second
        await drive.press("enter")
        pull = drive.state.calculations["strap"].record.inputs["R_pull"]
        assert (pull.text, pull.origin) == (second, "proposed")


async def test_a_proposed_pick_is_frozen_when_it_is_saved(tmp_path: Path) -> None:
    async with calculator(tmp_path, "indicator", "3v3") as drive:
        await drive.press("enter")
        entry = drive.state.calculations["indicator@3v3"].record.inputs["R"]
        assert entry.origin == "proposed" and entry.text.endswith("Ω ± 5 %")


async def test_a_blank_field_follows_with_another_proposal_a_moment_later(tmp_path: Path) -> None:
    async with calculator(tmp_path, "indicator", "3v3") as drive:
        await drive.press("up")
        await fill(drive, "5 V ± 5 %")
        assert "1.5 kΩ ± 5 %" in drive.line_with("  series resistor")


async def test_saving_at_once_keeps_the_proposal_for_what_stands_there_now(
    tmp_path: Path,
) -> None:
    async with calculator(tmp_path, "indicator", "3v3") as drive:
        await drive.press("up")
        pane(drive).entry.value = "5 V ± 5 %"
        await drive.press("enter")
        inputs = drive.state.calculations["indicator@3v3"].record.inputs
        assert inputs["R"].text == "1.5 kΩ ± 5 %"


async def test_where_nothing_is_proposed_it_says_so(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await drive.press("alt+down")
        assert "Nothing is proposed for this field" in drive.text


async def test_a_question_mark_shows_the_source_but_in_a_text_it_is_a_letter(
    tmp_path: Path,
) -> None:
    async with calculator(tmp_path) as drive:
        await drive.press("question_mark")
        assert "T_J = T_A + theta P_D" in drive.text
        await drive.press("f1")
        assert "T_J = T_A + theta P_D" not in drive.text
        assert "▸" in drive.text
    async with calculator(tmp_path / "..", "strap", "") as drive:
        assert row(drive).split()[1] == "pin"
        await drive.press("question_mark")
        assert row(drive).split()[1:] == ["pin", "?", "hand"]


# ---- tables --------------------------------------------------------------------------------------


async def test_a_row_is_typed_cell_by_cell(tmp_path: Path) -> None:
    async with calculator(tmp_path, "load-budget", "") as drive:
        await drive.press("tab", "tab")
        assert "typical: current while on, in A" in drive.text
        await drive.type("20 mA")
        assert row(drive).split()[1:5] == ["Microcontroller", "3v3", "20", "mA"]
        await drive.press("down")
        await drive.type("7 mA")
        assert "3v3a  7 mA" in row(drive)


async def test_rows_are_copied_and_emptied_ones_go(tmp_path: Path) -> None:
    async with calculator(tmp_path, "load-budget", "") as drive:
        await drive.press("ctrl+d")
        assert drive.text.count("  Microcontroller  ") == 2
        await drive.press("ctrl+u", "down")
        assert drive.text.count("  Microcontroller  ") == 1
        assert row(drive).split()[1] == "Current"


async def test_a_spreadsheets_cells_are_pasted_as_rows(tmp_path: Path) -> None:
    async with calculator(tmp_path, "load-budget", "") as drive:
        rows = "radio\t3v3\t10 mA\t90 mA\nheater\t3v3\t40 mA\t50 mA\n"
        pane(drive).entry.post_message(events.Paste(rows))
        await drive.settled()
        assert row(drive).split()[1] == "heater"
        await drive.press("enter")
        kept = drive.state.calculations["load-budget"].record.inputs["consumers"].rows or ()
        assert [row["consumer"] for row in kept][:3] == ["Microcontroller", "radio", "heater"]


async def test_a_pasted_value_is_one_clean_line(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        pane(drive).entry.post_message(events.Paste("\x1b[31m90\x07 mA\nand more"))
        await drive.settled()
        assert pane(drive).entry.value == "90 mA and more"


# ---- the sprint goes on round it -----------------------------------------------------------------


async def test_a_value_changed_elsewhere_reaches_what_is_being_typed(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        await fill(drive, "100 mA")
        drive.session.do(DeclareValue("rail.vbus.window", "8 .. 9 V"))
        await drive.settled()
        assert drive.line_with("input voltage").split()[-1] == "brief"
        assert "8 .. 9 V" in drive.text
        assert row(drive).split()[-3:] == ["100", "mA", "hand"]


async def test_a_subject_that_goes_meanwhile_is_said_and_does_no_harm(tmp_path: Path) -> None:
    async with calculator(tmp_path, "type-c-sink", "j-console") as drive:
        drive.session.do(DropSubject("j-console"))
        await drive.later(1)
        assert "no connector 'j-console'" in drive.text
        await drive.press("enter")
        assert isinstance(drive.screen, CalculatorScreen)
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)


# ---- sizes and terminals -------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_it_works_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    async with calculator(tmp_path, size=size) as drive:
        await fill(drive, "400 mA")
        assert "Fails: Junction" in drive.text
        assert "400 mA" in row(drive)
        assert "save" in drive.lines[-1] and "back" in drive.lines[-1]
        await drive.press("enter")
        assert "linear-regulator@3v3" in drive.state.calculations


async def test_the_curve_stands_beside_where_it_is_wide_and_below_where_it_is_high(
    tmp_path: Path,
) -> None:
    for number, size in enumerate([(120, 36), (80, 40)]):
        folder = tmp_path / str(number)
        folder.mkdir()
        async with calculator(folder, size=size) as drive:
            view = drive.screen.query_one(CurveView)
            await until(drive, lambda: "limit 125 °C" in drive.text)
            assert "Junction against load" in drive.text and "╌╌╌" in drive.text
            assert (view.region.x > 10) == (size[0] >= 100)
            await drive.press("ctrl+n")
            await until(drive, lambda: "Headroom against input" in drive.text)


async def test_where_there_is_no_room_the_curve_is_a_sentence(tmp_path: Path) -> None:
    async with calculator(tmp_path) as drive:
        listed = drive.screen.query_one("#calc-list", Lines)
        assert any("Junction against load:" in one.text for one in listed.lines)
        await drive.press("pagedown", "pagedown")
        assert "Limit 125 °C, met at" in " ".join(drive.text.split())
        await drive.press("pageup", "pageup", "pageup")
        assert "▸" in drive.text


async def test_only_keys_that_mean_something_here_are_shown(tmp_path: Path) -> None:
    async with calculator(tmp_path, "strap", "", size=(120, 36)) as drive:
        assert "proposed" not in drive.lines[-1]
        await drive.press("down", "down", "down")
        assert "proposed" in drive.lines[-1]
        assert "copy row" not in drive.lines[-1]


async def test_without_colour_it_says_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with calculator(tmp_path, size=(120, 46)) as drive:
        assert drive.app.no_color
        await fill(drive, "400 mA")
        assert "Fails: Junction" in drive.text and "╌╌╌" in drive.text
        await drive.press("pagedown")
        assert "fail      Junction" in drive.text


async def test_in_plain_ascii_nothing_else_is_sent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COACH_ASCII", "1")
    monkeypatch.setattr(glyphs, "_ASCII", True)
    async with calculator(tmp_path, size=(120, 36)) as drive:
        await drive.press("up")
        assert pane(drive).entry.value == "3.3 V +- 3 %"
        await drive.press("end", "backspace", "backspace", "backspace")
        await drive.type("4 %")
        assert "Passes" in drive.text
        shown = "\n".join(line for line in drive.lines if "▁" not in line)
        assert [c for c in shown if not c.isascii() and c not in "▂▃▄▅▆▇█▏"] == []
        assert "Junction against load:" in " ".join(
            one.text for one in drive.screen.query_one("#calc-list", Lines).lines
        )


# ---- looking at one ------------------------------------------------------------------------------


class Beside(Screen[None]):
    """A list with a view beside it, as the sprint screen has one."""

    def compose(self) -> ComposeResult:
        with Horizontal():
            yield Lines(id="items", cursor=True)
            yield CalculatorView()


def view(drive: Driven) -> CalculatorView:
    return drive.screen.query_one(CalculatorView)


REGULATOR, STRAP = CalculationKey("linear-regulator@3v3"), CalculationKey("strap")


async def test_a_preview_follows_and_takes_no_key(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(120, 36)) as drive:
        await drive.show(Beside())
        look = view(drive)
        look.preview(REGULATOR)
        await until(drive, lambda: look.judgement is not None)
        assert "Linear regulator  3v3" in drive.text
        assert "Passes; tightest margin: min input" in drive.text
        assert "▸" not in drive.text
        assert not look.query(FieldLine)
        look.preview(STRAP)
        await until(drive, lambda: "Boot strap resistor" in drive.text)
        assert "linear" not in drive.text.lower()


async def test_a_preview_of_many_in_a_row_shows_the_last(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(120, 36)) as drive:
        await drive.show(Beside())
        look = view(drive)
        for subject in ("vbus", "3v3a", "3v3"):
            look.preview(CalculationKey.of("linear-regulator", subject))
        await until(drive, lambda: look.judgement is not None)
        assert "Linear regulator  3v3 " in drive.text


async def test_a_preview_sees_what_was_saved_meanwhile(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(120, 36)) as drive:
        await drive.show(Beside())
        look = view(drive)
        look.preview(REGULATOR)
        await until(drive, lambda: look.judgement is not None)
        before = look.judgement
        look.preview(REGULATOR)
        assert look.judgement is before
        drive.session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "400 mA"}))
        look.preview(REGULATOR)
        await until(drive, lambda: look.judgement is not before)
        assert "Fails: Junction" in drive.text


async def test_a_preview_that_cannot_be_made_says_why(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(120, 36)) as drive:
        await drive.show(Beside())
        view(drive).preview(CalculationKey("linear-regulator@5v0"))
        await until(drive, lambda: "no rail '5v0'" in " ".join(drive.text.split()))


async def test_a_second_one_is_saved_beside_the_first_and_removed_again(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(CalculatorScreen(CalculationKey.of("strap")))
        await drive.press("enter")
        await drive.show(CalculatorScreen(CalculationKey.of("strap")))
        await drive.press("f3")
        await drive.type("boot1")
        await drive.press("enter")
        assert set(drive.state.calculations) == {"strap", "strap.boot1"}
        await drive.show(CalculatorScreen(CalculationKey.of("strap", label="boot1")))
        await drive.press("f8")
        assert set(drive.state.calculations) == {"strap"}
