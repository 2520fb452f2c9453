"""The journal screen: what happened in words, the newest last, calls to be seen alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.history.describe import described
from coach.sprint.commands import EnterPhase, Meet, Park, Undo
from coach.terminal.screens.journal import JournalScreen
from tests.terminal.driving import begun, driven


async def test_every_event_is_told_in_order_as_the_journal_is_retold(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(EnterPhase("power-entry"))
    session.do(Meet("supply-contacts"))
    async with driven(session, size=(120, 36)) as drive:
        await drive.show(JournalScreen())
        told = [one.message for one in described(session.setup, session.history)]
        places = [drive.text.find(says) for says in told]
        assert len(told) == 3
        assert -1 not in places and places == sorted(places)
        assert "3 events, 0 calls" in drive.lines[0]


async def test_the_newest_is_in_view_and_stays_so(tmp_path: Path) -> None:
    session = begun(tmp_path)
    for number in range(60):
        session.do(Park(f"thought {number}"))
    async with driven(session) as drive:
        await drive.show(JournalScreen())
        assert drive.line_with("thought 59.") and not drive.line_with("thought 1.")
        drive.app.do(Park("the last one"))
        await drive.settled()
        assert drive.line_with("the last one")
        await drive.press("home")
        drive.app.do(Park("not followed"))
        await drive.settled()
        assert drive.line_with("thought 1.") and not drive.line_with("not followed")


async def test_calls_are_marked_and_can_be_seen_alone(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        drive.app.do(EnterPhase("layout"))
        await drive.later(61 * 60)
        drive.app.call = None
        await drive.show(JournalScreen())
        assert "  !  " in drive.line_with("Half the time is gone")
        await drive.press("c")
        assert drive.line_with("Half the time is gone") and not drive.line_with("Entered layout")
        assert drive.lines[0].endswith("1 call")
        await drive.press("c")
        assert drive.line_with("Entered layout")


async def test_what_was_taken_back_says_so(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(Park("a slip"))
    session.do(Undo())
    async with driven(session) as drive:
        await drive.show(JournalScreen())
        line = drive.line_with("Parked: a slip.")
        assert "  x  " in line and "Undone later" in line


async def test_no_calls_yet_is_said_in_words(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(40, 12)) as drive:
        await drive.show(JournalScreen())
        await drive.press("c")
        assert "Nothing yet" in drive.text


async def test_a_thought_is_told_as_it_was_typed_and_never_as_markup(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.do(Park("[/] [red]is it warm?[/]"))
    async with driven(session) as drive:
        await drive.show(JournalScreen())
        assert drive.line_with("[/] [red]is it warm?[/]")


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (160, 48)])
async def test_a_long_sentence_is_wrapped_and_never_cut_off_at_the_side(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    session = begun(tmp_path)
    session.do(Park("whether the reset line needs a filter against the motor at the connector"))
    async with driven(session, size=size) as drive:
        await drive.show(JournalScreen())
        assert "at the connector." in " ".join(drive.text.split())


async def test_a_call_is_said_at_the_top_edge_of_other_screens_too(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(JournalScreen())
        drive.app._idle = 10
        await drive.later(61 * 60)
        assert drive.lines[0].startswith(" ! Half the time is gone")
        await drive.press("escape")
        assert "Half the time is gone" not in drive.text
