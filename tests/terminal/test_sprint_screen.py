"""The sprint screen answers its four questions at every size, and every key does what it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.sprint.calls import SKIPPED
from coach.sprint.commands import Defer, End, EnterPhase, MoveCutOff, SaveCalculation, SetFact
from coach.sprint.events.run import CallMade
from coach.sprint.gates.gates import skipped
from coach.sprint.rules.items import needs_page
from coach.sprint.state import MET, OPEN, WAIVED
from coach.terminal.app import CoachApp, _report
from coach.terminal.screens.walk import WalkScreen
from coach.terminal.widgets.line_view import Lines
from phases.kit.items import CLOSING_ID
from tests.terminal.driving import Driven, begun, clock_of, driven

CHANCE = r"(?:\d in 10|under 1 in 20|over 19 in 20)"


async def test_the_first_thing_read_is_the_time_left_and_then_the_next_thing(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        assert "2 h 0 min left" in drive.lines[0] or "1 h 59 min left" in drive.lines[0]
        assert "on time" in drive.lines[0] and "in 10, ends" in drive.lines[0]
        assert drive.lines[4].startswith(" NEXT     Choose the ")
        assert drive.lines[6] == " SKIPPED  none"
        assert drive.lines[7] == " DRAW     nothing to draw"


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36), (160, 48)])
async def test_time_next_open_and_draw_are_there_at_every_size(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with driven(begun(tmp_path), size=size) as drive:
        await drive.press("1")
        for words in ("left", "cut-off", "NEXT", "SKIPPED", "DRAW", "on time"):
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
        assert "more checks" in drive.text


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
        assert "Cannot be met as" in drive.text or "Needs a calculation" in drive.text


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
        assert "Reason for waiving" in drive.text
        await drive.type("bench only")
        await drive.press("enter")
        assert drive.state.by_key["supply-contacts"].status == WAIVED
        await drive.press("down", "w")
        assert "bench only" in drive.text


async def test_undo_is_one_key(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "m", "u")
        assert drive.state.by_key["supply-contacts"].status == OPEN
        assert "Undone: " in drive.text


async def test_markup_and_escapes_in_a_thought_are_only_text(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("a")
        drive.screen.query_one("#ask-line").value = "[/] [b]x[/b] \x1b]0;title\x07 [@click=quit]y"  # type: ignore[attr-defined]
        await drive.press("enter")
        assert drive.state.notes[0].text == "[/] [b]x[/b] [@click=quit]y"
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
        assert "nothing to draw" in drive.line_with("DRAW")
        assert drive.state.by_key["cc-pull-downs@j-usb"].status == MET


async def test_what_was_skipped_is_said_on_leaving_and_kept_in_the_skipped_line(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "2")
        assert re.search(r"\d essentials .*open", drive.app.status[0])
        assert "dead board" in drive.line_with("SKIPPED")


def under(drive: Driven) -> str:
    """The key of the row under the cursor."""
    return drive.screen.query_one("#items", Lines).key


async def test_a_refusal_does_not_stand_behind_the_next_question(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "o")
        assert "Open already" in drive.text
        await drive.press("w")
        assert "Reason for waiving" in drive.text
        assert "is open already" not in drive.text


async def test_met_by_a_data_sheet_asks_for_the_page_and_goes_on(tmp_path: Path) -> None:
    session = begun(tmp_path)
    row = next(r for r in session.state.rows if needs_page(r) and r.applies and r.item.essential)
    session.do(EnterPhase(row.item.phase))
    async with driven(session) as drive:
        drive.screen.query_one("#items", Lines).put_cursor(row.key)
        await drive.press("m")
        assert "Data sheet and page for" in drive.text
        await drive.type("hearth-33, p. 7")
        await drive.press("enter")
        assert drive.state.by_key[row.key].status == MET
        assert under(drive) != row.key


async def test_a_list_gone_through_by_hand_goes_on_with_its_next_open_row(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1")
        first = under(drive)
        assert not drive.state.by_key[first].closed
        await drive.press("down", "down")
        met = under(drive)
        keys = [one.key for one in drive.screen.query_one("#items", Lines).lines]
        after = keys[keys.index(met) + 1]
        await drive.press("n" if drive.state.by_key[met].item.cites else "m")
        assert drive.state.by_key[met].closed
        assert under(drive) == after
        await drive.press("u")
        assert not drive.state.by_key[met].closed


async def test_entering_a_phase_puts_the_cursor_on_its_first_open_row(tmp_path: Path) -> None:
    session = begun(tmp_path)
    clock_of(session).advance(115 * 60)  # in the reserve the next thing is of the closing list
    async with driven(session) as drive:
        await drive.press("7", "escape", "2")
        first = next(r for r in drive.state.rows_of("regulation") if r.applies is not False)
        assert under(drive) == first.key
        drive.screen.query_one("#items", Lines).action_move(4)
        await drive.press("3")
        assert under(drive) == drive.state.rows_of("debug-access")[0].key
        await drive.press("enter")
        assert isinstance(drive.screen, WalkScreen) and drive.screen.row is not None
        assert drive.screen.row.item.phase == CLOSING_ID, "what NEXT says"


@pytest.mark.parametrize("words", ["closing", "order", "last walk", "decoupling"])
async def test_the_palette_finds_the_way_to_the_end_by_its_words(
    tmp_path: Path, words: str
) -> None:
    async with driven(begun(tmp_path)) as drive:
        commands = list(drive.app.get_system_commands(drive.screen))
        found = next(one for one in commands if words in one.title)
        found.callback()
        await drive.settled()
        if words in ("closing", "order"):
            assert drive.state.phase == CLOSING_ID
        elif words == "decoupling":
            assert drive.state.phase == "decoupling"
        else:
            assert "once the first upload is made" in drive.text


def test_after_leaving_the_path_stands_on_a_line_of_its_own_to_be_copied(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with begun(tmp_path) as session:
        path = session.journal.path
        _report(CoachApp(session), "coach")
        assert capsys.readouterr().err == f"Journal: {path}\nGo on with: coach resume {path}\n"
        session.do(End(accepted=True))
        _report(CoachApp(session), "coach")
        assert capsys.readouterr().err == f"Journal: {path}\nTell it with: coach debrief {path}\n"


async def test_entering_layout_offers_the_walk_of_the_sheet(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "6")
        assert "Before placement" in drive.text
        behind = len(skipped(drive.state))
        assert behind
        assert drive.line_with(f"essentials are still open in all phases, {behind} of them")
        await drive.press("1")
        assert isinstance(drive.screen, WalkScreen)
        assert "1 of " in drive.text
        await drive.press("escape")
        assert "placement" not in drive.state.stages
        assert "Walk stopped, placement not started" in drive.text
        await drive.press("P", "2")
        assert "placement" in drive.state.stages


async def test_a_call_rings_and_stands_at_the_top_edge(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        rung: list[int] = []
        drive.app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
        await drive.later(3600)
        assert "Half the time is gone" in drive.lines[0]
        assert rung == [1]


async def test_a_call_takes_two_lines_at_24_and_the_time_of_day_stays(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        long = CallMade(cause="half", message="Half is gone. " * 25)
        drive.app._waiting_calls = [long]
        await drive.later(3500)
        assert drive.lines[1].startswith("   ") and "gone" in drive.lines[1]
        assert drive.lines[2].startswith(" 09:58  1 h 1 min")
        assert "on time" in drive.lines[2] and "10:" not in drive.lines[1]


@pytest.mark.parametrize("minutes", [5, 60, 90, 118])
async def test_the_header_keeps_the_time_of_day_whatever_the_chance(
    tmp_path: Path, minutes: int
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.later(minutes * 60)
        now = clock_of(drive.session).wall()
        head = next(line for line in drive.lines if "on time" in line)
        assert head.startswith(f" {now:%H:%M}  ")
        assert re.search(r"on time (\d in 10|under 1 in 20), ends \d\d:\d\d", head)


async def test_a_call_goes_once_the_forecast_says_otherwise(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1")
        await drive.later(40 * 60)
        await drive.press("2")
        for _ in range(4):
            await drive.later(1)
        assert "Chance of finishing with all essentials:" in drive.lines[0]
        drive.session.do(MoveCutOff("+150 min"))
        await drive.settled()
        await drive.later(1)
        assert "Chance of finishing with all essentials:" not in drive.text


async def test_a_call_stands_ten_minutes_of_a_sprint_at_most(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.later(3600)
        assert "Half the time is gone" in drive.lines[0]
        await drive.later(9 * 60)
        assert "Half the time is gone" in drive.lines[0]
        await drive.later(2 * 60)
        assert "Half the time is gone" not in drive.text


async def test_the_closing_list_has_one_number_for_one_thing(tmp_path: Path) -> None:
    """What a line takes, in NEXT and in its row alike."""
    async with driven(begun(tmp_path)) as drive:
        await drive.press("8", "escape")
        first = drive.state.rows_of("closing")[0]
        assert first.item.minutes == 0.5
        assert "takes 30 s" in drive.line_with("NEXT")
        row = next(x for x in drive.lines[8:] if first.item.short_title in x)
        assert " 30 s " in row
        await drive.press("g")
        assert "takes 30 s" in drive.text


async def test_a_call_without_a_ring_left_stands_there_silently(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        rung: list[int] = []
        drive.app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
        drive.app._waiting_calls = [CallMade(cause="half", message="Half is gone.", rings=False)]
        await drive.later(1)
        assert "Half is gone" in drive.lines[0]
        assert rung == []
        drive.app._waiting_calls = [CallMade(cause=SKIPPED, message="Left behind.", rings=False)]
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
        await drive.settled()
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
        assert drive.state.notes[-1].text == "ask about stock"


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
        assert "LDO headroom above dropout" in drive.text
        session.do(SetFact("regulator", "switching", "3v3"))
        await drive.settled()
        assert "LDO headroom above dropout" not in drive.text


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
        assert "Biggest part left:" in drive.text and "closing list" in drive.text
        await drive.press("escape")
        await drive.later(60 * 60)  # an hour in which nothing was done
        await drive.press("W")
        assert re.search(rf"Serial console +\d+ min +{CHANCE} +5 points\b", drive.text, re.M)


async def test_at_80_columns_every_option_shows_its_numbers(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("6", "escape", "1")
        await drive.later(90 * 60)
        await drive.press("W")
        forecast = drive.session.forecast
        assert forecast is not None and forecast.proposal is not None
        rows = re.findall(rf"\d+ min +{CHANCE} +(?:no points|\d+ points)", drive.text)
        assert len(rows) == len(forecast.proposal.options)


async def test_a_further_item_that_was_set_aside_is_taken_up_again_with_one_key(
    tmp_path: Path,
) -> None:
    session = begun(tmp_path)
    session.do(EnterPhase("power-entry"))
    rows = session.state.rows_of("power-entry")
    aside = next(r for r in rows if not r.essential and r.applies and not r.closed)
    session.do(Defer((aside.key,)))
    async with driven(session) as drive:
        await drive.press("f")
        drive.screen.query_one("#items", Lines).put_cursor(aside.key)
        await drive.press("o")
        assert not drive.state.by_key[aside.key].deferred
        assert "1 more check taken up again" in drive.text
