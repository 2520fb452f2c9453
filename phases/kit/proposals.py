"""Candidates for free inputs: offered by the calculator, judged at their own corners, ranked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from phases.kit.bounds import VERDICTS
from phases.kit.calculator import Calculator, proposal
from phases.kit.fields import Quantity
from phases.kit.frame import TYPICAL, View
from phases.kit.inputs import Given
from phases.kit.judging import fold, passing
from phases.kit.notation import read_quantity
from phases.kit.say import show
from phases.kit.spread import Spread

_MOST = 2000


@dataclass(frozen=True, slots=True)
class Candidate:
    """A value for each free input, with the verdict a real part of that value gets."""

    values: Mapping[str, str]
    verdict: str
    score: float


def fill_blanks(calculation: Calculator) -> Calculator:
    """The calculation with the best candidate in every free input that is blank."""
    for declared in type(calculation).proposals:
        blank = [f for f in declared.free if calculation.inputs.reading(f).value is None]
        if not blank:
            continue
        best = propose(calculation, declared)[:1]
        picks = {f: Given(best[0].values[f], "proposed") for f in blank} if best else {}
        if picks:
            calculation = calculation.with_given(picks)
    return calculation


def propose(calculation: Calculator, declared: proposal) -> list[Candidate]:
    """Candidates for one proposal, the best first: by verdict, then by its rank."""
    found = declared.candidates(calculation.under(TYPICAL))[:_MOST]
    found = [c for c in found if all(math.isfinite(v) and v > 0 for v in c)]
    if not found:
        return []
    tolerance = _tolerance(calculation, declared)
    scan = {
        name: tuple(Spread.of(candidate[place], tolerance) for candidate in found)
        for place, name in enumerate(declared.free)
    }
    view = View(corners=True, scan=scan)
    codes = passing(calculation, view)
    scores = _scores(calculation, declared, view, len(found))
    order = sorted(range(len(found)), key=lambda i: (codes[i], scores[i]))
    return [
        Candidate(
            {name: _text(calculation, name, found[i][place], tolerance)
             for place, name in enumerate(declared.free)},
            VERDICTS[int(codes[i])],
            scores[i],
        )
        for i in order
    ]  # fmt: skip


def _tolerance(calculation: Calculator, declared: proposal) -> float:
    if not declared.tolerance:
        return 0.0
    if declared.tolerance in type(calculation).fields:
        value: Spread = calculation.inputs.reading(declared.tolerance).value
        return value.high
    return read_quantity(declared.tolerance, "%").typ


def _scores(calculation: Calculator, declared: proposal, view: View, count: int) -> list[float]:
    import numpy as np

    if not declared.rank:
        return [float(i) for i in range(count)]
    seen = calculation.under(view)
    with np.errstate(all="ignore"):
        ranked = fold(getattr(seen, declared.rank)(), seen, None)[0].max(axis=1)
    return [float(v) for v in np.broadcast_to(np.nan_to_num(ranked, nan=np.inf), (count,))]


def _text(calculation: Calculator, name: str, value: float, tolerance: float) -> str:
    field = type(calculation).fields[name]
    unit = field.unit if isinstance(field, Quantity) else "1"
    text = show(value, unit, 6)
    return f"{text} ± {tolerance * 100:g} %" if tolerance else text
