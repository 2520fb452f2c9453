"""Tables as inputs: typed columns, rows from TOML, CSV or a spreadsheet's clipboard."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.arrays import broadcast_arrays
from phases.kit.grammar import count
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown
from phases.kit.say import show_spread
from phases.kit.spread import Spread
from phases.kit.text import one_line

if TYPE_CHECKING:
    from phases.kit.arrays import Array

_MOST_ROWS = 500


@dataclass(frozen=True, slots=True)
class Column:
    """One column. kind: a unit symbol ("A"), or "text", "choice", "yes/no", "count".

    default: what an empty cell means, as text; None where the cell must be filled.
    """

    name: str
    kind: str
    title: str = ""
    default: str | None = None
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None

    @property
    def is_quantity(self) -> bool:
        return self.kind not in ("text", "choice", "yes/no", "count")

    def read(self, given: Any) -> tuple[Any, str]:
        """(value, text) of one cell."""
        from phases.kit.fields import as_typed, read_count, read_flag

        if given is None or (isinstance(given, str) and not given.strip()):
            if self.default is None:
                raise Refusal("The cell is empty", do="Fill it in")
            given = self.default
        if isinstance(given, Spread) and self.is_quantity:
            return given, show_spread(given, self.kind)
        if self.kind == "text":
            return one_line(str(given)), one_line(str(given))
        if self.kind == "yes/no":
            return read_flag(given)
        if self.kind == "count":
            return read_count(given, int(self.least or 0), int(self.most or 100_000))
        if self.kind == "choice":
            word = one_line(str(given))
            if word not in self.choices:
                raise unknown("choice", word, self.choices)
            return word, word
        return self.quantity(as_typed(given, self.kind))

    def quantity(self, text: str) -> tuple[Any, str]:
        """(value, text) of a cell that holds a quantity, as typed."""
        return read_quantity(text, self.kind, least=self.least, most=self.most), one_line(text)

    def described(self) -> dict[str, Any]:
        kind = "quantity" if self.is_quantity else self.kind
        return {
            "name": self.name,
            "kind": kind,
            "unit": self.kind if self.is_quantity else None,
            "title": self.title or self.name,
            "default": self.default,
            "choices": list(self.choices) or None,
        }


@dataclass(frozen=True, slots=True)
class TableData:
    """A table as read: for each row the values and the texts by column name."""

    rows: tuple[dict[str, Any], ...]
    texts: tuple[dict[str, str], ...]


def read_rows(columns: Mapping[str, Column], given: Any) -> TableData:
    """`given` (rows as mappings, or CSV text) against its columns.

    Raises Refusal naming row and column.
    """
    rows = rows_from_csv(given, columns) if isinstance(given, str) else given
    if not isinstance(rows, Sequence) or not all(isinstance(row, Mapping) for row in rows):
        raise Refusal("This is not a table", do="Give rows with the columns " + ", ".join(columns))
    if len(rows) > _MOST_ROWS:
        raise Refusal(f"The table has {len(rows)} rows", do=f"Use at most {_MOST_ROWS}")
    values, texts = [], []
    for number, row in enumerate(rows, start=1):
        for name in row:
            if name not in columns:
                raise unknown("column", name, columns, where=f"row {number}")
        cells = {}
        for name, column in columns.items():
            try:
                cells[name] = column.read(row.get(name))
            except Refusal as refusal:
                raise refusal.at(f"row {number}, {name}") from None
        values.append({name: value for name, (value, _) in cells.items()})
        texts.append({name: text for name, (_, text) in cells.items()})
    return TableData(tuple(values), tuple(texts))


def rows_from_csv(text: str, columns: Mapping[str, Column]) -> list[dict[str, str]]:
    """Rows of a CSV or of cells pasted from a spreadsheet.

    The separator (tab, semicolon or comma) is the one that the first line has most of. A first
    line that names columns is a header; without one the cells follow the columns' order.
    """
    lines = [row for row in text.lstrip("\ufeff").splitlines() if row.strip()]
    if not lines:
        return []
    separator = max("\t;,", key=lines[0].count)
    try:
        cells = [
            [cell.strip() for cell in row]
            for row in csv.reader(io.StringIO("\n".join(lines)), delimiter=separator)
        ]
    except csv.Error as fault:
        raise Refusal(f"The table cannot be read: {fault}", do="Look for an open quote") from None
    order = list(columns)
    head = [cell.lower() for cell in cells[0]]
    known = {name.lower(): name for name in order}
    if any(cell in known for cell in head):
        for cell in cells[0]:
            if cell.lower() not in known:
                raise unknown("column", cell, order, where="first line")
            if head.count(cell.lower()) > 1:
                raise Refusal(f"Column {cell!r} appears twice", where="first line")
        order = [known[cell] for cell in head]
        cells = cells[1:]
    for number, row in enumerate(cells, start=1):
        if len(row) > len(order):
            raise Refusal(
                f"Found {count(len(row), 'cell')}, for {count(len(order), 'column')}",
                where=f"row {number}",
                do="Columns: " + ", ".join(order),
            )
    return [dict(zip(order, row, strict=False)) for row in cells]


class Rows:
    """A table under one view: its columns as arrays along the table's own axis."""

    def __init__(
        self,
        data: TableData,
        array_of: Callable[[str], Array],
        axis: int,
        opposed: Callable[[str], None],
    ) -> None:
        self.data = data
        self._array_of = array_of
        self._opposed = opposed
        self._axis = axis

    def __len__(self) -> int:
        return len(self.data.rows)

    def __getitem__(self, column: str) -> Array:
        """A numeric column (quantity, count or yes/no as 1 and 0), in SI."""
        return self._array_of(column)

    def opposed(self, column: str) -> Array:
        """A numeric column with its ends exchanged: least where `[column]` is at its greatest.

        For a formula that reads one column of two different rows, as an output and an input
        voltage: their worst is one at its greatest against the other at its least. A corner names
        a row's own end of it.
        """
        import numpy as np

        values = self._array_of(column)
        opposed: Array = np.flip(values, tuple(a for a in range(values.ndim) if a != self._axis))
        self._opposed(column)
        return opposed

    def words(self, column: str) -> tuple[str, ...]:
        return tuple(str(row[column]) for row in self.data.rows)

    def constant(self, values: Sequence[float]) -> Array:
        """One plain number a row, along this table's axis."""
        import numpy as np

        template = self._array_of("")
        return np.asarray(values, dtype=float).reshape(template.shape)

    def sum(self, values: Array) -> Array:
        """The sum over the rows; the axis stays, with one element."""
        spread = broadcast_arrays(values, self._array_of(""))[0]
        total: Array = spread.sum(axis=self._axis, keepdims=True)
        return total

    def pick(self, values: Array, row: int) -> Array:
        """`values` of one row."""
        spread = broadcast_arrays(values, self._array_of(""))[0]
        chosen: Array = spread.take([row], axis=self._axis)
        return chosen

    def stacked(self, parts: Sequence[Array]) -> Array:
        """One array a row put together along this table's axis."""
        import numpy as np

        shaped = broadcast_arrays(*parts)
        together: Array = np.concatenate(shaped, axis=self._axis)
        return together
