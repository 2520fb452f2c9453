"""Outputs in columns: min, typ and max of each under one prefix, aligned on the unit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from coach.terminal.drawing.lines import Line, Span, cut, fit, line, right, width_of
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


def output_lines(judgement: Judgement, width: int) -> list[Line]:
    """The outputs, then the listings, with a heading each."""
    kind = type(judgement.calculation)
    found: list[Line] = []
    if judgement.outputs:
        size = _number_width(width)
        title = max(width - 3 * size - 7, 10)
        heads = "".join(right(word, size) for word in ("min", "typ", "max"))
        found.append(line(Span(fit("Outputs", title), "title"), Span(heads, "quiet")))
        for one in judgement.outputs:
            found += _output(one, title, size)
    for name, rows in judgement.listings.items():
        found += listing_lines(kind.listings[name].title, rows, width)
    return found


def _number_width(width: int) -> int:
    return 10 if width >= 64 else 8 if width >= 50 else 7


def _output(one: Output, title: int, size: int) -> list[Line]:
    if one.along is None:
        return [_figure(f"  {one.title}", one.figures[0], one.unit, title, size)]
    rows = [_figure(f"    {f.row or ''}", f, one.unit, title, size) for f in one.figures]
    return [line(f"  {one.title}"), *rows]


def _figure(name: str, figure: Figure, symbol: str, title: int, size: int) -> Line:
    values = (figure.low, figure.typ, figure.high)
    numbers, unit = scaled(values, symbol)
    if figure.low == figure.high or all(math.isnan(value) for value in values):
        numbers = ["", numbers[1], ""]
    columns = "".join(right(number, size) for number in numbers)
    return line(Span(fit(cut(name, title - 1), title)), Span(columns), Span(f" {unit}", "quiet"))


def listing_lines(title: str, rows: Sequence[Mapping[str, Any]], width: int) -> list[Line]:
    """An answer that is a list, its columns aligned."""
    found = [line(Span(title, "title"))]
    if not rows:
        return [*found, line(Span("  none", "quiet"))]
    names = list(rows[0])
    words = [[_word(row.get(name)) for name in names] for row in rows]
    sizes = [
        max(width_of(name), *(width_of(row[i]) for row in words)) + 2
        for i, name in enumerate(names)
    ]
    head = "".join(fit(name, size) for name, size in zip(names, sizes, strict=True))
    found.append(line(Span(f"  {cut(head, width - 2)}", "quiet")))
    for row in words:
        cells = "".join(fit(word, size) for word, size in zip(row, sizes, strict=True))
        found.append(line(f"  {cut(cells, width - 2)}"))
    return found


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str("" if value is None else value)
