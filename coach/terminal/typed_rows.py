"""The rows of a table while they are typed, each one line of text.

A cell ends at `|`, at a tab, or at `;` where there is neither. A row that cannot be read keeps
the cells it had; one that was emptied goes when the cursor leaves it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from coach.terminal.drawing.input_lines import joined
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.tables import Column, rows_from_csv
from phases.kit.text import clean, one_line

_ENDS = ("|", "\t", ";")


@dataclass(slots=True)
class TypedRow:
    """cells: as last read, None while there are none. unread: why the text is not."""

    text: str
    cells: dict[str, str] | None = None
    unread: str = ""


class TypedRows:
    """The rows of one table; the empty line behind the last one begins a new row."""

    def __init__(self, columns: Mapping[str, Column], texts: Sequence[Mapping[str, str]]) -> None:
        self._columns = columns
        self.rows = [TypedRow(joined(cells), dict(cells)) for cells in texts]

    @property
    def read(self) -> list[dict[str, str]]:
        """The rows that can be judged with."""
        return [row.cells for row in self.rows if row.cells is not None]

    def type(self, index: int, text: str) -> None:
        """Another text for a row, or for a new one at the end."""
        if index >= len(self.rows):
            if not one_line(text):
                return
            self.rows.append(TypedRow(""))
        row = self.rows[min(index, len(self.rows) - 1)]
        row.text, row.unread = text, ""
        try:
            row.cells = self._cells(text) if one_line(text) else None
        except Refusal as refusal:
            row.unread = str(refusal)

    def tidy(self) -> None:
        """Drops emptied rows."""
        self.rows = [row for row in self.rows if one_line(row.text)]

    def copy(self, index: int) -> int:
        """Puts a copy below a row; returns where it is."""
        if index >= len(self.rows):
            return index
        self.rows.insert(index + 1, replace(self.rows[index]))
        return index + 1

    def paste(self, index: int, text: str) -> int:
        """Rows of a spreadsheet's clipboard below a row; returns where the last one is.

        Raises Refusal where a row has more cells than the table has columns.
        """
        at = min(index + 1, len(self.rows))
        if index < len(self.rows) and not one_line(self.rows[index].text):
            del self.rows[index]
            at = index
        for cells in self._pasted(clean(text)):
            self.rows.insert(at, TypedRow(""))
            self.type(at, " | ".join(one_line(cell) for cell in cells))
            at += 1
        return max(at - 1, 0)

    def _pasted(self, text: str) -> list[list[str]]:
        lines = [one for one in text.splitlines() if one.strip()]
        if lines and "|" in lines[0] and "\t" not in lines[0]:
            return [split_cells(one) for one in lines]
        rows = rows_from_csv(text, self._columns)
        return [[row.get(name, "") for name in self._columns] for row in rows]

    def _cells(self, text: str) -> dict[str, str]:
        given, names = split_cells(text), list(self._columns)
        if len(given) > len(names):
            raise Refusal(
                f"Found {count(len(given), 'cell')}, for {count(len(names), 'column')}",
                do="Columns: " + ", ".join(names),
            )
        given += [""] * (len(names) - len(given))
        found = {}
        for (name, column), cell in zip(self._columns.items(), given, strict=True):
            try:
                found[name] = column.read(cell)[1]
            except Refusal as refusal:
                raise refusal.at(name) from None
        return found


def _end_in(text: str) -> str:
    """What ends a cell of this text."""
    return next((end for end in _ENDS if end in text), _ENDS[0])


def split_cells(text: str) -> list[str]:
    """The cells of a line."""
    return [one_line(cell) for cell in text.split(_end_in(text))]


def cell_at(text: str, position: int) -> int:
    """The number of the cell, from 0, in which `position` lies."""
    return text[:position].count(_end_in(text))


def cell_span(text: str, cell: int) -> tuple[int, int]:
    """Where the words of a cell, counted from 0, begin and end in the text."""
    parts = text.split(_end_in(text))
    words = parts[cell]
    begin = sum(len(part) + 1 for part in parts[:cell]) + len(words) - len(words.lstrip())
    return begin, begin + len(words.strip())
