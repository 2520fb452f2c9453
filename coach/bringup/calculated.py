"""The points that calculations name themselves: those that are saved, from their records; those
that are wanted and were not saved, from what they declare."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from coach.bringup.board_under_test import Board
from coach.bringup.sheet import CALCULATED, NOTHING, Step
from coach.sprint.keys import CalculationKey
from coach.sprint.state import SavedCalculation
from phases.kit.bench import TEXTS
from phases.kit.calculator import Calculator, output
from phases.kit.catalogue import calculators
from phases.kit.expected import Expected
from phases.kit.record import BenchRecord, ledger_name
from phases.kit.units import UNITS

_COOL = 30.0
"""°C on a bench of 25 °C, below which a part is not worth a line."""

_TOO_HOT_TO_TOUCH = 60.0
"""°C, at which a fingertip stays for about a second (common practice)."""

_HOT = f"May exceed {_TOO_HOT_TO_TOUCH:g} °C: use a thermometer, not a finger."


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
            expected = one.bench.expected if one.bench else Expected()
            cool = expected.unit == "°C" and expected.high is not None and expected.high < _COOL
            if one.bench and not cool:
                yield _of_record(board, saved, one.title, one.bench)


def _of_record(board: Board, saved: SavedCalculation, title: str, bench: BenchRecord) -> Step:
    texts: dict[str, Any] = {text: getattr(bench, text) for text in TEXTS if text != "words"}
    point, label, expected = bench.point, saved.id.label, bench.expected
    if point.startswith("."):
        point = f"{saved.id}{point}"
    elif label and point not in saved.record.published:
        point = f"{point}.{label}"
    texts["title"] = texts["title"] or f"{board.title(saved.subject)} {title}".strip()
    texts["title"] += f" ({label})" if label else ""
    if expected.unit == "°C" and (expected.high or 0.0) > _TOO_HOT_TO_TOUCH:
        texts["caution"] = f"{texts['caution']} {_HOT}".strip()
    why = ": ".join(filter(None, (board.owner(saved), bench.how)))
    known = expected.judged or expected.words
    return Step(
        id=point,
        section=bench.section,
        expected=expected,
        basis=CALCULATED if known else NOTHING,
        why=why if known else "",
        missing="" if known else f"{board.named(saved.id)} gives no figure for it",
        **texts,
    )


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
