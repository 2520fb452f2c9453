"""What still forbids power: calculations that fail, of which nobody has said what became."""

from __future__ import annotations

from collections.abc import Sequence

from coach.debrief.bringup.judging import settles
from coach.debrief.bringup.sheet import POWER_ON, UNPOWERED, Section, Sheet, Step


def forbidding(sheet: Sheet, board: str) -> list[Step]:
    """The steps that forbid power to a board and are not answered for it."""
    found = []
    for step in sheet.steps:
        if step.forbids_power:
            reading = sheet.readings.get((board, step.id))
            if reading is None or not settles(step, reading):
                found.append(step)
    return found


def power_words(sheet: Sheet, boards: Sequence[str]) -> str:
    """One sentence that counts what still forbids power to these boards; empty for nothing."""
    left = {board: [step.id for step in forbidding(sheet, board)] for board in boards}
    count = len({step for steps in left.values() for step in steps})
    if not count:
        return ""
    waiting = [board for board, steps in left.items() if steps]
    where = f" on board {', '.join(waiting)}" if len(waiting) < len(left) else ""
    fail = "1 calculation fails and is" if count == 1 else f"{count} calculations fail and are"
    return f"{fail} not seen to{where}: no power before."


def before_power(sheet: Sheet, section: Section, boards: Sequence[str]) -> str:
    """What stands first in a section: that sentence where power comes on, else nothing."""
    return power_words(sheet, boards) if section.id == POWER_ON else ""


def asked_once(sheet: Sheet, step: Step, board: str) -> str:
    """What to ask where a powered step is measured all the same; empty where nothing forbids it."""
    left = [] if step.section in UNPOWERED else forbidding(sheet, board)
    if not left:
        return ""
    first = left[0].title
    others = f", and {len(left) - 1} more" if len(left) > 1 else ""
    return (
        f"Was what failed on paper changed first? {first}{others}: say in the look list that it "
        "was, or that its data sheet allows it."
    )
