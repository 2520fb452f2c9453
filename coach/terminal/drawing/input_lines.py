"""The inputs of a calculation, one line each: title, value, where it comes from.

A table is a heading and one line a row, its cells in columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from coach.terminal.drawing.lines import (
    Line,
    Span,
    clipped,
    cut,
    fit,
    line,
    paragraph,
    width_of,
    width_of_all,
)
from phases.kit.calculator import Calculator
from phases.kit.fields import (
    BOARD,
    PART,
    PRACTICE,
    Capability,
    Card,
    Choice,
    Field,
    Flag,
    Quantity,
    Table,
    Window,
)
from phases.kit.grammar import count
from phases.kit.inputs import Reading
from phases.kit.tables import Column

ASSUMED, NOT_READ = "assumed", "not read"
_ORIGIN = 10
_NARROWEST = 12
NARROW = 48
"""Below so many columns, as on a strip, less is shown of each line."""


@dataclass(frozen=True, slots=True)
class InputLine:
    """One line of input.

    key: the field's name, in a table with the row behind it. text: what is in it. origin: a
    word of `phases.kit.inputs.ORIGINS`. beside: what the ledger says where a hand typed.
    unread: why the text cannot be read. row: its number from 0 in a table, with the names of its
    columns and the texts of its cells; none of these in the empty line at the end. of: whose
    figure it is (`fields.Field`).
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
    of: str = ""

    @property
    def word(self) -> str:
        """Where it is from, in a word: a part's default is nobody's, practice needs none."""
        if self.origin != "default" or not self.text:
            return "" if self.origin == "default" else self.origin
        return {PART: ASSUMED, PRACTICE: ""}.get(self.of, self.origin)

    @classmethod
    def of_row(
        cls,
        field: Table,
        row: int,
        text: str,
        origin: str,
        beside: str = "",
        *,
        unread: str = "",
        cells: Iterable[str] = (),
    ) -> InputLine:
        """A row of a table; without a text the line at its end, on which a new row begins."""
        key, columns = row_key(field.name, row), tuple(field.columns)
        return cls(
            key, field.name, field.title, text, origin, beside, unread, row, columns, tuple(cells)
        )

    @property
    def said(self) -> str:
        """What the ledger says beside a hand."""
        return f"ledger: {self.beside}" if self.beside else ""


def row_key(field: str, row: int) -> str:
    return f"{field}#{row}"


def split_key(key: str) -> tuple[str, int | None]:
    """(field, row) of a key; no row where the field is not a table."""
    field, mark, row = key.partition("#")
    return field, int(row) if mark else None


def lines_of_readings(kind: type[Calculator], readings: Iterable[Reading]) -> list[InputLine]:
    """The inputs as they were read, with nothing being typed."""
    found: list[InputLine] = []
    for reading in readings:
        field, origin, beside = kind.fields[reading.field], reading.origin, reading.beside or ""
        if not isinstance(field, Table):
            found.append(
                InputLine(field.name, field.name, field.title, reading.text, origin, beside)
            )
            continue
        texts = reading.value.texts if reading.value is not None else ()
        found += [
            InputLine.of_row(field, row, joined(cells), origin, beside, cells=cells.values())
            for row, cells in enumerate(texts)
        ]
        found.append(InputLine.of_row(field, len(texts), "", origin, beside))
    return in_groups(kind, found)


def in_groups(kind: type[Calculator], inputs: Iterable[InputLine]) -> list[InputLine]:
    """The inputs of the board first, then of its parts, their cards on top, then of practice."""
    fields = kind.fields

    def place(one: InputLine) -> tuple[int, bool]:
        of = whose(fields[one.field])
        return (*_GROUPS, of).index(of), not isinstance(fields[one.field], Card)

    told = [replace(one, of=whose(fields[one.field])) for one in inputs]
    return sorted(told, key=place)


def first_asked(inputs: Sequence[InputLine]) -> InputLine:
    """Where typing begins: at a table on top, at what only a data sheet knows, at what the board
    has not said yet; else on top."""
    if inputs[0].row is not None:
        return inputs[0]
    unsaid = [one for one in inputs if one.of != PART and one.origin not in ("brief", "ledger")]
    return next((one for one in inputs if one.word == ASSUMED), (unsaid or [*inputs])[0])


def whose(field: Field) -> str:
    """Whose figure an input is; a card stands with the figures that it gives."""
    return PART if isinstance(field, Card) else field.of


_GROUPS = {BOARD: "Your board", PART: "The part, by its data sheet", PRACTICE: "Common practice"}


def joined(cells: Mapping[str, str]) -> str:
    """The cells of a row as one line of text to edit."""
    return " | ".join(cells.values())


# ---- drawing -----------------------------------------------------------------------------------


