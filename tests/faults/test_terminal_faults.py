"""What a person at the terminal can do wrong, or have done to them. Each is one clear sentence
or none at all, and nothing that was on the screen as saved is lost."""

from __future__ import annotations

import errno
import os
import re
import stat
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coach.cli import main
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import EnterPhase, Meet, ReachStage, SaveCalculation, Waive
from coach.sprint.events.run import CallMade
from coach.sprint.keys import CalculationKey
from coach.sprint.session import Session, start_sprint
from coach.sprint.state import MET, OPEN
from coach.terminal.actions import SPRINT
from coach.terminal.screens.calculator import CalculatorScreen
from coach.terminal.screens.new import NewScreen
from coach.terminal.screens.sprint import SprintScreen
from coach.terminal.widgets.field_line import FieldLine
from phases.kit.shared_data import shared_dir
from tests.journeys.terminal import Terminal
from tests.terminal.driving import START, begun, driven

BRIEF = (shared_dir() / "briefs" / "usb-bench-meter.toml").read_text(encoding="utf-8")


def refusing(real: Callable[..., Any], number: int, when: Callable[..., bool]) -> Any:
    """`real`, but for the calls in which the system says no."""

    def guarded(*given: Any, **named: Any) -> Any:
        if when(*given, **named):
            raise OSError(number, os.strerror(number))
        return real(*given, **named)

    return guarded


# ---- typed into a calculator -----------------------------------------------------------------


NOT_READ = {
    "3.3 V": "V is not a unit of current. Give it in A.",
    "garbage": "'garbage' is not a number with a unit.",
    "nan": "'nan' is not a number with a unit.",
    "3,3 A": "has a comma in a number. Use a point, as in 3.3 A.",
    "180 .. 150 mA": "runs from high to low. Write the smaller value first.",
    "300 / 200 / 100 mA": "runs from high to low.",
    "-150 mA": "too small. Minimum here: 0 A.",
    "1e400 A": "out of any range",
    "9**9**9": "not a unit known here",
    "9" * 400: "400 characters long",
    "[/] 3 A": "'[/] 3 A' is not a number with a unit.",
    "\x1b]0;stolen\x07 3 A": "nobody can see",
}


