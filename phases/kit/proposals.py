"""Candidates for free inputs: offered by the calculator, judged at their own corners, ranked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from phases.kit.bounds import FAIL, VERDICTS
from phases.kit.calculator import Calculator, proposal
from phases.kit.fields import Field, Quantity
from phases.kit.frame import TYPICAL, Blank, View
from phases.kit.grids import codes, fold
from phases.kit.inputs import Given
from phases.kit.notation import read_quantity
from phases.kit.say import show
from phases.kit.spread import Spread
from phases.kit.units import UNITS

_MOST = 2000
_AT_ONCE = 128
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Candidate:
    """A value for each free input, with the verdict a real part of that value gets."""

    values: Mapping[str, str]
    verdict: str
    score: float


def fill_blanks(calculation: Calculator) -> Calculator:
    """The calculation with the best candidate in every free input that is blank."""
    for declared in type(calculation).proposals:
        if not _blank(calculation, declared):
            continue
        best = propose(calculation, declared)[:1]
        if best:
            picks = {name: Given(text, "proposed") for name, text in best[0].values.items()}
            calculation = calculation.with_given(picks)
    return calculation


def propose(calculation: Calculator, declared: proposal) -> list[Candidate]:
    """Candidates for one proposal, the best first: by verdict, then by its rank.

    Where all of them fail something, that which fails least limits comes first: a fault that no
    candidate can cure must not decide between them. Where only some of its inputs are blank,
    these are offered and what stands in the others stays. Empty where what the candidates are
    computed from is itself still blank.
    """
    exchanged = _blank(calculation, declared) or declared.free
    tolerance = _tolerance(calculation, declared)
    try:
        found = _offered(calculation, declared, exchanged, tolerance)
    except Blank:
        return []
    verdicts: list[int] = []
    fails: list[int] = []
    scores: list[float] = []
    for start in range(0, len(found), _AT_ONCE):
        some = found[start : start + _AT_ONCE]
        scan = {
            name: tuple(Spread.of(candidate[place], tolerance) for candidate in some)
            for place, name in enumerate(exchanged)
        }
        view = View(corners=True, scan=scan)
        found_codes = codes(calculation, view)
        verdicts.extend(found_codes.max(axis=0, initial=0).tolist())
        fails.extend((found_codes == VERDICTS.index(FAIL)).sum(axis=0).tolist())
        scores.extend(_scores(calculation, declared, view, len(some), start))
    order = sorted(range(len(found)), key=lambda i: (verdicts[i], fails[i], scores[i]))
    return [
        Candidate(
            {
                name: _text(calculation, name, found[i][place], tolerance)
                for place, name in enumerate(exchanged)
            },
            VERDICTS[verdicts[i]],
            scores[i],
        )
        for i in order
    ]


def _blank(calculation: Calculator, declared: proposal) -> tuple[str, ...]:
    return tuple(f for f in declared.free if calculation.inputs.reading(f).value is None)


def _offered(
    calculation: Calculator, declared: proposal, exchanged: Sequence[str], tolerance: float
) -> list[tuple[float, ...]]:
    """The candidates as they will be written, each once, as far as their inputs take them."""
    import numpy as np

    places = [declared.free.index(name) for name in exchanged]
    fields = [type(calculation).fields[name] for name in exchanged]
    offered: dict[tuple[float, ...], None] = {}
    with np.errstate(all="ignore"):
        candidates = declared.candidates(calculation.under(TYPICAL), _MOST)
    for candidate in candidates:
        if all(math.isfinite(value) and value > 0 for value in candidate):
            written = tuple(float(f"{candidate[place]:.{_DIGITS}g}") for place in places)
            if all(map(_takes, fields, written, [tolerance] * len(fields))):
                offered[written] = None
    return list(offered)


def _takes(field: Field, value: float, tolerance: float) -> bool:
    if not isinstance(field, Quantity):
        return True
    spread = Spread.of(value, tolerance)
    least = 0.0 if field.least is None else field.least
    most = UNITS[field.unit].greatest if field.most is None else field.most
    return least <= spread.low and spread.high <= most


def _tolerance(calculation: Calculator, declared: proposal) -> float:
    if not declared.tolerance:
        return 0.0
    if declared.tolerance in type(calculation).fields:
        value: Spread = calculation.inputs.reading(declared.tolerance).value
        return value.high
    return read_quantity(declared.tolerance, "%").typ


def _scores(
    calculation: Calculator, declared: proposal, view: View, count: int, first: int
) -> list[float]:
    """What orders candidates of the same verdict; without a rank the order they were offered in."""
    import numpy as np

    if not declared.rank:
        return [float(first + i) for i in range(count)]
    seen = calculation.under(view)
    with np.errstate(all="ignore"):
        ranked = fold(getattr(seen, declared.rank)(), seen, None)[0].max(axis=1)
    return [float(v) for v in np.broadcast_to(np.nan_to_num(ranked, nan=np.inf), (count,))]


def _text(calculation: Calculator, name: str, value: float, tolerance: float) -> str:
    field = type(calculation).fields[name]
    unit = field.unit if isinstance(field, Quantity) else "1"
    text = show(value, unit, _DIGITS)
    return f"{text} ± {tolerance * 100:g} %" if tolerance else text
