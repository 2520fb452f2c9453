"""The sprint screen answers its four questions at every size, and every key does what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.calls import SKIPPED
from coach.sprint.commands import EnterPhase, SaveCalculation, SetFact
from coach.sprint.events import CallMade
from coach.sprint.state import MET, OPEN, WAIVED
from coach.terminal.screens.walk import WalkScreen
from coach.terminal.widgets.lines import Lines
from tests.terminal.driving import begun, clock_of, driven


async def test_the_first_thing_read_is_the_time_left_and_then_the_next_thing(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        assert "2 h 0 min left" in drive.lines[0] or "1 h 59 min left" in drive.lines[0]
        assert "on time" in drive.lines[0] and "in 10, ends" in drive.lines[0]
        assert drive.lines[4].startswith(" NEXT  Choose the parts")
        assert drive.lines[6].startswith(" OPEN") and drive.lines[7].startswith(" DRAW")


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36), (160, 48)])
async def test_time_next_open_and_draw_are_there_at_every_size(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with driven(begun(tmp_path), size=size) as drive:
        await drive.press("1")
        for words in ("left", "cut-off", "NEXT", "OPEN", "DRAW", "on time"):
            assert drive.line_with(words), f"{words} is missing at {size}"
        assert all(len(line) <= size[0] for line in drive.lines)


async def test_a_screen_too_small_for_anything_still_runs(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(20, 5)) as drive:
        assert "left" in drive.lines[0]
        await drive.press("1", "m", "u")
        assert drive.state.phase == "power-entry"


async def test_a_phase_is_one_key_and_its_gate_is_listed(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("4")
        assert drive.state.phase == "clock-boot"
        assert "Clock and boot configuration" in drive.text
        assert drive.line_with("gate 0 of")
        assert "further items" in drive.text


async def test_m_meets_the_item_under_the_cursor(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "m")
        assert drive.state.by_key["supply-contacts"].status == MET
        assert drive.line_with("supply").find("met") >= 0 or "met" in drive.text


async def test_a_calculated_item_cannot_be_ticked_and_says_why(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("2")
        rows = [r for r in drive.state.rows_of("regulation") if r.item.cites and r.applies]
        drive.screen.query_one("#items").put_cursor(rows[0].key)  # type: ignore[attr-defined]
        await drive.press("m")
        assert drive.state.by_key[rows[0].key].status == OPEN
        assert "cannot be met as" in drive.text or "met by a calculation" in drive.text


async def test_not_here_is_one_key_with_all_that_hangs_on_it(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1")
        drive.screen.query_one("#items").put_cursor("usb-data-pairs")  # type: ignore[attr-defined]
        await drive.press("n")
        assert drive.state.knowledge.get("usb_data") is False
        assert "Not on this board" in drive.text


async def test_a_waiver_asks_its_reason_and_offers_the_earlier_one(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "w")
        assert "Why may it be left out?" in drive.text
        await drive.type("bench only")
        await drive.press("enter")
        assert drive.state.by_key["supply-contacts"].status == WAIVED
        await drive.press("down", "w")
        assert "bench only" in drive.text


async def test_undo_is_one_key(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "m", "u")
        assert drive.state.by_key["supply-contacts"].status == OPEN
        assert "Taken back" in drive.text


async def test_markup_and_escapes_in_a_thought_are_only_text(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("a")
        drive.screen.query_one("#ask-line").value = "[/] [b]x[/b] \x1b]0;title\x07 [@click=quit]y"  # type: ignore[attr-defined]
        await drive.press("enter")
        assert drive.state.thoughts[0].text == "[/] [b]x[/b] [@click=quit]y"
        await drive.press("p")
        assert "[b]x[/b]" in drive.text


async def test_c_opens_the_calculator_prefilled_and_enter_saves_it(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("2")
        rows = [
            r for r in drive.state.rows_of("regulation") if "linear-regulator" in str(r.item.cites)
        ]
        there = next(r for r in rows if r.applies)
        drive.screen.query_one("#items").put_cursor(there.key)  # type: ignore[attr-defined]
        await drive.press("c")
        assert type(drive.screen).__name__ == "CalculatorScreen"
        await drive.press("enter")
        assert "linear-regulator@3v3" in drive.state.calculations


async def test_what_is_to_draw_is_in_the_head_and_d_draws_it(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(EnterPhase("power-entry"))
    session.do(SaveCalculation("type-c-sink", "j-usb"))
    async with driven(session) as drive:
        assert "5.1 kΩ" in drive.line_with("DRAW")
        assert "5.1 kΩ" in drive.line_with("NEXT") or "5.1 kΩ" in drive.lines[5]
        await drive.press("D")
        assert "nothing waiting" in drive.line_with("DRAW")
        assert drive.state.by_key["cc-pull-downs@j-usb"].status == MET


async def test_what_was_skipped_is_said_on_leaving_and_kept_in_the_open_line(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "2")
        assert "essentials are still open there" in drive.text
        assert "dead board" in drive.line_with("OPEN")


async def test_entering_layout_offers_the_walk_of_the_sheet(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("6")
        assert "Before placement" in drive.text
        await drive.press("1")
        assert isinstance(drive.screen, WalkScreen)
        assert "1 of " in drive.text
        await drive.press("escape")
        assert "placement" not in drive.state.places
        assert "has not begun" in drive.text
        await drive.press("P", "2")
        assert "placement" in drive.state.places


async def test_a_call_rings_and_stands_at_the_top_edge(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        rung: list[int] = []
        drive.app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
        await drive.later(3600)
        assert "Half the time is gone" in drive.lines[0]
        assert rung == [1]


async def test_a_call_without_a_ring_left_stands_there_silently(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        rung: list[int] = []
        drive.app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
        drive.app._waiting_calls = [CallMade(cause="half", says="Half is gone.", rings=False)]
        await drive.later(1)
        assert "Half is gone" in drive.lines[0]
        assert rung == []
        drive.app._waiting_calls = [CallMade(cause=SKIPPED, says="Left behind.", rings=False)]
        await drive.later(1)
        assert "Left behind" not in drive.text


async def test_the_cut_off_is_called_with_what_to_do(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.later(121 * 60)
        assert "The cut-off has passed: " in drive.lines[0]
        assert "Order what you have now, or move the cut-off." in " ".join(drive.text.split())


async def test_a_tick_in_which_nothing_changed_paints_nothing(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1")
        painted: list[str] = []
        for lines in drive.screen.query(Lines):
            lines.refresh = lambda *_, at=lines, **__: painted.append(str(at.id))  # type: ignore
        drive.app.tick()
        await drive.settled()
        assert painted == []
        clock_of(drive.session).advance(60)
        drive.app.tick()
        assert "head" in painted


async def test_a_call_waits_while_something_is_being_typed(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("a")
        await drive.type("check")
        await drive.later(3600)
        assert drive.app.call is None
        for _ in range(3):
            await drive.later(1)
        assert drive.app.call is not None


async def test_a_question_is_answered_where_it_stands(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("4")
        asked = next(r for r in drive.state.rows_of("clock-boot") if r.applies is None)
        drive.screen.query_one("#items").put_cursor(asked.key)  # type: ignore[attr-defined]
        await drive.press("y")
        await drive.press("1")
        assert drive.state.by_key[asked.key].applies is not None


async def test_the_quick_line_answers_a_calculation_and_parks_the_rest(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("colon")
        drive.screen.query_one("#ask-line").value = "indicator 3.3V 2.1V 2mA"  # type: ignore[attr-defined]
        await drive.press("enter")
        assert "620 Ω" in drive.text
        await drive.press("colon")
        drive.screen.query_one("#ask-line").value = "ask about stock"  # type: ignore[attr-defined]
        await drive.press("enter")
        assert drive.state.thoughts[-1].text == "ask about stock"


async def test_the_wall_clock_set_back_is_said_in_the_journal(tmp_path: Path) -> None:
    session = begun(tmp_path)
    async with driven(session) as drive:
        drive.session.clock.step(-600)  # type: ignore[attr-defined]
        await drive.later(1)
        assert any(s.event.what == "clock-stepped" for s in session.history)  # type: ignore[attr-defined]


async def test_facts_changed_in_the_middle_bring_items_and_take_them(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(EnterPhase("regulation"))
    async with driven(session) as drive:
        assert "Lowest input less output" in drive.text
        session.do(SetFact("regulator", "switching", "3v3"))
        await drive.settled()
        assert "Lowest input less output" not in drive.text


async def test_the_look_has_no_colour_when_none_is_wanted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with driven(begun(tmp_path)) as drive:
        assert drive.app.theme == "ansi-dark"
        assert drive.line_with("NEXT")


async def test_why_tells_what_the_forecast_is_made_of_and_what_could_be_dropped(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path), size=(100, 36)) as drive:
        await drive.press("W")
        assert "takes most of what is left" in drive.text and "closing list" in drive.text
        await drive.press("escape")
        await drive.later(60 * 60)  # an hour in which nothing was done
        await drive.press("W")
        assert "drop Serial console" in drive.text and "costs 5 points" in drive.text
