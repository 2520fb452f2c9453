"""Who wants no colours gets none, on every screen; words and marks say what colour says."""

from __future__ import annotations

import re

import pytest

from tests.journeys.conftest import Opens
from tests.journeys.terminal import Terminal

pytestmark = pytest.mark.pty

# ECMA-48 (5th edition, 1991) 8.3.117, SGR: 30 to 37 and 40 to 47 are the colours, 38 and 48
# choose others; 39 and 49 are the terminal's own. 90 to 97 and 100 to 107 are the bright ones of
# xterm (control sequences, "character attributes").
COLOURS = {*range(30, 39), *range(40, 49), *range(90, 98), *range(100, 108)}
SGR = re.compile(rb"\x1b\[([0-9;:]*)m")


def colours_sent(terminal: Terminal) -> set[int]:
    sent = [int(one) for found in SGR.findall(terminal.raw) for one in re.findall(rb"\d+", found)]
    return COLOURS.intersection(sent)


def look_around(terminal: Terminal) -> None:
    """Through what has most colours to lose: gate, calculator, question, walk, help."""
    terminal.wait_for("NEXT")
    terminal.press("1")
    terminal.wait_for(" 1  Power entry", "gate 0 of")
    terminal.press("m")
    terminal.wait_for("gate 1 of")
    terminal.press("c")
    terminal.wait_for("Passes", "Outputs")
    terminal.press("escape")
    terminal.wait_for("gate 1 of")
    terminal.press("w")
    terminal.wait_for("Reason for waiving")
    terminal.press("escape")
    terminal.wait_until(lambda: "Reason for waiving" not in terminal.text, "the question gone")
    terminal.press("g")
    terminal.wait_for("Walk: power entry")
    terminal.press("escape")
    terminal.wait_for("gate 1 of")
    terminal.press("?")
    terminal.wait_for("esc")


def test_with_no_color_set_no_colour_is_sent(coach: Opens) -> None:
    terminal = coach(
        "sprint", "usb-bench-meter", "--journal", "j.toml", size=(120, 50), env={"NO_COLOR": "1"}
    )
    look_around(terminal)
    assert colours_sent(terminal) == set()
    assert SGR.search(terminal.raw), "bold and reverse are still there"


def test_without_it_the_same_screens_are_in_colour(coach: Opens) -> None:
    terminal = coach("sprint", "usb-bench-meter", "--journal", "j.toml", size=(120, 50))
    look_around(terminal)
    assert colours_sent(terminal) >= {38, 48}
