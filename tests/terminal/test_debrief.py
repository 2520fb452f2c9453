"""The debrief on the terminal: its lines at every width, its keys, findings and house rules."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Input

from coach.debrief.account.data import Account, Said
from coach.debrief.account.telling import account_of
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.document import load_brief
from coach.sprint.brief.house_rules import checked_house_rules, gate_by_default, house_file
from coach.sprint.commands import End
from coach.sprint.rehearsal.rehearse import rehearse
from coach.sprint.session import Session
from coach.terminal import glyphs
from coach.terminal.app import CoachApp
from coach.terminal.drawing.debrief_lines import (
    EVERYTHING,
    PARTS,
    debrief_lines,
    debrief_text,
    debrief_title,
)
from coach.terminal.drawing.debrief_timeline import timeline_lines
from coach.terminal.drawing.lines import width_of
from coach.terminal.screens.bringup import BringupScreen
from coach.terminal.screens.debrief import DebriefScreen
from coach.terminal.screens.end import EndScreen
from coach.terminal.screens.help import HelpScreen
from tests.debrief.sample_account import small_account
from tests.terminal.driving import Driven, begun, driven

SIZES = [(40, 12), (60, 16), (80, 24), (120, 36), (160, 48)]
ENDS = [SIZES[0], SIZES[-1]]
FAULT = "R5 is 10 kΩ, not 1 kΩ"


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("rehearsed") / "a.toml"
    rehearse(load_brief("usb-bench-meter"), seed=3, forget=0.1, path=path)
    return path.read_bytes()


@pytest.fixture
def journal(tmp_path: Path, rehearsed: bytes) -> Path:
    path = tmp_path / "j.toml"
    path.write_bytes(rehearsed)
    return path


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    return house_file(tmp_path)


@asynccontextmanager
async def debriefed(
    path: Path, size: tuple[int, int] = (80, 24), rules: Path | None = None, *,
    note: bool = False, as_item: int = 0, passed_over: int = 0,
) -> AsyncIterator[Driven]:  # fmt: skip
    """The debrief of a journal, with no sprint open."""
    screen = DebriefScreen(path, rules=rules, note=note, as_item=as_item, passed_over=passed_over)
    app = CoachApp(folder=path.parent, first=screen)
    async with app.run_test(size=size, notifications=True) as pilot:
        drive = Driven(app, pilot)
        await drive.settled()
        yield drive


async def answer(drive: Driven, *texts: str) -> None:
    """Puts a line behind what each question offers, and takes it."""
    for text in texts:
        drive.screen.query_one(Input).value += text
        await drive.press("enter")


def texts(account: Account, width: int, *unfolded: str, low: bool = False) -> list[str]:
    return [one.text.rstrip() for one in debrief_lines(account, width, unfolded, low=low)]


# ---- the lines -------------------------------------------------------------------------------


@pytest.mark.parametrize("low", [True, False])
@pytest.mark.parametrize("width", [30, 40, 60, 80, 120, 160])
def test_no_line_is_wider_than_the_screen(width: int, low: bool) -> None:
    account = small_account()
    for unfolded in ((), (EVERYTHING,)):
        found = [*debrief_title(account, width), *debrief_lines(account, width, unfolded, low=low)]
        assert max(width_of(one.text.rstrip()) for one in found) <= width


@pytest.mark.parametrize("width", [40, 80, 160])
def test_what_is_still_changeable_comes_first_then_the_three_sentences(width: int) -> None:
    account = replace(small_account(), faults=(), findings=(), measured=())
    lines = texts(account, width)
    assert lines[0].lstrip().startswith("1 Still changeable")
    first = account.changeable[0].text.split()[:3]
    assert " ".join(first) in lines[1]
    heads = [line.split()[0] for line in lines if line[1:2].isdigit() and line[2:3] == " "]
    assert heads == [part.key for part in PARTS]
    words = " ".join(" ".join(lines).split())
    for said in account.sentences:
        assert said.text in words


@pytest.mark.parametrize("width", [40, 80])
def test_once_there_are_boards_the_first_part_says_what_is_true(width: int) -> None:
    lines = texts(replace(small_account(), faults=()), width)
    assert lines[0].lstrip().startswith("1 To change")
    assert ("on the boards and in the next revision" in lines[0]) == (width == 80)


def test_what_a_sentence_names_is_listed_below_it_and_all_of_it_once_unfolded() -> None:
    said = Said("5 items that can kill the board are open.", "5 open", tuple("VWXYZ"), True)
    account = replace(small_account(), faults=(), changeable=(said,))
    short, whole = texts(account, 80), texts(account, 80, "1")
    assert [one.strip() for one in short[3:7]] == ["- V", "- W", "- X", "and 2 more of these: ↵"]
    assert [one.strip() for one in whole[3:8]] == ["- V", "- W", "- X", "- Y", "- Z"]


def test_a_rehearsal_says_below_its_title_that_it_is_one() -> None:
    kind = "A rehearsal, the clock 60 times faster: it feeds nobody's pace."
    lines = debrief_title(replace(small_account(), kind=kind), 80)
    assert lines[-1].text.strip() == kind
    assert "2031-05-05" in lines[0].text


def test_what_of_the_journal_is_not_whole_stands_above_all_of_it() -> None:
    lines = texts(small_account(), 80)
    assert lines[0] == " 1 fault of the journal; what is whole is told"
    assert "Event 41 contradicts" in lines[1]


def test_unfolded_it_says_everything_the_account_holds() -> None:
    account = small_account()
    words = " ".join(" ".join(texts(account, 100, EVERYTHING)).split())
    said = [*account.changeable, *account.sentences, *account.differently]
    wanted = [part for one in said for part in (one.text, one.evidence)]
    wanted += [*account.planned, *account.happened, *account.differences]
    wanted += [one.name for one in (*account.forgotten, *account.late, *account.waived)]
    wanted += [one.says for one in account.undrawn] + [one.says for one in account.calls]
    wanted += [limit.says for one in account.calculations for limit in one.limits]
    wanted += [one.fault for one in account.findings] + [one.text for one in account.measured]
    wanted += [*account.dropped, *account.thoughts, account.honesty.says]
    assert [one for one in wanted if one.rstrip(".") not in words] == []


def test_every_item_stands_with_when_it_was_due_and_when_it_was_closed() -> None:
    account = small_account()
    lines = texts(account, 200, "5")
    for item in account.items:
        assert any(item.name in line and line.split()[0].count(":") == 1 for line in lines)


def test_what_is_folded_away_is_counted() -> None:
    account = small_account()
    many = replace(account, changeable=account.changeable * 4)
    short, whole = texts(many, 80), texts(many, 80, "1")
    assert "   and 4 more: ↵" in short
    assert len(whole) > len(short)
    assert not any("more: ↵" in line for line in texts(many, 80, EVERYTHING))


def test_an_account_without_anything_still_has_its_lines() -> None:
    empty = replace(
        small_account(), changeable=(), sentences=(), planned=(), happened=(), differences=(),
        differently=(), phases=(), items=(), calculations=(), undrawn=(), calls=(), forecasts=(),
        findings=(), measured=(), dropped=(), thoughts=(), faults=(),
    )  # fmt: skip
    lines = texts(empty, 80)
    assert "Nothing was forgotten" in " ".join(lines)
    assert timeline_lines(empty, 80) == []


def test_what_was_typed_is_shown_as_it_is() -> None:
    account = small_account()
    odd = replace(account, sentences=(replace(account.sentences[0], text="[b]$x^2$ [/] | <b>"),))
    assert any("[b]$x^2$ [/] | <b>" in line for line in texts(odd, 80))


def test_as_text_it_ends_with_where_the_journal_is() -> None:
    account = small_account()
    text = debrief_text(account)
    assert text.endswith(f" Journal: {account.path}\n")
    assert all(line == line.rstrip() for line in text.split("\n"))


# ---- the timeline ----------------------------------------------------------------------------


@pytest.mark.parametrize("width", [30, 40, 80, 160])
def test_planned_stands_above_actual_with_the_cut_off_through_both(width: int) -> None:
    account = small_account()
    planned, actual, *times = (one.text for one in timeline_lines(account, width))
    assert planned.split()[0] in ("plan", "planned") and "─" in planned and "═" not in planned
    assert actual.split()[0] in ("was", "actual") and "═" in actual and "─" not in actual
    assert planned.index("┃") == actual.index("┃")
    assert "├" in planned and "├" in actual
    words = " ".join(times)
    assert "0:00" in words and "cut-off 2:00" in words and "accepted 2:03" in words


def test_where_a_phase_really_ran_its_piece_lies() -> None:
    account = small_account()
    width = 160
    actual = timeline_lines(account, width)[1].text
    start = actual.index("├")
    cells = len(actual.rstrip()) - 1 - start
    layout = next(one for one in account.phases if one.phase == "layout")
    whole = max(e for one in account.phases for _, e in one.stretches)
    whole = max(whole, account.ended_at or 0.0)
    begin, end = (start + round(t / whole * cells) for t in layout.stretches[0])
    assert actual[begin] == "┤" and actual[end] in "┤├"
    assert "layout" in actual[begin:end]


def test_times_that_cannot_be_drawn_are_left_out() -> None:
    account = small_account()
    phases = tuple(
        replace(one, planned=(0.0, 1e308), stretches=((float("nan"), 5.0), (-9.0, -3.0)))
        for one in account.phases
    )
    forged = replace(account, phases=phases, deadline=1e308)
    assert timeline_lines(forged, 80) == []
    assert texts(forged, 80, EVERYTHING)


# ---- the screen ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
async def test_it_opens_with_what_is_changeable_at_every_size(
    journal: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size) as drive:
        assert drive.lines[0].strip().startswith("USB bench meter")
        assert "cut-off" in drive.lines[1]
        assert "simulated" in drive.lines[2]
        assert "1 Still changeable" in drive.lines[3]
        assert "late finding" in drive.lines[-1] and drive.lines[-1].endswith("? help")
        assert max(len(line) for line in drive.lines) <= size[0]


@pytest.mark.parametrize("size", ENDS)
async def test_one_key_goes_to_each_part_and_unfolds_it_when_pressed_again(
    journal: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        for part in PARTS:
            await drive.press(part.key)
            assert drive.screen.rows.key == f"part/{part.key}"
            assert any(line.startswith(f"▸{part.key} ") for line in drive.lines)
        before = len(drive.screen.rows.lines)
        await drive.press("5", "5")
        assert len(drive.screen.rows.lines) > before + 50
        await drive.press("5")
        assert len(drive.screen.rows.lines) == before


async def test_enter_unfolds_the_part_under_the_cursor_and_a_all_of_them(journal: Path) -> None:
    async with debriefed(journal) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        short = len(drive.screen.rows.lines)
        await drive.press("6", "enter")
        assert drive.screen.unfolded == {"6"}
        await drive.press("enter", "a")
        assert len(drive.screen.unfolded) == len(PARTS)
        await drive.press("a")
        assert len(drive.screen.rows.lines) == short


async def test_it_says_what_every_account_of_this_journal_says(journal: Path) -> None:
    account = account_of(read_sprint(journal))
    async with debriefed(journal, (160, 48)) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.screen.account == account


async def test_help_explains_it_and_leaving_ends_the_coach(journal: Path) -> None:
    async with debriefed(journal, (80, 36)) as drive:
        await drive.press("question_mark")
        assert isinstance(drive.screen, HelpScreen)
        assert drive.line_with("late finding") and drive.line_with("1 .. 9")
        await drive.press("escape")
        assert isinstance(drive.screen, DebriefScreen)
        await drive.press("q")
        assert drive.app.return_code == 0 and not drive.app.is_running


async def test_one_key_leads_to_the_bring_up_sheet_and_back(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("b")
        assert isinstance(drive.screen, BringupScreen)
        assert "Bring-up" in drive.text
        await drive.press("escape")
        assert isinstance(drive.screen, DebriefScreen)


async def test_escape_leaves_where_there_is_nothing_to_go_back_to(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("escape")
        assert drive.app.return_code == 0


async def test_it_is_written_beside_the_journal_in_both_forms(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("k")
        assert "The debrief is in" in drive.text
        await drive.press("h")
        said, _ = drive.app.said
    assert said == f"The debrief is in {journal.with_name('j-debrief.html')}"
    assert journal.with_name("j-debrief.md").read_text(encoding="utf-8").startswith("# Debrief:")
    page = journal.with_name("j-debrief.html").read_text(encoding="utf-8")
    assert page.lower().startswith("<!doctype html>")


async def test_a_file_of_that_name_that_is_no_debrief_stays(journal: Path) -> None:
    mine = journal.with_name("j-debrief.md")
    mine.write_text("mine", encoding="utf-8")
    async with debriefed(journal) as drive:
        await drive.press("k")
        assert "it is no debrief" in drive.app.said[0]
    assert mine.read_text(encoding="utf-8") == "mine"


async def test_all_of_it_is_copied_out(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("c")
        text = journal.with_name("j-debrief.txt").read_text(encoding="utf-8")
        assert drive.app.clipboard == text
    assert text == debrief_text(account_of(read_sprint(journal)))


async def test_of_a_damaged_journal_the_fault_is_said_and_the_rest_shown(journal: Path) -> None:
    journal.write_bytes(journal.read_bytes()[:-40])
    async with debriefed(journal) as drive:
        assert drive.line_with("1 fault of the journal")
        assert drive.line_with("1 Still changeable")


async def test_a_journal_that_went_away_is_one_sentence(tmp_path: Path) -> None:
    async with debriefed(tmp_path / "none.toml") as drive:
        assert "There is no journal here" in " ".join(drive.text.split())
        await drive.press("f", "h", "c", "i", "5", "enter")
        assert isinstance(drive.screen, DebriefScreen)


async def test_without_colours_the_parts_are_still_told_apart(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with debriefed(journal) as drive:
        assert drive.line_with("1 Still changeable") and drive.line_with("2 In three sentences")


async def test_in_ascii_nothing_else_is_drawn(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(glyphs, "_ASCII", True)
    async with debriefed(journal, (80, 48)) as drive:
        await drive.press("5")
        drawn = "".join(line[:78] for line in drive.lines)
        assert drawn.replace("▸", "").isascii()


# ---- late findings ---------------------------------------------------------------------------


@pytest.mark.parametrize("size", ENDS)
async def test_a_late_finding_is_asked_line_by_line_and_journalled(
    journal: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "boot source", "2", "25", "1 kΩ on top")
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.app.said[0] == "Finding 1 noted"
        assert drive.screen.rows.key == "finding/9/1"
        assert any(FAULT[:12] in line for line in drive.lines)
    finding = read_sprint(journal).state.findings[0]
    assert (finding.fault, finding.item, finding.board) == (FAULT, "boot-source", "2")
    assert (finding.minutes, finding.bodge) == (25.0, "1 kΩ on top")


async def test_it_can_be_typed_key_by_key(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f", *"R5 dark", "enter", *"boot s", "enter")
        await drive.press("2", "enter", *"5", "enter", "enter")
    finding = read_sprint(journal).state.findings[0]
    assert (finding.fault, finding.item, finding.minutes) == (
        "R5 dark",
        "boot-loader-reachable",
        5.0,
    )


async def test_everything_but_the_fault_may_be_left_empty(journal: Path) -> None:
    async with debriefed(journal, note=True) as drive:
        await drive.press("enter")
        assert "Say in a line what was wrong" in drive.text
        await answer(drive, FAULT, "", "", "", "")
        assert drive.app.said[0] == "Finding 1 noted"
    finding = read_sprint(journal).state.findings[0]
    assert (finding.item, finding.board, finding.minutes, finding.bodge) == ("", "", None, "")


async def test_an_answer_that_will_not_do_is_said_before_it_is_taken(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "", "two boards")
        assert "is not a board number" in drive.text
        await drive.press("escape")
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.app.said[0] == "Nothing was noted"
        await drive.press("f")
        assert FAULT in drive.text, "what was typed is offered again"
    assert read_sprint(journal).state.findings == ()


async def test_on_an_item_the_finding_is_about_that_item(journal: Path) -> None:
    account = account_of(read_sprint(journal))
    item = account.forgotten[0]
    async with debriefed(journal) as drive:
        await drive.press("6", "down")
        await drive.press("f")
        await answer(drive, FAULT)
        assert item.name[:30] in drive.text
        await answer(drive, "", "", "", "")
    assert read_sprint(journal).state.findings[0].item == item.key


async def test_the_arrow_keys_choose_among_the_items_found(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f")
        await answer(drive, FAULT)
        await drive.type("boot")
        await drive.press("down", "down", "up", "enter")
        await answer(drive, "", "", "")
    rows = read_sprint(journal).state.findings
    assert len(rows) == 1 and rows[0].item


async def test_a_finding_is_taken_back_with_one_key(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("x")
        assert drive.app.said[0] == "No finding is noted yet: f"
        await drive.press("f")
        await answer(drive, FAULT, "", "", "", "")
        await drive.press("x")
        assert drive.app.said[0] == "Finding 1 taken back"
        assert FAULT not in drive.text
    assert read_sprint(journal).state.findings == ()


async def test_where_another_coach_has_it_open_it_is_shown_and_not_written(
    tmp_path: Path,
) -> None:
    with begun(tmp_path, name="j.toml") as session:
        session.do(End(accepted=True))
        async with debriefed(tmp_path / "j.toml") as drive:
            assert drive.line_with("1 Still changeable")
            await drive.press("f")
            await answer(drive, FAULT, "", "", "", "")
            assert "open in another coach" in drive.app.said[0]
        assert session.state.findings == ()


# ---- house rules -----------------------------------------------------------------------------


@pytest.mark.parametrize("size", ENDS)
async def test_a_finding_becomes_a_house_rule_by_five_answers(
    journal: Path, rules: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size, rules) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "boot source", "2", "25", "")
        await drive.press("i")
        assert FAULT in drive.text
        await drive.press("enter")
        assert "give 10 to 90" in drive.text  # nothing is made up for who says nothing
        await drive.press("down", "enter", "enter", "1", "1", "1")
        said = "Finding 1 is item r5-is-10-k-not-1-k now, at the gate of clock-boot"
        assert drive.app.said[0].startswith(said)
        await drive.press("i")
        assert "already" in drive.app.said[0]
    item = checked_house_rules(rules)[0]
    assert (item.phase, item.severity) == ("clock-boot", "dead board")
    assert gate_by_default(item)
    assert item.statement == f"Checked, and not so here: {FAULT}"
    assert item.left_out_min < 25.0
    assert read_sprint(journal).state.findings[0].made_item == item.id


async def test_the_statement_is_edited_and_one_too_long_is_not_taken(
    journal: Path, rules: Path
) -> None:
    async with debriefed(journal, (80, 24), rules) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "boot source", "", "", "")
        await drive.press("i")
        await answer(drive, "x" * 91)
        assert "give 10 to 90" in drive.text
        drive.screen.query_one(Input).value = ""
        await answer(drive, "R5 is one kiloohm", ", as the sheet says")
        await drive.press("2", "1", "2")
    item = checked_house_rules(rules)[0]
    assert item.statement == "R5 is one kiloohm"
    assert item.why.endswith(", as the sheet says")
    assert item.essential


async def test_a_rule_that_is_left_makes_nothing(journal: Path, rules: Path) -> None:
    async with debriefed(journal, (80, 24), rules) as drive:
        await drive.press("i")
        assert drive.app.said[0] == "No finding is noted yet: f"
        await drive.press("f")
        await answer(drive, FAULT, "", "", "", "")
        await drive.press("i", "down", "enter", "escape")
        assert drive.app.said[0] == "No item was made"
    assert not rules.exists()


async def test_it_can_be_asked_for_from_the_command_line_at_once(
    journal: Path, rules: Path
) -> None:
    async with debriefed(journal, note=True) as drive:
        await answer(drive, FAULT, "", "", "", "")
    async with debriefed(journal, (80, 24), rules, as_item=1) as drive:
        await drive.press("down", "enter", "enter", "1", "3", "1")
    assert checked_house_rules(rules)[0].phase == "debug-access"
    async with debriefed(journal, as_item=7) as drive:
        assert drive.app.said[0] == "There is no finding 7 in this journal"


async def test_the_gate_is_proposed_to_what_kills_a_board_and_not_to_the_rest(
    journal: Path, rules: Path
) -> None:
    async with debriefed(journal, (80, 24), rules) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "boot source", "", "", "")
        await drive.press("i")
        await answer(drive, "R5 is one kiloohm", "")
        await drive.press("1", "1")
        assert drive.line_with("1  At the gate of the phase, as is usual")
        assert drive.line_with("2  Walked with it, outside it")
        await drive.press("escape", "i")
        await answer(drive, "R5 is one kiloohm", "")
        await drive.press("2", "1")
        assert drive.line_with("1  Among the more checks")


async def test_a_finding_says_above_its_question_of_which_sprint_it_is(journal: Path) -> None:
    async with debriefed(journal, note=True, passed_over=2) as drive:
        assert drive.line_with(f"USB bench meter, 2031-05-19 09:00, {journal.name}")
        assert drive.line_with("2 newer sprints, given up at once, are passed over")
        assert drive.line_with("What was wrong?")


# ---- from the end screen ---------------------------------------------------------------------


def ended(folder: Path) -> Session:
    session = begun(folder)
    session.do(End(accepted=True))
    return session


async def test_one_key_leads_from_the_end_to_the_debrief_and_back(tmp_path: Path) -> None:
    async with driven(ended(tmp_path)) as drive:
        await drive.show(EndScreen())
        assert "b debrief" in drive.lines[-1]
        await drive.press("b")
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.line_with("1 Still changeable")
        await drive.press("escape")
        assert isinstance(drive.screen, EndScreen)


async def test_there_a_finding_goes_into_the_journal_that_is_open(tmp_path: Path) -> None:
    async with driven(ended(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("b", "f")
        await answer(drive, FAULT, "boot source", "", "", "")
        assert drive.state.findings[0].item == "boot-source"
        assert any(FAULT in line for line in drive.lines)
    read = read_sprint(tmp_path / "sprint.toml")
    assert read.faults == () and read.state.findings[0].fault == FAULT


async def test_before_the_end_it_says_that_nothing_is_final_and_notes_nothing(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("b")
        assert "The sprint goes on: nothing here is final" in drive.text
        await drive.press("f")
        assert isinstance(drive.screen, DebriefScreen)
        assert "noted after its end" in drive.app.said[0]
