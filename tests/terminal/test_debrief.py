"""The debrief on the terminal: its page and its parts at every width, findings and house rules."""

from __future__ import annotations

import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Input

from coach.history.read_sprint import read_sprint
from coach.report.account import Account
from coach.report.report import report_of
from coach.report.sections import Point, Report
from coach.sprint.brief.house_rules import checked_house_rules, house_file
from coach.sprint.commands import End
from coach.terminal import glyphs
from coach.terminal.app import CoachApp
from coach.terminal.drawing.debrief_lines import (
    ALL,
    PARTS,
    about,
    debrief_text,
    debrief_title,
    page_lines,
    part_lines,
)
from coach.terminal.drawing.lines import width_of
from coach.terminal.drawing.time_line import planned_and_actual
from coach.terminal.screens.bringup import BringupScreen
from coach.terminal.screens.debrief import DebriefScreen
from coach.terminal.screens.help import HelpScreen
from tests.rehearsals import Rehearsals
from tests.report.sample_report import bare, small_report, time_chart, with_section
from tests.terminal.driving import ENDS, SIZES, Driven, begun

FAULT = "R5 is 10 kΩ, not 1 kΩ"


@pytest.fixture(scope="module")
def rehearsed(rehearsed_once: Rehearsals) -> bytes:
    return rehearsed_once("usb-bench-meter", seed=3, forget=0.1).path.read_bytes()


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
    path: Path,
    size: tuple[int, int] = (80, 24),
    rules: Path | None = None,
    *,
    note: bool = False,
    as_item: int = 0,
    passed_over: int = 0,
) -> AsyncIterator[Driven]:
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


def page(report: Report, width: int = 80, rows: int = 20) -> list[str]:
    return [one.text.rstrip() for one in page_lines(report, width, rows)]


def part(report: Report, shown: str, width: int = 80, *opened: str) -> list[str]:
    return [one.text.rstrip() for one in part_lines(report, shown, width, opened)]


@pytest.fixture(scope="module")
def report(rehearsed: bytes, tmp_path_factory: pytest.TempPathFactory) -> Report:
    path = tmp_path_factory.mktemp("read") / "a.toml"
    path.write_bytes(rehearsed)
    return report_of(read_sprint(path))


# ---- the page --------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [30, 40, 60, 80, 120, 160])
def test_no_line_is_wider_than_the_screen(report: Report, width: int) -> None:
    for told in (report, small_report()):
        found = [*debrief_title(told, width), *page_lines(told, width, 20)]
        found += part_lines(told, ALL, width)
        assert max(width_of(one.text.rstrip()) for one in found) <= width


@pytest.mark.parametrize("width", [40, 80, 160])
def test_the_page_says_what_is_changeable_then_what_was_forgotten_then_three_sentences(
    width: int,
) -> None:
    told = replace(small_report(), faults=())
    lines = page(told, width)
    heads = [line for line in lines if line[1:2].isdigit() and line[2:3] == " "][:3]
    assert [line.split()[0] for line in heads] == ["1", "2", "3"]
    assert lines[0].lstrip().startswith("1 Still changeable")
    assert lines[1] == "   1  Hazard: Reverse polarity"
    words = " ".join(" ".join(lines).split())
    assert "3 of 60 essentials open at the end." in words
    for said in told.section("sentences").points:
        assert said.text in words


def test_at_80_by_24_the_page_of_a_sprint_fits_the_screen(report: Report) -> None:
    rows = 24 - len(debrief_title(report, 79)) - 1
    lines = page(report, 79, rows)
    assert len(lines) <= rows
    assert "4 Plan against actual" in lines[-3] and lines[-1].rstrip().endswith("a all of it")


def test_at_40_by_12_the_page_begins_with_what_can_still_be_changed() -> None:
    points = tuple(Point(f"Long {n}. " * 9, brief=f"Brief {n} " * 9) for n in range(9))
    told = with_section(replace(small_report(), faults=()), "to-change", points=points)
    lines = page(told, 39, 12 - 4)
    assert lines[1].startswith("   1  Brief 0") and lines[2].startswith("   2  Brief 1")
    assert lines[3] == "   and 7 more: 1"


