"""Drivers: the inputs whose spread costs a limit most of its margin.

Each is found by holding one input at its typical value. The gains do not add up to the whole,
because spreads multiply, and are not shown as parts of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from phases.kit.bounds import NOT_APPLICABLE
from phases.kit.calculator import Calculator
from phases.kit.fields import Quantity, Table
from phases.kit.frame import View
from phases.kit.judging import Judgement, verdicts


@dataclass(frozen=True, slots=True)
class Driver:
    """Without the spread of `field`, `limit` would have `gain` more margin, in the limit's unit."""

    limit: str
    field: str
    title: str
    gain: float
    unit: str


def drivers(judgement: Judgement, most: int = 3) -> list[Driver]:
    """The inputs that cost most margin, for each limit the largest first, limits by margin left."""
    calculation = judgement.calculation
    margins = _margins(calculation, frozenset())
    found: list[Driver] = []
    gains: dict[str, list[Driver]] = {limit: [] for limit in margins}
    for field, title, together in _spread_inputs(calculation):
        held = _margins(calculation, together)
        for limit, before in margins.items():
            gain = held[limit] - before
            if math.isfinite(gain) and gain > 1e-9 * max(abs(before), 1e-30):
                unit = type(calculation).limits[limit].unit
                gains[limit].append(Driver(limit, field, title, gain, unit))
    for limit in _thinnest_first(judgement, list(margins)):
        found.extend(sorted(gains[limit], key=lambda d: -d.gain)[:most])
    return found


def _spread_inputs(calculation: Calculator) -> list[tuple[str, str, frozenset[str]]]:
    """(name, title, what is held with it); inputs fed by one ledger name are one input."""
    inputs = []
    for name, field in type(calculation).fields.items():
        value = calculation.inputs.reading(name).value
        if isinstance(field, Quantity) and value is not None and not value.is_exact:
            together = calculation.inputs.fed_together(name)
            if name == together[0]:
                inputs.append((name, field.title, frozenset(together)))
        elif isinstance(field, Table) and value is not None:
            for column in field.columns.values():
                if column.is_quantity and any(not r[column.name].is_exact for r in value.rows):
                    key = f"{name}.{column.name}"
                    title = f"{field.title}, {column.title or column.name}"
                    inputs.append((key, title, frozenset((key,))))
    return inputs


def _margins(calculation: Calculator, held: frozenset[str]) -> dict[str, float]:
    seen = calculation.under(View(corners=True, held=held))
    margins = {}
    for key, limit in type(calculation).limits.items():
        applying = [v.margin for v in verdicts(limit, seen) if v.verdict != NOT_APPLICABLE]
        numbers = [m for m in applying if not math.isnan(m)]
        if numbers:
            margins[key] = min(numbers)
    return margins


def _thinnest_first(judgement: Judgement, limits: list[str]) -> list[str]:
    share = {
        limit: min((v.share for v in judgement.verdicts if v.limit == limit), default=math.inf)
        for limit in limits
    }
    return sorted(limits, key=lambda limit: share[limit])