def input_lines(inputs: Sequence[InputLine], width: int, cursor: str = "") -> list[Line]:
    """The inputs for a width, by whose figures they are. cursor: the key of the line being typed
    in; what is common practice is one line then, until the cursor comes to it."""
    columns = _Columns.of([one for one in inputs if one.row is None], width)
    groups = [(of, list(lines)) for of, lines in groupby(inputs, key=lambda one: one.of)]
    found: list[Line] = []
    for of, lines in groups:
        folded = bool(cursor) and of == PRACTICE and _untouched(lines, cursor)
        if len(groups) > 1:
            found.append(_heading(of, lines, width, folded=folded))
        if len(groups) == 1 or not folded:
            found += _group_lines(lines, columns, width, cursor)
    return found


def _heading(of: str, lines: Sequence[InputLine], width: int, *, folded: bool) -> Line:
    words = f" {_GROUPS.get(of, '')}"
    if not folded:
        return line(*clipped((Span(words, "quiet"),), width))
    usual = count(len({one.field for one in lines}), "usual figure")
    return line(*clipped((Span(f"{words}  {usual}", "quiet"),), width), key=lines[0].key)


def _untouched(lines: Sequence[InputLine], cursor: str) -> bool:
    return not any(one.key == cursor or one.unread or one.origin == "hand" for one in lines)


def _group_lines(
    inputs: Sequence[InputLine], columns: _Columns, width: int, cursor: str
) -> list[Line]:
    found: list[Line] = []
    for field, lines in groupby(inputs, key=lambda one: one.field if one.row is not None else ""):
        if field:
            found += _table_lines(list(lines), width, cursor)
        else:
            found += [_plain_line(one, columns, width, cursor) for one in lines]
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
    text = fit(cut(_value(one), columns.text - 1), columns.text)
    role, word, mark = "plain", one.word, "doubt" if one.word == ASSUMED else "quiet"
    if one.unread:
        role, word, mark = "due", NOT_READ, "due"
    elif one.origin == "blank":
        role = "quiet"
    spans = [
        _mark(one, cursor),
        Span(fit(cut(one.title, columns.title - 1), columns.title)),
        Span(text, role),
        Span(fit(word, columns.origin), mark),
    ]
    left = width - width_of_all(spans)
    if one.said and not one.unread and left > 12:
        spans.append(Span(cut(one.said, left), "doubt"))
    return line(*spans, key=one.key)


def _mark(one: InputLine, cursor: str) -> Span:
    return Span("▸ " if cursor and one.key == cursor else "  ", "key")


def _table_lines(rows: Sequence[InputLine], width: int, cursor: str) -> list[Line]:
    first = rows[0]
    sizes = column_sizes(first.columns, [one.cells for one in rows if one.cells], width - 4)
    spans = (
        Span(f"  {first.title}  "),
        Span(f"{first.word}  ", "quiet"),
        Span(first.said, "doubt"),
    )
    return [
        line(*clipped(spans, width)),
        line(Span(f"    {cut(in_columns(first.columns, sizes), width - 4)}", "quiet")),
        *(_row_line(one, sizes, width, cursor, one is rows[-1]) for one in rows),
    ]


def _row_line(one: InputLine, sizes: Sequence[int], width: int, cursor: str, last: bool) -> Line:
    words, role, unread = in_columns(one.cells, sizes) if one.cells else "", "plain", ""
    if one.unread:
        words, role, unread = one.text, "due", f"  {NOT_READ}"
    elif not one.cells:
        words, role = "+ a row" if last else "empty row, removed when you leave it", "quiet"
    room = max(width - 4 - width_of(unread), 0)
    return line(
        _mark(one, cursor), "  ", Span(cut(words, room), role), Span(unread, "due"), key=one.key
    )


def column_sizes(names: Sequence[str], rows: Sequence[Sequence[str]], room: int) -> list[int]:
    """The widths of columns with their names above them, in so much room."""
    return shrunk(
        [max(map(width_of, column)) + 2 for column in zip(names, *rows, strict=True)], room
    )


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
    words, role = one.unread or trouble, "due"
    if not words:
        takes = [one.word, _asks_for(field)]
        if isinstance(field, Table):
            takes = [_column_asks_for(list(field.columns.values())[cell : cell + 1])]
        title = field.title if width < NARROW else ""
        words, role = " · ".join(filter(None, (title, *takes, one.said, field.note))), "quiet"
    return paragraph(words, width, 2, role, indent=0)


def _asks_for(field: Field) -> str:
    """What a field takes, in a few words."""
    if isinstance(field, Choice):
        return " | ".join(field.options)
    if isinstance(field, Flag):
        return "yes | no"
    if isinstance(field, Card | Capability):
        kind = "part" if isinstance(field, Card) else "capability"
        return f"the name of a {kind} card, or its path"
    return f"in {field.unit}" if isinstance(field, Quantity | Window) and field.unit != "1" else ""


def _column_asks_for(columns: Sequence[Column]) -> str:
    """What a cell of this column takes; none where the text has more cells than there are."""
    if not columns:
        return "There is no such column"
    (column,) = columns
    title = column.name if column.title in ("", column.name) else f"{column.name}: {column.title}"
    if column.kind == "choice":
        return f"{title}, {' | '.join(choice or 'nothing' for choice in column.choices)}"
    if column.kind == "yes/no":
        return f"{title}, yes | no"
    return f"{title}, in {column.kind}" if column.is_quantity and column.kind != "1" else title
