"""The points that calculations name themselves: those that are saved, from their records; those
that are wanted and were not saved, from what they declare."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from coach.bringup.board import Board
from coach.bringup.sheet import CALCULATED, NOTHING, Step
from coach.sprint.keys import CalculationKey
from coach.sprint.state import Saved
from phases.kit.bench import TEXTS
from phases.kit.calculator import Calculator, output
from phases.kit.catalogue import calculators
from phases.kit.expected import Expected, in_words
from phases.kit.record import BenchRecord, Record, ledger_name
from phases.kit.spread import Spread
from phases.kit.units import UNITS

BENCH = 25.0
"""Ambient of a bench, in °C (common practice)."""

_WARM = 5.0
"""Rise in K below which a part is not worth a line."""

_TOO_HOT_TO_TOUCH = 60.0
"""°C, at which a fingertip stays for about a second (common practice)."""


def calculated_points(board: Board) -> dict[str, Step]:
    """By id; of two with one id the first, so that a name belongs to who gave it to the ledger."""
    found: dict[str, Step] = {}
    for step in (*_saved(board), *_wanted(board)):
        found.setdefault(step.id, step)
    return found


# ---- saved ---------------------------------------------------------------------------------------


def _saved(board: Board) -> Iterator[Step]:
    for saved in board.saved:
        for one in saved.record.outputs.values():
            if one.bench and (expected := _expected(saved.record, one.bench)):
                yield _of_record(board, saved, one.title, one.bench, expected)


def _of_record(
    board: Board, saved: Saved, title: str, bench: BenchRecord, expected: Expected
) -> Step:
    texts: dict[str, Any] = {text: getattr(bench, text) for text in TEXTS}
    point, label = bench.point, saved.id.label
    if point.startswith("."):
        point = f"{saved.id}{point}"
    elif label and point not in saved.record.published:
        point = f"{point}.{label}"
    texts["title"] = texts["title"] or f"{board.title(saved.subject)} {title}".strip()
    if label:
        texts["title"] += f" ({label})"
    if expected.unit == "°C" and (expected.high or 0.0) > _TOO_HOT_TO_TOUCH:
        hot = "May exceed 60 °C: use a thermometer, not a finger."
        texts["caution"] = f"{texts['caution']} {hot}".strip()
    return Step(
        id=point,
        section=bench.section,
        expected=replace(expected, words=texts.pop("words")),
        basis=CALCULATED,
        why=board.owner(saved) + _how(bench),
        **texts,
    )


def _how(bench: BenchRecord) -> str:
    if bench.unit == "°C":
        return f", its rise above a bench of {BENCH:g} °C; a case is cooler than its junction"
    if not bench.bounded or bench.min is None:
        return ""
    return (
        f": computed {in_words(bench.min, bench.unit, 3)} .. {in_words(bench.max, bench.unit, 3)}"
    )


def _expected(record: Record, bench: BenchRecord) -> Expected | None:
    """None where it is not worth a line."""
    if bench.unit == "°C" and bench.spread:
        return _warm(record, bench.spread)
    if bench.bounded:
        # Beyond a bound nothing is sure: it is rounded to the safe side, not outwards.
        safe = Expected.within(bench.high, bench.typ, bench.low, bench.unit)
        return replace(safe, low=safe.high, high=safe.low)
    return Expected.within(bench.low, bench.typ, bench.high, bench.unit)


def _warm(record: Record, temperature: Spread) -> Expected | None:
    """A temperature on the bench, by its rise above the ambient it was computed with."""
    fed = (one.spread for one in record.inputs.values() if one.ledger == "board.ambient")
    ambient = next(
        (one for one in fed if one and one.high <= temperature.high), Spread.exact(BENCH)
    )
    high = BENCH + temperature.high - ambient.high
    typ = BENCH + max(temperature.typ - ambient.typ, 0.0)
    return Expected.within(None, min(typ, high), high, "°C") if high >= BENCH + _WARM else None


# ---- wanted --------------------------------------------------------------------------------------


def _wanted(board: Board) -> Iterator[Step]:
    """What this board needs measured and nobody calculated."""
    saved = {(one.calculator, one.subject) for one in board.saved}
    for kind in calculators().values():
        for declared in kind.outputs.values():
            when = declared.bench and declared.bench.when
            for subject in board.subjects(kind.per) if when else ():
                if (kind.name, subject) not in saved and board.has(when or {}, subject):
                    yield _of_declared(board, kind, declared, subject)


def _of_declared(board: Board, kind: type[Calculator], declared: output, subject: str) -> Step:
    assert declared.bench
    names, key = board.names(subject), CalculationKey.of(kind.name, subject)
    texts: dict[str, Any] = declared.bench.filled(names)
    point = ledger_name(declared.point, names, declared.bench.row) or ""
    unit = declared.bench.unit or UNITS[declared.unit].si
    texts["title"] = texts["title"] or kind.title
    return Step(
        id=f"{key}{point}" if point.startswith(".") else point,
        section=declared.bench.section,
        expected=Expected(unit=unit, words=texts.pop("words")),
        basis=NOTHING,
        missing=board.absent(key),
        **texts,
    )
