"""What is to draw, and what is parked: lists that are worked off with one key a line."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.commands import Draw, Park, SaveCalculation
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.session import Session
from coach.terminal.screens.parked import ParkedScreen
from coach.terminal.screens.to_draw import ToDrawScreen
from tests.terminal.driving import begun, driven


def calculated(folder: Path) -> Session:
    """Two calculations are saved, nothing is drawn."""
    session = begun(folder)
    session.do(SaveCalculation("strap"))
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
    return session


async def test_parts_stand_below_the_calculation_that_implies_them(tmp_path: Path) -> None:
    async with driven(calculated(tmp_path)) as drive:
        await drive.show(ToDrawScreen())
        parts = to_draw(drive.state)
        assert f"{len(parts)} waiting" in drive.lines[0]
        order = ["Boot", "10 kΩ", "Main supply (3v3)"]
        places = [drive.text.find(words) for words in order]
        assert -1 not in places and places == sorted(places)
        assert all(part.message[:40] in drive.text for part in parts)


@pytest.mark.parametrize("key", ["d", "enter"])
async def test_one_key_draws_the_part_under_the_cursor(tmp_path: Path, key: str) -> None:
    async with driven(calculated(tmp_path)) as drive:
        await drive.show(ToDrawScreen())
        first, second, *rest = to_draw(drive.state)
        await drive.press("down", key)
        assert to_draw(drive.state) == [first, *rest]
        await drive.press("u")
        assert to_draw(drive.state) == [first, second, *rest]


async def test_the_same_key_works_the_list_off_from_the_top(tmp_path: Path) -> None:
    async with driven(calculated(tmp_path)) as drive:
        await drive.show(ToDrawScreen())
        for _ in to_draw(drive.state):
            await drive.press("d")
        assert to_draw(drive.state) == []
        assert "Nothing to draw. Saving" in drive.text
        await drive.press("d")
        assert "Nothing to draw. Saving" in drive.text


async def test_one_key_draws_all_that_is_shown(tmp_path: Path) -> None:
    async with driven(calculated(tmp_path)) as drive:
        await drive.show(ToDrawScreen())
        count = len(to_draw(drive.state))
        await drive.press("D")
        assert to_draw(drive.state) == []
        assert f"{count} parts drawn" in drive.text


async def test_a_changed_value_comes_back_as_a_change(tmp_path: Path) -> None:
    session = calculated(tmp_path)
    session.do(Draw(tuple((part.calculation, part.role) for part in to_draw(session.state))))
    session.do(SaveCalculation("strap", given={"R_pull": "4.7 kΩ ± 5 %"}))
    async with driven(session) as drive:
        await drive.show(ToDrawScreen())
        assert drive.line_with("change 10 kΩ")
        assert "to 4.7 kΩ" in drive.text


async def test_the_list_is_copied_out_and_it_says_where(tmp_path: Path) -> None:
    async with driven(calculated(tmp_path), size=(120, 36)) as drive:
        await drive.show(ToDrawScreen())
        await drive.press("c")
        copy = (tmp_path / "sprint-to-draw.txt").read_text(encoding="utf-8")
        assert [line.partition("  (")[0] for line in copy.splitlines()] == [
            part.message for part in to_draw(drive.state)
        ]
        assert drive.app.clipboard == copy.rstrip("\n")
        assert "sprint-to-draw.txt" in drive.text


@pytest.mark.parametrize("size", [(40, 12), (80, 24), (120, 36)])
async def test_both_lists_hold_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    session = calculated(tmp_path)
    session.do(Park("whether the reset line needs a filter"))
    async with driven(session, size=size) as drive:
        await drive.show(ToDrawScreen())
        assert drive.line_with("10 kΩ ± 5 %, BOOT to GND") and "d drawn" in drive.lines[-1]
        await drive.press("escape")
        await drive.show(ParkedScreen())
        assert drive.line_with("whether the reset line") and "a park" in drive.lines[-1]


# ---- parked ----------------------------------------------------------------------------------


async def test_enter_settles_a_thought_and_the_next_one_is_under_the_cursor(
    tmp_path: Path,
) -> None:
    session = begun(tmp_path)
    for text in ("first", "second", "third"):
        session.do(Park(text))
    async with driven(session) as drive:
        await drive.show(ParkedScreen())
        await drive.press("enter", "enter")
        assert [note.text for note in drive.state.notes if not note.settled] == ["third"]
        assert "1 waiting" in drive.lines[0]
        assert drive.text.find("third") < drive.text.find("done\n") < drive.text.find("first")
        await drive.press("u")
        assert "2 waiting" in drive.lines[0]


async def test_a_thought_is_parked_with_one_key_and_its_words(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.show(ParkedScreen())
        assert "No notes parked" in drive.text
        await drive.press("a")
        await drive.type("[b]ask about the coil")
        await drive.press("enter")
        assert drive.state.notes[0].text == "[b]ask about the coil"
        assert drive.line_with("[b]ask about the coil")
        await drive.press("enter", "enter")
        assert "All notes done" in drive.text