def test_as_many_entries_are_shown_as_have_room_and_never_all_but_one() -> None:
    points = tuple(Point(f"Entry {n}.", brief=f"Entry {n}") for n in range(9))
    told = with_section(replace(small_report(), faults=()), "to-change", points=points)
    sizes = [len(page(told, 80, rows)) for rows in range(10, 40)]
    assert sizes == sorted(sizes)
    assert max(sizes) - min(sizes) >= 5
    for rows in range(10, 40):
        assert not any("and 1 more" in line for line in page(told, 80, rows))
    assert any("Entry 8" in line for line in page(told, 80, 39))


def test_a_rehearsal_says_below_its_title_that_it_is_one() -> None:
    kind = "A rehearsal, the clock 60 times faster: it feeds nobody's pace."
    lines = debrief_title(replace(small_report(), kind=kind), 80)
    assert lines[-1].text.strip() == kind
    assert "2031-05-05" in lines[0].text


def test_what_of_the_journal_is_damaged_comes_before_all_of_it() -> None:
    for lines in (page(small_report()), part(small_report(), ALL), part(small_report(), "4")):
        assert lines[0] == " This journal is damaged, 1 fault; the rest is told"
        assert "Event 41 contradicts" in lines[1]


# ---- the parts -------------------------------------------------------------------------------


def flat(points: tuple[Point, ...]) -> list[str]:
    return [text for one in points for text in (one.text, one.evidence, *flat(one.below))]


def test_all_of_it_says_everything_the_report_holds(report: Report) -> None:
    for told in (report, small_report()):
        words = " ".join(" ".join(part(told, ALL, 120)).split())
        for section in told.sections:
            if section.id == "curves":
                continue
            wanted = [section.lead, *flat(section.points)]
            wanted += [cell for t in section.tables for row in t.rows for cell in row.cells]
            missing = [one for one in wanted if " ".join(one.split()) not in words and one != "–"]
            assert missing == [], section.id


def test_a_part_is_all_of_its_sections(report: Report) -> None:
    lines = part(report, "4")
    assert lines[0] == " 4 Plan against actual"
    titles = [one.strip() for one in lines]
    for title in ("What was planned", "What happened", "Why they differ", "Timeline"):
        assert title in titles


def test_what_is_folded_is_counted_and_shown_when_it_is_opened(report: Report) -> None:
    folded, opened = part(report, "6"), part(report, "6", 80, "items-1")
    (line,) = [one for one in folded if one not in opened]
    (table,) = [t for t in report.section("items").tables if t.caption.startswith("Regulation")]
    assert line == f"   {len(table.rest)} closed in time: ↵"
    assert len(opened) > len(folded) + len(table.rest) - 1
    assert not any(one.endswith("closed in time: ↵") for one in part(report, ALL))


def test_a_table_has_its_caption_once_folded_or_not(report: Report) -> None:
    captions = [
        one.caption for name in ("items", "timeline") for one in report.section(name).tables
    ]
    assert any(one.rest and one.first for one in report.section("items").tables)
    for shown in ([*part(report, "4"), *part(report, "6")], part(report, ALL)):
        for caption in captions:
            # Wide captions are cut; the first words tell them apart.
            assert sum(line.startswith(f"  {caption[:40]}") for line in shown) == 1, caption


def test_of_a_phase_never_entered_its_row_says_so_once() -> None:
    path = Path(__file__).parents[2] / "sessions" / "sample-usb-bench-meter-hurried.toml"
    report = report_of(read_sprint(path))
    (table,) = report.section("timeline").tables
    rows = [" ".join(row.cells).lower() for row in table.rows]
    assert sum("never entered" in row for row in rows) == 2
    assert max(row.count("never entered") for row in rows) == 1
    text = debrief_text(report).partition("Phases, planned against actual")[2]
    labelling = text.partition("labelling")[2].partition("closing list")[0]
    assert " ".join(labelling.split()) == "6 min – – planned 1:25 to 1:31; Never entered."


def test_a_part_without_anything_says_so() -> None:
    assert part(bare(), "9") == [" 9 Late findings and measurements", "   Nothing to tell here."]
    assert "Nothing is left to change." in " ".join(page(bare()))


def test_what_was_typed_is_shown_as_it_is() -> None:
    odd = with_section(small_report(), "sentences", points=(Point("[b]$x^2$ [/] | <b>"),))
    assert any("[b]$x^2$ [/] | <b>" in line for line in page(odd))


