"""The sheet as text in 80 columns, with a place to write for each board."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from coach.debrief.bringup.figures import expected_words, typical_words
from coach.debrief.bringup.judging import read_back, settles
from coach.debrief.bringup.power import before_power
from coach.debrief.bringup.sheet import MOST_BOARDS, Reading, Sheet, Step
from phases.kit.refusals import Refusal

WIDTH = 80
_KEPT = "\xa0"
"""A blank at which no line is broken."""
BOARDS = ("1", "2", "3")
"""The boards that have a column each where nobody says which."""


def boards_of(text: str) -> tuple[str, ...]:
    """The boards of a list as typed, "1,2,3" or "1-4". Raises Refusal."""
    from coach.sprint.rules.after import board_number

    found: list[str] = []
    for part in text.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        # A number with a dash in it is a run only where both ends are plain numbers.
        if dash and _plain(first) and _plain(last):
            if max(len(first), len(last)) > 9 or int(last) - int(first) >= MOST_BOARDS:
                raise _too_many()
            found += [str(number) for number in range(int(first), int(last) + 1)]
        elif part.strip():
            found.append(board_number(part))
    found = list(dict.fromkeys(found))
    if not found:
        raise Refusal("No board is named", where="--boards", do="Give numbers, as in 1,2,3")
    if len(found) > MOST_BOARDS:
        raise _too_many()
    return tuple(found)


def _plain(word: str) -> bool:
    return word.isascii() and word.isdigit()


def _too_many() -> Refusal:
    return Refusal("Too many boards for one sheet", where="--boards", do=f"At most {MOST_BOARDS}")


def text_of(sheet: Sheet, boards: Sequence[str] = BOARDS) -> str:
    """The whole sheet as plain text; what was measured stands in the boards' places."""
    columns = sheet.columns(boards)
    out = [f"Bring-up sheet: {sheet.title}", f"Journal: {sheet.journal}"]
    if not sheet.ended:
        out.append("The sprint goes on: this sheet can change until it has ended.")
    out += ["", "Before anything else"]
    for caution in sheet.cautions:
        out += _wrapped(caution, "  ", "- ")
    for section, steps in sheet.sections:
        out += ["", section.title.upper()]
        for said in (before_power(sheet, section, columns), section.note):
            out += _wrapped(said) if said else []
        for step in steps:
            out += ["", *_step(sheet, step, columns)]
    if sheet.others:
        out += ["", "MEASURED AT OTHER POINTS", ""]
        for one in sheet.others:
            out += _wrapped(
                f"board {one.board}, {one.title}: {read_back(None, one)}, {one.verdict}"
            )
    if sheet.faults:
        out += ["", "NOT WHOLE", ""]
        for fault in sheet.faults:
            out += _wrapped(fault)
    out += ["", *_wrapped(sheet.last_word)]
    return "\n".join(out) + "\n"


def _step(sheet: Sheet, step: Step, columns: Sequence[str]) -> list[str]:
    out = [*_titled(step), *_wrapped(how_words(step), "  ")]
    typical = typical_words(step.expected)
    usual = f" (typical {typical})" if typical else ""
    out += _wrapped(f"expect {expected_words(step.expected)}{usual}", "  ")
    if step.why:
        out += _wrapped(f"{step.basis}: {step.why}", "    ")
    if step.missing:
        out += _wrapped(f"missing: {step.missing}", "    ")
    if step.caution:
        out += _wrapped(f"caution: {step.caution}", "  ")
    return [*out, *_places(sheet, step, columns)]


def _titled(step: Step) -> list[str]:
    """The title, and at the right edge the id that files of readings name the point by."""
    lines, name = _wrapped(step.title), f"({step.id})"
    if len(lines[-1]) + 2 + len(name) > WIDTH:
        lines.append("")
    return [*lines[:-1], f"{lines[-1]}{name:>{max(WIDTH - len(lines[-1]), 0)}}"]


def how_words(step: Step) -> str:
    """What to do, and at which point."""
    do = step.do if step.do.endswith("?") else f"{step.do}."
    return f"{do} At: {step.where}." if step.where else do


def verdict_words(step: Step, reading: Reading) -> str:
    """ "inside", "outside", "noted", or what is still wanted."""
    if settles(step, reading):
        return reading.verdict
    return "noted, not seen to" if step.forbids_power else "noted, a number is still wanted"


def _places(sheet: Sheet, step: Step, columns: Sequence[str]) -> list[str]:
    """A place for each board: filled in where it was measured, else to be written in."""
    places = []
    for board in columns:
        reading = sheet.readings.get((board, step.id))
        said = f"{read_back(step, reading)} {verdict_words(step, reading)}" if reading else "_" * 10
        places.append(f"[{board}] {said}".replace(" ", _KEPT))
    found = _wrapped("   ".join(places), "  ", break_long=False)
    return [part.replace(_KEPT, " ") for part in found]


def _wrapped(text: str, before: str = "", mark: str = "", *, break_long: bool = True) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=before + mark, subsequent_indent=before + " " * len(mark),
        break_on_hyphens=False, break_long_words=break_long,
    ) or [""]  # fmt: skip
