"""Where journals go: a checkout's sessions/, else the person's data folder; never over another."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.sprint.brief.document import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End
from coach.sprint.past.sessions_folder import (
    journal_path,
    journals,
    newest_unended,
    sessions_folder,
)
from coach.sprint.starting import start_sprint
from phases.kit.refusals import Refusal
from tests.imports.sources import ROOT

STARTED = datetime(2031, 5, 5, 9, 5, tzinfo=UTC)


def sprint(path: Path, *, ended: bool = False, written: int) -> Path:
    """A journal whose file was last written at that second."""
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(STARTED)) as session:
        if ended:
            session.do(End(accepted=True))
    os.utime(path, (written, written))
    return path


def test_from_a_checkout_they_go_to_its_sessions() -> None:
    assert sessions_folder() == ROOT / "sessions"


def test_an_installed_coach_keeps_them_with_the_person(tmp_path: Path) -> None:
    for package in ("coach", "phases"):
        shutil.copytree(
            ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__")
        )
    code = "from coach.sprint.past.sessions_folder import sessions_folder; print(sessions_folder())"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path, env={**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")},
        capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    found = Path(done.stdout.strip())
    assert found.parts[-2:] == ("coach", "sessions")
    assert not found.exists()


def test_a_name_tells_brief_and_start_and_is_always_free(tmp_path: Path) -> None:
    first = journal_path(tmp_path, "My board (v2)", STARTED)
    assert first.name == "my-board-v2-2031-05-05-0905.toml"
    first.touch()
    second = journal_path(tmp_path, "My board (v2)", STARTED)
    assert second.name == "my-board-v2-2031-05-05-0905-2.toml"
    assert journal_path(tmp_path, "../..").name == "sprint.toml"
    assert len(journal_path(tmp_path, "x" * 500).name) < 100


def test_the_newest_that_goes_on_is_found(tmp_path: Path) -> None:
    sprint(tmp_path / "old.toml", written=1000)
    newest = sprint(tmp_path / "goes-on.toml", written=2000)
    sprint(tmp_path / "ended.toml", ended=True, written=3000)
    foreign = tmp_path / "notes.toml"
    foreign.write_text("a = 1\n", encoding="utf-8")
    assert newest_unended(tmp_path) == newest
    assert [path.name for path in journals(tmp_path)][:2] == ["notes.toml", "ended.toml"]


def test_where_nothing_goes_on_it_says_so(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="no sprint to go on with"):
        newest_unended(tmp_path / "never made")
    sprint(tmp_path / "ended.toml", ended=True, written=1000)
    with pytest.raises(Refusal, match="no sprint to go on with"):
        newest_unended(tmp_path)


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Ü läng", "u-lang"),
        ("Señal à l'arrière", "senal-a-l-arriere"),
        ("Straße №5", "strasse-no5"),
        ("٣ ΩΩ", "sprint"),
    ],
)
def test_accents_are_folded_in_the_name_of_a_file(tmp_path: Path, title: str, name: str) -> None:
    assert journal_path(tmp_path, title).name == f"{name}.toml"
