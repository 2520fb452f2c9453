"""The end: what can still be changed first, then what was forgotten, then how the plan went."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.debrief.account.telling import account_of
from coach.history.read_sprint import read_sprint
from coach.sprint.board import open_essentials
from coach.sprint.brief.document import load_brief
from coach.sprint.commands import (
    End,
    EnterPhase,
    Meet,
    NoteChange,
    ReachStage,
    SaveCalculation,
    Waive,
)
from coach.sprint.fold import fold
from coach.sprint.journal.file import Journal
from coach.sprint.rehearsal.rehearse import rehearse
from coach.sprint.session import Session, events_of
from coach.sprint.setup import setup_from
from coach.sprint.state import REOPENED, State
from coach.terminal.drawing.end_lines import end_lines, end_text
from coach.terminal.screens.end import EndScreen
from coach.terminal.screens.sprint import SprintScreen
from phases.kit.items import Severity
from tests.terminal.driving import begun, clock_of, driven

HEADINGS = (
    "Still to be changed before the order is accepted",
    "Open essentials",
    "How the plan went, min",
    "Reopened and still open",
    "Calculated and never drawn",
    "Closed late",
    "Waived",
    "More checks, open",
)


def worked(folder: Path) -> Session:
    """A sprint in which a little of everything went wrong."""
    session = begun(folder)
    session.do(EnterPhase("power-entry"))
    session.do(Meet("supply-contacts"))
    session.do(Waive("source-load", "The port is known to give it"))
    session.do(SaveCalculation("strap"))
    clock_of(session).advance(20 * 60)
    session.do(EnterPhase("regulation"))
    session.do(Meet("source-maximum"))
    session.do(NoteChange("connector-part"))
    return session


def texts(state: State, width: int = 80) -> list[str]:
    return [line.text.rstrip() for line in end_lines(state, width)]


def section(state: State, heading: str) -> list[str]:
    """The lines below a heading, up to the blank one."""
    lines = texts(state)
    begin = next(i for i, line in enumerate(lines) if line.strip().startswith(heading))
    end = next((i for i in range(begin, len(lines)) if not lines[i]), len(lines))
    return lines[begin + 1 : end]


def test_what_can_still_be_changed_stands_before_what_was_forgotten(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        lines = texts(session.state)
        found = [
            next(i for i, one in enumerate(lines) if one.strip().startswith(h)) for h in HEADINGS
        ]
    assert found == sorted(found)


def test_open_essentials_come_worst_first_with_what_they_cost(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        lines = section(session.state, "Open essentials")
        first = open_essentials(session.state)[0]
    severities = ["hazard", "dead board", "degraded", "rework"]
    ranks = [severities.index(s) for line in lines for s in severities if line.endswith(f"  {s}")]
    assert ranks == sorted(ranks) and len(ranks) > 5
    assert first.item.why in lines[2].strip() or first.item.why in lines[1].strip()


def test_a_reopened_item_says_because_of_what(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        lines = section(session.state, "Reopened")
    assert "Each contact of the supply connector" in lines[0]
    assert any(line.strip().startswith("Because:") and "connector" in line for line in lines)


def test_a_waiver_keeps_its_reason_and_a_late_closure_its_time(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        waived = " ".join(section(session.state, "Waived"))
        late = section(session.state, "Closed late")
    assert "Reason: The port is known to give it" in waived
    assert "Highest source voltage" in late[0] and late[0].endswith("0:20")


def test_parts_that_were_calculated_and_never_drawn_are_listed(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        assert any("BOOT to ground" in one for one in section(session.state, "Calculated"))


def test_boxes_stand_against_the_minutes_used_and_what_is_over_is_marked(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        plan = section(session.state, "How the plan went")
    entry = next(line for line in plan if line.strip().startswith("power entry")).split()
    box, used, over = entry[2], entry[3], entry[4]
    assert used == "20" and over == f"+{20 - int(box)}"
    assert plan[-1].split()[0] == "all"


def test_an_accepted_order_leaves_nothing_to_be_changed(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        session.do(End(accepted=True))
        lines = texts(session.state)
    assert lines[0] == " The order is accepted and paid, 1 h 40 min before the cut-off."
    assert not any("Still to be changed" in line for line in lines)
    assert any(line.startswith(" Forgotten") for line in lines)


def test_the_debrief_counts_what_was_forgotten_as_the_end_does(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        session.do(End(accepted=False))
        lines = texts(session.state)
    (journal,) = tmp_path.glob("*.toml")
    told = account_of(read_sprint(journal))
    heads = [one.split()[-1] for one in lines if one.startswith((" Forgotten", " Open when it"))]
    assert heads[0] == heads[2] == f"{len(told.forgotten)}"
    assert heads[1] == f"{len(told.closing_open)}"


def test_a_sprint_without_a_gap_says_so(tmp_path: Path) -> None:
    report = rehearse(load_brief("usb-bench-meter"), forget=0, path=tmp_path / "whole.toml")
    lines = texts(report.state)
    assert " Nothing was forgotten and nothing is open." in lines
    assert not any(line.startswith((" Forgotten", " Reopened")) for line in lines)


def test_what_was_forgotten_on_purpose_is_what_the_end_says(tmp_path: Path) -> None:
    report = rehearse(load_brief("pump-driver-24v"), forget=0.3, path=tmp_path / "some.toml")
    assert report.open_essentials
    said = "\n".join(texts(report.state, 400))
    for key in report.open_essentials:
        assert report.state.by_key[key].name in said


def test_the_end_can_be_said_from_the_journal_alone(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        session.do(End(accepted=False))
        here = end_text(session.state, "sprint.toml")
    reading = Journal.look(tmp_path / "sprint.toml")
    setup = setup_from(reading.header, where="sprint.toml")
    read = fold(setup, events_of(reading.events, where="sprint.toml"))
    assert end_text(read, "sprint.toml") == here
    assert here.startswith("USB bench meter\n") and here.endswith("Journal: sprint.toml\n")


@pytest.mark.parametrize("width", [40, 60, 80, 120, 160])
def test_no_line_is_wider_than_the_screen(tmp_path: Path, width: int) -> None:
    with worked(tmp_path) as session:
        assert max(len(line) for line in texts(session.state, width)) <= width
        short = end_lines(session.state, width, unfolded=False)
        assert max(len(line.text.rstrip()) for line in short) <= width


def test_after_an_end_without_an_order_nothing_is_still_to_be_changed(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        session.do(End(accepted=False))
        for width in (40, 80):
            lines = texts(session.state, width)
            assert any(line.startswith(" Open when it ended") for line in lines)
            assert not any("Still to" in line or "before the order" in line for line in lines)


def test_of_a_sprint_given_up_what_kills_the_board_stands_before_the_order(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        session.do(End(accepted=False))
        rows = [row for row in open_essentials(session.state) if row.status != REOPENED]
        lines = texts(session.state)
        grave = section(session.state, "Forgotten: hazard, dead board")
        other = section(session.state, "Forgotten: other essentials")
    heads = [one for one in lines if one.startswith((" Forgotten", " Open when it ended"))]
    severe = [row for row in rows if row.item.severity >= Severity.DEAD_BOARD]
    assert [one.rsplit("  ", 1)[0].strip() for one in heads] == [
        "Forgotten: hazard, dead board", "Open when it ended", "Forgotten: other essentials",
    ]  # fmt: skip
    assert heads[0].endswith(f"{len(severe)} of {len(rows)}")
    assert heads[2].endswith(f"{len(rows) - len(severe)} of {len(rows)}")
    assert 0 < len(severe) < len(rows)
    assert not any(one.endswith(("  degraded", "  rework")) for one in grave)
    assert not any(one.endswith(("  hazard", "  dead board")) for one in other)


def test_in_the_short_form_every_essential_is_named_and_the_worst_say_why(tmp_path: Path) -> None:
    with begun(tmp_path) as session:
        session.do(End(accepted=False))
        rows = open_essentials(session.state)
        short = [line.text for line in end_lines(session.state, 300, unfolded=False)]
        whole = [line.text for line in end_lines(session.state, 300)]
    assert len(rows) > 40
    for row in rows:
        assert any(row.name in line for line in short)
        assert any(row.item.why in line for line in whole)
    assert all(any(row.item.why in line for line in short) for row in rows[:8])
    assert len(short) < len(rows) + 60 < len(whole)


def test_a_hazard_always_says_why(tmp_path: Path) -> None:
    with begun(tmp_path, "pump-driver-24v") as session:
        short = "\n".join(one.text for one in end_lines(session.state, 300, unfolded=False))
        hazards = [r for r in open_essentials(session.state) if r.item.severity == Severity.HAZARD]
    assert hazards and all(row.item.why in short for row in hazards)


def test_further_items_are_counted_and_listed_when_unfolded(tmp_path: Path) -> None:
    with worked(tmp_path) as session:
        further = next(
            row for row in session.state.rows
            if not row.essential and not row.closed and row.item.phase == "regulation"
        )  # fmt: skip
        short = "\n".join(one.text for one in end_lines(session.state, 300, unfolded=False))
        whole = "\n".join(texts(session.state, 300))
    assert "More checks, open" in short and further.name not in short
    assert further.name in whole


# ---- the screen ------------------------------------------------------------------------------


async def test_before_the_end_one_key_goes_back_to_the_sprint(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        assert "before the end" in drive.lines[0]
        await drive.press("escape")
        assert isinstance(drive.screen, SprintScreen)
        assert not drive.state.ended


async def test_the_sprint_is_ended_from_here_with_the_order_accepted_or_without(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("E", "1")
        assert not drive.state.ended and isinstance(drive.screen, EndScreen)
        await drive.press("E", "2")
        assert drive.state.ended and drive.state.accepted
        assert drive.lines[0].endswith("ended")
        assert drive.line_with("The order is accepted and paid")
        await drive.press("E")
        assert isinstance(drive.screen, EndScreen)


async def test_enter_leaves_after_the_end_and_asks_before_it(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("enter", "escape", "enter", "3")
        assert drive.state.ended and not drive.state.accepted
        await drive.press("enter")
        assert drive.app.return_code == 0 and not drive.app.is_running


async def test_the_keys_are_those_of_the_same_question_on_the_sprint_screen(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.press("E")
        before = {words: drive.line_with(words).split()[0] for words in ("accepted", "without")}
        await drive.press("escape")
        await drive.show(EndScreen())
        await drive.press("E")
        for words, key in before.items():
            found = [one for one in drive.lines if one.strip().startswith(f"{key} ")]
            assert len(key) == 1 and any(words in one for one in found)


async def test_one_key_shows_the_reasons_and_the_further_items_and_folds_them_again(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        assert isinstance(drive.screen, EndScreen)
        folded = len(drive.screen.rows.lines)
        await drive.press("f")
        assert len(drive.screen.rows.lines) > folded + 40
        await drive.press("f")
        assert len(drive.screen.rows.lines) == folded


async def test_it_says_where_the_journal_is(tmp_path: Path) -> None:
    async with driven(worked(tmp_path), size=(120, 36)) as drive:
        await drive.show(EndScreen())
        await drive.press("end")
        assert "sprint.toml" in drive.line_with("Journal:") or "sprint.toml" in drive.text


async def test_all_of_it_is_copied_to_the_clipboard_and_to_a_file_beside_the_journal(
    tmp_path: Path,
) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("c")
        copy = (tmp_path / "sprint-end.txt").read_text(encoding="utf-8")
        assert drive.app.clipboard == copy
        assert "Reason: The port is known to give it" in copy
        assert "Copied to the clipboard and to" in drive.text


async def test_a_file_that_cannot_be_written_is_said_and_the_clipboard_has_it(
    tmp_path: Path,
) -> None:
    (tmp_path / "sprint-end.txt").mkdir()
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        await drive.press("c")
        assert "Copied to the clipboard only" in drive.text
        assert drive.app.clipboard


async def test_it_follows_what_is_closed_meanwhile(tmp_path: Path) -> None:
    async with driven(worked(tmp_path)) as drive:
        await drive.show(EndScreen())
        first = drive.line_with("Still to be changed")
        drive.app.do(ReachStage("files"))
        drive.app.do(Meet("cut-offs-known"))
        await drive.settled()
        after = drive.line_with("Still to be changed")
        assert [int("".join(filter(str.isdigit, one))) for one in (first, after)] == [14, 13]
