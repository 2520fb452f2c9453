"""Dense random sampling: whatever lies inside the spreads stays within what a judgement reports.

A judgement looks at corners (and at samples where a field says so). Here each spread is filled
with random values instead, those of a table row by row. An output found outside its reported
least and greatest, or a limit with less margin than its reported worst, is an escape.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from phases.kit import Calculator, Judgement, Quantity, Table
from phases.kit.bounds import FAIL, VERDICTS
from phases.kit.frame import View
from phases.kit.grids import fold, grid_of
from phases.kit.inputs import Given
from phases.kit.spread import Spread
from tests.depth import deep

POINTS = 100_000
_CHUNK = 5_000
_ROUNDING = 1e-9


def escapes(judgement: Judgement, points: int = POINTS, seed: int = 1) -> list[str]:
    """One sentence for each output and limit that a random point gets out of; none is right.

    Raises ValueError where no input has a spread: nothing would be sampled.
    """
    dice = np.random.default_rng(seed)
    calculation = judgement.calculation
    if not _spread_quantities(calculation) and not _spread_tables(calculation):
        raise ValueError("no input has a spread")
    found: dict[str, str] = {}
    for _ in range(0, deep(points), _CHUNK):
        for where, said in _chunk(judgement, dice):
            found.setdefault(where, said)
    return list(found.values())


def _chunk(judgement: Judgement, dice: np.random.Generator) -> Iterator[tuple[str, str]]:
    calculation = judgement.calculation
    tables = {name: Given(_drawn(calculation, name, dice)) for name in _spread_tables(calculation)}
    seen = calculation.with_given(tables).under(View())
    frame = seen._frame
    along_scan = (1,) * frame.axes.scan + (_CHUNK,)
    for name, spread in _spread_quantities(calculation).items():
        values = dice.uniform(spread.low, spread.high, _CHUNK).reshape(along_scan)
        # What a scan of so many exact spreads would come to, without making them one by one.
        frame.once(name, partial(np.asarray, values))
    with np.errstate(all="ignore"):
        yield from _outputs(judgement, seen)
        yield from _limits(judgement, seen)


def _outputs(judgement: Judgement, seen: Calculator) -> Iterator[tuple[str, str]]:
    for reported in judgement.outputs:
        values = fold(getattr(seen, reported.name), seen, reported.along)[:, :, 0]
        rows = np.broadcast_to(values, (len(reported.figures), values.shape[1]))
        for figure, row in zip(reported.figures, rows, strict=True):
            ends = [abs(end) for end in (figure.low, figure.high) if np.isfinite(end)]
            slack = _ROUNDING * max([1e-30, *ends])
            # Written so that a NaN among the samples is an escape too.
            if not (row.min() >= figure.low - slack and row.max() <= figure.high + slack):
                where = f"{reported.name} {figure.row or ''}".strip()
                yield (
                    where,
                    (
                        f"{where}: {row.min():.9g} .. {row.max():.9g}, "
                        f"reported {figure.low:.9g} .. {figure.high:.9g}"
                    ),
                )


def _limits(judgement: Judgement, seen: Calculator) -> Iterator[tuple[str, str]]:
    fail = VERDICTS.index(FAIL)
    for key, declared in type(seen).limits.items():
        grid = grid_of(declared, seen)
        for index, verdict in enumerate(v for v in judgement.verdicts if v.limit == key):
            where = f"{key} {verdict.scenario or ''}".strip()
            if verdict.verdict != FAIL and (grid.verdict[index] == fail).any():
                yield where, f"{where}: fails at a sample, reported {verdict.verdict}"
            if np.isnan(verdict.margin):
                continue
            least = float(grid.margin[index].min())
            if not least >= verdict.margin - _ROUNDING * max(abs(verdict.bound), 1e-30):
                yield where, f"{where}: margin {least:.9g}, reported worst {verdict.margin:.9g}"


def _spread_quantities(calculation: Calculator) -> dict[str, Spread]:
    return {
        name: value
        for name, field in type(calculation).fields.items()
        if isinstance(field, Quantity)
        and (value := calculation.inputs.reading(name).value) is not None
        and not value.is_exact
    }


def _spread_tables(calculation: Calculator) -> list[str]:
    return [
        name
        for name, field in type(calculation).fields.items()
        if isinstance(field, Table)
        and any(
            isinstance(cell, Spread) and not cell.is_exact
            for row in calculation.inputs.reading(name).value.rows
            for cell in row.values()
        )
    ]


def _drawn(
    calculation: Calculator, name: str, dice: np.random.Generator
) -> list[dict[str, object]]:
    """The rows of one table with a random value in each cell that has a spread."""
    return [
        {
            column: Spread.exact(float(dice.uniform(cell.low, cell.high)))
            if isinstance(cell, Spread)
            else cell
            for column, cell in row.items()
        }
        for row in calculation.inputs.reading(name).value.rows
    ]
