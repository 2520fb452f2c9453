"""The coach as it is to be called again: by its name where a shell finds it, else as it was run."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from coach.cli.program_name import from_here, program_name


@pytest.fixture
def run_as(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a program called coach in it, where this one stands; PATH is empty."""
    program = tmp_path / "tool box" / "coach"
    program.parent.mkdir()
    program.write_text("#!/bin/sh\n", encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", str(tmp_path / "nowhere"))
    return program


def test_run_by_path_it_is_said_by_that_path_so_that_it_can_be_copied(
    run_as: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["tool box/coach", "sprint"])
    assert program_name() == "'tool box/coach'"
    monkeypatch.setattr(sys, "argv", [".venv/bin/coach"])
    assert program_name() == ".venv/bin/coach"


def test_found_by_the_shell_it_is_said_by_its_name(
    run_as: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(run_as.parent))
    monkeypatch.setattr(sys, "argv", [str(run_as)])
    assert program_name() == "coach"


def test_another_coach_that_the_shell_finds_is_not_this_one(
    run_as: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = tmp_path / "bin" / "coach"
    other.parent.mkdir()
    other.write_text("#!/bin/sh\n", encoding="utf-8")
    other.chmod(0o755)
    monkeypatch.setenv("PATH", str(other.parent))
    monkeypatch.setattr(sys, "argv", ["tool box/coach"])
    assert program_name() == "'tool box/coach'"


def test_run_as_a_module_it_is_said_with_its_python(
    run_as: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["/somewhere/coach/__main__.py"])
    monkeypatch.setattr(sys, "executable", "/usr/bin/python3")
    assert program_name() == "/usr/bin/python3 -m coach"


def test_called_by_another_program_it_is_plainly_coach(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["/usr/bin/pytest"])
    assert program_name() == "coach"


def test_a_path_is_said_as_one_would_type_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert from_here(tmp_path / "sessions" / "a.toml") == "sessions/a.toml"
    assert from_here(Path("/a.toml")) == "/a.toml"
    assert from_here(tmp_path / "a b.toml") == "'a b.toml'"
