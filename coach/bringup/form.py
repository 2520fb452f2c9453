"""Readings in a file: an empty form to fill in at the bench, and what is read from one.

TOML for one board, CSV for several. All of a file can be read, or nothing is taken from it; a
point left blank is passed over.

    board = "1"
    [readings]
    "rail.3v3.voltage" = "3.31 V"

    board,point,reading
    1,rail.3v3.voltage,3.31 V
"""

from __future__ import annotations

import csv
import difflib
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel, ConfigDict

from coach.bringup.readings import before_power, command_of
from coach.bringup.sheet import Sheet
from coach.sprint.atomic_write import write_atomically
from coach.sprint.commands import MeasurePoint
from coach.sprint.rules.afterwards import board_number, measured
from phases.kit.document_lines import line_numbers, nearest_line
from phases.kit.documents import located, parse_document, read_text
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

COLUMNS = ["board", "point", "reading"]
FORM_COLUMNS = [*COLUMNS, "title", "expected"]
"""What a form has beside them, for whoever fills it in."""


class Entry(NamedTuple):
    """A reading of a file as it was typed, and the command that writes it down."""

    typed: str
    command: MeasurePoint


class _Toml(BaseModel):
    model_config = ConfigDict(extra="forbid", coerce_numbers_to_str=True)

    board: str
    readings: dict[str, Any]


Row = tuple[str, str, str, str]
"""A place in a file, and the board, point and reading there."""


# ---- a form to fill in -----------------------------------------------------------------------


def write_form(path: Path, sheet: Sheet, boards: Sequence[str]) -> str:
    """Puts an empty form at `path` and returns for which boards: for one, that is the first that
    was not measured. Raises Refusal, and changes nothing, where there is a file of that name."""
    if path.exists() or path.is_symlink():
        what, do = "There is a file of that name, perhaps filled in", "Choose another name"
        raise Refusal(what, where=one_line(str(path)), do=do)
    if path.suffix.lower() == ".csv":
        text, named = csv_form(sheet, boards), ", ".join(boards)
    else:
        begun = {board for board, _ in sheet.readings}
        named = next((board for board in boards if board not in begun), boards[0])
        text = toml_form(sheet, named)
    write_atomically(path, text.encode("utf-8", "replace"), what="The form")
    return named


def toml_form(sheet: Sheet, board: str) -> str:
    """Every point for one board, in the order of the sheet."""
    lines = [
        f"# Readings of the bring-up sheet: {sheet.title}",
        "# Write between the quotes what the meter shows; a point left blank is passed over.",
        "# A number without its unit is read in the unit of what is expected.",
        "",
        f'board = "{board}"',
        "",
        "[readings]",
    ]
    for section, steps in sheet.sections:
        notes = (section.title, before_power(sheet, section, (board,)), section.note)
        lines += ["", *(f"# {note}" for note in notes if note)]
        for step in steps:
            lines.append(f"# {one_line(step.title)}: {one_line(step.expected.in_words)}")
            if step.caution:
                lines.append(f"# Caution: {one_line(step.caution)}")
            lines.append(f'{json.dumps(step.id)} = ""')
    return "\n".join([*lines, ""])


def csv_form(sheet: Sheet, boards: Sequence[str]) -> str:
    """Every point for each board."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(FORM_COLUMNS)
    for board in boards:
        for step in sheet.steps:
            said = map(_as_text, (one_line(step.title), one_line(step.expected.in_words)))
            rows.writerow((board, step.id, "", *said))
    return out.getvalue()


def _as_text(cell: str) -> str:
    """A cell that a spreadsheet takes for text, whatever it begins with."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@") else cell


# ---- a file that is filled in ----------------------------------------------------------------


def entries_in(path: Path, sheet: Sheet) -> list[Entry]:
    """The readings of a file, each of which can be written down.

    Raises Refusal with file, line and key.
    """
    where, text = one_line(str(path)), read_text(path, kind="file of readings")
    rows = list((_csv_rows if path.suffix.lower() == ".csv" else _toml_rows)(text, where))
    found: dict[tuple[str, str], Entry] = {}
    for place, board, point, reading in rows:
        try:
            entry = _entry(sheet, board, point, reading)
            if entry and found.setdefault((entry.command.board, point), entry) is not entry:
                what = f"Board {entry.command.board} has two readings of {point}"
                raise Refusal(what, do="Leave one of them")
        except Refusal as refusal:
            raise refusal.at(place) from None
    if not found:
        what = "Every point is left blank" if rows else "The file holds no readings"
        raise Refusal(what, where=where, do="Give at least one")
    return list(found.values())


def _entry(sheet: Sheet, board: str, point: str, reading: str) -> Entry | None:
    """None for a point that is left blank."""
    if point not in sheet.by_id:
        near = difflib.get_close_matches(point, sheet.by_id, n=3, cutoff=0.4)
        nearest = f"Nearest: {', '.join(near)}. " if near else ""
        do = f"{nearest}--form FILE writes all of them to be filled in"
        raise Refusal(f"There is no point {point[:60]!r}", do=do)
    if not reading.strip():
        return None
    command = command_of(sheet.by_id[point], board_number(board), reading)
    measured(command)  # refuses what cannot be read
    return Entry(one_line(reading), command)


def _toml_rows(text: str, where: str) -> Iterator[Row]:
    document, numbers = parse_document(text, _Toml, kind="file", where=where), line_numbers(text)
    for steps, value in _leaves(document.readings, ("readings",)):
        point = one_line(".".join(steps[1:]))
        place = located(where, nearest_line(numbers, steps)[0], (point,))
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise Refusal("A reading is a text or a number", where=place, do='Example: "3.31 V"')
        yield place, document.board, point, str(value)


def _leaves(table: Mapping[str, Any], at: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """The values of a table and of those in it: a point may be written with or without quotes."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, (*at, key))
        else:
            yield (*at, key), value


def _csv_rows(text: str, where: str) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True)
    columns: list[str] = []
    try:
        for row in reader:
            place, cells = located(where, reader.line_num, ()), [one_line(cell) for cell in row]
            if not columns:
                columns = [name.lower() for name in cells]
                if columns not in (COLUMNS, FORM_COLUMNS):
                    what = "The first line does not name the columns"
                    raise Refusal(what, where=place, do="Example: board,point,reading")
            elif len(cells) == len(columns):
                yield f"{place}, {cells[1]}", cells[0], cells[1], cells[2]
            elif any(cells):
                what = f"Found {count(len(cells), 'field')}; expected {len(columns)}"
                raise Refusal(what, where=place, do="Put a reading with a comma in quotes")
    except csv.Error as fault:
        what, do = f"Not readable as CSV: {one_line(str(fault))}", "Quote only a whole field"
        raise Refusal(what, where=where, do=do) from None
