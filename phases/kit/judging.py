"""Judging a calculation: its outputs over all corners and a verdict for every limit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from phases.kit import bounds
from phases.kit.bounds import VERDICTS, Finding
from phases.kit.calculator import Calculator, Part, limit, output
from phases.kit.frame import CORNERS, TYPICAL, Blank
from phases.kit.grids import DOES_NOT_APPLY, FAILS, Grid, fold, grid_of, row_labels
from phases.kit.inputs import Reading
from phases.kit.proposals import fill_blanks
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread

FORMULA_FAULTS = (ArithmeticError, LookupError, ValueError)
"""What a formula may raise on values it was never meant for."""


@dataclass(frozen=True, slots=True)
class Figure:
    """An output over all corners, in SI; row: the table row it belongs to."""

    low: float
    typ: float
    high: float
    row: str | None = None

    @property
    def spread(self) -> Spread:
        return Spread(self.low, self.typ, self.high)


@dataclass(frozen=True, slots=True)
class Output:
    name: str
    title: str
    unit: str
    figures: tuple[Figure, ...]
    publishes: str | None = None
    along: str | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """One limit judged, for one scenario row or for all.

    value, bound, margin: in SI at the worst corner, NaN where there is none. share: the margin
    over its scale. corner: the inputs at that corner. reason: why it does not apply or fails.
    assumed: the part figures nobody gave that it rests on (see `inputs.Reading`).
    """

    limit: str
    title: str
    verdict: str
    unit: str
    value: float = math.nan
    bound: float = math.nan
    margin: float = math.nan
    share: float = math.nan
    side: str = ""
    scenario: str | None = None
    reason: str = ""
    corner: Mapping[str, float] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Judgement:
    """A calculation with everything it answers.

    listings: those that need no waiting for; the others are `later_listings`.
    """

    calculation: Calculator
    readings: tuple[Reading, ...]
    outputs: tuple[Output, ...]
    listings: Mapping[str, list[dict[str, Any]]]
    verdicts: tuple[Verdict, ...]
    notes: tuple[Finding, ...]
    parts: tuple[Part, ...]
    picks: Mapping[str, str]

    @property
    def verdict(self) -> str:
        return bounds.worst([v.verdict for v in self.verdicts])

    def output(self, name: str) -> Figure:
        """The (first) figure of an output."""
        return next(o for o in self.outputs if o.name == name).figures[0]

    def rows(self, name: str) -> dict[str, Figure]:
        """The figures of a tabular output by row."""
        return {f.row or "": f for o in self.outputs if o.name == name for f in o.figures}

    def later_listings(self) -> dict[str, list[dict[str, Any]]]:
        """The lists that were left out because they take longer than the verdict may."""
        return _listings(self.calculation.under(TYPICAL), later=True)

    def limit(self, name: str) -> str:
        """The worst verdict of a limit."""
        return bounds.worst([v.verdict for v in self.verdicts if v.limit == name])


def judge(calculation: Calculator) -> Judgement:
    """Everything a calculation answers, free inputs that are blank filled with the best proposal.

    Raises Refusal where an input cannot be read, or a formula cannot digest what was read.
    """
    try:
        return _judged(calculation)
    except FORMULA_FAULTS as fault:
        raise Refusal(
            f"{calculation.title} cannot be computed with these values",
            do="Change one of them",
        ) from fault


def _judged(calculation: Calculator) -> Judgement:
    calculation = fill_blanks(calculation)
    kind = type(calculation)
    readings = tuple(calculation.inputs.readings())
    typical, corners = calculation.under(TYPICAL), calculation.under(CORNERS)
    return Judgement(
        calculation=calculation,
        readings=readings,
        outputs=tuple(_output(o, typical, corners) for o in kind.outputs.values()),
        listings=_listings(typical, later=False),
        verdicts=tuple(v for one in kind.limits.values() for v in verdicts(one, corners)),
        notes=_or_nothing(corners.notes),
        parts=_or_nothing(corners.parts),
        picks={
            f: calculation.text(f) for p in kind.proposals for f in p.free if calculation.text(f)
        },
    )


def _listings(typical: Calculator, *, later: bool) -> dict[str, list[dict[str, Any]]]:
    return {
        name: getattr(typical, name)
        for name, declared in type(typical).listings.items()
        if declared.later is later
    }


def _or_nothing(make: Any) -> tuple[Any, ...]:
    """Parts and notes of a calculation whose free input is still blank: there are none yet."""
    import numpy as np

    try:
        with np.errstate(all="ignore"):
            return tuple(make())
    except Blank:
        return ()


def _output(declared: output, typical: Calculator, corners: Calculator) -> Output:
    figures = figures_of(declared, typical, corners)
    return Output(
        declared.name, declared.title, declared.unit, figures, declared.publishes, declared.along
    )


def figures_of(declared: output, typical: Calculator, corners: Calculator) -> tuple[Figure, ...]:
    """The figures of one output, evaluating only what it depends on."""
    import numpy as np

    labels = row_labels(typical, declared.along)
    if declared.along and not labels:
        return ()
    try:
        with np.errstate(all="ignore"):
            middle = fold(getattr(typical, declared.name), typical, declared.along)[:, 0, :]
            ends = fold(getattr(corners, declared.name), corners, declared.along)[:, 0, :]
    except Blank:
        return tuple(Figure(math.nan, math.nan, math.nan, row) for row in labels or (None,))
    if labels:
        middle = np.broadcast_to(middle, (len(labels), middle.shape[1]))
        ends = np.broadcast_to(ends, (len(labels), ends.shape[1]))
    found = []
    for index, (mid, end) in enumerate(zip(middle, ends, strict=True)):
        low = typ = high = math.nan
        if mid.size and end.size:  # else it stands for the rows of a table that has none
            typ = float(mid[0])
            if not (np.isnan(end).any() or math.isnan(typ)):
                low, high = min(float(end.min()), typ), max(float(end.max()), typ)
        found.append(Figure(low, typ, high, labels[index] if labels else None))
    return tuple(found)


def verdicts(declared: limit, calculation: Calculator) -> list[Verdict]:
    """The verdicts of one limit, one for each scenario row."""
    grid = grid_of(declared, calculation)
    assumed = calculation.rests_on(declared.name)
    return [
        Verdict(
            limit=declared.key,
            title=declared.title,
            verdict=VERDICTS[int(grid.verdict[row, 0])],
            unit=declared.unit,
            value=float(grid.value[row, 0]),
            bound=float(grid.bound[row, 0]),
            margin=float(grid.margin[row, 0]),
            share=float(grid.share[row, 0]),
            side=grid.side,
            scenario=grid.rows[row] if grid.rows else None,
            reason=_reason(grid, row),
            corner=grid.corners[row] if grid.corners else {},
            findings=grid.findings,
            assumed=assumed,
        )
        for row in range(grid.verdict.shape[0])
    ]


def _reason(grid: Grid, row: int) -> str:
    """Why it does not apply, or why it fails where no margin says so."""
    if grid.verdict[row, 0] == DOES_NOT_APPLY:
        return grid.otherwise
    fails_unsaid = grid.verdict[row, 0] == FAILS and math.isnan(grid.margin[row, 0])
    return grid.reason if fails_unsaid else ""
