"""What would cure a limit: the range of one input within which everything passes.

Scanned, because the region may be an interval or two, then refined at its edges; rounded to the
safe side. That no value cures it is an answer too.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.bounds import FAIL, MARGINAL, PASS, VERDICTS
from phases.kit.calculator import Calculator
from phases.kit.fields import Quantity
from phases.kit.frame import CORNERS, View
from phases.kit.inputs import Reading
from phases.kit.judging import Judgement, grid_of
from phases.kit.say import show
from phases.kit.spread import Spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

_POINTS = 65
_ROUNDS = 3


@dataclass(frozen=True, slots=True)
class Remedy:
    """The range of one input that cures; intervals in SI, an open end is infinite.

    cures: the limits it cures. whole: everything then passes. owner: who gives that input where
    it is not this calculation's own. No interval: nothing within the range looked at cures it.
    """

    field: str
    title: str
    unit: str
    intervals: tuple[tuple[float, float], ...]
    cures: tuple[str, ...]
    whole: bool
    owner: str | None = None

    @property
    def words(self) -> str:
        ranges = " or ".join(_range_words(low, high, self.unit) for low, high in self.intervals)
        whose = f" ({self.owner})" if self.owner else ""
        verb = "Passes with" if self.whole else f"{_spoken(self.cures)} passes with"
        return f"{verb} {self.title} {ranges}{whose}"


def _range_words(low: float, high: float, unit: str) -> str:
    if math.isinf(low) and math.isinf(high):
        return "of any value"
    if math.isinf(low):
        return f"{show(high, unit)} or less"
    if math.isinf(high):
        return f"{show(low, unit)} or more"
    return f"{show(low, unit)} to {show(high, unit)}"


def _spoken(limits: Sequence[str]) -> str:
    return ", ".join(limits).replace("-", " ").capitalize()


def dependencies(calculation: Calculator, limit: str) -> list[str]:
    """The inputs that a limit reads."""
    seen = calculation.under(CORNERS)
    grid_of(type(calculation).limits[limit], seen)
    return [name for name in type(calculation).fields if name in seen._frame.memo]


def remedies(judgement: Judgement) -> list[Remedy]:
    """For what fails or is marginal, what would make it pass: the whole cures, else partial ones.

    Empty where everything passes, or where no value of any one input cures anything.
    """
    calculation = judgement.calculation
    ailing = [
        limit for limit in type(calculation).limits if judgement.limit(limit) in (FAIL, MARGINAL)
    ]
    if not ailing:
        return []
    reads = {limit: dependencies(calculation, limit) for limit in ailing}
    found: list[Remedy] = []
    for reading in judgement.readings:
        touched = tuple(limit for limit in ailing if reading.field in reads[limit])
        if touched and _can_change(calculation, reading):
            found.extend(_remedies_in(calculation, reading, touched, tuple(ailing)))
    whole = [r for r in found if r.whole]
    failing = {limit for limit in ailing if judgement.limit(limit) == FAIL}
    return whole or sorted(found, key=lambda r: not failing.intersection(r.cures))


def _can_change(calculation: Calculator, reading: Reading) -> bool:
    field = type(calculation).fields[reading.field]
    return isinstance(field, Quantity) and not field.fixed and isinstance(reading.value, Spread)


def _remedies_in(
    calculation: Calculator, reading: Reading, touched: tuple[str, ...], ailing: tuple[str, ...]
) -> list[Remedy]:
    field = type(calculation).fields[reading.field]
    assert isinstance(field, Quantity)
    ends = _span(field, reading.value)
    if ends is None:
        return []
    points = _points(*ends, log=field.unit != "°C" and ends[0] > 0)
    good = _good(calculation, reading, field, points)
    for wanted in [ailing, *((one,) for one in touched if len(ailing) > 1)]:
        if not set(wanted) <= set(touched):
            continue
        others = [limit for limit in type(calculation).limits if limit not in ailing]
        passes = _all(good, [*wanted, *others])
        intervals = _refined(calculation, reading, field, points, passes, [*wanted, *others])
        if intervals:
            return [
                Remedy(
                    reading.field, field.title, field.unit, tuple(intervals), wanted,
                    wanted == ailing, reading.owner,
                )
            ]  # fmt: skip
    return []


def _span(field: Quantity, value: Spread) -> tuple[float, float] | None:
    if field.span is not None:
        low, high = field.span
        return min(low, value.typ or low), max(high, value.typ)
    if field.unit == "°C":
        return value.typ - 100.0, value.typ + 100.0
    return (value.typ / 100, value.typ * 100) if value.typ > 0 else None


def _points(low: float, high: float, *, log: bool) -> NDArray[Any]:
    import numpy as np

    return np.geomspace(low, high, _POINTS) if log else np.linspace(low, high, _POINTS)


def _moved(field: Quantity, value: Spread, typ: float) -> Spread:
    return value.shifted(typ) if field.unit == "°C" else value.about(typ)


def _good(
    calculation: Calculator, reading: Reading, field: Quantity, points: NDArray[Any]
) -> Mapping[str, NDArray[Any]]:
    """For each limit and point: does it pass with the margin asked?"""
    import numpy as np

    spreads = tuple(_moved(field, reading.value, float(p)) for p in points)
    seen = calculation.under(View(corners=True, scan={reading.field: spreads}))
    passing = VERDICTS.index(PASS)
    return {
        name: np.broadcast_to((grid_of(limit, seen).verdict <= passing).all(axis=0), (len(points),))
        for name, limit in type(calculation).limits.items()
    }


def _all(good: Mapping[str, NDArray[Any]], limits: Sequence[str]) -> NDArray[Any]:
    import numpy as np

    found: NDArray[Any] = np.logical_and.reduce([good[limit] for limit in limits])
    return found


def _refined(
    calculation: Calculator, reading: Reading, field: Quantity, points: NDArray[Any],
    passes: NDArray[Any], limits: Sequence[str],
) -> list[tuple[float, float]]:  # fmt: skip
    """The intervals that pass, each end narrowed between its two neighbours."""
    intervals = []
    last = len(points) - 1
    index = 0
    while index <= last:
        if not passes[index]:
            index += 1
            continue
        first = index
        while index < last and passes[index + 1]:
            index += 1

        def edge(inside: int, outside: int) -> float:
            return _edge(
                calculation, reading, field, float(points[inside]), float(points[outside]), limits
            )

        low = -math.inf if first == 0 else edge(first, first - 1)
        high = math.inf if index == last else edge(index, index + 1)
        intervals.append(_safe(low, high))
        index += 1
    return [(low, high) for low, high in intervals if low <= high]


def _edge(
    calculation: Calculator, reading: Reading, field: Quantity, inside: float, outside: float,
    limits: Sequence[str],
) -> float:  # fmt: skip
    """The last value on the way from `inside` to `outside` that still passes."""
    import numpy as np

    for _ in range(_ROUNDS):
        points = np.linspace(inside, outside, 33)
        passes = _all(_good(calculation, reading, field, points), limits)
        fails = np.flatnonzero(~passes)
        stop = int(fails[0]) if len(fails) else len(points) - 1
        inside, outside = float(points[max(stop - 1, 0)]), float(points[stop])
    return inside


def _safe(low: float, high: float) -> tuple[float, float]:
    """Three digits, rounded into the interval."""

    def rounded(value: float, up: bool) -> float:
        if math.isinf(value) or value == 0:
            return value
        step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
        return (math.ceil if up else math.floor)(round(value / step, 6)) * step

    return rounded(low, True), rounded(high, False)
