"""Where journals go: a checkout's sessions/, else the person's data folder; never over another."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.sprint.journal.sessions_folder import journal_path, journals, sessions_folder
from tests.imports.sources import ROOT

STARTED = datetime(2031, 5, 5, 9, 5, tzinfo=UTC)


def test_from_a_checkout_they_go_to_its_sessions() -> None:
    assert sessions_folder() == ROOT / "sessions"


def test_an_installed_coach_keeps_them_with_the_person(tmp_path: Path) -> None:
    for package in ("coach", "phases"):
        shutil.copytree(
            ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__")
        )
    code = (
        "from coach.sprint.journal.sessions_folder import sessions_folder; print(sessions_folder())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
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


def test_journals_come_the_last_written_first(tmp_path: Path) -> None:
    for at, name in enumerate(("b", "a", "c")):
        path = tmp_path / f"{name}.toml"
        path.touch()
        os.utime(path, (at, at))
    assert [path.stem for path in journals(tmp_path)] == ["c", "a", "b"]
    assert journals(tmp_path / "never made") == []


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
