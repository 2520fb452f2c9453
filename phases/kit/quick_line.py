"""A calculation on one line: `indicator 3.3V 2.1V 2mA`, `linear-regulator I_out="100 .. 150 mA"`.

The first word is the calculator. A word `field=value` gives that field; values without a field
go to the fields in their order. A value with blanks may be quoted, and need not be where its
parts can only belong together: `3.3 V`, `5 V ± 5 %`, `4.75 .. 5.25 V`. A table comes from a
file: `consumers=@loads.csv`, or `@loads.toml` with one `[[row]]` a row.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculator
from phases.kit.documents import parse_document, read_text
from phases.kit.fields import Field, Quantity, Table, Window
from phases.kit.grammar import count
from phases.kit.low_voltage import names_mains
from phases.kit.refusals import Refusal, unknown
from phases.kit.tables import rows_from_csv
from phases.kit.text import one_line
from phases.kit.units import factor

_NAMED = re.compile(r"([A-Za-zµΩ_]\w*)\s*=(.*)", re.DOTALL)
_JOINS = frozenset(("..", "...", "…", "/", "±", "+-", "+/-"))
_OPEN_END = re.compile(r"(?:\.\.|…|/|±|\+-)$")
_SHARES = frozenset(("%", "ppm"))


def parse_line(text: str) -> tuple[str, dict[str, Any]]:
    """(calculator, given) of one line; given: texts by field, rows where the field is a table.

    Raises Refusal for an unknown calculator or field, with the nearest, and for an open quote.
    """
    words = split_words(text)
    if not words:
        raise Refusal("There is nothing to calculate", do="Type a calculator and its values")
    name, *values = words
    return name, read_words(calculator(name), values)


def split_words(text: str) -> list[str]:
    """The words of a line; quotes keep blanks within one and go."""
    splitter = shlex.shlex(text, posix=True, punctuation_chars=False)
    splitter.whitespace_split = True
    splitter.commenters = ""
    splitter.escape = ""
    try:
        return list(splitter)
    except ValueError:
        raise Refusal("A quote is open in this line", do="Close it, or leave it out") from None


def read_words(kind: type[Calculator], words: Sequence[str]) -> dict[str, Any]:
    """What these words give the fields of `kind`. Values are not read yet, only put in place.

    A value without a field goes to the next field that is not named anywhere in the line; a part
    card is always named.
    """
    waiting = _equals_joined(words)
    named = {match[1] for word in waiting if (match := _NAMED.fullmatch(word))}
    order = [n for n, field in kind.fields.items() if n not in named and field.kind != "card"]
    given: dict[str, Any] = {}
    while waiting:
        word = waiting.pop(0)
        match = _NAMED.fullmatch(word)
        if match is not None:
            name, value = match[1], match[2].strip()
            if name not in kind.fields:
                raise unknown("field", one_line(name), kind.fields, where=kind.name)
        elif order:
            name, value = order.pop(0), word
        else:
            do = f"It takes {count(len(kind.fields), 'field')}"
            raise Refusal(f"Unexpected value {one_line(word)!r}", where=kind.name, do=do)
        if name in given:
            raise Refusal(f"{name} appears twice", where=kind.name)
        field = kind.fields[name]
        value = _joined(field, value, waiting)
        if not value:
            do = "Write its value after it, or leave it out"
            raise Refusal(f"{name} has no value", where=kind.name, do=do)
        given[name] = _value(field, value)
    return given


def _equals_joined(words: Sequence[str]) -> list[str]:
    """The words with `V = 3 V` written as `V= 3 V`."""
    joined: list[str] = []
    for word in words:
        if word.startswith("=") and joined and joined[-1].isidentifier():
            joined[-1] += word
        else:
            joined.append(word)
    return joined


def _joined(field: Field, value: str, waiting: list[str]) -> str:
    """`value` with the words behind it that can only belong to it, taken from `waiting`."""
    measured = isinstance(field, Quantity | Window)
    while waiting and not _NAMED.fullmatch(waiting[0]):
        if value and not (measured and _belongs(field, value, waiting[0])):
            break
        value = f"{value} {waiting.pop(0)}".strip()
    return value


def _belongs(field: Field, value: str, word: str) -> bool:
    """Whether `word` goes on with `value`: a sign between numbers, a number behind one, a unit;
    "AC" too, so that it is refused as such."""
    if word in _JOINS or _OPEN_END.search(value) or names_mains(word):
        return True
    if not value[-1].isdecimal():
        return False
    return word in _SHARES or (not any(c.isdecimal() for c in word) and _is_unit(field, word))


def _is_unit(field: Field, word: str) -> bool:
    assert isinstance(field, Quantity | Window)
    try:
        factor(word, field.unit)
    except Refusal:
        return False
    return True


def _value(field: Field, text: str) -> Any:
    if not text.startswith("@"):
        return text
    if not isinstance(field, Table):
        what = f"Only a table comes from a file, {field.name} is not one"
        raise Refusal(what, where=field.name, do="Write its value itself")
    return read_table(field, Path(text[1:]))


class _RowsFile(BaseModel):
    """A table as TOML."""

    model_config = ConfigDict(extra="forbid")

    row: list[dict[str, Any]] = []


def read_table(field: Table, path: Path) -> list[dict[str, Any]]:
    """The rows of a table field from a CSV or TOML file. A Refusal names file, row and column."""
    text = read_text(path, kind="table")
    rows: Sequence[Mapping[str, Any]]
    try:
        if path.suffix.lower() == ".toml":
            rows = parse_document(text, _RowsFile, kind="table", where="").row
        else:
            rows = rows_from_csv(text, field.columns)
        field.read(rows)
    except Refusal as refusal:
        raise refusal.at(one_line(str(path))) from None
    return [dict(row) for row in rows]
