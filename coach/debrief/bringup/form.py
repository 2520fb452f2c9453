"""An empty file of readings to fill in at the bench: every point, in the order of the sheet.

TOML for one board, CSV for several. What is left blank is not taken down.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from coach.debrief.bringup.figures import expected_words
from coach.debrief.bringup.measured_file import FORM_COLUMNS
from coach.debrief.bringup.power import before_power
from coach.debrief.bringup.sheet import Sheet
from coach.sprint.whole_file import write_whole
from phases.kit.refusals import Refusal
from phases.kit.text import line


def toml_form(sheet: Sheet, board: str) -> str:
    out = [
        f"# Readings of the bring-up sheet: {line(sheet.title)}",
        "# Write between the quotes what the meter shows; what is left blank is not taken down.",
        "# A number without its unit is read in the unit of what is expected.",
        "", f'board = "{board}"', "", "[readings]",
    ]  # fmt: skip
    for section, steps in sheet.sections:
        out += ["", f"# {section.title}"]
        for said in (before_power(sheet, section, (board,)), section.note):
            out += [f"# {said}"] if said else []
        for step in steps:
            out += [f"# {line(step.title)}: {line(expected_words(step.expected))}",
                    *([f"# Caution: {line(step.caution)}"] if step.caution else []),
                    f"{_quoted(step.id)} = \"\""]  # fmt: skip
    return "\n".join(out) + "\n"


def csv_form(sheet: Sheet, boards: Sequence[str]) -> str:
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(FORM_COLUMNS)
    for board in boards:
        for step in sheet.steps:
            expected = line(expected_words(step.expected))
            rows.writerow((board, step.id, "", _plain(line(step.title)), _plain(expected)))
    return out.getvalue()


def write_form(path: Path, sheet: Sheet, boards: Sequence[str]) -> str:
    """Puts an empty form at `path` and returns for which boards. Raises Refusal, and changes
    nothing, where anything stands there already: it may be filled in."""
    if path.exists() or path.is_symlink():
        raise Refusal("There is a file of that name, perhaps filled in", where=line(str(path)),
                      do="Choose another name, or take it away first")  # fmt: skip
    if path.suffix.lower() == ".csv":
        text, named = csv_form(sheet, boards), ", ".join(boards)
    else:
        named = next((board for board in boards if board not in sheet.boards), boards[0])
        text = toml_form(sheet, named)
    write_whole(path, text.encode("utf-8", "replace"), what="The form")
    return named


def _quoted(point: str) -> str:
    return '"' + point.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _plain(text: str) -> str:
    """A cell that a spreadsheet takes for text, whatever it begins with."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text
