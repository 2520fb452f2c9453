"""Outputs in columns: min, typ and max of each under one prefix, aligned on the unit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from coach.terminal.drawing.input_lines import NARROW, column_sizes, in_columns
from coach.terminal.drawing.lines import Line, Span, cut, fit, line, right
from phases.kit.judging import Figure, Judgement, Output
from phases.kit.say import show
from phases.kit.units import PREFIXES, UNITS


def scaled(values: Sequence[float], symbol: str) -> tuple[list[str], str]:
    """Values in SI as numbers under one prefix, that of the greatest, and the unit with it."""
    finite = [abs(value) for value in values if math.isfinite(value)]
    words = show(max(finite, default=0.0), symbol)
    label = words.partition(" ")[2]
    unit = UNITS[symbol]
    scale = unit.factor
    if unit.ladder != ("",):
        scale = PREFIXES.get(label.removesuffix(unit.si), 1.0)
    return [show(value / scale, "1") for value in values], label


@dataclass(frozen=True, slots=True)
class _Columns:
    """Widths of the title and of a number; on a strip the typical value gives way."""

    title: int
    number: int
    heads: tuple[str, ...]

    @classmethod
    def of(cls, width: int) -> _Columns:
        heads = ("min", "typ", "max") if width >= NARROW else ("min", "max")
        number = 10 if width >= 64 else 8 if width >= 54 else 7
        return cls(max(width - len(heads) * number - 6, 10), number, heads)


def output_lines(
    judgement: Judgement,
    width: int,
    later: Mapping[str, Sequence[Mapping[str, Any]]] | None = None,
) -> list[Line]:
    """The outputs, then the listings, with a heading each.

    later: the listings that follow a moment later; None while they are still being made.
    """
    kind = type(judgement.calculation)
    found: list[Line] = []
    if judgement.outputs:
        columns = _Columns.of(width)
        heads = "".join(right(word, columns.number) for word in columns.heads)
        found.append(line(Span(fit("Outputs", columns.title), "title"), Span(heads, "quiet")))
        for one in judgement.outputs:
            found += _output(one, columns)
    for name, declared in kind.listings.items():
        if name in judgement.listings:
            found += listing_lines(declared.title, judgement.listings[name], width)
        elif later is None:
            found += [line(Span(declared.title, "title")), line(Span("  looking", "quiet"))]
        elif name in later:
            found += listing_lines(declared.title, later[name], width)
    return found


def _output(one: Output, columns: _Columns) -> list[Line]:
    if one.along is None:
        return [_figure(f"  {one.title}", one.figures[0], one.unit, columns)]
    rows = [_figure(f"    {f.row or ''}", f, one.unit, columns) for f in one.figures]
    return [line(f"  {one.title}"), *rows]


def _figure(name: str, figure: Figure, symbol: str, columns: _Columns) -> Line:
    (low, typ, high), unit = scaled((figure.low, figure.typ, figure.high), symbol)
    if figure.low == figure.high or math.isnan(figure.typ):
        low, high = ("", "") if len(columns.heads) == 3 else ("", typ)
    numbers = (low, typ, high) if len(columns.heads) == 3 else (low, high)
    return line(
        Span(fit(cut(name, columns.title - 1), columns.title)),
        Span("".join(right(number, columns.number) for number in numbers)),
        Span(f" {unit}", "quiet"),
    )


def listing_lines(title: str, rows: Sequence[Mapping[str, Any]], width: int) -> list[Line]:
    """An answer that is a list, its columns aligned."""
    found = [line(Span(title, "title"))]
    if not rows:
        return [*found, line(Span("  none", "quiet"))]
    names = list(rows[0])
    words = [[_word(row.get(name)) for name in names] for row in rows]
    sizes = column_sizes(names, words, width - 2)
    found.append(line(Span(f"  {cut(in_columns(names, sizes), width - 2)}", "quiet")))
    return found + [line(f"  {cut(in_columns(row, sizes), width - 2)}") for row in words]


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str("" if value is None else value)
