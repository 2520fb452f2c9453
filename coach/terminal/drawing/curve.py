"""A curve of a calculation in words, and the ticks of its axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from coach.terminal.drawing.lines import Line, Span, cut, line
from phases.kit.curves import Traced
from phases.kit.say import show
from phases.kit.ticks import round_ticks


def ticks(low: float, high: float, unit: str, most: int, *, log: bool = False) -> dict[float, str]:
    """At most `most` ticks at 1, 2 or 5 times a power of ten, at decades where the axis is log:
    where they are, in SI, and their labels."""
    return {value: show(value, unit) for value in round_ticks(low, high, most, log=log)}


def value_at(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """The value of a line of points at x, straight between two of them."""
    for (x0, x1), (y0, y1) in zip(pairwise(xs), pairwise(ys), strict=True):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * ((x - x0) / (x1 - x0) if x1 > x0 else 0.0)
    return ys[0] if x < xs[0] else ys[-1]


def crossings(traced: Traced, side: str) -> list[float]:
    """Where the edge meets the limit that is drawn in."""
    if traced.bound is None:
        return []
    gaps = [e - b for e, b in zip(traced.edge(side), traced.bound, strict=True)]
    found = []
    for (x0, x1), (g0, g1) in zip(pairwise(traced.x), pairwise(gaps), strict=True):
        if math.isfinite(g0) and math.isfinite(g1) and (g0 < 0) != (g1 < 0):
            found.append(x0 + (x1 - x0) * g0 / (g0 - g1))
    return found


def curve_sentence(traced: Traced, side: str) -> str:
    """The curve where there is no room to draw it."""
    x, y = traced.x_unit, traced.y_unit
    bound = traced.bound
    edge = traced.edge(side) if bound is not None else traced.typ
    ends = " and ".join(f"{show(edge[i], y)} at {show(traced.x[i], x)}" for i in (0, -1))
    here = show(value_at(traced.x, edge, traced.at), y)
    says = f"{traced.curve.title}: {ends}; here, at {show(traced.at, x)}, "
    if bound is None:
        return f"{says}typically {here}."
    met = " and ".join(show(place, x) for place in crossings(traced, side))
    says += f"{'at least' if side == 'above' else 'up to'} {here}."
    limit = show(value_at(traced.x, bound, traced.at), y)
    return f"{says} Limit {limit}, {f'met at {met}' if met else 'not met within this range'}."


def curve_title(traced: Traced, width: int, more: int) -> Line:
    """What is drawn. more: how many other curves this calculation has."""
    spans = [Span(f" {cut(traced.curve.title, width - 2)}", "title")]
    if more and width > len(traced.curve.title) + 16:
        spans += [Span("   ctrl+n", "key"), Span(" next", "quiet")]
    return line(*spans)


def curve_legend(traced: Traced, width: int) -> Line:
    """What the strokes mean, each by its own mark."""
    spans = [Span(" ⠒⠒", "next"), Span(" typ")]
    if traced.low != traced.high:
        spans += [Span("   ⠒⠒", "quiet"), Span(" min max")]
    if traced.bound is not None:
        limit = show(value_at(traced.x, traced.bound, traced.at), traced.y_unit)
        spans += [Span("   ╌╌", "due"), Span(f" limit {limit}")]
    spans += [Span("   ●", "key"), Span(f" here {show(traced.at, traced.x_unit)}")]
    found, used = [], 0
    for mark, words in zip(spans[::2], spans[1::2], strict=True):
        used += len(mark.text) + len(words.text)
        if used <= width:
            found += [mark, words]
    return line(*found)
