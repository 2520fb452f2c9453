"""From the end of a sprint to its debrief, a late finding, a house rule, and the next sprint that
asks it; on a machine without this checkout, so that everything lies in the person's own folder."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.journeys.conftest import Opens
from tests.journeys.installed import installed
from tests.journeys.test_without_colours import colours_sent

pytestmark = pytest.mark.pty

FAULT = "R5 is 10 kOhm, not 1 kOhm"
STATEMENT = "R5 is one kiloohm"


def test_what_the_bench_found_the_next_sprint_asks(
    coach: Opens, home: Path, tmp_path: Path
) -> None:
    code = installed(tmp_path / "code")
    first = coach("sprint", "usb-bench-meter", "--journal", "j.toml", code=code, size=(80, 36))
    first.wait_for("NEXT")
    first.press("E")
    first.wait_for("End without ordering")
    first.press("3")
    first.wait_for("The sprint ended without an order", "1 Still changeable", "f late finding")

    first.press("f")
    first.wait_for("What was wrong?")
    first.type(FAULT)
    first.press("enter")
    first.wait_for("Which item let it through?")
    first.type("boot source")
    first.wait_for("Straps select the intended")
    first.press("enter")
    for question, answer in (
        ("On which board?", "2"),
        ("What time did it cost?", "25"),
        ("How was it reworked?", "1 kOhm on top"),
    ):
        first.wait_for(question)
        first.type(answer)
        first.press("enter")
    first.wait_for("Finding 1 noted", FAULT, "Board 2", "25 min lost")

    first.press("i")
    first.wait_for("What must be true on every board from now on?", FAULT)
    first.type(STATEMENT)
    first.press("enter")
    first.wait_for("What goes wrong without it?")
    first.press("enter")
    for question in ("What does missing it cost?", "In which phase is it asked?"):
        first.wait_for(question)
        first.press("1")
    first.wait_for("Finding 1 is item r5-is-one-kiloohm now")
    first.press("q")
    assert first.wait_for_the_end() == 0

    rules = home / ".local" / "share" / "coach" / "sessions" / "briefs" / "house-rules.toml"
    item = tomllib.loads(rules.read_text(encoding="utf-8"))["item"][0]
    assert (item["phase"], item["severity"]) == ("clock-boot", "dead board")
    told = tomllib.loads((home / "j.toml").read_text(encoding="utf-8"))["event"]
    whats = [event["what"] for event in told if event["what"] != "summed-up"]
    assert whats[-3:] == ["ended", "finding-noted", "finding-made-item"]
    assert told[-1]["what"] == "summed-up"  # the listings know of the finding

    listed = coach("finding", "j.toml", "--list", code=code)
    assert listed.wait_for_the_end() == 0
    assert FAULT in listed.said and "became the item r5-is-one-kiloohm" in listed.said

    again = coach("sprint", "usb-bench-meter", "--journal", "k.toml", code=code, size=(80, 36))
    again.wait_for("1 house rule from briefs/house-rules.toml.")
    again.press("4")
    again.wait_for(" 4  Clock and boot", STATEMENT)
    again.press("g")
    again.wait_for("1 of ")
    count = int(again.line_with("1 of ").partition("1 of ")[2].split()[0])
    for number in range(2, count + 1):
        again.press(" ")
        again.wait_for(f"{number} of {count}")
    again.wait_for(STATEMENT, f"got through once: {FAULT}, board 2")
    again.press("y")
    again.wait_for("gate 1 of")
    told = tomllib.loads((home / "k.toml").read_text(encoding="utf-8"))["event"]
    met = next(event for event in told if event["what"] == "item-met")
    assert met["item"] == "r5-is-one-kiloohm"


def test_the_debrief_opens_on_a_terminal_and_a_finding_can_be_asked_for_at_once(
    coach: Opens, home: Path, tmp_path: Path
) -> None:
    code = installed(tmp_path / "code")
    rehearsed = coach("rehearse", "usb-bench-meter", "--journal", "j.toml", code=code)
    assert rehearsed.wait_for_the_end() == 0
    debrief = coach("debrief", "j.toml", code=code, env={"NO_COLOR": "1"}, size=(80, 48))
    debrief.wait_for("1 Still changeable before production", "3 In three sentences")
    debrief.press("4")
    debrief.wait_for("planned ├", "actual  ├", "cut-off 2:00")
    assert colours_sent(debrief) == set()
    debrief.press("q")
    assert debrief.wait_for_the_end() == 0
    finding = coach("finding", "j.toml", code=code, size=(40, 12))
    finding.wait_for("What was wrong?")
    finding.type(FAULT)
    finding.press("enter")
    for question in (
        "Which item let it through?",
        "On which board?",
        "What time did it cost?",
        "How was it reworked?",
    ):
        finding.wait_for(question)
        finding.press("enter")
    finding.wait_for("Finding 1 noted")
    finding.press("q")
    assert finding.wait_for_the_end() == 0
    made = coach("finding", "j.toml", "--as-item", "1", code=code)
    made.wait_for("What must be true on every board from now on?", FAULT)
    made.press("escape")
    made.wait_for("No item was made")
