"""From what is typed at a step to the command that writes it down, and what is said of it.

Whether a reading is inside or outside is decided by the rule (`coach.sprint.rules.after`); what is
said here only tells what it decided, what the other boards read, and what to look at first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from coach.debrief.bringup.bare_numbers import with_unit
from coach.debrief.bringup.figures import expected_words, value_words, window_words
from coach.debrief.bringup.sheet import Reading, Step
from coach.sprint.commands import MeasurePoint
from coach.sprint.rules.after import says_open
from phases.kit.text import line

AS_EXPECTED = "as expected"
"""What one key writes down at a step whose answer is words."""

SEEN_TO = ("changed", "allowed by its data sheet")
"""What is said of a part that failed on paper, before power is put on it."""

_SEEN_TO = ("changed", "replaced", "allowed", "its data sheet allows", "data sheet allows")
_NOT_THERE = ("not fitted", "not on this board")
_DARK = ("dark", "off", "unlit", "not lit")

_METER = 0.01
"""Share of a reading that two meters or two readings differ by anyway (common practice)."""

_NUMBER = re.compile(r"[+\-−]?\s*[.]?[0-9]|[RLVAkKMGmµunp][0-9]")


def command_of(step: Step, board: str, text: str) -> MeasurePoint:
    """What was typed at a step, as a command.

    A reading that begins like a number is read in the step's unit, which it is kept with, and so
    is "OL" of an ohmmeter; anything else ("dark") is words, which nothing is judged by.
    """
    said, expected = line(text), step.expected
    is_open = expected.unit == "Ω" and says_open(said)
    as_number = is_open or (bool(expected.unit) and _NUMBER.match(said) is not None)
    return MeasurePoint(
        board=board, point=step.id, title=step.title[:400],
        text=with_unit(said, expected) if as_number and not is_open else said,
        unit=expected.unit if as_number else "",
        low=expected.low if as_number else None, high=expected.high if as_number else None,
    )  # fmt: skip


def settles(step: Step, reading: Reading) -> bool:
    """Whether a reading is an answer to its step, so that it need not be asked again.

    Words where a number is judged are a remark, unless they say that there is none to be had.
    What forbids power is settled by saying why it no longer does.
    """
    words = reading.text.strip().casefold()
    if step.forbids_power:
        return words.startswith(_SEEN_TO)
    if reading.verdict != "noted" or reading.value is not None or not step.expected.judged:
        return True
    return words in _NOT_THERE or (step.section == "indicator" and words in _DARK)


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading in words. role: "done", "due" or "plain", as the screens call them."""

    text: str
    role: str


def judged(step: Step, reading: Reading, readings: Mapping[tuple[str, str], Reading]) -> Judged:
    """ "3.31 V, inside 3.20 .. 3.40 V.", with what the other boards read where that differs."""
    window, said = window_words(step.expected), read_back(step, reading)
    if reading.verdict == "outside":
        over = _beyond(step, reading)
        first = f" Look first at: {_lower(step.first)}." if step.first else ""
        return Judged(f"{said}, outside {window}{over}.{first}", "due")
    if reading.verdict == "inside":
        apart = apart_from(step, reading, readings)
        if apart:
            return Judged(f"{said}, inside {window}, but {apart}.", "due")
        return Judged(f"{said}, inside {window}.", "done")
    if not settles(step, reading):
        wanted = (
            "Still wanted: has the part been changed, or does its data sheet allow it?"
            if step.forbids_power
            else f"A number is still wanted: {window}."
        )
        return Judged(f"Noted: {said}. {wanted}", "due")
    if step.forbids_power:
        return Judged(f"Noted: {said}.", "done")
    if reading.text == AS_EXPECTED:
        return Judged(f"Noted: {AS_EXPECTED}.", "done")
    apart = apart_from(step, reading, readings)
    differs = f" But {apart}." if apart else ""
    return Judged(f"Noted: {said}. Expected: {expected_words(step.expected)}.{differs}", "plain")


def read_back(step: Step | None, reading: Reading) -> str:
    """What was typed; with its unit where an earlier journal kept only a number."""
    if reading.value is None or not reading.unit or re.search(r"[^\d.+\-−eE\s]", reading.text):
        return reading.text
    return value_words(reading.value, reading.unit, max(step.expected.digits if step else 0, 5))


def _beyond(step: Step, reading: Reading) -> str:
    value, low, high = reading.value, step.expected.low, step.expected.high
    unit = "K" if reading.unit == "°C" else reading.unit
    if value is None:
        return ""
    if high is not None and value > high:
        return f", over by {value_words(value - high, unit, 3)}"
    if low is not None and value < low:
        return f", short by {value_words(low - value, unit, 3)}"
    return ""


def of_others(point: str, board: str, readings: Mapping[tuple[str, str], Reading]) -> list[Reading]:
    """What the other boards read at a point, in the order they were measured."""
    return [one for (other, where), one in readings.items() if where == point and other != board]


def _begun_before(board: str, readings: Mapping[tuple[str, str], Reading]) -> set[str]:
    """The boards that were begun before this one: it is held against them, not they against it."""
    found: set[str] = set()
    for other, _ in readings:
        if other == board:
            break
        found.add(other)
    return found


def apart_from(step: Step, reading: Reading, readings: Mapping[tuple[str, str], Reading]) -> str:
    """What the boards before it read here, where this one lies apart from all of them.

    Apart: by more than they differ among themselves, and by more than two meters differ.
    """
    before = _begun_before(reading.board, readings)
    others = [
        one
        for one in of_others(step.id, reading.board, readings)
        if one.board in before and one.unit == reading.unit and one.verdict != "outside"
        and one.value is not None
    ]  # fmt: skip
    values = [one.value for one in others if one.value is not None]
    if reading.value is None or not values:
        return ""
    allowed = max(max(values) - min(values), _METER * max(abs(value) for value in values))
    gap = max(reading.value - max(values), min(values) - reading.value)
    if gap <= allowed * (1 + 1e-9):
        return ""
    if len(others) == 1:
        return f"board {others[0].board} read {read_back(step, others[0])}"
    low, high = (value_words(end, reading.unit) for end in (min(values), max(values)))
    return f"{len(others)} other boards read {low} .. {high}"


def _lower(text: str) -> str:
    first, *_ = text.split(" ", 1)
    proper = len(first) > 1 and not first[1:].islower()
    return text if proper else text[:1].lower() + text[1:]
