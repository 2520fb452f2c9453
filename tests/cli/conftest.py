"""The command line run in process: its exit code, and what it wrote where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from coach.cli import main


@dataclass(frozen=True)
class Answer:
    code: int
    out: str
    err: str

    @property
    def sentence(self) -> str:
        """The one line on stderr of a call that was wrong."""
        assert self.code == 2, self
        assert self.out == ""
        assert self.err.count("\n") == 1
        assert self.err.endswith(".\n")
        return self.err.rstrip("\n")


Coach = Callable[..., Answer]


@pytest.fixture
def sessions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where journals go in a test: not to this checkout."""
    folder = tmp_path / "sessions"
    monkeypatch.setattr("coach.sprint.journal.sessions_folder.sessions_folder", lambda: folder)
    return folder


@pytest.fixture
def coach(capsys: pytest.CaptureFixture[str], sessions: Path) -> Coach:
    """Runs `coach` with these words; there is no terminal."""

    def run(*words: str) -> Answer:
        code = main(words)
        written = capsys.readouterr()
        return Answer(code, written.out, written.err)

    return run
