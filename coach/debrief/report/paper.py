"""What of a debrief is shown at once, so that two sheets of paper hold it.

The page is written for a screen and for paper alike. What would not fit on two sheets, A4 or
letter, stands behind a fold that says how much it holds; on paper only that line is printed. The
reckoning is rough and errs to the safe side. Its unit is a line half a sheet wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coach.debrief.report.sections import Point, Section, Table

WIDE = 76
"""Characters of a line."""

TALLEST = 3
"""Lines after which a point is cut on paper."""

FIRST, SECOND = 145.0, 132.0
"""Lines of the two sheets, both halves of each. The shorter one, letter, has 160: other fonts
take more, and charts leave gaps, above all on the second."""

HEAD, HEADING, TIMELINE, ROW_OF_CHART, TWO_CURVES = 18.0, 2.4, 52.0, 2.5, 12.5
"""Lines of the head, of a title with its lead, of the timeline, of a row of another chart, of two
curves side by side."""

MOST_FIRST = {
    "changeable": 10, "sentences": 3, "differently": 7, "happened": 6, "differences": 6,
    "planned": 4,
}  # fmt: skip
"""How many of each section before the timeline at most, in the order they are given room."""

MOST = {
    "forgotten": 10, "late": 8, "findings": 6, "waived": 6, "reopened": 6, "undrawn": 6,
    "measured": 8, "calls": 6, "faults": 4, "margins": 2, "aside": 4,
}  # fmt: skip
"""The same of those behind it."""

TABLES_ON_PAPER = ("calls", "measured")
"""Sections whose tables are printed; of the others a chart says the same on paper."""

ROWS_OF_CHART, CURVES = 8, 4
"""Rows of the charts of margins and of forecasts, and curves, that are drawn on paper at most."""

OF_ITEM, OF_TABLE = 0.95, 2.0
"""Lines of an item, which is cut to one, and of the caption and the fold of a table of them."""

SOME_ITEMS = 12
"""Items that are shown whatever else there is."""


@dataclass(frozen=True, slots=True)
class Sheets:
    """numbers: how many points and rows of each section are shown at once. curves: so many are
    printed. items: so many rows of items are shown at once."""

    numbers: dict[str, int]
    curves: int
    items: int


def sheets(sections: Sequence[Section], rows: int, curves: int) -> Sheets:
    """What two sheets hold. rows: of the charts beside the timeline; curves: how many there are."""
    by_id = {one.id: one for one in sections}
    before = [by_id[name] for name in MOST_FIRST if name in by_id]
    behind = [by_id[name] for name in MOST if name in by_id]
    items = [t for t in by_id["timeline"].tables if t.ranks] if "timeline" in by_id else []
    some = min(SOME_ITEMS, sum(len(table.rows) for table in items))
    kept = OF_TABLE * len(items) + OF_ITEM * some

    numbers, first = _shared(before, MOST_FIRST, FIRST - HEAD - TIMELINE - HEADING * len(before))
    room = SECOND - kept - rows * ROW_OF_CHART - HEADING * len(behind)
    more, second = _shared(behind, MOST, room)
    pairs = min(int(second / TWO_CURVES), math.ceil(curves / 2), CURVES // 2)
    left = first + second - pairs * TWO_CURVES
    return Sheets(numbers | more, 2 * pairs, some + int(left / OF_ITEM))


def _shared(
    sections: Sequence[Section], most: dict[str, int], room: float
) -> tuple[dict[str, int], float]:
    """How many of each there is room for, and the lines that are left; two of each where that can
    be, one in any case."""
    costs = {one.id: _costs(one)[: most[one.id]] for one in sections}
    least = 2 if sum(sum(cost[:2]) for cost in costs.values()) <= room else 1
    found = {name: min(least, len(cost)) for name, cost in costs.items()}
    room -= sum(sum(cost[: found[name]]) for name, cost in costs.items())
    for name, cost in costs.items():
        while found[name] < len(cost) and cost[found[name]] <= room:
            room -= cost[found[name]]
            found[name] += 1
    return found, max(room, 0.0)


def _costs(section: Section) -> list[int]:
    costs = [lines(point, across=section.id == "sentences") for point in section.points]
    if section.id in TABLES_ON_PAPER:
        costs += [row_lines(row) for table in section.tables for row in table.rows]
    return costs


def lines(point: Point, *, across: bool = False) -> int:
    """Lines of a point; two for each where it goes across the sheet."""
    length = len(point.mark) + len(point.text) + len(point.evidence) + 4
    if across:
        return 2 * min(math.ceil(1.1 * length / (2 * WIDE)), TALLEST)
    return min(math.ceil(length / WIDE), TALLEST)


def row_lines(row: Sequence[str]) -> int:
    """A row is as tall as its longest cell, which gets about half its width."""
    return min(math.ceil(max(map(len, row), default=0) / (WIDE / 2)), TALLEST)


def picked(tables: Sequence[Table], number: int) -> list[set[int]]:
    """For each table of items the rows that are shown at once, `number` in all, by their ranks."""
    places = [(t, n) for t, table in enumerate(tables) for n in range(len(table.rows))]
    chosen = sorted(places, key=lambda place: tables[place[0]].ranks[place[1]])[:number]
    return [{n for u, n in chosen if u == t} for t in range(len(tables))]
