"""From a journal to the sheet of its board: the points of every board by its facts, as
`points.toml` has them, joined with what the board's calculations say, and what the sprint left
open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

import tomli

from coach.bringup.board_under_test import Board, Figure
from coach.bringup.calculated import calculated_points
from coach.bringup.inspection import look_steps
from coach.bringup.sheet import (
    CALCULATED,
    NOTHING,
    POWER_ON,
    PRACTICE,
    SECTIONS,
    Section,
    Sheet,
    Step,
)
from coach.bringup.supplies import FIGURES, names_of
from coach.history.read_sprint import SprintRead
from coach.sprint.gates.gates import open_essentials
from coach.sprint.keys import Key
from coach.sprint.state import NOT_HERE, WAIVED
from phases.kit.bench import TEXTS, Bench, fill
from phases.kit.expected import Expected
from phases.kit.facts import match
from phases.kit.notation import read_quantity
from phases.kit.text import one_line
from phases.kit.units import UNITS

LAST_WORD = (
    "Low voltage only. Does not cover mains or anything connected to mains. The parts' data "
    "sheets, local codes and qualified people have the last word."
)


@dataclass(frozen=True)
class Point(Bench):
    """A point of every board with these facts; alternatives of one id follow one another, and the
    first that applies is taken."""

    per: str = "board"
    entry: bool = False
    """Only at the rails that are supplied from outside, worked out with the supply."""
    waived: str = ""
    """Only where this item is waived or not on the board."""
    expect: str = ""
    """What is right, as a person writes it."""
    value: str = ""
    """The ledger name of what is right."""
    high_from: float = 0.0
    """Share of that value from which a reading is right: of a logic level that is high."""
    tolerance: str = ""
    """The ledger name of the tolerance of the value."""
    figure: str = ""
    """What of `supplies.FIGURES` is right."""
    basis: str = PRACTICE
    why: str = "{why}"
    missing: str = ""

    def applies(self, board: Board, subject: str) -> bool:
        row = board.state.by_key.get(Key.of(self.waived, subject))
        waived = not self.waived or (row is not None and row.status in (WAIVED, NOT_HERE))
        entry = not self.entry or subject in board.entries
        return waived and entry and board.has(self.when or {}, subject)


@cache
def _file() -> dict[str, Any]:
    return tomli.loads(Path(__file__).with_name("points.toml").read_text(encoding="utf-8"))


@cache
def board_points() -> tuple[Point, ...]:
    return tuple(Point(**one) for one in _file()["point"])


# ---- the sheet -----------------------------------------------------------------------------------


def sheet_of(read: SprintRead) -> Sheet:
    """The sheet of the sprint as its journal leaves it; what was measured already is on it."""
    board = Board(read)
    places = {section.id: place for place, section in enumerate(SECTIONS)}
    steps = sorted((*_points(board), *look_steps(board)), key=lambda one: places[one.section])
    return Sheet(
        title=one_line(read.setup.brief.title),
        journal=one_line(str(read.path)),
        ended=read.state.ended,
        steps=tuple(_complete(board, step, SECTIONS[places[step.section]]) for step in steps),
        cautions=_cautions(board),
        last_word=LAST_WORD,
        readings=read.state.measured,
        faults=read.faults,
    )


def _complete(board: Board, step: Step, section: Section) -> Step:
    """With what its section says; at a rail's voltage also with what the sprint left open there."""
    still = ""
    for row in open_essentials(board.state) if section.id == POWER_ON else ():
        if step.id == f"rail.{row.subject}.voltage":
            still = f"Still open: {row.item.short_title}. Then: "
            break
    do, tool, first = step.do or section.do, step.tool or section.tool, f"{still}{step.first}"
    return replace(step, do=do, tool=tool, first=first)


def _cautions(board: Board) -> tuple[str, ...]:
    """The general ones first, then those that this board has a reason for."""
    rails = (board.brief(f"rail.{rail}.window", "V") for rail in board.subjects("rail"))
    highest = max((one.spread.high for one in rails if one), default=0.0)
    return tuple(
        one["text"]
        for one in _file()["caution"]
        if match(one.get("when", ()), board.state.knowledge) is True
        and highest > one.get("above", -1.0)
    )


# ---- its points ----------------------------------------------------------------------------------


def _points(board: Board) -> Iterator[Step]:
    """In the order of the file, then what calculations name besides."""
    named = calculated_points(board)
    for _, group in groupby(board_points(), key=lambda one: one.point):
        alternatives = tuple(group)
        for subject in board.subjects(alternatives[0].per):
            point = next((one for one in alternatives if one.applies(board, subject)), None)
            step = _step(board, point, subject) if point else None
            if point and step:
                calculated = named.pop(step.id, None)
                yield _joined(step, calculated) if calculated and not point.entry else step
    yield from named.values()


def _joined(ours: Step, named: Step) -> Step:
    """What the calculation says, else what the board's own point says; that is right as long as
    nothing was calculated."""
    texts = (text for text in TEXTS if text != "words")
    said: dict[str, Any] = {text: getattr(named, text) or getattr(ours, text) for text in texts}
    if named.basis == NOTHING and ours.basis != NOTHING:
        return replace(ours, **said, why="; ".join(filter(None, (ours.why, named.missing))))
    return replace(named, **said)


def _step(board: Board, point: Point, subject: str) -> Step | None:
    names = board.names(subject) | (names_of(board, subject) if point.entry else {})
    figure = _figure(board, point, subject, names)
    if figure is None:
        return None
    names |= {**figure.names, "why": figure.why}
    texts: dict[str, Any] = point.filled(names)
    expected, words = figure.expected or Expected(unit=point.unit), texts.pop("words")
    return Step(
        id=fill(point.point, names),
        section=point.section,
        expected=replace(expected, words=words or expected.words),
        basis=figure.basis or point.basis,
        why=fill(point.why, names),
        missing=fill(point.missing, names) if figure.basis == NOTHING else "",
        **texts,
    )


def _figure(board: Board, point: Point, subject: str, names: Mapping[str, str]) -> Figure | None:
    """What a point should show; None where the board has no such point."""
    if point.value:
        return _of_value(board, point, names)
    figure = FIGURES[point.figure](board, subject) if point.figure else Figure()
    if figure is None or not point.expect:
        return figure
    spread = read_quantity(point.expect, point.unit, least=-UNITS[point.unit].greatest)
    low = None if point.ends == "high" else spread.low
    typ = None if ".." in point.expect else spread.typ
    return replace(figure, expected=Expected.within(low, typ, spread.high, point.unit))


def _of_value(board: Board, point: Point, names: Mapping[str, str]) -> Figure:
    name, unit = fill(point.value, names), point.unit
    given = board.value(name, unit)
    if given and point.high_from:
        low, typ, high = point.high_from * given.spread.low, given.spread.typ, given.spread.high
        return Figure(Expected.within(low, typ, high, unit))
    if not given or given.basis == CALCULATED or not point.tolerance:
        return board.figure(name, unit)
    typ, tolerance = given.spread.typ, board.brief(fill(point.tolerance, names), "ppm")
    if tolerance is None:
        return Figure(Expected(typ=typ, unit=unit), given.basis, f"{given.why}, no tolerance given")
    reach = typ * tolerance.spread.high
    expected = Expected.within(typ - reach, typ, typ + reach, unit, 7)
    return Figure(expected, given.basis, f"{given.why} ± {tolerance.why}")
