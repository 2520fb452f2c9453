"""From the start to the end of a sprint at a real terminal, killed in the middle. Afterwards its
journal, read as any program would read it, tells what was done and nothing else."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.journeys.conftest import Opens
from tests.journeys.terminal import Terminal

pytestmark = pytest.mark.pty

# Four hundred times as fast: half of the brief's two hours is gone after nine seconds.
BEGIN = ("sprint", "usb-bench-meter", "--speed", "400", "--journal", "j.toml")
REASON = "one bench [b]only[/b]"


def test_start_calculate_meet_waive_skip_get_called_be_killed_resume_and_end(
    coach: Opens, home: Path
) -> None:
    terminal = coach(*BEGIN)
    done = work_on_the_power_entry(terminal)
    skipped = skip_what_is_left_of_it(terminal)
    says = get_called(terminal)
    terminal.kill()

    resumed = coach("resume", "j.toml")
    resumed.wait_for(" 2  Regulation", skipped)
    resumed.press("1")
    resumed.wait_for(" 1  Power entry", *done)
    count = confirm_the_closing_list(resumed)
    end_it(resumed)

    told = tomllib.loads((home / "j.toml").read_text(encoding="utf-8"))
    assert told["journal"]["brief"]["title"] == "USB bench meter"
    assert told["journal"]["run"]["rehearsed"] is True
    killed = [event["what"] for event in told["event"]].index("resumed")
    are_in_order(told["event"])
    tells_what_was_done_before_the_kill(told["event"][:killed], says)
    tells_what_was_done_after_it(told["event"][killed:], count)


# ---- at the terminal -------------------------------------------------------------------------


def work_on_the_power_entry(terminal: Terminal) -> list[str]:
    """Meets, calculates, draws and waives an item; returns the lines that say so."""
    terminal.wait_for("NEXT     Choose")
    terminal.press("1")
    terminal.wait_for(" 1  Power entry", "gate 0 of")
    terminal.press("m")
    terminal.wait_for("gate 1 of", "inspected")
    terminal.press("c")
    terminal.wait_for("pull-down  5.1 kΩ", "Passes")
    terminal.press("enter")
    terminal.wait_for("Saved. All limits pass")
    assert "5.1 kΩ ± 10 %, CC1 to GND" in terminal.line_with("DRAW")
    terminal.press("D")
    terminal.wait_for("2 parts drawn", "gate 2 of")
    assert "nothing to draw" in terminal.line_with("DRAW")
    terminal.press("w")
    terminal.wait_for("Reason for waiving: Both D+ pins joined")
    terminal.type(REASON)
    terminal.press("enter")
    terminal.wait_for("gate 3 of", REASON)
    # Until the rest of what stood on the row before is painted over.
    terminal.wait_until(lambda: terminal.line_with(REASON).endswith(REASON), "the whole row")
    done = [line.strip("▸ ") for line in terminal.lines if re.match("[▸ ]  (met|waived) ", line)]
    assert len(done) == 3
    return done


def skip_what_is_left_of_it(terminal: Terminal) -> str:
    """Another phase is one key, whatever is open in this one; returns what SKIPPED says of it."""
    assert "none" in terminal.line_with("SKIPPED")
    terminal.press("2")
    terminal.wait_for(" 2  Regulation", "Power entry:", "still open")
    skipped = terminal.line_with("SKIPPED")
    assert "Max supply below every abs. max. (dead board, 4 min)" in skipped
    return skipped


def get_called(terminal: Terminal) -> str:
    """The call stands at the top edge, rings, and asks for a notification; returns its words."""
    terminal.wait_until(lambda: terminal.lines[0].startswith(" ! "), "a call")
    says = terminal.lines[0].removeprefix(" ! ").strip()
    assert re.fullmatch(r"Half the time is gone, .* left\.|A quarter of .* left\.", says)
    # OSC 9 is the notification that several terminals show; BEL is the bell of ECMA-48 8.3.3.
    # Its own terminator apart, one BEL more than there are OSC sequences was sent.
    assert f"\x1b]9;{says}\x07".encode() in terminal.raw
    assert terminal.raw.count(b"\x07") > terminal.raw.count(b"\x1b]")
    return says


def confirm_the_closing_list(terminal: Terminal) -> int:
    """Goes to the closing list and walks it, a key an item; returns how many there were."""
    terminal.press("8")
    terminal.wait_for("Before the files", "Start the files")
    terminal.press("2")
    terminal.wait_for(" 8  closing list", "list 0 of")
    terminal.press("g")
    terminal.wait_for("Walk: closing list", "1 of ")
    count = int(re.search(r"1 of (\d+)", terminal.text)[1])  # type: ignore[index]
    for number in range(1, count + 1):
        terminal.wait_for(f" {number} of {count} ")
        terminal.press("y")
    terminal.wait_for(f"list {count} of {count}", "end the sprint")
    return count


def end_it(terminal: Terminal) -> None:
    terminal.press("E")
    terminal.wait_for("The order is accepted and paid")
    terminal.press("2")
    terminal.wait_for("The order was accepted and paid ", "2 Forgotten", "3 In three sentences")
    terminal.press("q")
    assert terminal.wait_for_the_end() == 0
    assert "j.toml" in terminal.said
    assert "resume" not in terminal.said


# ---- in the journal --------------------------------------------------------------------------


Events = list[dict[str, Any]]


def are_in_order(events: Events) -> None:
    assert [event["n"] for event in events] == list(range(1, len(events) + 1))
    for key in ("t", "at"):
        assert [event[key] for event in events] == sorted(event[key] for event in events)


def tells_what_was_done_before_the_kill(events: Events, says: str) -> None:
    entered, met, saved, one, other, proved, *more, waived, left = by_hand(events)
    assert entered["what"] == "phase-entered"
    assert (entered["phase"], left["phase"]) == ("power-entry", "regulation")
    assert left["what"] == "phase-entered"
    assert "source-maximum" in left["skipped"]
    assert (met["item"], met["evidence"]) == ("supply-contacts", "inspected")
    assert (saved["what"], saved["id"]) == ("calculation-saved", "type-c-sink@j-usb")
    assert {event["what"] for event in (one, other)} == {"part-drawn"}
    assert one["words"] == "5.1 kΩ ± 10 %, CC1 to GND"
    assert other["words"] == "5.1 kΩ ± 10 %, CC2 to GND"
    assert (proved["item"], proved["evidence"]) == ("cc-pull-downs@j-usb", "calculated")
    assert {event["by"] for event in more} == {proved["by"]}, "more than this was done"
    assert (waived["item"], waived["reason"]) == ("usb-data-pairs", REASON)
    assert says in [event["message"] for event in events if event["what"] == "call-made"]


def tells_what_was_done_after_it(events: Events, count: int) -> None:
    looked, closing, *rest = by_hand(events)
    assert (looked["phase"], closing["phase"]) == ("power-entry", "closing")
    reached, rest = rest[:3], rest[3:]
    assert [event["stage"] for event in reached] == ["placement", "routing", "files"]
    confirmed, (walked, ended) = rest[:-2], rest[-2:]
    assert [event["what"] for event in confirmed] == ["item-met"] * count
    assert (walked["of"], walked["asked"], walked["closed"]) == ("closing", count, count)
    assert (ended["what"], ended["accepted"]) == ("ended", True)
    assert ended is events[-2]
    assert events[-1]["what"] == "summed-up"


def by_hand(events: Events) -> Events:
    """What the person did, and what followed from it at once; the coach's own numbers are 0."""
    return [event for event in events if event["by"]]
