"""Assumed figures: properties of a part that stand at a default nobody gave.

A verdict that rests on one is nobody's until it is typed, read from a part card or confirmed. Which
is worth asking first is the one that moves the margin most: each is made a quarter less and a
quarter more, and the limit judged anew.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from phases.kit.calculator import Calculator
from phases.kit.fields import Quantity
from phases.kit.frame import View
from phases.kit.grids import grid_of
from phases.kit.judging import Judgement
from phases.kit.spread import Spread

_WORSE = 0.25


def heaviest_first(judgement: Judgement) -> Mapping[str, tuple[str, ...]]:
    """By limit, the assumed figures it rests on, those first that have most of its margin."""
    calculation = judgement.calculation
    resting: dict[str, set[str]] = {}
    for verdict in judgement.verdicts:
        resting.setdefault(verdict.limit, set()).update(verdict.assumed)
    weights = {
        name: _weights(calculation, name, [at for at, names in resting.items() if name in names])
        for name in dict.fromkeys(one for names in resting.values() for one in names)
    }
    order = [*type(calculation).fields]
    return {
        limit: tuple(
            sorted(
                names,
                key=lambda name: (
                    -weights[name].get(limit, 0.0),
                    order.index(name) if name in order else len(order),
                    name,
                ),
            )
        )
        for limit, names in resting.items()
    }


def _weights(calculation: Calculator, name: str, limits: list[str]) -> dict[str, float]:
    """By limit, the margin that one figure costs when it is worse; none for what has no middle."""
    field = type(calculation).fields.get(name)
    if not isinstance(field, Quantity):
        return {}
    value: Spread | None = calculation.inputs.reading(name).value
    if value is None:
        return {}
    less, more = (_times(value, factor, field) for factor in (1 - _WORSE, 1 + _WORSE))
    seen = calculation.under(View(corners=True, scan={name: (value, less, more)}))
    found = {}
    for limit in limits:
        margin = grid_of(type(calculation).limits[limit], seen).margin.min(axis=0)
        if margin.size == 3 and math.isfinite(margin[0]):
            lost = [float(margin[0] - one) for one in margin[1:]]
            # Where it breaks the formula altogether there is nothing it could cost more.
            found[limit] = max(one if math.isfinite(one) else math.inf for one in lost)
    return found


def _times(value: Spread, factor: float, field: Quantity) -> Spread:
    ends = sorted(one * factor for one in (value.low, value.typ, value.high))
    low, typ, high = (
        min(max(one, field.least or -math.inf), field.most or math.inf) for one in ends
    )
    return Spread(low, typ, high)
