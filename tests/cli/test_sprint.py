"""`coach`, `new`, `sprint`, `resume`: with a terminal they open it, without one they say so.

A room that only notes what it was handed stands in for the terminal itself.
"""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from shutil import copy
from types import ModuleType
from typing import Any

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock, SystemClock
from coach.sprint.commands import End, Park
from coach.sprint.journal.file import Journal
from coach.sprint.session import Session, start_sprint
from phases.kit.shared_data import shared_dir
from tests.cli.conftest import Coach
from tests.rehearsals import Rehearsals

START = datetime(2020, 5, 5, 9, 0, tzinfo=UTC)


@dataclass
class Room:
    """What the terminal was handed. ends: what it returns."""

    sprints: list[dict[str, Any]] = field(default_factory=list)
    starts: list[dict[str, Any]] = field(default_factory=list)
    ends: int = 0

    def run_sprint(
        self, session: Session, *, status: tuple[str, str] = ("", "plain"), command: str = "coach"
    ) -> int:
        self.sprints.append(
            {
                "path": session.journal.path,
                "title": session.setup.brief.title,
                "speed": session.setup.speed,
                "rehearsed": session.setup.rehearsed,
                "events": [stamped.event for stamped in session.history],
                "status": status,
                "command": command,
            }
        )
        session.do(Park("was here"))
        return self.ends

    def run_start(self, *, new: bool = False, folder: Path, command: str = "coach") -> int:
        self.starts.append({"new": new, "folder": folder})
        return self.ends


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Room:
    """A terminal is there."""
    room = Room()
    app = ModuleType("coach.terminal.app")
    app.run_sprint = room.run_sprint  # type: ignore[attr-defined]
    app.run_start = room.run_start  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "coach.terminal.app", app)
    monkeypatch.setattr("coach.cli.sprint.has_terminal", lambda: True)
    return room


def closed(path: Path) -> bool:
    """Whether nobody holds the journal any more."""
    Journal.open(path).close()
    return True


# --- without a terminal -----------------------------------------------------------------------


def test_without_a_terminal_a_sprint_shows_its_plan_and_starts_nothing(
    coach: Coach, sessions: Path
) -> None:
    answer = coach("sprint", "usb-bench-meter")
    assert answer.code == 0
    assert answer.out == coach("plan", "usb-bench-meter").out
    assert answer.err.count("\n") == 1
    assert "coach sprint usb-bench-meter" in answer.err
    assert not sessions.exists()


@pytest.mark.parametrize("speed", ["0", "-3", "1e9", "nan", "fast"])
def test_a_speed_no_clock_runs_at_is_refused_without_a_terminal_too(
    coach: Coach, sessions: Path, speed: str
) -> None:
    answer = coach("sprint", "usb-bench-meter", "--speed", speed)
    assert answer.code == 2
    assert answer.out == ""
    assert "speed" in answer.sentence or "times as fast" in answer.sentence
    assert not sessions.exists()


def test_a_dumb_terminal_is_none(monkeypatch: pytest.MonkeyPatch, terminal: Room) -> None:
    monkeypatch.undo()
    from coach.cli.sprint import has_terminal

    class Screen:
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Screen())
    monkeypatch.setattr(sys, "stdout", Screen())
    monkeypatch.setenv("TERM", "xterm-256color")
    assert has_terminal()
    monkeypatch.setenv("TERM", "dumb")
    assert not has_terminal()
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setattr(sys, "stdin", None)
    assert not has_terminal()


def test_without_a_terminal_a_journal_is_not_touched(coach: Coach, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)).close()
    before = path.read_bytes()
    said = coach("resume", str(path)).sentence
    assert f"coach verify {path}" in said
    assert path.read_bytes() == before


# --- the start screen -------------------------------------------------------------------------


