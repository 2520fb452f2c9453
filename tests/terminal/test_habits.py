"""The screens say why something is asked first."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, EnterPhase, JoinLate, Meet
from coach.sprint.events.run import HabitsRecalled
from coach.sprint.gates.walks import walk_of_phase
from coach.sprint.session import Session, start_sprint
from coach.terminal.drawing.item_list import item_lines
from coach.terminal.screens.walk import WalkScreen
from tests.terminal.driving import START, begun, clock_of, driven

WORDS = "forgotten in 3 of your last 8"


def earlier(folder: Path, number: int, *, rehearsed: bool = False) -> None:
    """A sprint of weeks ago whose order was accepted, with nothing of power entry confirmed."""
    clock = ManualClock(START - timedelta(weeks=number))
    path = folder / f"earlier-{number}.toml"
    brief = load_brief("usb-bench-meter")
    with start_sprint(brief, path, clock, rehearsed=rehearsed) as session:
        session.do(EnterPhase("power-entry"))
        clock.advance(600)
        session.do(Meet("supply-contacts"))
        session.do(EnterPhase("closing"))
        session.do(End(True))


def debug_phase(folder: Path) -> Session:
    session = begun(folder)
    session.do(EnterPhase("debug-access"))
    return session


def habit_of(session: Session) -> str:
    """What the gate of debug access asks last, made a habit."""
    rows = walk_of_phase(session.state, "debug-access")
    item = rows[-1].item.id
    assert item != rows[0].item.id
    session.recall({item: (3, 8)})
    return item


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (160, 48)])
async def test_a_walk_asks_it_first_and_says_why(tmp_path: Path, size: tuple[int, int]) -> None:
    session = debug_phase(tmp_path)
    item = habit_of(session)
    async with driven(session, size=size) as drive:
        await drive.press("g")
        assert isinstance(drive.screen, WalkScreen)
        assert drive.screen.row is not None
        assert drive.screen.row.item.id == item
        assert f"F{WORDS[1:]}." in drive.text
        await drive.press("space")
        assert WORDS[1:] not in drive.text


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (160, 48)])
async def test_next_says_why_where_there_is_room(tmp_path: Path, size: tuple[int, int]) -> None:
    session = debug_phase(tmp_path)
    item = habit_of(session)
    async with driven(session, size=size) as drive:
        assert session.setup.items[item].short_title in drive.line_with("NEXT")
        assert WORDS in drive.text


@pytest.mark.parametrize("width", [60, 80, 120, 160])
def test_the_list_has_it_first_and_with_its_count_where_there_is_room(
    tmp_path: Path, width: int
) -> None:
    with debug_phase(tmp_path) as session:
        before = item_lines(session.state, "debug-access", width, unfolded=True)
        item = habit_of(session)
        lines = item_lines(session.state, "debug-access", width, unfolded=True)
        texts = ["".join(span.text for span in one.spans) for one in lines]
        assert lines[0].key.partition("@")[0] == item
        assert ("forgotten 3 of 8: " in texts[0]) is (width >= 100)
        assert not any("forgotten" in text for text in texts[1:])
        assert {one.key for one in lines} == {one.key for one in before}
        session.do(JoinLate("debug-access"))
        for row in session.state.rows_of("debug-access"):
            if row.item.id == item:
                session.do(Meet(row.key, str(row.item.met_by[0]), page="p. 3"))
        after = item_lines(session.state, "debug-access", width, unfolded=True)
        assert after[0].key == lines[0].key  # no line jumps when it is closed
        assert "forgotten" not in "".join(span.text for span in after[0].spans)


async def test_a_habit_outside_the_gate_stands_in_the_list_and_is_asked_by_the_walk(
    tmp_path: Path,
) -> None:
    session = debug_phase(tmp_path)
    row = next(
        row
        for row in session.state.rows_of("debug-access")
        if row.applies and not row.item.essential and session.state.reached(row)
    )
    session.recall({row.item.id: (3, 3)})
    lines = item_lines(session.state, "debug-access", 120, unfolded=False)
    assert lines[0].key == row.key
    async with driven(session) as drive:
        await drive.press("g")
        assert isinstance(drive.screen, WalkScreen)
        assert drive.screen.row is not None
        assert drive.screen.row.key == row.key
        assert "Forgotten in 3 of your last 3." in drive.text


async def test_the_app_recalls_what_earlier_sprints_show_when_a_sprint_begins(
    tmp_path: Path,
) -> None:
    for number in (1, 2, 3):
        earlier(tmp_path, number)
    async with driven(begun(tmp_path)) as drive:
        recalled = [s for s in drive.session.history if isinstance(s.event, HabitsRecalled)]
        assert len(recalled) == 1
        assert drive.state.habits["source-maximum"] == (3, 3)
        assert "supply-contacts" not in drive.state.habits
        await drive.later(300)
        assert sum(isinstance(s.event, HabitsRecalled) for s in drive.session.history) == 1
        await drive.press("1")
        await drive.press("g")
        assert "Forgotten in 3 of your last 3." in drive.text


async def test_rehearsed_sprints_teach_no_habit(tmp_path: Path) -> None:
    for number in (1, 2, 3):
        earlier(tmp_path, number, rehearsed=True)
    async with driven(begun(tmp_path)) as drive:
        assert drive.state.habits == {}


async def test_a_sprint_taken_up_again_keeps_what_it_began_with(tmp_path: Path) -> None:
    session = begun(tmp_path)
    path, clock = session.journal.path, clock_of(session)
    session.close()
    for number in (1, 2):
        earlier(tmp_path, number)
    async with driven(Session.resume(path, clock)) as drive:
        assert drive.state.habits == {}