async def test_a_value_that_cannot_be_read_is_one_sentence_and_is_not_saved(
    tmp_path: Path,
) -> None:
    session = begun(tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3"))
    saved, journal = session.state.calculations, session.journal.path.read_bytes()
    async with driven(session) as drive:
        await drive.show(CalculatorScreen(CalculationKey.of("linear-regulator", "3v3")))
        assert drive.line_with("load current  150 mA"), "another field is typed into"
        for typed, says in NOT_READ.items():
            drive.screen.query_one(FieldLine).value = typed
            await drive.settled()
            assert says in drive.text, typed
            assert drive.line_with("Last valid result; current entry not understood: Passes"), typed
            await drive.press("enter")
            assert isinstance(drive.screen, CalculatorScreen), f"{typed} was saved"
            assert drive.line_with(" load current: "), typed
        await drive.press("escape")
        assert drive.state.calculations == saved
    assert session.journal.path.read_bytes() == journal


# ---- markup and escape sequences -------------------------------------------------------------

SLY = "[/] [b]x[/b] [@click=app.quit]y\x1b]0;stolen\x07\x1b[2J\x9b31m"
FORBIDDEN = re.compile(rb"\x1b\][02];|\x1b\[2J|\xc2\x9b|\x1b\[31m")
"""ECMA-48: a window title (xterm, OSC 0 and 2), a cleared screen (8.3.39), CSI as one character
(5.4), red (8.3.117). The coach itself sends none of these."""


@pytest.mark.pty
def test_markup_and_escape_sequences_in_any_text_are_only_text(tmp_path: Path) -> None:
    (tmp_path / "sly.toml").write_text(
        BRIEF.replace("USB bench meter", "[/] \\u001b]0;stolen\\u0007[b]Meter[/b]"), "utf-8"
    )
    with Terminal("sprint", "sly.toml", "--journal", "j.toml", home=tmp_path) as terminal:
        terminal.wait_for("NEXT")
        terminal.press("1")
        terminal.wait_for(" 1  Power entry", "gate 0 of")
        for key, asks, then in (
            ("a", "Park a note", "parked 1"),
            ("w", "Reason for waiving", "gate 1 of"),
            (":", "Quick line", "parked 2"),
            ("/", "Find", "No item has"),
        ):
            terminal.press(key)
            terminal.wait_for(asks, "esc cancel")
            terminal.paste(SLY)
            terminal.wait_for("[@click=app.quit]y")
            terminal.press("enter")
            terminal.wait_for(then)
        terminal.press("p")
        terminal.wait_for("2 waiting", "[b]x[/b] [@click=app.quit]y")
        terminal.press("escape")
        terminal.wait_for("gate 1 of")
        terminal.press("E")
        terminal.wait_for("Show what is still open first")
        terminal.press("1")
        terminal.wait_for("[/] [b]Meter[/b]")
        assert not FORBIDDEN.search(terminal.raw)
        assert "stolen" not in terminal.window_title
    events = tomllib.loads((tmp_path / "j.toml").read_text(encoding="utf-8"))["event"]
    texts = [event.get("text", event.get("reason")) for event in events if event["by"]][1:]
    assert len(texts) == 3
    assert all(text.isprintable() and "[@click=app.quit]y" in text for text in texts)


# ---- files that will not do ------------------------------------------------------------------


def begun_journal(path: Path) -> bytes:
    """A sprint with an item met, and its journal's bytes."""
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        session.do(EnterPhase("power-entry"))
        session.do(Meet("supply-contacts"))
    return path.read_bytes()


def make(folder: Path, fault: str) -> None:
    """The file x.toml, with a fault."""
    path = folder / "x.toml"
    if fault == "unknown key":
        path.write_text(BRIEF.replace("mcu_rail =", "mcu_rial ="), "utf-8")
    elif fault == "nameless pin":
        card = (
            'name = "knot"\ntitle = "Knot"\nkind = "mcu"\n\n[[pin]]\nnumber = 1\nkind = "supply"\n'
        )
        (folder / "knot.toml").write_text(card, "utf-8")
        path.write_text(BRIEF.replace('mcu = "brindle-48"', 'mcu = "./knot.toml"'), "utf-8")
    elif fault == "a brief":
        path.write_text(BRIEF, "utf-8")
    else:
        data = begun_journal(path)
        if fault == "newer journal":
            path.write_bytes(data.replace(b"\nversion = 2\n", b"\nversion = 99\n", 1))
        elif fault == "older journal":
            path.write_bytes(data.replace(b"\nversion = 2\n", b"\nversion = 1\n", 1))
        else:
            path.write_bytes(data.replace(b'item = "supply-contacts"', b'item = "supply-kontakts"'))


@pytest.mark.pty
@pytest.mark.parametrize(
    ("command", "fault", "says"),
    [
        ("sprint", "unknown key", ["x.toml, line ", "'mcu_rial'", "Nearest: mcu_rail."]),
        ("sprint", "nameless pin", ["knot.toml, line 5, pin[1].name: The key 'name' is missing."]),
        ("resume", "newer journal", ["version 99", "Open it with the coach that wrote it."]),
        ("resume", "older journal", ["version 1", "Open it with the coach that wrote it."]),
        ("resume", "edit", ["was changed after it was written", "--accept-edit"]),
        ("resume", "a brief", ["This is not the journal of a sprint"]),
    ],
)
def test_a_file_that_will_not_do_is_one_sentence_before_any_screen_and_stays_as_it_is(
    tmp_path: Path, command: str, fault: str, says: list[str]
) -> None:
    make(tmp_path, fault)
    before = (tmp_path / "x.toml").read_bytes()
    more = ("--journal", "j.toml") if command == "sprint" else ()
    with Terminal(command, "x.toml", *more, home=tmp_path) as terminal:
        assert terminal.wait_for_the_end() == 2
        assert "\n" not in terminal.said
        assert "Traceback" not in terminal.said
        for words in says:
            assert words in terminal.said
    assert (tmp_path / "x.toml").read_bytes() == before
    assert not (tmp_path / "j.toml").exists()


@pytest.mark.pty
def test_an_edit_that_is_accepted_is_gone_on_with_and_said(tmp_path: Path) -> None:
    make(tmp_path, "edit")
    with Terminal("resume", "x.toml", "--accept-edit", home=tmp_path) as terminal:
        terminal.wait_for(" 1  Power entry")
    events = tomllib.loads((tmp_path / "x.toml").read_text(encoding="utf-8"))["event"]
    assert [event["what"] for event in events][-2:] == ["edit-accepted", "resumed"]


# ---- folders and disks that will not do ------------------------------------------------------


def test_a_folder_that_is_only_to_be_read_is_status_before_the_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def writes(path: Path, mode: str = "r", *_: Any, **__: Any) -> bool:
        return tmp_path in path.parents and mode != "r" and "r" not in mode

    monkeypatch.setattr(Path, "open", refusing(Path.open, errno.EACCES, writes))
    monkeypatch.setattr("coach.cli.sprint.has_terminal", lambda: True)
    code = main(["sprint", "usb-bench-meter", "--journal", str(tmp_path / "j.toml")])
    said = capsys.readouterr()
    assert (code, said.out) == (2, "")
    assert said.err.endswith("permission denied. Choose a folder you may write to.\n")
    assert not (tmp_path / "j.toml").exists()


async def test_a_new_brief_that_cannot_be_written_keeps_its_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with driven(folder=tmp_path / "sessions", new=True) as drive:
        await drive.press("enter", "c", "n", "p", "i", "2", "m")
        with monkeypatch.context() as full:
            full.setattr(Path, "mkdir", refusing(Path.mkdir, errno.EROFS, lambda *_, **__: True))
            await drive.press("enter")
            assert isinstance(drive.screen, NewScreen)
            assert "read-only file system. Choose a folder you may" in drive.text
            assert drive.line_with("[x] radio module")
        await drive.press("enter")
        assert isinstance(drive.screen, SprintScreen)
        assert drive.state.knowledge.get("radio") is True


async def test_a_disk_that_is_full_takes_nothing_away_and_the_key_can_be_pressed_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def to_a_file(descriptor: int, _: bytes) -> bool:
        return stat.S_ISREG(os.fstat(descriptor).st_mode)

    async with driven(begun(tmp_path)) as drive:
        await drive.press("1")
        with monkeypatch.context() as full:
            full.setattr(os, "write", refusing(os.write, errno.ENOSPC, to_a_file))
            await drive.press("m")
            assert "no space left on the device" in drive.text
            assert drive.state.by_key["supply-contacts"].status == OPEN
        await drive.press("m")
        assert drive.state.by_key["supply-contacts"].status == MET
        assert drive.state.phase == "power-entry"


# ---- no room ---------------------------------------------------------------------------------


async def test_in_twenty_columns_and_five_lines_every_key_still_does_something(
    tmp_path: Path,
) -> None:
    async with driven(begun(tmp_path), size=(20, 5)) as drive:
        assert "left" in drive.lines[0]
        await drive.press("1")
        for action in SPRINT:
            if action.name != "leave":
                await drive.press(action.key, "escape")
        await drive.press("escape", "escape")
        assert isinstance(drive.screen, SprintScreen)
        assert all(len(line) <= 20 for line in drive.lines)
        assert "left" in drive.lines[0]


@pytest.mark.pty
def test_on_a_dumb_terminal_there_is_the_plan_as_text(tmp_path: Path) -> None:
    words = ("sprint", "usb-bench-meter", "--journal", "j.toml")
    with Terminal(*words, home=tmp_path, env={"TERM": "dumb"}) as terminal:
        assert terminal.wait_for_the_end() == 0
        assert "Power entry" in terminal.said
        assert terminal.said.splitlines()[-1].endswith("coach sprint usb-bench-meter")
    assert b"\x1b" not in terminal.raw
    assert not (tmp_path / "j.toml").exists()


# ---- talked into ---------------------------------------------------------------------------


async def test_a_call_waits_as_long_as_somebody_goes_on_typing(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        await drive.press("a")
        await drive.later(3598)
        for _ in range(6):
            await drive.type("x")
            await drive.later(1)
            assert drive.app.call is None
        assert drive.state.of(CallMade), "it is in the journal all the while"
        for _ in range(3):
            await drive.later(1)
        assert drive.app.call is not None
        assert drive.line_with("xxxxxx"), "what is typed was taken away"


# ---- ended from outside ----------------------------------------------------------------------


def closing_list(path: Path) -> Path:
    """A sprint that has come to the closing list: fourteen items, a key each."""
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        session.do(EnterPhase("closing"))
        session.do(ReachStage("files"))
    return path


def met_in(path: Path) -> list[str]:
    events = tomllib.loads(path.read_text(encoding="utf-8"))["event"]
    return [event["item"] for event in events if event["what"] == "item-met"]


@pytest.mark.pty
@pytest.mark.parametrize(("calm", "reads"), [(2, 2), (5, 1), (8, 0)])
def test_killed_while_keys_rain_nothing_that_was_on_the_screen_as_done_is_lost(
    tmp_path: Path, calm: int, reads: int
) -> None:
    """calm: items confirmed one by one before it rains. reads: how often the screen is looked at
    until the kill, which so comes before, between and after the writing."""
    journal = closing_list(tmp_path / "j.toml")
    with Terminal("resume", "j.toml", home=tmp_path) as terminal:
        terminal.wait_for(" 8  closing list", "list 0 of")
        terminal.press("g")
        terminal.wait_for("1 of 14")
        for number in range(1, calm + 1):
            terminal.press("y")
            terminal.wait_for(f" {number + 1} of 14 ")
        terminal.press(*"yyyyyyyyyyyyyy")
        for _ in range(reads):
            terminal.read()
        terminal.kill()
        done = confirmed_on(terminal, calm)
    assert done >= calm
    with Terminal("resume", "j.toml", home=tmp_path) as again:
        again.wait_for(" 8  closing list")
        kept = len(met_in(journal))
        assert kept >= done
        again.wait_for(f"list {kept} of 14")


def confirmed_on(terminal: Terminal, seen: int) -> int:
    """How many items of the closing list are done, by what the screen shows; killed between two
    halves of a frame it shows nothing new, and what was `seen` before counts."""
    walk = re.search(r" (\d+) of 14 ", terminal.text.partition("Walk: closing list")[2])
    whole = re.search(r"list (\d+) of 14", terminal.text)
    if walk:
        return int(walk[1]) - 1
    return int(whole[1]) if whole else seen


@pytest.mark.pty
def test_closing_the_window_or_ctrl_q_is_no_worse_than_q(tmp_path: Path) -> None:
    journal = closing_list(tmp_path / "j.toml")
    with Terminal("resume", "j.toml", home=tmp_path) as terminal:
        terminal.wait_for(" 8  closing list", "list 0 of")
        terminal.press("m")
        terminal.wait_for("list 1 of")
    assert len(met_in(journal)) == 1
    with Terminal("resume", "j.toml", home=tmp_path) as terminal:
        terminal.wait_for("list 1 of")
        terminal.press("m")
        terminal.wait_for("list 2 of")
        terminal.press("ctrl+q")
        assert terminal.wait_for_the_end() == 0
        assert re.search(r"Go on with: (coach|\S+ -m coach) resume j\.toml", terminal.said)
    assert len(met_in(journal)) == 2


# ---- cut anywhere ----------------------------------------------------------------------------


def test_a_sprint_cut_anywhere_goes_on_with_all_its_whole_events(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", lambda _: None)  # many openings, no power cut
    path = tmp_path / "whole.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        for command in (
            EnterPhase("power-entry"),
            Meet("supply-contacts"),
            SaveCalculation("type-c-sink", "j-usb"),
            Waive("usb-data-pairs", "bench [/] only"),
            EnterPhase("regulation"),
        ):
            session.do(command)
        history, data = list(session.history), path.read_bytes()
    ends = [found.end() for found in re.finditer(rb"(?m)^# check .*\n", data)]
    header_end, ends = ends[3], ends[4:]
    assert len(ends) == len(history)
    near_the_ends = {end + by for end in (header_end, *ends) for by in (-1, 0, 1)}
    cuts = near_the_ends | set(range(header_end, len(data), 397))
    for length in sorted(cut for cut in cuts if header_end <= cut <= len(data)):
        torn = tmp_path / "torn.toml"
        torn.write_bytes(data[:length])
        whole = sum(end <= length for end in ends)
        with Session.resume(torn, ManualClock(START)) as session:
            assert session.history[:whole] == history[:whole], length
            opening = [stamped.event.what for stamped in session.history[whole:]]
            cut = length not in (header_end, *ends)
            assert opening == (["tail-cut", "resumed"] if cut else ["resumed"])
