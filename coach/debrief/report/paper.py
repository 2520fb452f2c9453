"""What of a debrief is shown at once, so that two sheets of paper hold it.

The page is written for a screen and for paper alike. What would not fit on two sheets, A4 or
letter, stands behind a fold that says how much it holds; on paper only that line is printed. The
reckoning is rough and errs to the safe side. Its unit is a line half a sheet wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from coach.debrief.report.sections import Point, Section, Table

WIDE = 76
"""Characters of a line."""

TALL, SHORT = 6, 3
"""Lines after which a point is cut on paper; the shorter where not everything has room else."""

NAMES_WIDE, LEAST_NAMES = 84, 3
"""Characters of a line of names; names that are worth a list."""

FIRST, SECOND = 145.0, 132.0
"""Lines of the two sheets, both halves of each. The shorter one, letter, has 160: other fonts
take more, and charts leave gaps, above all on the second."""

UNCHARTED = 145.0
"""Lines of the second where no chart stands on it."""

HEAD, HEADING, TIMELINE, ROW_OF_CHART, TWO_CURVES = 18.0, 2.4, 52.0, 2.5, 12.5
"""Lines of the head, of a title with its lead, of the timeline, of a row of another chart, of two
curves side by side."""

MOST_FIRST = {
    "sentences": 3, "changeable": 14, "differently": 7, "happened": 6, "differences": 6,
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
"""Lines of a row of items, and of the caption and the fold of a table of them."""

ITEM_WIDE, ITEM_BESIDE, HOW_WIDE = 48, 34, 30
"""Characters of an item's name, the same beside a long word on how it stands, and of that, that one
line holds; it takes more where there is room for all that matters."""

SOME_ITEMS = 12
"""Items that are shown whatever else there is."""

ALL = 10**6
"""More names than there are."""

GRAVE, ASTRAY = 0, 1
"""Rank of items that are open and grave, and up to which items are essentials that went astray."""


@dataclass(frozen=True, slots=True)
class Sheets:
    """numbers: how many points and rows of each section are shown at once. curves: so many are
    printed. items: so many rows of items are shown at once; whole: so many of these, the first by
    rank, on as many lines as they take. tallest: lines of a point. names: how many names of the
    last point of a section are printed, where that is not all of them."""

    numbers: dict[str, int]
    curves: int
    items: int
    whole: int
    tallest: int
    names: dict[str, int]


def sheets(sections: Sequence[Section], rows: int, curves: int) -> Sheets:
    """What two sheets hold. rows: of the charts beside the timeline; curves: how many there are."""
    by_id = {one.id: one for one in sections}
    before = [by_id[name] for name in MOST_FIRST if name in by_id]
    behind = [by_id[name] for name in MOST if name in by_id]
    items = [t for t in by_id["timeline"].tables if t.ranks] if "timeline" in by_id else []
    room_before = FIRST - HEAD - TIMELINE - HEADING * len(before)
    room = SECOND if rows or curves else UNCHARTED
    room -= OF_TABLE * len(items) + rows * ROW_OF_CHART + HEADING * len(behind)
    some = _some(items, room - _least(behind, SHORT))
    room -= OF_ITEM * some
    tallest = TALL
    if _least(before, tallest) > room_before or _least(behind, tallest) > room:
        tallest = SHORT
    names: dict[str, int] = {}
    numbers, first = _shared(before, MOST_FIRST, room_before, tallest, names)
    more, second = _shared(behind, MOST, room, tallest, names)
    pairs = min(int(second / TWO_CURVES), math.ceil(curves / 2), CURVES // 2)
    left = first + second - pairs * TWO_CURVES + OF_ITEM * some
    shown, whole = _items_for(items, left)
    return Sheets(numbers | more, 2 * pairs, shown, whole, tallest, names)


def _some(tables: Sequence[Table], room: float) -> int:
    """Rows of items that are given room before anything else: all that are open and grave, where
    that can be."""
    ranks = [rank for table in tables for rank in table.ranks]
    grave = min(ranks.count(GRAVE), int(room / OF_ITEM))
    return max(min(SOME_ITEMS, len(ranks)), grave)


def _items_for(tables: Sequence[Table], room: float) -> tuple[int, int]:
    """(how many rows of items there is room for, how many of these may take more lines), what
    matters most first. What went astray is rather cut to a line each than left out."""
    ranked = sorted(
        (
            (rank, _lines_of_item(table, row))
            for table in tables
            for rank, row in zip(table.ranks, table.rows, strict=True)
        ),
        key=lambda one: one[0],
    )
    fits = int(room / OF_ITEM + 1e-9)  # lines
    heights = list(accumulate(tall for _, tall in ranked))
    shown = sum(height <= fits for height in heights)
    astray = sum(rank <= ASTRAY for rank, _ in ranked)
    if shown >= astray:
        return shown, shown
    shown = min(astray, fits)
    # What a row takes beyond one line is taken from what one line each leaves.
    return shown, sum(height - n <= fits - shown for n, height in enumerate(heights[:shown], 1))


def _lines_of_item(table: Table, row: Sequence[str]) -> int:
    wide = ITEM_BESIDE if len(row[-1]) > HOW_WIDE else ITEM_WIDE
    return max(math.ceil(len(row[table.names]) / wide), math.ceil(len(row[-1]) / HOW_WIDE), 1)


def _least(sections: Sequence[Section], tallest: int) -> int:
    """Lines of one point or row of each; of names there may be few."""
    return sum(sum(_costs(one, tallest)[:1]) for one in sections if not _names(one))


def _names(section: Section) -> bool:
    """Whether what is said first names more than a sentence holds."""
    return bool(section.points and section.points[0].names)


def _shared(
    sections: Sequence[Section], most: dict[str, int], room: float, tallest: int,
    names: dict[str, int],
) -> tuple[dict[str, int], float]:  # fmt: skip
    """How many of each there is room for, and the lines that are left; two of each where that can
    be, one in any case. What is grave is given room before the rest, and of what it names as much
    as there is room for: `names` is told."""
    costs = {one.id: _costs(one, tallest)[: most[one.id]] for one in sections}
    grave = {one.id: max(_grave(one), 1) for one in sections}
    found = {one.id: 0 if _names(one) else min(1, len(costs[one.id])) for one in sections}
    room -= sum(sum(cost[: found[name]]) for name, cost in costs.items())

    def fill(upto: dict[str, int]) -> None:
        nonlocal room
        for name, cost in costs.items():
            while found[name] < min(upto[name], len(cost)) and cost[found[name]] <= room:
                room -= cost[found[name]]
                found[name] += 1

    fill(grave)
    for one in sections:
        if found[one.id] < min(grave[one.id], len(costs[one.id])):
            point = one.points[found[one.id]]
            spare = int(room) - lines(replace(point, names=()), tallest) - 1
            if (part := _names_in(point, spare)) >= LEAST_NAMES or not found[one.id]:
                found[one.id] += 1
                names[one.id] = part
                room = max(room - int(room), 0.0)
    if sum(sum(cost[found[name] : 2]) for name, cost in costs.items()) <= room:
        fill(dict.fromkeys(costs, 2))
    fill(most)
    return found, max(room, 0.0)


def _names_in(point: Point, room: int) -> int:
    """How many names so many lines hold."""
    length = 0
    for number, name in enumerate(point.names):
        length += len(name) + 2
        if math.ceil(length / NAMES_WIDE) > room:
            return number
    return len(point.names)


def _grave(section: Section) -> int:
    """How many points stand first that are grave."""
    return next((n for n, one in enumerate(section.points) if not one.grave), len(section.points))


def _costs(section: Section, tallest: int) -> list[int]:
    costs = [lines(point, tallest, across=section.id == "sentences") for point in section.points]
    if section.id in TABLES_ON_PAPER:
        costs += [row_lines(row, tallest) for table in section.tables for row in table.rows]
    return costs


def lines(point: Point, tallest: int, *, across: bool = False) -> int:
    """Lines of a point; two for each where it goes across the sheet. Its names stand below it."""
    length = len(point.mark) + len(point.text) + len(point.evidence) + 4
    if across:
        return 2 * min(math.ceil(1.1 * length / (2 * WIDE)), tallest)
    named = math.ceil(sum(len(name) + 2 for name in point.names) / NAMES_WIDE)
    return min(math.ceil(length / WIDE), tallest) + named


def row_lines(row: Sequence[str], tallest: int) -> int:
    """A row is as tall as its longest cell, which gets about half its width."""
    return min(math.ceil(max(map(len, row), default=0) / (WIDE / 2)), tallest)


def picked(tables: Sequence[Table], number: int) -> list[set[int]]:
    """For each table of items the rows that are shown at once, `number` in all, by their ranks."""
    places = [(t, n) for t, table in enumerate(tables) for n in range(len(table.rows))]
    chosen = sorted(places, key=lambda place: tables[place[0]].ranks[place[1]])[:number]
    return [{n for u, n in chosen if u == t} for t in range(len(tables))]
