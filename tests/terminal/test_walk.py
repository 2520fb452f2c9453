"""The walk: one item after the other, and the last walk in the reserve."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.history.describe import described
from coach.sprint.commands import EnterPhase, JoinLate, Meet, ReachStage, Waive
from coach.sprint.events.phases import LAST_WALK, Walked
from coach.sprint.gates import walks
from coach.sprint.gates.walks import last_walk
from coach.sprint.rules.items import needs_page
from coach.sprint.session import Session
from coach.sprint.state import MET, OPEN, WAIVED, Row
from coach.terminal.screens.prompts import AskChoice
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.screens.walk import WalkScreen
from phases.kit.items import CLOSING_ID
from tests.terminal.driving import Driven, begun, clock_of, driven

LEFT = ("package-pin-out", "supply-contacts", "source-maximum")


def nearly_done(folder: Path, *left: str) -> Session:
    """All is drawn and confirmed but for a few items; 18 min are left, and nothing is uploaded."""
    session = begun(folder)
    clock_of(session).advance(102 * 60)
    session.do(ReachStage("files"))
    for phase in session.setup.phases:
        session.do(JoinLate(phase.id))
    for row in session.state.rows:
        open_still = not session.state.by_key[row.key].closed
        if row.item.phase != CLOSING_ID and open_still and row.key not in left:
            session.do(Waive(row.key, "made on paper"))
    return session


def upload(session: Session) -> None:
    session.do(Meet("first-upload"))


def in_closing(folder: Path, *left: str) -> Session:
    session = nearly_done(folder, *left)
    session.do(EnterPhase(CLOSING_ID))
    return session


def asked(drive: Driven) -> str:
    """The item the walk asks for."""
    assert isinstance(drive.screen, WalkScreen)
    assert drive.screen.row is not None
    return drive.screen.row.key


# ---- the last walk ---------------------------------------------------------------------------


async def test_the_first_upload_offers_the_last_walk_once(tmp_path: Path) -> None:
    session = in_closing(tmp_path, *LEFT)
    async with driven(session) as drive:
        drive.screen.query_one("#items").put_cursor("first-upload")  # type: ignore[attr-defined]
        await drive.press("m")
        assert isinstance(drive.screen, AskChoice)
        assert "The first upload is made. 3 essentials are still open in all phases" in drive.text
        await drive.press("2")
        assert isinstance(drive.screen, SprintScreen)
        await drive.press("p", "escape")
        assert isinstance(drive.screen, SprintScreen)


async def test_before_the_first_upload_nothing_is_offered(tmp_path: Path) -> None:
    async with driven(in_closing(tmp_path, *LEFT)) as drive:
        await drive.press("p", "escape")
        assert isinstance(drive.screen, SprintScreen)
        await drive.press("g")
        assert "Walk: closing list" in drive.lines[0]


async def test_entering_the_closing_list_after_the_upload_offers_it(tmp_path: Path) -> None:
    session = nearly_done(tmp_path, *LEFT)
    upload(session)
    async with driven(session) as drive:
        await drive.press("8")
        assert "Last walk, worst first" in drive.text
        await drive.press("1")
        assert "Last walk" in drive.lines[0] and "then the closing list" in drive.lines[0]
        assert asked(drive) == last_walk(session.state)[0].row.key


async def test_with_nothing_open_there_is_no_last_walk(tmp_path: Path) -> None:
    session = nearly_done(tmp_path)
    upload(session)
    async with driven(session) as drive:
        await drive.press("8")
        assert isinstance(drive.screen, SprintScreen)
        assert walks.last(session.state, session.t) is None


async def test_g_goes_through_it_the_worst_first_each_with_its_way(tmp_path: Path) -> None:
    session = in_closing(tmp_path, *LEFT)
    upload(session)
    wanted = [step.row.key for step in last_walk(session.state)]
    async with driven(session) as drive:
        assert isinstance(drive.screen, SprintScreen)  # taken up again, nothing is asked
        assert "g last walk" in drive.lines[-1]
        await drive.press("g")
        told = []
        while isinstance(drive.screen, WalkScreen):
            told.append(asked(drive))
            way = next(s.way for s in last_walk(session.state) if s.row.key == told[-1])
            assert f"{way}." in " ".join(drive.text.split())
            await drive.press("space")
        assert told == wanted
        assert "3 essentials still open; on with the closing list" in drive.text


async def test_the_arrow_to_the_left_goes_back_to_the_item_before(tmp_path: Path) -> None:
    session = in_closing(tmp_path, *LEFT)
    upload(session)
    async with driven(session) as drive:
        await drive.press("g")
        first = asked(drive)
        await drive.press("space")
        second = asked(drive)
        await drive.press("left")
        assert (asked(drive), first == second) == (first, False)
        await drive.press("left")  # before the first there is none
        assert asked(drive) == first


async def test_its_keys_take_the_one_road_and_the_journal_tells_it(tmp_path: Path) -> None:
    session = in_closing(tmp_path, "supply-contacts", "usb-data-pairs")
    upload(session)
    async with driven(session) as drive:
        await drive.press("g")
        first = asked(drive)
        await drive.press("y")
        second = asked(drive)
        await drive.press("w")
        await drive.type("known good")
        await drive.press("enter")
        assert {session.state.by_key[key].status for key in (first, second)} == {MET, WAIVED}
        assert "Every essential is closed; on with the closing list" in drive.text
        assert session.state.of(Walked)[-1].event.of == LAST_WALK
        told = [one.message for one in described(session.setup, session.history)]
        assert "Last walk: 2 of 2 closed." in told


async def test_gone_through_it_gives_way_to_the_closing_list(tmp_path: Path) -> None:
    session = in_closing(tmp_path, "package-pin-out")
    upload(session)
    async with driven(session) as drive:
        await drive.press("g", "space")
        assert session.state.by_key["package-pin-out"].status == OPEN
        assert "g walk" in drive.lines[-1]
        await drive.press("g")
        assert "Walk: closing list" in drive.lines[0]
        await drive.press("space", "escape", "g")
        assert "Last walk" in drive.lines[0]


async def test_without_time_it_is_not_offered_and_says_so_when_asked_for(tmp_path: Path) -> None:
    session = nearly_done(tmp_path, *LEFT)
    upload(session)
    clock_of(session).advance(10 * 60)
    async with driven(session) as drive:
        await drive.press("8")
        assert isinstance(drive.screen, SprintScreen)
        await drive.press("g")
        assert "the closing list first: no time left" in drive.lines[0]


async def test_once_the_order_is_accepted_there_is_none(tmp_path: Path) -> None:
    session = in_closing(tmp_path, *LEFT)
    async with driven(session) as drive:
        for row in session.state.rows_of(CLOSING_ID):
            session.do(Meet(row.key))
        await drive.press("p", "escape")
        assert isinstance(drive.screen, SprintScreen)
        assert walks.last(session.state, session.t) is None


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (160, 48)])
async def test_item_way_and_keys_are_there_at_every_size(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    session = in_closing(tmp_path, "supply-contacts")
    upload(session)
    async with driven(session, size=size) as drive:
        await drive.press("g")
        words = " ".join(drive.text.split())
        for part in ("Last walk", "1 of 1", "Look: met if it is there", "w waive", "esc back"):
            assert part in words, part
        assert all(len(line) <= size[0] for line in drive.lines)


# ---- every walk ------------------------------------------------------------------------------


async def test_a_walk_of_the_phase_has_its_further_items_behind_one_key(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("1", "g")
        assert "Walk: power entry" in drive.lines[0]
        before = len(drive.screen.keys)  # type: ignore[attr-defined]
        assert drive.line_with(" more")
        await drive.press("f")
        assert len(drive.screen.keys) > before  # type: ignore[attr-defined]


async def test_before_a_phase_g_says_what_to_do(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("g")
        assert "Enter a phase first: 1 to 7, 8 is the closing list" in drive.text
        assert drive.line_with("8  Closing list: the order itself")


async def test_the_last_walk_has_nothing_folded_and_says_so(tmp_path: Path) -> None:
    session = in_closing(tmp_path, *LEFT)
    upload(session)
    async with driven(session) as drive:
        await drive.press("g", "f")
        assert "This walk has no more checks folded away" in drive.text


async def test_a_question_as_the_way_ends_with_one_mark(tmp_path: Path) -> None:
    session = begun(tmp_path, "orchard-radio-tag")
    session.do(EnterPhase(CLOSING_ID))
    upload(session)
    steps = last_walk(session.state)
    at = next(i for i, step in enumerate(steps) if step.way.startswith("Answer: "))
    async with driven(session) as drive:
        await drive.show(WalkScreen(walks.last(session.state, session.t)))  # type: ignore[arg-type]
        await drive.press(*["space"] * at)
        words = " ".join(drive.text.split())
        assert f"{steps[at].way} " in words and "?." not in words


async def test_yes_asks_for_the_page_where_a_data_sheet_is_the_proof(tmp_path: Path) -> None:
    session = begun(tmp_path)
    async with driven(session) as drive:
        row = sheet_row(session)
        await drive.show(WalkScreen(walks.of_item(row)))
        await drive.press("y")
        assert "Data sheet and page for" in drive.text
        assert "For example: hearth-33, p. 7" in drive.text
        await drive.type("drum-2, p. 4")
        await drive.press("enter")
        assert session.state.by_key[row.key].status == MET
        assert isinstance(drive.screen, SprintScreen)


def sheet_row(session: Session) -> Row:
    """A row that only a page of a data sheet meets, or that it meets first."""
    return next(row for row in session.state.rows if needs_page(row) and row.applies)
