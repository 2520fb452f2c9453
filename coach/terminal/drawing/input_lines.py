"""The inputs of a calculation, one line each: title, value, where it comes from.

A table is a heading and one line a row, its cells in columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coach.terminal.drawing.lines import Line, Span, clipped, cut, fit, line, width_of, wrapped
from phases.kit.calculator import Calculator
from phases.kit.fields import Capability, Card, Choice, Field, Flag, Quantity, Table, Window
from phases.kit.inputs import Reading
from phases.kit.tables import Column

NOT_READ = "not read"
_ORIGIN = 10
_NARROWEST = 12
NARROW = 48
"""Below so many columns, as on a strip, less is shown of each line."""


@dataclass(frozen=True, slots=True)
class InputLine:
    """One line of input.

    key: the field's name, in a table with the row behind it. text: what stands there. origin: a
    word of `phases.kit.inputs.ORIGINS`. beside: what the ledger says where a hand typed.
    unread: why the text cannot be read. row: its number from 0 in a table, with the names of its
    columns and the texts of its cells; none of these in the empty line at the end.
    """

    key: str
    field: str
    title: str
    text: str
    origin: str
    beside: str = ""
    unread: str = ""
    row: int | None = None
    columns: tuple[str, ...] = ()
    cells: tuple[str, ...] = ()


def row_key(field: str, row: int) -> str:
    return f"{field}#{row}"


def split_key(key: str) -> tuple[str, int | None]:
    """(field, row) of a key; no row where the field is no table."""
    field, mark, row = key.partition("#")
    return field, int(row) if mark else None


def lines_of_readings(kind: type[Calculator], readings: Iterable[Reading]) -> list[InputLine]:
    """The inputs as they were read, with nothing being typed."""
    found: list[InputLine] = []
    for reading in readings:
        field = kind.fields[reading.field]
        beside = reading.beside or ""
        if not isinstance(field, Table):
            found.append(
                InputLine(field.name, field.name, field.title, reading.text, reading.origin, beside)
            )
            continue
        texts = reading.value.texts if reading.value is not None else ()
        found += [
            InputLine(
                row_key(field.name, row), field.name, field.title, joined(cells), reading.origin,
                beside, row=row, columns=tuple(field.columns), cells=tuple(cells.values()),
            )
            for row, cells in enumerate(texts)
        ]  # fmt: skip
        found.append(empty_row(field, len(texts), reading.origin, beside))
    return found


def empty_row(field: Table, row: int, origin: str, beside: str = "") -> InputLine:
    """The line at the end of a table, on which a new row begins."""
    return InputLine(
        row_key(field.name, row), field.name, field.title, "", origin, beside, row=row,
        columns=tuple(field.columns),
    )  # fmt: skip


def joined(cells: Mapping[str, str]) -> str:
    """The cells of a row as one line of text to edit."""
    return " | ".join(cells.values())


# ---- drawing -----------------------------------------------------------------------------------


def input_lines(inputs: Sequence[InputLine], width: int, cursor: str = "") -> list[Line]:
    """The inputs for a width. cursor: the key of the line being typed in."""
    plain = [one for one in inputs if one.row is None]
    columns = _Columns.of(plain, width)
    found: list[Line] = []
    table = ""
    for one in inputs:
        if one.row is None:
            found.append(_plain_line(one, columns, width, cursor))
            continue
        if one.field != table:
            table = one.field
            rows = [other for other in inputs if other.field == table]
            found += _table_lines(rows, width, cursor)
    return found


@dataclass(frozen=True, slots=True)
class _Columns:
    """Widths. On a strip the origin gives way; the line under the cursor says its own."""

    title: int
    text: int
    origin: int

    @classmethod
    def of(cls, inputs: Sequence[InputLine], width: int) -> _Columns:
        wide = width >= NARROW or any(one.unread for one in inputs)
        origin = _ORIGIN if wide else 0
        room = max(width - 2 - origin, 10)
        title = max((width_of(one.title) for one in inputs), default=0) + 2
        text = max((width_of(_value(one)) for one in inputs), default=0) + 2
        title = min(title, max(room - text, room // 2))
        return cls(title, min(text, room - title), origin)


def _value(one: InputLine) -> str:
    return one.text or "blank"


def _plain_line(one: InputLine, columns: _Columns, width: int, cursor: str) -> Line:
    spans = [_mark(one, cursor), Span(fit(cut(one.title, columns.title - 1), columns.title))]
    text = fit(cut(_value(one), columns.text - 1), columns.text)
    if one.unread:
        spans += [Span(text, "due"), Span(fit(NOT_READ, columns.origin), "due")]
    else:
        role = "quiet" if one.origin == "blank" else "plain"
        spans += [Span(text, role), Span(fit(one.origin, columns.origin), "quiet")]
    left = width - sum(width_of(span.text) for span in spans)
    if one.beside and not one.unread and left > 12:
        spans.append(Span(cut(f"ledger: {one.beside}", left), "doubt"))
    return Line(tuple(spans), one.key)


def _mark(one: InputLine, cursor: str) -> Span:
    return Span("▸ " if cursor and one.key == cursor else "  ", "key")


def _table_lines(rows: Sequence[InputLine], width: int, cursor: str) -> list[Line]:
    names, first = rows[0].columns, rows[0]
    read = [one.cells for one in rows if one.cells]
    wanted = [
        max(width_of(name), *(width_of(cells[i]) for cells in read), 0) + 2
        for i, name in enumerate(names)
    ]
    sizes = shrunk(wanted, width - 4)
    said = f"ledger: {first.beside}" if first.beside else ""
    spans = (
        Span(f"  {first.title}  "), Span(f"{first.origin}  ", "quiet"), Span(said, "doubt"),
    )  # fmt: skip
    head = Line(tuple(clipped(spans, width)))
    columns = in_columns(names, sizes)
    found = [head, line(Span(f"    {cut(columns, width - 4)}", "quiet"))]
    found += [_row_line(one, sizes, width, cursor, one is rows[-1]) for one in rows]
    return found


def _row_line(one: InputLine, sizes: Sequence[int], width: int, cursor: str, last: bool) -> Line:
    mark = _mark(one, cursor)
    if one.unread:
        word = Span(f"  {NOT_READ}", "due")
        text = cut(one.text, max(width - 4 - width_of(word.text), 0))
        return line(mark, "  ", Span(text, "due"), word, key=one.key)
    if not one.cells:
        says = "+ a row" if last else "empty, goes once it is left"
        return line(mark, "  ", Span(cut(says, width - 4), "quiet"), key=one.key)
    cells = cut(in_columns(one.cells, sizes), width - 4)
    return line(mark, "  ", Span(cells), key=one.key)


def shrunk(sizes: Sequence[int], room: int) -> list[int]:
    """Column widths that fit `room`: the widest give way first, none below a few letters."""
    found = list(sizes)
    while sum(found) > room and max(found) > _NARROWEST:
        found[found.index(max(found))] -= 1
    return found


def in_columns(cells: Sequence[str], sizes: Sequence[int]) -> str:
    """Cells side by side, each cut to leave a blank before the next."""
    pairs = zip(cells, sizes, strict=True)
    return "".join(fit(cut(cell, size - 1), size) for cell, size in pairs).rstrip()


# ---- what may be typed -------------------------------------------------------------------------


def hint_lines(field: Field, one: InputLine, cell: int, width: int, trouble: str) -> list[Line]:
    """About the line being typed in: why it is not read, else what it takes and what it means.

    cell: of a table's row, the one the text cursor is in. trouble: why all inputs, each readable
    by itself, cannot be judged together.
    """
    wrong = one.unread or trouble
    if wrong:
        return [line(Span(part, "due")) for part in wrapped(wrong, width, 2)]
    said = [] if width >= NARROW else [field.title]
    if isinstance(field, Table):
        said.append(_column_asks_for(list(field.columns.values())[cell : cell + 1]))
    else:
        said += [one.origin, _asks_for(field)]
    if one.beside:
        said.append(f"ledger: {one.beside}")
    said.append(field.note)
    words = " · ".join(word for word in said if word)
    return [line(Span(part, "quiet")) for part in wrapped(words, width, 2)]


def _asks_for(field: Field) -> str:
    """What a field takes, in a few words."""
    if isinstance(field, Choice):
        return " | ".join(field.options)
    if isinstance(field, Flag):
        return "yes | no"
    if isinstance(field, Card):
        return "the name of a part card, or its path"
    if isinstance(field, Capability):
        return "the name of a capability card, or its path"
    if isinstance(field, Quantity | Window) and field.unit != "1":
        return f"in {field.unit}"
    return ""


def _column_asks_for(columns: Sequence[Column]) -> str:
    """What a cell of this column takes; none where the text has more cells than there are."""
    for column in columns:
        title = column.title or column.name
        title = title if title == column.name else f"{column.name}: {title}"
        if column.kind == "choice":
            return f"{title}, {' | '.join(choice or 'nothing' for choice in column.choices)}"
        if column.kind == "yes/no":
            return f"{title}, yes | no"
        return f"{title}, in {column.kind}" if column.is_quantity and column.kind != "1" else title
    return "There is no such column"
