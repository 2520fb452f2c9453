"""From nothing to a running sprint: a person with an installed coach and no brief."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.journeys.conftest import Opens
from tests.journeys.installed import installed

pytestmark = pytest.mark.pty

ANSWERS = {
    "How long have you got": "enter",
    "Where does the power come from?": "c",
    "What makes the main rail?": "n",
    "How is it programmed?": "p",
    "What is its clock?": "i",
    "Who makes it?": "2",
    "Which interfaces?": "m",
}
"""A radio tag that runs from a coin cell: the questions and a key each."""


def test_from_nothing_to_a_running_sprint_in_at_most_twelve_keys(
    coach: Opens, home: Path, tmp_path: Path
) -> None:
    code = installed(tmp_path / "packages")
    terminal = coach("new", code=code)
    for question, key in ANSWERS.items():
        terminal.wait_for(question)
        terminal.press(key)
    terminal.wait_for("[x] radio module", "starts the clock")
    terminal.press("enter")
    terminal.wait_for(" left ", "NEXT     Choose", "The brief is in")
    assert terminal.keys <= 12

    brief = read(home, "briefs/*.toml")
    assert brief["deadline"]["minutes"] == 120
    assert brief["facts"]["radio"] is True
    assert (brief["facts"]["supply"], brief["facts"]["battery_kind"]) == ("battery", "coin-cell")
    journal = read(home, "sessions/*.toml")
    assert journal["journal"]["brief"]["title"] == brief["title"]
    assert [event["what"] for event in journal["event"]] == ["started"]

    terminal.press("q")
    assert terminal.wait_for_the_end() == 0
    start = coach(code=code)
    start.wait_for("Resume", "▸1  New board")
    start.press("enter")
    start.wait_for("NEXT     Choose")
    assert [event["what"] for event in read(home, "sessions/*.toml")["event"]][-1] == "resumed"


def read(folder: Path, pattern: str) -> dict[str, Any]:
    """The only file of that pattern, read as any program would."""
    (found,) = folder.rglob(pattern)
    return tomllib.loads(found.read_text(encoding="utf-8"))
