"""README.md says what is so: its tables are what the code declares, its commands run, its cards
can be read."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from coach import __version__
from coach.cli import main
from coach.sprint.brief.loading import load_brief
from coach.sprint.brief.new import answers_to_brief_text
from coach.terminal.actions import SPRINT
from phases.kit.cards import load_capability, load_part
from phases.kit.catalogue import calculators
from tests.imports.sources import ROOT
from tests.shipped.tables import calculators_table, commands_table, with_tables

README = (ROOT / "README.md").read_text(encoding="utf-8")
MAKEFILE = (ROOT / "Makefile").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The code blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


COMMANDS = [
    line for block in blocks("sh") for line in block.splitlines() if line.startswith("coach")
]


def test_the_calculators_and_the_commands_are_those_there_are() -> None:
    assert calculators_table() in README
    assert commands_table() in README
    assert with_tables(README) == README
    assert len(calculators_table().splitlines()) == 2 + len(calculators())
    assert {"new", "calc", "debrief"} <= set(re.findall(r"`coach (\w+)`", commands_table()))


def test_its_commands_run_in_a_folder_of_their_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "sessions").mkdir()
    for sample in (ROOT / "sessions").glob("sample-*.toml"):
        shutil.copy(sample, tmp_path / "sessions")

    for command in COMMANDS:
        code = main(shlex.split(command)[1:])
        told = capsys.readouterr()
        assert code == 0, (command, told.err)
        assert told.out or told.err, command

    assert len(COMMANDS) > 8
    assert (tmp_path / "debrief.html").stat().st_size > 0


def test_every_make_target_it_names_is_one() -> None:
    targets = set(re.findall(r"^([a-z]+):", MAKEFILE, re.MULTILINE))
    named = set(re.findall(r"(?:^|`)make ([a-z]+)", README, re.MULTILINE))

    assert {"run", "test"} <= named <= targets


def test_every_file_it_links_to_is_there() -> None:
    linked = re.findall(r"\]\(([^)]+)\)", README)
    named = re.findall(r"`((?:shared|requirements|sessions)/[\w./-]*)`", README)

    assert linked and named
    assert [one for one in linked + named if not (ROOT / one).exists()] == []


def test_the_wheel_it_names_is_the_one_that_is_made() -> None:
    assert f"dist/board_coach-{__version__}-py3-none-any.whl[report]" in README


def test_its_cards_can_be_named_by_a_brief_beside_them(tmp_path: Path) -> None:
    part, capability = blocks("toml")
    (tmp_path / "my-mcu.toml").write_text(part, encoding="utf-8")
    (tmp_path / "my-fab.toml").write_text(capability, encoding="utf-8")
    text = answers_to_brief_text({}, "Lamp")
    for key in ("mcu", "capability"):
        (named,) = re.findall(rf"`({key} = [^`]+)`", README)
        text = re.sub(rf"^{'pins' if key == 'mcu' else key} = .*$", named, text, flags=re.MULTILINE)
    (tmp_path / "lamp.toml").write_text(text, encoding="utf-8")

    board = load_brief(tmp_path / "lamp.toml").board

    assert load_part(str(board.mcu)).name == "my-mcu"
    assert load_capability(str(board.capability)).name == "my-fab"


def test_the_keys_it_names_are_keys_of_the_sprint_screen() -> None:
    table = README.partition("| key |")[2].partition("\n\n")[0]
    named = set(re.findall(r"^\| `(\S)` \|", table, re.MULTILINE))

    assert len(named) > 8
    assert named <= {action.shown_key for action in SPRINT}


def test_its_library_example_runs(capsys: pytest.CaptureFixture[str]) -> None:
    (example,) = blocks("python")

    exec(compile(example, "README.md", "exec"), {})

    verdict, junction = capsys.readouterr().out.split()
    assert verdict == "pass"
    assert 100 < float(junction) < 125
