"""From what is typed at a step to the command that writes it down, and what is said of it.

Whether a reading is inside or outside is decided by the rule (`coach.sprint.rules.afterwards`);
what is said here only tells what it decided, what the other boards read, and what to look at first.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from coach.bringup.sheet import POWER_ON, UNPOWERED, Section, Sheet, Step
from coach.sprint.commands import MeasurePoint
from coach.sprint.events.afterwards import AS_EXPECTED, PointMeasured
from coach.sprint.rules.afterwards import says_open
from phases.kit.expected import in_words
from phases.kit.grammar import count
from phases.kit.text import one_line

SEEN_TO = ("changed", "allowed by its data sheet")
"""What is said of a part whose calculation failed, before power is put on it."""

_METER = 0.01
"""Share of a reading that two meters or two readings differ by anyway (common practice)."""

_NUMBER = re.compile(r"[+\-−]?\s*[.]?[0-9]|[RLVAkKMGmµunp][0-9]")


# ---- writing down ----------------------------------------------------------------------------


def command_of(step: Step, board: str, text: str) -> MeasurePoint:
    """What was typed at a step, as a command.

    A reading that begins like a number is read in the step's unit, which it is kept with, and so
    is "OL" of an ohmmeter; anything else ("dark") is words, which nothing is judged by.
    """
    said, expected = one_line(text), step.expected
    is_open = expected.unit == "Ω" and says_open(said)
    is_number = bool(expected.unit) and _NUMBER.match(said) is not None and not is_open
    judged = is_open or is_number
    return MeasurePoint(
        board=board,
        point=step.id,
        title=step.title[:400],
        text=expected.with_unit(said) if is_number else said,
        unit=expected.unit if judged else "",
        low=expected.low if judged else None,
        high=expected.high if judged else None,
    )


# ---- telling ---------------------------------------------------------------------------------


def judged(sheet: Sheet, reading: PointMeasured) -> tuple[str, str]:
    """A reading in a sentence, with what the other boards read where that differs, and its role:
    "done", "due" or "plain", as the screens call them."""
    step, said = sheet.by_id[reading.point], reading.text
    window = step.expected.window
    apart = apart_from(sheet, reading)
    if reading.verdict == "outside":
        first = f" Look first at: {step.first}." if step.first else ""
        return f"{said}, outside {window}{_beyond(reading)}.{first}", "due"
    if reading.verdict == "inside":
        but = f", but {apart}" if apart else ""
        return f"{said}, inside {window}{but}.", "due" if apart else "done"
    if not step.settled(reading):
        wanted = "Has the part been changed, or does its data sheet allow it?"
        asked = wanted if step.forbids_power else f"Enter a number: {window}."
        return f"Noted: {said}. {asked}", "due"
    if step.forbids_power or said == AS_EXPECTED:
        return f"Noted: {said}.", "done"
    but = f" But {apart}." if apart else ""
    return f"Noted: {said}. Expected: {step.expected.in_words}.{but}", "plain"


def _beyond(reading: PointMeasured) -> str:
    value, unit = reading.value, "K" if reading.unit == "°C" else reading.unit
    for end, word, sign in ((reading.high, "over", 1), (reading.low, "short", -1)):
        if value is not None and end is not None and (value - end) * sign > 0:
            return f", {word} by {in_words(abs(value - end), unit, 3)}"
    return ""


def of_others(sheet: Sheet, point: str, board: str) -> list[PointMeasured]:
    """What the other boards read at a point, in the order they were measured."""
    return [one for one in sheet.readings.values() if one.point == point and one.board != board]


def apart_from(sheet: Sheet, reading: PointMeasured) -> str:
    """What the boards begun before it read here, where this one lies apart from all of them.

    Apart: by more than they differ among themselves, and by more than two meters differ.
    """
    boards = list(dict.fromkeys(board for board, _ in sheet.readings))
    before = boards[: boards.index(reading.board)]
    others = [
        one
        for one in of_others(sheet, reading.point, reading.board)
        if one.board in before and one.unit == reading.unit and one.verdict != "outside"
    ]
    values = [one.value for one in others if one.value is not None]
    if reading.value is None or not values:
        return ""
    low, high = min(values), max(values)
    allowed = max(high - low, _METER * max(abs(low), abs(high)))
    if max(reading.value - high, low - reading.value) <= allowed * (1 + 1e-9):
        return ""
    if len(values) == 1:
        return f"board {others[0].board} read {others[0].text}"
    ends = f"{in_words(low, reading.unit)} .. {in_words(high, reading.unit)}"
    return f"{len(values)} other boards read {ends}"


# ---- what still forbids power ----------------------------------------------------------------


def before_power(sheet: Sheet, section: Section, boards: Sequence[str]) -> str:
    """What comes first in the section with which power comes on: how many calculations fail of
    which nobody has said what became, and on which boards; empty elsewhere and for nothing."""
    left = {board: sheet.forbidding(board) for board in boards if sheet.forbidding(board)}
    if section.id != POWER_ON or not left:
        return ""
    number = count(len({step.id for steps in left.values() for step in steps}), "calculation")
    where = f"Board {', '.join(left)}: " if len(left) < len(boards) else ""
    return f"{where}{number} failing, unresolved. Do not apply power."


def asked_once(sheet: Sheet, step: Step, board: str) -> str:
    """What to ask where a powered step is measured all the same; empty where nothing forbids it."""
    left = [] if step.section in UNPOWERED else sheet.forbidding(board)
    if not left:
        return ""
    more = f", and {len(left) - 1} more" if len(left) > 1 else ""
    return (
        f"Changed first? {left[0].title}{more}: say in the look list that the part was changed, "
        "or that its data sheet allows it."
    )
