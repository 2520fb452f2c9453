"""The sheet as text in 80 columns, as one HTML file for the bench, and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

from coach.bringup.readings import before_power
from coach.bringup.sheet import BOARDS, Sheet, Step
from coach.pages.page import page
from coach.sprint.atomic_write import overwrite_own
from phases.kit.grammar import sentence

WIDTH = 80
_KEPT = "\xa0"
"""A blank at which no line is broken."""

_DENSITIES = ((36, ""), (62, "dense"))
"""Up to how many steps a step is printed whole, or cut to its two lines."""


def text_of(sheet: Sheet, boards: Sequence[str] = BOARDS) -> str:
    """The whole sheet as plain text; what was measured is in the boards' places."""
    boards = sheet.columns(boards)
    lines = [f"Bring-up sheet: {sheet.title}", f"Journal: {sheet.journal}"]
    if not sheet.ended:
        lines.append("The sprint goes on: this sheet can change until it has ended.")
    lines += ["", "Before anything else"]
    lines += [_wrapped(caution, "  - ", "    ") for caution in sheet.cautions]
    for section, steps in sheet.sections:
        lines += ["", section.title.upper()]
        lines += map(_wrapped, filter(None, (before_power(sheet, section, boards), section.note)))
        for step in steps:
            lines += ["", *_step_lines(sheet, step, boards)]
    for title, told in (("MEASURED AT OTHER POINTS", sheet.others), ("DAMAGED", sheet.faults)):
        if told:
            lines += ["", title, "", *map(_wrapped, told)]
    return "\n".join([*lines, "", _wrapped(sheet.last_word), ""])


def html_of(sheet: Sheet, boards: Sequence[str] = BOARDS) -> str:
    """Two sheets of paper, a column for each board."""
    columns = sheet.columns(boards)
    here = Path(__file__)
    return page(
        here.with_name("sheet.html.j2"),
        own_style=here.with_name("sheet.css"),
        filters={"sentence": sentence},
        sheet=sheet,
        boards=columns,
        before=lambda section: before_power(sheet, section, columns),
        density=next((name for most, name in _DENSITIES if len(sheet.steps) <= most), "densest"),
    )


def _step_lines(sheet: Sheet, step: Step, boards: Sequence[str]) -> Iterator[str]:
    """One step, with a place to write for each board."""
    yield _titled(step)
    yield _wrapped(step.how, "  ")
    yield _wrapped(f"expect {step.expects}", "  ")
    if step.why:
        yield _wrapped(f"{step.basis}: {step.why}", "    ")
    if step.missing:
        yield _wrapped(f"missing: {step.missing}", "    ")
    if step.caution:
        yield _wrapped(f"caution: {step.caution}", "  ")
    yield _places(sheet, step, boards)


def _wrapped(text: str, first: str = "", then: str = "", *, break_long: bool = True) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=then or first,
        break_on_hyphens=False,
        break_long_words=break_long,
    )


def _titled(step: Step) -> str:
    """The title, and at the right edge the id that files of readings name the point by."""
    *lines, last = _wrapped(step.title).split("\n")
    name = f"({step.id})"
    if len(last) + 2 + len(name) > WIDTH:
        lines, last = [*lines, last], ""
    return "\n".join([*lines, last + name.rjust(WIDTH - len(last))])


def _places(sheet: Sheet, step: Step, boards: Sequence[str]) -> str:
    """A place for each board: filled in where it was measured, else to be written in."""
    places = []
    for board in boards:
        reading = sheet.readings.get((board, step.id))
        said = f"{reading.text}, {step.verdict(reading)}" if reading else "_" * 10
        places.append(f"[{board}] {said}".replace(" ", _KEPT))
    return _wrapped("   ".join(places), "  ", break_long=False).replace(_KEPT, " ")


def json_of(sheet: Sheet) -> str:
    """The sheet for a program: steps and readings, numbers in SI (°C for temperatures)."""
    document = {
        # How such a file begins; the number is raised when a key changes its meaning.
        "bringup_sheet": 1,
        "title": sheet.title,
        "journal": sheet.journal,
        "ended": sheet.ended,
        "cautions": sheet.cautions,
        "steps": [asdict(step) for step in sheet.steps],
        "forbids_power": {
            board: [step.id for step in sheet.forbidding(board)] for board in sheet.columns(BOARDS)
        },
        "readings": [reading.model_dump() for reading in sheet.readings.values()],
        "last_word": sheet.last_word,
        "faults": sheet.faults,
    }
    return json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def write_sheet(path: Path, text: str) -> None:
    """Puts a sheet, HTML or JSON, at `path`, complete or not at all; only an earlier one gives way.
    Raises Refusal, and changes nothing, where another file is there and where it cannot be
    written."""
    overwrite_own(
        path, text, what="The bring-up sheet", none="is not a bring-up sheet", own=_is_sheet
    )


def _is_sheet(head: bytes, _: bytes) -> bool:
    begin = head.lower().lstrip()
    page = begin.startswith(b"<!doctype html>") and b"<title>bring-up sheet: " in begin
    return page or begin.startswith(b'{\n  "bringup_sheet": 1,')
