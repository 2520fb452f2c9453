"""The coach is left and taken up, asked for twice, and pulled to other sizes while it runs."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.journeys.conftest import Opens

pytestmark = pytest.mark.pty

BEGIN = ("sprint", "usb-bench-meter", "--journal", "j.toml")


def test_q_leaves_says_how_to_come_back_and_that_comes_back(coach: Opens) -> None:
    terminal = coach(*BEGIN)
    terminal.wait_for("NEXT")
    terminal.press("4")
    terminal.wait_for(" 4  Clock and boot configuration", "gate 0 of")
    terminal.press("a")
    terminal.wait_for("Park a note")
    terminal.type("ask about stock")
    terminal.press("enter")
    terminal.wait_for("parked 1")
    terminal.press("q")
    assert terminal.wait_for_the_end() == 0
    assert re.search(r"Go on with: (coach|\S+ -m coach) resume j\.toml", terminal.said)

    again = coach("resume", "j.toml")
    again.wait_for(" 4  Clock and boot configuration", "parked 1")
    again.press("p")
    again.wait_for("ask about stock")


def test_a_second_coach_on_the_same_journal_is_refused_and_the_first_goes_on(
    coach: Opens, home: Path
) -> None:
    first = coach(*BEGIN)
    first.wait_for("NEXT")
    second = coach("resume", "j.toml")
    assert second.wait_for_the_end() == 2
    assert second.said == (
        "j.toml: This journal is open in another coach. "
        "Look at it with: coach verify j.toml, or close the other one."
    )
    look = coach("verify", "j.toml")
    assert look.wait_for_the_end() == 0

    first.press("1")
    first.wait_for(" 1  Power entry", "gate 0 of")
    first.press("m")
    first.wait_for("gate 1 of")
    told = tomllib.loads((home / "j.toml").read_text(encoding="utf-8"))["event"]
    assert [event["what"] for event in told] == ["started", "phase-entered", "item-met"]


def test_pulled_to_any_size_while_it_runs_it_draws_itself_anew(coach: Opens) -> None:
    terminal = coach(*BEGIN)
    terminal.wait_for("NEXT")
    terminal.press("1")
    terminal.wait_for(" 1  Power entry", "gate 0 of")
    terminal.resize(40, 12)
    terminal.wait_for(" left", "cut-off", "NEXT", "DRAW", "SKIPPED")
    terminal.resize(120, 36)
    terminal.wait_for("NEXT", "↵ do NEXT", "gate 0 of", "s sign off")
    terminal.resize(20, 5)
    terminal.wait_until(lambda: " left" in terminal.lines[0], "the time left, in 20 columns")
    terminal.press("m")
    terminal.resize(80, 24)
    terminal.wait_for(" 1  Power entry", "gate 1 of", "↵ do NEXT")
    terminal.press("q")
    assert terminal.wait_for_the_end() == 0
