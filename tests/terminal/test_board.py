"""The board screen: what is known of the board, changed by a key, with all that follows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.sprint.commands import DeclareValue, EnterPhase, Meet, SaveCalculation
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.known_values import known_values
from coach.sprint.state import NOT_HERE
from coach.terminal.screens.board import BoardScreen, Tree
from tests.terminal.driving import Driven, begun, driven


async def at(drive: Driven, key: str) -> None:
    """Puts the cursor on a line, opening its subject where it takes that."""
    screen = drive.screen
    assert isinstance(screen, BoardScreen)
    screen.rows.put_cursor(key)
    await drive.settled()
    assert screen.rows.key == key


async def opened(drive: Driven, subject: str) -> None:
    """Shows the board screen with one subject opened."""
    await drive.show(BoardScreen())
    await at(drive, f"at:{subject}")
    await drive.press("enter")


async def test_subjects_hang_on_their_rails_like_on_the_board(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        indents = {
            name: drive.line_with(f" {name} ").find(name)
            for name in ("vbus", "3v3", "3v3a", "j-load")
        }
        assert indents["vbus"] < indents["3v3"] < indents["3v3a"] < indents["j-load"]
        assert "3.3 V ± 3 %" in drive.line_with("+ 3v3 ")
        assert drive.line_with("main").endswith("16 MHz")


async def test_a_subject_opens_to_its_values_and_facts_with_their_origin(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
    async with driven(session) as drive:
        await opened(drive, "3v3")
        assert drive.line_with("Declared voltage window").split()[-1] == "brief"
        assert drive.line_with("Rail voltage").endswith("linear-regulator@3v3")
        assert drive.line_with("What makes this rail?").endswith("linear  brief")
        await drive.press("enter")
        assert not drive.line_with("What makes this rail?")


async def test_a_fact_is_changed_by_a_choice_and_items_come_and_go(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        assert drive.state.by_key["linear-headroom@3v3"].status != NOT_HERE
        await opened(drive, "3v3")
        await at(drive, "fact:3v3:regulator")
        await drive.press("enter")
        assert "What makes this rail?" in drive.text
        await drive.press("3")
        assert drive.state.knowledge.get("regulator", "3v3") == "switching"
        assert drive.state.by_key["linear-headroom@3v3"].status == NOT_HERE
        assert drive.line_with("What makes this rail?").split()[-2:] == ["switching", "answered"]
        await drive.press("u")
        assert drive.state.knowledge.get("regulator", "3v3") == "linear"


async def test_an_unknown_fact_that_an_item_asks_is_marked_and_answered(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        asked = next(row for row in drive.state.rows if row.question and not row.subject)
        await opened(drive, "")
        await at(drive, f"fact::{asked.question}")
        before = drive.state.by_key[asked.key].applies
        await drive.press("space", "1")
        assert before is None and drive.state.by_key[asked.key].applies is True


async def test_a_value_of_the_brief_is_changed_and_calculations_run_again(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
    async with driven(session) as drive:
        await opened(drive, "vbus")
        await at(drive, "value:rail.vbus.window")
        await drive.press("enter", "ctrl+u")
        await drive.type("4.5 .. 5.5 V")
        await drive.press("enter")
        assert drive.state.declared["rail.vbus.window"] == "4.5 .. 5.5 V"
        assert drive.line_with("Declared voltage window").endswith("4.5 .. 5.5 V  changed")
        read = drive.state.calculations["linear-regulator@3v3"].record.inputs["V_in"].spread
        assert read is not None and read.low == pytest.approx(4.5)


@pytest.mark.parametrize("text", ["3.3 A", "300 V", "[/]", "3,3 V"])
async def test_a_value_that_will_not_do_is_said_while_it_is_typed(
    tmp_path: Path, text: str
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await opened(drive, "vbus")
        await at(drive, "value:rail.vbus.window")
        await drive.press("enter", "ctrl+u")
        await drive.type(text)
        assert "rail.vbus.window:" in drive.text
        await drive.press("enter")
        assert "rail.vbus.window" not in drive.state.declared
        await drive.press("escape")
        assert isinstance(drive.screen, BoardScreen)


async def test_the_current_of_a_load_is_changed_where_the_load_is(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await opened(drive, "display")
        assert "typical 15 mA, peak 25 mA" in drive.line_with("draws")
        await drive.press("down", "enter", "2", "ctrl+u")
        await drive.type("40 mA")
        await drive.press("enter")
        row = next(
            r for r in board_values(drive.state)["board.consumers"] if "Display" in r["consumer"]
        )
        assert row["peak"] == "40 mA" and row["typical"] == "15 mA"


async def test_what_a_calculation_published_is_changed_in_the_calculation(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
    async with driven(session) as drive:
        await opened(drive, "3v3")
        await at(drive, "calculated:rail.3v3.voltage:linear-regulator@3v3")
        await drive.press("enter")
        assert "rail.3v3.voltage comes from linear-regulator@3v3" in drive.text


async def test_a_load_is_added_with_its_rail_and_its_currents(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        await drive.press("a", "5")
        await drive.type("fan Cooling fan")
        await drive.press("enter", "2")
        await drive.type("80 mA")
        await drive.press("enter")
        await drive.press("enter")
        assert "Needed together with the other one" in drive.text
        await drive.type("120 mA")
        await drive.press("enter")
        fan = drive.state.subjects["fan"]
        assert (fan.kind, fan.parent, fan.title) == ("load", "3v3", "Cooling fan")
        row = board_values(drive.state)["board.consumers"][-1]
        assert (row["consumer"], row["typical"], row["peak"]) == ("Cooling fan", "80 mA", "120 mA")
        assert drive.line_with("fan is on the board now")
        assert isinstance(drive.screen, BoardScreen) and drive.screen.rows.key == "at:fan"


async def test_a_rail_is_added_with_its_window_and_taken_off_again(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        await drive.press("a", "1")
        await drive.type("1v8 Core supply")
        await drive.press("enter", "2")
        await drive.type("1.8 V +- 3 %")
        await drive.press("enter", "enter")
        assert drive.state.subjects["1v8"].parent == "3v3"
        assert "1.8 V +- 3 %" in drive.line_with("+ 1v8")
        await drive.press("x", "2")
        assert "1v8" in drive.state.subjects
        await drive.press("x", "1")
        assert "1v8" not in drive.state.subjects


async def test_a_connector_is_added_with_its_kind_so_that_only_its_items_come(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        await drive.press("a", "3")
        await drive.type("j-fan Fan header")
        await drive.press("enter", "1")
        assert "What kind of connector is this?" in drive.text
        await drive.press("6")
        assert drive.state.knowledge.get("connector_kind", "j-fan") == "header"
        assert drive.state.by_key["cc-pull-downs@j-fan"].status == NOT_HERE
        await drive.press("u")
        assert "j-fan" not in drive.state.subjects


async def test_a_value_is_asked_for_by_its_meaning_with_its_ledger_name(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await opened(drive, "")
        await at(drive, "value:board.ambient")
        await drive.press("enter")
        assert "Ambient temperature (board.ambient)" in drive.text


async def test_a_name_that_is_taken_or_no_name_is_said_at_once(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        await drive.press("a", "2")
        await drive.type("usb")
        assert "usb is on this board already" in drive.text
        await drive.type("!")
        assert "is not a name" in drive.text
        await drive.press("escape")
        assert "usb!" not in drive.state.subjects and isinstance(drive.screen, BoardScreen)


async def test_a_rail_that_others_hang_on_stays_and_says_why(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        await at(drive, "at:3v3a")
        await drive.press("x", "1")
        assert "3v3a" in drive.state.subjects
        assert re.search(r"3v3a .*j-load|j-load.* 3v3a", drive.app.status[0])


async def test_an_optional_feature_is_dropped_and_comes_back(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(80, 48)) as drive:
        drive.app.do(EnterPhase("power-entry"))
        drive.app.do(Meet("supply-contacts"))
        await drive.show(BoardScreen())
        assert "15 points   6 min" in drive.line_with("optional  Readings on a display")
        await at(drive, "feature:show")
        await drive.press("enter")
        assert drive.line_with("dropped   Readings on a display")
        assert "display" not in drive.state.subjects
        await drive.press("x")
        assert drive.line_with("optional  Readings on a display")
        assert "display" in drive.state.subjects
        await at(drive, "feature:measure")
        await drive.press("x")
        assert "is required by the brief" in drive.text


async def test_everything_opens_and_shuts_with_one_key(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(BoardScreen())
        screen = drive.screen
        assert isinstance(screen, BoardScreen)
        shut = len(screen.rows.lines)
        await drive.press("f")
        facts = [one for one in screen.rows.lines if one.key.startswith("fact:")]
        assert len(facts) > 80
        await drive.press("f")
        assert len(screen.rows.lines) == shut


@pytest.mark.parametrize("width", [40, 60, 80, 120, 160])
def test_every_line_fits_its_width_with_its_value_in_it(tmp_path: Path, width: int) -> None:
    with begun(tmp_path) as session:
        session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
        everything = {"", *session.state.subjects}
        lines = Tree(session.state, everything, width).lines()
        assert max(len(line.text) for line in lines) <= width
        window = next(one for one in lines if one.key == "value:rail.vbus.window")
        assert "4.75 .. 5.25 V" in window.text
        keyed = [one.key for one in lines if one.key]
        assert len([key for key in keyed if key.startswith("value:")]) == sum(
            isinstance(one.value, str) and not one.calculated for one in known_values(session.state)
        )


def test_every_line_under_the_cursor_has_a_key_of_its_own(tmp_path: Path) -> None:
    with begun(tmp_path) as session:
        session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
        session.do(SaveCalculation("load-budget"))
        lines = Tree(session.state, {"", *session.state.subjects}, 80).lines()
        keys = [line.key for line in lines if line.key]
        assert len(set(keys)) == len(keys)


def test_a_consumer_that_is_no_load_of_this_board_is_shown_with_the_board(tmp_path: Path) -> None:
    with begun(tmp_path) as session:
        rows = board_values(session.state)["board.consumers"]
        heater = {"consumer": "Heater", "rail": "3v3", "typical": "5 mA", "peak": "9 mA"}
        session.do(DeclareValue("board.consumers", [*rows, heater]))
        lines = [line.text for line in Tree(session.state, {""}, 80).lines()]
        assert any("Heater" in line and "peak 9 mA" in line for line in lines)