def test_as_text_it_ends_with_where_the_journal_is() -> None:
    told = small_report()
    text = debrief_text(told)
    assert text.endswith(f" Journal: {told.path}\n")
    assert all(line == line.rstrip() for line in text.split("\n"))


def test_every_line_that_can_be_chosen_has_a_key_of_its_own(report: Report) -> None:
    for lines in (page_lines(report, 80, 20), part_lines(report, ALL, 80)):
        keys = [one.key for one in lines if one.key]
        assert len(keys) == len(set(keys)) > 5


# ---- the timeline ----------------------------------------------------------------------------


@pytest.mark.parametrize("width", [30, 40, 80, 160])
def test_planned_is_above_actual_with_the_cut_off_through_both(width: int) -> None:
    planned, actual, *times = (one.text for one in planned_and_actual(time_chart(), width))
    assert planned.split()[0] in ("plan", "planned") and "─" in planned and "═" not in planned
    assert actual.split()[0] in ("was", "actual") and "═" in actual and "─" not in actual
    assert planned.index("┃") == actual.index("┃")
    assert "├" in planned and "├" in actual
    words = " ".join(times)
    assert "cut-off 2:00" in words and "accepted 2:03" in words
    assert width < 60 or "0:00" in words


def test_where_a_phase_really_ran_its_piece_lies() -> None:
    chart = time_chart()
    actual = planned_and_actual(chart, 160)[1].text
    start = actual.index("├")
    cells = len(actual.rstrip()) - 1 - start
    layout = next(one for one in chart.phases if one.phase == "layout")
    begin, end = (start + round(t / chart.last * cells) for t in layout.stretches[0])
    assert actual[begin] == "┤" and actual[end] in "┤├"
    assert "lay" in actual[begin:end]


def test_time_in_which_the_coach_was_closed_is_dotted() -> None:
    chart = time_chart()
    away = replace(chart.away[0], to=chart.away[0].since + 900)
    assert "·" in planned_and_actual(replace(chart, away=(away,), phases=()), 80)[1].text
    assert "·" not in planned_and_actual(replace(chart, away=(away,)), 80)[0].text


@pytest.mark.parametrize("seconds", [0.0, -1e9, 1e10])
def test_times_that_no_sprint_has_stay_within_the_line(seconds: float) -> None:
    chart = replace(time_chart(), deadline=seconds, end=-seconds)
    assert max(width_of(one.text) for one in planned_and_actual(chart, 80)) <= 80


# ---- the screen ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
async def test_it_opens_with_what_is_changeable_at_every_size(
    journal: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size) as drive:
        assert drive.lines[0].strip().startswith("USB bench meter")
        assert "cut-off" in " ".join(drive.lines[1:3])
        assert ("simulated" in " ".join(drive.lines[2:4])) == (size[1] >= 20)
        assert any("1 Still changeable" in line for line in drive.lines[2:5])
        assert drive.lines[-1].endswith("? help")
        assert max(len(line) for line in drive.lines) <= size[0]


