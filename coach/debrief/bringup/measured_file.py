"""Readings from a file, TOML for one board or CSV for several. All of them are readable, or none.

board = "1"
[readings]
"rail.3v3.voltage" = "3.31 V"

board,point,reading
1,rail.3v3.voltage,3.31 V

A point that is left blank, as in a form that is filled in bit by bit, is passed over.
"""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from coach.debrief.bringup.judging import command_of
from coach.debrief.bringup.sheet import Sheet
from coach.sprint.commands import MeasurePoint
from coach.sprint.rules import decide
from coach.sprint.rules.after import board_number
from coach.sprint.rules.asked import Asked
from coach.sprint.state import State
from phases.kit.document_lines import line_numbers
from phases.kit.documents import located, read_text
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import line

_LONGEST = 60
"""Characters of a point that is told."""

_NOW = Asked(0.0, datetime.fromtimestamp(0, UTC), ())
"""No moment: what is decided here is thrown away."""

_COLUMNS = ("board", "point", "reading")
FORM_COLUMNS = (*_COLUMNS, "title", "expected")
"""What a form to fill in has beside them, for whoever fills it in."""

_MOST = 5000


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading of a file as it was typed, and the command that writes it down."""

    typed: str
    command: MeasurePoint


def measurements_in(path: Path, sheet: Sheet, state: State) -> list[MeasurePoint]:
    """The commands of `entries_in`."""
    return [entry.command for entry in entries_in(path, sheet, state)]


def entries_in(path: Path, sheet: Sheet, state: State) -> list[Entry]:
    """The readings of a file, each of which the rule would take in this state.

    Raises Refusal with file, line and key.
    """
    where = line(str(path))
    text = read_text(path, kind="file of readings")
    rows = _csv_rows if path.suffix.lower() == ".csv" else _toml_rows
    found: dict[tuple[str, str], Entry] = {}
    blank = False
    for number, key, board, point, reading in rows(text, where):
        place = located(where, number, (key,) if key else ())
        if point not in sheet.by_id:
            raise _no_point(point, sheet, place)
        if not reading.strip():
            blank = True
            continue
        command = _command(sheet, state, place, (board, point, reading))
        if (command.board, command.point) in found:
            raise Refusal(f"Board {command.board} has two readings of {point}", where=place,
                          do="Leave one of them")  # fmt: skip
        found[command.board, command.point] = Entry(line(reading).strip(), command)
    if not found:
        raise Refusal(
            "Every point is left blank" if blank else "The file holds no readings", where=where,
            do="Give at least one",
        )  # fmt: skip
    if len(found) > _MOST:
        raise Refusal(f"The file holds {len(found)} readings", where=where, do=f"At most {_MOST}")
    return list(found.values())


def _command(sheet: Sheet, state: State, place: str, row: tuple[str, str, str]) -> MeasurePoint:
    board, point, reading = row
    try:
        command = command_of(sheet.by_id[point], board_number(board), reading)
        decide(state, command, _NOW)
    except Refusal as refusal:
        raise refusal.at(place) from None
    return command


def _no_point(point: str, sheet: Sheet, place: str) -> Refusal:
    near = difflib.get_close_matches(point, sheet.by_id, n=3, cutoff=0.4)
    nearest = f"Nearest: {', '.join(near)}. " if near else ""
    return Refusal(
        f"There is no point {_cut(point)!r}", where=place,
        do=f"{nearest}--form FILE writes all of them to be filled in",
    )  # fmt: skip


def _cut(word: str) -> str:
    return word if len(word) <= _LONGEST else f"{word[: _LONGEST - 2]}.."


Row = tuple[int | None, str, str, str, str]
"""Line, key, board, point, reading."""


def _toml_rows(text: str, where: str) -> Iterator[Row]:
    import tomllib

    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as fault:
        raise Refusal(f"Not valid TOML: {line(str(fault))}", where=where) from None
    numbers = line_numbers(text)
    for key in document:
        if key not in ("board", "readings"):
            raise unknown("key", line(key), ("board", "readings"),
                          where=located(where, numbers.get((key,)), ()))  # fmt: skip
    board, readings = document.get("board"), document.get("readings")
    if not isinstance(board, str | int) or isinstance(board, bool):
        raise Refusal("The board's number is missing", where=located(where, numbers.get(("board",)),
                      ("board",)), do='Write it as board = "1"')  # fmt: skip
    if not isinstance(readings, Mapping):
        raise Refusal("The table [readings] is missing", where=where,
                      do='Write [readings] and below it "rail.3v3.voltage" = "3.31 V"')  # fmt: skip
    for steps, value in _leaves(readings, ("readings",)):
        point = ".".join(steps[1:])
        number = next((numbers[steps[:n]] for n in range(len(steps), 0, -1)
                       if steps[:n] in numbers), None)  # fmt: skip
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise Refusal("A reading is a text or a number", where=located(where, number, (point,)),
                          do='Write it as "3.31 V"')  # fmt: skip
        yield number, line(point), str(board), line(point), str(value)


def _leaves(table: Mapping[str, Any], at: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """The values of a table and of those in it: a point may be written with or without quotes."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, (*at, key))
        else:
            yield (*at, key), value


def _csv_rows(text: str, where: str) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as fault:
        raise Refusal(
            f"Not readable as CSV: {line(str(fault))}", where=where,
            do="Separate by commas, quotes only around a whole field",
        ) from None  # fmt: skip
    columns = tuple(line(name).lower() for name in rows[0][1]) if rows else ()
    if columns not in (_COLUMNS, FORM_COLUMNS):
        raise Refusal("The first line does not name the columns", where=located(where, 1, ()),
                      do="Write it as board,point,reading")  # fmt: skip
    for number, row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(columns):
            raise Refusal(f"{len(row)} fields, expected are {len(columns)}",
                          where=located(where, number, ()),
                          do="Put a reading with a comma in quotes")  # fmt: skip
        board, point, reading = (line(cell) for cell in row[: len(_COLUMNS)])
        yield number, point, board, point, reading
