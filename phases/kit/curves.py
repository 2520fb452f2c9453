"""Curves of a calculation: an output against one input, the others over all their corners."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from phases.kit.arrays import broadcast_arrays
from phases.kit.bounds import Bound
from phases.kit.calculator import Calculator, Curve
from phases.kit.fields import Quantity
from phases.kit.frame import Blank, TooMany, View
from phases.kit.grids import fold
from phases.kit.spread import Spread


@dataclass(frozen=True, slots=True)
class Traced:
    """A curve in numbers, SI: its band from low to high, its middle, and the limit drawn in.

    at: where this calculation stands on x.
    """

    curve: Curve
    x_unit: str
    y_unit: str
    x: tuple[float, ...]
    low: tuple[float, ...]
    typ: tuple[float, ...]
    high: tuple[float, ...]
    bound: tuple[float, ...] | None
    at: float

    def edge(self, side: str) -> tuple[float, ...]:
        """The edge of the band that meets the limit first. side: of the limit, as a verdict has
        it."""
        return self.low if side == "above" else self.high


def trace(calculation: Calculator, curve: Curve, points: int = 97) -> Traced | None:
    """The curve with so many points; None while an input it needs is blank.

    Inputs fed by the same ledger name as x move with it.
    """
    import numpy as np

    field = type(calculation).fields[curve.x]
    assert isinstance(field, Quantity)
    value = calculation.inputs.reading(curve.x).value
    if value is None:
        return None
    low, high = curve.span or field.span or _around(field, value)
    low, high = min(low, value.low), max(high, value.high)
    xs = (
        np.geomspace(low, high, points) if curve.log and low > 0 else np.linspace(low, high, points)
    )
    together = calculation.inputs.fed_together(curve.x)
    scan = dict.fromkeys(together, tuple(Spread.exact(float(x)) for x in xs))
    try:
        typical = _line(calculation.under(View(scan=scan)), curve.y, points)
        ends = _fan(calculation.under(View(corners=True, scan=scan)), curve.y, points)
        bound = _bound(calculation.under(View(corners=True, scan=scan)), curve, points)
    except (Blank, TooMany):
        return None
    if ends.shape[1] == 0:  # a table without rows
        return None
    return Traced(
        curve,
        field.unit,
        type(calculation).outputs[curve.y].unit,
        tuple(map(float, xs)),
        _floats(ends.min(axis=1)),
        _floats(typical),
        _floats(ends.max(axis=1)),
        bound,
        value.typ,
    )


def _around(field: Quantity, value: Spread) -> tuple[float, float]:
    if field.unit == "°C":
        return value.typ - 100.0, value.typ + 100.0
    return value.typ / 10, value.typ * 10


def _floats(values: Any) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _fan(seen: Calculator, name: str, points: int) -> Any:
    import numpy as np

    with np.errstate(all="ignore"):
        folded = fold(getattr(seen, name), seen, None)[0]
    return np.broadcast_to(folded, (points, folded.shape[1]))


def _line(seen: Calculator, name: str, points: int) -> Any:
    return _fan(seen, name, points)[:, :1].ravel()


def _bound(seen: Calculator, curve: Curve, points: int) -> tuple[float, ...] | None:
    """The limit's bound along x, at its strictest corner."""
    import numpy as np

    if curve.limit is None:
        return None
    with np.errstate(all="ignore"):
        result = getattr(seen, type(seen).limits[curve.limit].name)
        if not isinstance(result, Bound):
            return None
        wide = broadcast_arrays(result.limit, result.margin)
        bound, margin = (fold(a, seen, None)[0] for a in wide)
    if bound.shape[1] == 0:
        return None
    if result.side == "inside":  # the end that is nearest where least is left
        least = np.where(np.isnan(margin), np.inf, margin).argmin(axis=1)[:, None]
        strict = np.take_along_axis(bound, least, axis=1)[:, 0]
    else:
        strict = bound.min(axis=1) if result.side == "below" else bound.max(axis=1)
    return _floats(np.broadcast_to(strict, (points,)))