@pytest.mark.parametrize("size", ENDS)
async def test_one_key_shows_each_part_and_escape_leads_back_to_the_page(
    journal: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        first = list(drive.screen.rows.lines)
        for part in PARTS:
            await drive.press(part.key)
            assert any(line.startswith(f"▸{part.key} ") for line in drive.lines)
            assert drive.screen.part == part.key
        await drive.press("escape")
        assert drive.screen.part == "" and drive.screen.rows.lines == first


async def test_enter_goes_from_a_line_of_the_page_to_its_part(journal: Path) -> None:
    async with debriefed(journal) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        await drive.press("down", "down")
        key = drive.screen.rows.key
        assert key.startswith("1/to-change/")
        await drive.press("enter")
        assert (drive.screen.part, drive.screen.rows.key) == ("1", key)


async def test_enter_opens_a_fold_and_a_shows_every_part_with_nothing_folded(
    journal: Path,
) -> None:
    async with debriefed(journal, (80, 36)) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        page = len(drive.screen.rows.lines)
        await drive.press("7", "end")
        assert about(drive.screen.rows.key, "fold") == "margins-0"
        before = len(drive.screen.rows.lines)
        await drive.press("enter")
        assert len(drive.screen.rows.lines) > before + 20
        await drive.press("a")
        assert len(drive.screen.rows.lines) > 300
        await drive.press("a")
        assert len(drive.screen.rows.lines) == page


async def test_it_says_what_every_report_of_this_journal_says(journal: Path) -> None:
    report = report_of(read_sprint(journal))
    async with debriefed(journal, (160, 48)) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.screen.report == report


async def test_help_explains_it_and_leaving_ends_the_coach(journal: Path) -> None:
    async with debriefed(journal, (80, 36)) as drive:
        await drive.press("question_mark")
        assert isinstance(drive.screen, HelpScreen)
        assert drive.line_with("1 .. 9")
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
        said, _ = drive.app.status
    assert said == f"The debrief is in {journal.with_name('j-debrief.html')}"
    assert journal.with_name("j-debrief.md").read_text(encoding="utf-8").startswith("# Debrief:")
    page = journal.with_name("j-debrief.html").read_text(encoding="utf-8")
    assert page.lower().startswith("<!doctype html>")


async def test_without_jinja2_the_page_is_refused_in_a_sentence(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "jinja2", None)
    async with debriefed(journal) as drive:
        await drive.press("h")
        said, role = drive.app.status
    assert (said.startswith("Writing HTML needs jinja2."), role) == (True, "due")
    assert not journal.with_name("j-debrief.html").exists()


async def test_a_file_of_that_name_that_is_no_debrief_stays(journal: Path) -> None:
    mine = journal.with_name("j-debrief.md")
    mine.write_text("mine", encoding="utf-8")
    async with debriefed(journal) as drive:
        await drive.press("k")
        assert "it is not a debrief" in drive.app.status[0]
    assert mine.read_text(encoding="utf-8") == "mine"


async def test_all_of_it_is_copied_out(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("c")
        text = journal.with_name("j-debrief.txt").read_text(encoding="utf-8")
        assert drive.app.clipboard == text
    assert text == debrief_text(report_of(read_sprint(journal)))


async def test_of_a_damaged_journal_the_fault_is_said_and_the_rest_shown(journal: Path) -> None:
    journal.write_bytes(journal.read_bytes()[:-40])
    async with debriefed(journal) as drive:
        assert drive.line_with("This journal is damaged, 1 fault")
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
        assert drive.line_with("1 Still changeable") and drive.line_with("3 In three sentences")


async def test_in_ascii_nothing_else_is_drawn(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(glyphs, "_ASCII", True)
    async with debriefed(journal, (80, 48)) as drive:
        await drive.press("4")
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
        assert drive.app.status[0] == "Finding 1 noted"
        assert about(drive.screen.rows.key, "finding") == "1"
        assert any(FAULT[:12] in line for line in drive.lines)
    finding = read_sprint(journal).state.findings[1]
    assert (finding.fault, finding.item, finding.board) == (FAULT, "boot-source", "2")
    assert (finding.minutes, finding.bodge) == (25.0, "1 kΩ on top")


async def test_it_can_be_typed_key_by_key(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f", *"R5 dark", "enter", *"boot s", "enter")
        await drive.press("2", "enter", *"5", "enter", "enter")
    finding = read_sprint(journal).state.findings[1]
    assert (finding.fault, finding.item, finding.minutes) == (
        "R5 dark",
        "boot-loader-reachable",
        5.0,
    )


async def test_everything_but_the_fault_may_be_left_empty(journal: Path) -> None:
    async with debriefed(journal, note=True) as drive:
        await drive.press("enter")
        assert "Describe the fault in one line" in drive.text
        await answer(drive, FAULT, "", "", "", "")
        assert drive.app.status[0] == "Finding 1 noted"
    finding = read_sprint(journal).state.findings[1]
    assert (finding.item, finding.board, finding.minutes, finding.bodge) == ("", "", None, "")


async def test_an_answer_that_will_not_do_is_said_before_it_is_taken(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "", "two boards")
        assert "is not a board number" in drive.text
        await drive.press("escape")
        assert isinstance(drive.screen, DebriefScreen)
        assert drive.app.status[0] == "Nothing was noted"
        await drive.press("f")
        assert FAULT in drive.text, "what was typed is offered again"
    assert read_sprint(journal).state.findings == {}


async def test_on_an_item_the_finding_is_about_that_item(journal: Path) -> None:
    item = Account(read_sprint(journal)).forgotten[0]
    async with debriefed(journal) as drive:
        assert isinstance(drive.screen, DebriefScreen)
        await drive.press("1", *["down"] * 2)
        assert about(drive.screen.rows.key, "item") == item.key
        await drive.press("f")
        await answer(drive, FAULT)
        assert item.name[:30] in drive.text
        await answer(drive, "", "", "", "")
    assert read_sprint(journal).state.findings[1].item == item.key


async def test_the_arrow_keys_choose_among_the_items_found(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("f")
        await answer(drive, FAULT)
        await drive.type("boot")
        await drive.press("down", "down", "up", "enter")
        await answer(drive, "", "", "")
    rows = read_sprint(journal).state.findings
    assert len(rows) == 1 and rows[1].item


async def test_a_finding_is_taken_back_with_one_key(journal: Path) -> None:
    async with debriefed(journal) as drive:
        await drive.press("x")
        assert drive.app.status[0] == "No finding is noted yet: f"
        await drive.press("f")
        await answer(drive, FAULT, "", "", "", "")
        await drive.press("x")
        assert drive.app.status[0] == "Finding 1 undone"
        assert FAULT not in drive.text
    assert read_sprint(journal).state.findings == {}


async def test_where_another_coach_has_it_open_it_is_shown_and_not_written(
    tmp_path: Path,
) -> None:
    with begun(tmp_path, name="j.toml") as session:
        session.do(End(accepted=True))
        async with debriefed(tmp_path / "j.toml") as drive:
            assert drive.line_with("1 Still changeable")
            await drive.press("f")
            await answer(drive, FAULT, "", "", "", "")
            assert "open in another coach" in drive.app.status[0]
        assert session.state.findings == {}


# ---- house rules -----------------------------------------------------------------------------


@pytest.mark.parametrize("size", ENDS)
async def test_a_finding_becomes_a_house_rule_by_four_answers(
    journal: Path, rules: Path, size: tuple[int, int]
) -> None:
    async with debriefed(journal, size, rules) as drive:
        await drive.press("f")
        await answer(drive, FAULT, "boot source", "2", "25", "")
        await drive.press("i")
        assert FAULT in drive.text
        await drive.press("enter")
        assert "give 10 to 90" in drive.text  # nothing is made up for who says nothing
        await drive.press("down", "enter", "enter", "1", "1")
        said = "Finding 1 is item r5-is-10-k-not-1-k now"
        assert drive.app.status[0].startswith(said)
        await drive.press("i")
        assert "already" in drive.app.status[0]
    item = checked_house_rules(rules)[0]
    assert (item.phase, item.severity) == ("clock-boot", "dead board")
    assert item.essential
    assert item.statement == f"Checked, and not so here: {FAULT}"
    assert item.left_out_min < 25.0
    assert read_sprint(journal).state.made_items[1].item == item.id


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
        await drive.press("2", "1")
    item = checked_house_rules(rules)[0]
    assert item.statement == "R5 is one kiloohm"
    assert item.why.endswith(", as the sheet says")
    assert (item.severity, item.essential) == ("degraded", False)


async def test_a_rule_that_is_left_makes_nothing(journal: Path, rules: Path) -> None:
    async with debriefed(journal, (80, 24), rules) as drive:
        await drive.press("i")
        assert drive.app.status[0] == "No finding is noted yet: f"
        await drive.press("f")
        await answer(drive, FAULT, "", "", "", "")
        await drive.press("i", "down", "enter", "escape")
        assert drive.app.status[0] == "No item was made"
    assert not rules.exists()


async def test_it_can_be_asked_for_from_the_command_line_at_once(
    journal: Path, rules: Path
) -> None:
    async with debriefed(journal, note=True) as drive:
        await answer(drive, FAULT, "", "", "", "")
    async with debriefed(journal, (80, 24), rules, as_item=1) as drive:
        await drive.press("down", "enter", "enter", "1", "3")
    assert checked_house_rules(rules)[0].phase == "debug-access"
    async with debriefed(journal, as_item=7) as drive:
        assert drive.app.status[0] == "There is no finding 7 in this journal"


async def test_a_finding_says_above_its_question_of_which_sprint_it_is(journal: Path) -> None:
    async with debriefed(journal, note=True, passed_over=2) as drive:
        assert drive.line_with(f"USB bench meter, 2031-05-19 09:00, {journal.name}")
        assert drive.line_with("2 newer sprints, given up at once, are passed over")
        assert drive.line_with("What was wrong?")
