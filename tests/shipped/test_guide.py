"""DEVELOPERS.md is short, and names only what there is."""

from __future__ import annotations

import contextlib
import io
import re
import subprocess
from importlib.util import find_spec
from pathlib import Path

import pytest

from coach.sprint.journal.file import Journal
from tests.imports.sources import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
DECISIONS = (ROOT / "DECISIONS.md").read_text(encoding="utf-8")
TREE = re.findall(r"^```\n(.*?)^```", GUIDE, re.MULTILINE | re.DOTALL)[0]
MADE = {".venv", ".venv/bin/pytest", "build/bench.json", "dist"}
"""What is there only once something was made."""


def files() -> list[Path]:
    """Every file of the project, from its root."""
    out = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return [Path(name) for name in out.splitlines() if (ROOT / name).is_file()]


def named(text: str) -> set[str]:
    """The files and folders that a text names in backquotes, and the documents it links."""
    words = {word for quoted in re.findall(r"`([^`\n]+)`", text) for word in quoted.split()}
    paths = {word for word in words if re.fullmatch(r"[\w./-]*(/|\.(py|toml|md|css))", word)}
    slashed = {word for word in words if re.fullmatch(r"\.?\w+(/[\w.-]+)+", word)}
    return {one.rstrip("/") for one in paths | slashed | set(re.findall(r"\b[A-Z]+\.md\b", text))}


@pytest.mark.parametrize("text", [GUIDE, DECISIONS], ids=["DEVELOPERS.md", "DECISIONS.md"])
def test_every_file_it_names_is_there(text: str) -> None:
    known = {str(part) for path in files() for part in (path, *path.parents)}
    tails = {"/" + one for one in known}
    missing = [
        one for one in named(text) - MADE if not any(tail.endswith("/" + one) for tail in tails)
    ]

    assert len(named(text)) > 2
    assert sorted(missing) == []


def test_every_folder_of_its_tree_is_there_and_none_is_left_out() -> None:
    folders: list[Path] = []
    for line in TREE.splitlines():
        depth, name = (len(line) - len(line.lstrip())) // 2, line.split()[0]
        if name.endswith("/") and "<" not in name:
            above = [one for one in folders if len(one.parts) == depth]
            folders.append((above[-1] if above else Path()) / name)
    packages = {
        path.parent
        for path in files()
        if path.name == "__init__.py" and path.parts[0] == "coach" and len(path.parts) in (2, 3)
    }

    assert [str(one) for one in folders if not (ROOT / one).is_dir()] == []
    assert packages <= set(folders)


def test_every_module_it_names_can_be_imported() -> None:
    modules = set(re.findall(r"`((?:coach|phases|tests)(?:\.(?!py`)[a-z_]+)*)`", GUIDE))

    assert {"phases", "coach.sprint", "coach.cli"} <= modules
    assert [one for one in modules if find_spec(one) is None] == []


def test_it_names_every_make_target_and_no_other() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    (phony,) = re.findall(r"^\.PHONY: (.*)$", makefile, re.MULTILINE)

    assert set(re.findall(r"`make ([a-z-]+)`", GUIDE)) == set(phony.split())


def test_it_has_at_most_150_lines() -> None:
    assert len(GUIDE.splitlines()) <= 150


def test_its_driver_runs_a_sprint(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (driver,) = re.findall(r"^```python\n(.*?)^```", GUIDE, re.MULTILINE | re.DOTALL)
    monkeypatch.chdir(tmp_path)
    printed = io.StringIO()

    with contextlib.redirect_stdout(printed):
        exec(compile(driver, "DEVELOPERS.md", "exec"), {})

    saved, chance = printed.getvalue().splitlines()
    assert saved
    assert re.fullmatch(r"on time: \d+%", chance)
    assert Journal.look(tmp_path / "driven.toml").whole
    assert len([line for line in driver.splitlines() if line]) <= 22