def test_the_coach_alone_opens_the_start_screen(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    assert coach().code == 0
    assert coach("new").code == 0
    assert terminal.starts == [
        {"new": False, "folder": sessions},
        {"new": True, "folder": sessions},
    ]


def test_what_the_screen_ends_with_is_the_exit_code(coach: Coach, terminal: Room) -> None:
    terminal.ends = 1
    assert coach().code == 1
    assert coach("sprint", "usb-bench-meter").code == 1


# --- a sprint ---------------------------------------------------------------------------------


def test_a_sprint_starts_with_a_journal_named_after_brief_and_time(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    coach("sprint", "usb-bench-meter")
    coach("sprint", "usb-bench-meter")
    first, second = terminal.sprints
    assert first["title"] == "USB bench meter"
    assert first["path"].parent == sessions
    assert first["path"].name.startswith("usb-bench-meter-2")
    assert first["path"] != second["path"]
    assert not first["rehearsed"]
    assert closed(first["path"])


def test_a_sprint_goes_to_the_journal_that_is_named(
    coach: Coach, terminal: Room, tmp_path: Path
) -> None:
    path = tmp_path / "deep" / "today.toml"
    assert coach("sprint", "usb-bench-meter", "--journal", str(path)).code == 0
    assert Journal.look(path).whole
    said = coach("sprint", "usb-bench-meter", "--journal", str(path)).sentence
    assert "There is a file of that name" in said
    assert len(terminal.sprints) == 1


def test_a_faster_sprint_is_marked_as_rehearsed(coach: Coach, terminal: Room) -> None:
    coach("sprint", "usb-bench-meter", "--speed", "20")
    assert (terminal.sprints[0]["speed"], terminal.sprints[0]["rehearsed"]) == (20.0, True)
    assert "times as fast" in coach("sprint", "usb-bench-meter", "--speed", "-1").sentence


def test_a_faster_sprint_says_from_the_first_that_it_counts_for_nothing(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    coach("sprint", "usb-bench-meter", "--speed", "60")
    words, _ = terminal.sprints[0]["status"]
    assert words == "Rehearsal at 60x speed: not counted in pace or trends."
    coach("sprint", "usb-bench-meter", "--speed", "20")  # what is said besides stays
    words, role = terminal.sprints[1]["status"]
    assert words.startswith("Another sprint of this brief has been running")
    assert words.endswith("Rehearsal at 20x speed: not counted in pace or trends.")
    assert role == "due"
    coach("resume", str(terminal.sprints[0]["path"]))
    assert terminal.sprints[2]["status"][0].startswith("Rehearsal at 60x speed")
    assert "not counted in pace or trends" in " ".join(coach("sprint", "--help").out.split())


def test_a_cut_off_that_leaves_no_time_makes_no_journal(
    coach: Coach, terminal: Room, tmp_path: Path, sessions: Path
) -> None:
    text = (shared_dir() / "briefs" / "usb-bench-meter.toml").read_text(encoding="utf-8")
    path = tmp_path / "late.toml"
    text = text.replace("minutes = 120", 'cut_off = "2 min"', 1)
    path.write_text(text, encoding="utf-8")
    assert "and the reserve is 20 min" in coach("sprint", str(path)).sentence
    assert not sessions.exists()
    assert terminal.sprints == []


# --- going on ---------------------------------------------------------------------------------


def test_going_on_takes_the_newest_that_has_not_ended(
    coach: Coach, terminal: Room, sessions: Path, rehearsed_once: Rehearsals
) -> None:
    brief = load_brief("usb-bench-meter")
    for name, written in (("older", 1000), ("newer", 2000)):
        start_sprint(brief, sessions / f"{name}.toml", ManualClock(START)).close()
        os.utime(sessions / f"{name}.toml", (written, written))
    copy(rehearsed_once("usb-bench-meter").path, sessions / "sample.toml")
    assert coach("resume").code == 0
    assert terminal.sprints[0]["path"] == sessions / "newer.toml"
    kinds = [event.what for event in terminal.sprints[0]["events"]]
    assert kinds == ["started", "resumed"]
    assert closed(sessions / "newer.toml")


def test_what_has_ended_is_not_gone_on_with(coach: Coach, terminal: Room, tmp_path: Path) -> None:
    path = tmp_path / "ended.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        session.do(End(accepted=True))
    before = path.read_bytes()
    assert "This sprint has ended" in coach("resume", str(path)).sentence
    assert path.read_bytes() == before
    assert terminal.sprints == []


def test_an_edited_journal_is_taken_up_only_when_asked(
    coach: Coach, terminal: Room, tmp_path: Path
) -> None:
    path = tmp_path / "edited.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        session.do(Park("a thought"))
    path.write_bytes(path.read_bytes().replace(b'"a thought"', b'"my thought"'))
    assert "was changed after it was written" in coach("resume", str(path)).sentence
    assert coach("resume", "--accept-edit", str(path)).code == 0
    kinds = [event.what for event in terminal.sprints[0]["events"]]
    assert kinds[-2:] == ["edit-accepted", "resumed"]


def test_a_journal_open_elsewhere_is_left_alone(
    coach: Coach, terminal: Room, tmp_path: Path
) -> None:
    path = tmp_path / "open.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)):
        assert "open in another coach" in coach("resume", str(path)).sentence
    assert terminal.sprints == []


# --- another sprint of the same brief -----------------------------------------------------------


def begun_now(folder: Path, name: str, **options: Any) -> Path:
    """A sprint of the bench meter that goes on, begun at this moment."""
    path = folder / name
    start_sprint(load_brief("usb-bench-meter"), path, SystemClock(), **options).close()
    return path


def test_another_sprint_of_the_brief_that_goes_on_is_said_with_how_to_take_it_up(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    path = begun_now(sessions, "first.toml")
    coach("sprint", "usb-bench-meter")
    words, role = terminal.sprints[0]["status"]
    assert re.match(
        r"Another sprint of this brief has been running since \d\d:\d\d: coach resume \S+", words
    )
    assert words.split()[-1].endswith("first.toml")
    assert Path(words.split()[-1]).resolve() == path.resolve()
    assert role == "due"


def test_a_rehearsal_that_stands_still_goes_on_too(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    begun_now(sessions, "fast.toml", speed=60.0)
    coach("sprint", "usb-bench-meter", "--speed", "20")
    assert "fast.toml" in terminal.sprints[0]["status"][0]


def test_what_has_ended_is_past_or_is_of_another_brief_is_not_mentioned(
    coach: Coach, terminal: Room, sessions: Path
) -> None:
    brief = load_brief("usb-bench-meter")
    start_sprint(brief, sessions / "past.toml", ManualClock(START)).close()
    with start_sprint(brief, sessions / "ended.toml", SystemClock()) as session:
        session.do(End(False))
    start_sprint(load_brief("pump-driver-24v"), sessions / "b.toml", SystemClock()).close()
    (sessions / "torn.toml").write_text("[journal]", encoding="utf-8")
    coach("sprint", "usb-bench-meter")
    assert terminal.sprints[0]["status"][0] == ""


def test_it_is_looked_for_where_the_journal_goes(
    coach: Coach, terminal: Room, tmp_path: Path, sessions: Path
) -> None:
    begun_now(sessions, "first.toml")
    coach("sprint", "usb-bench-meter", "--journal", str(tmp_path / "own" / "mine.toml"))
    assert terminal.sprints[0]["status"][0] == ""
