"""What would cure a limit: the range of one input within which everything passes.

Scanned, because the region may be an interval or two, then refined at its edges; rounded to the
safe side. Counts and choices are tried one by one. What a person can change comes first: a part, a
value, another way; what the board is asked for comes last. That no value cures it is an answer too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.bounds import FAIL, MARGINAL, PASS, VERDICTS
from phases.kit.calculator import Calculator
from phases.kit.fields import BOARD, PART, PRACTICE, Choice, Count, Field, Quantity
from phases.kit.frame import CORNERS, TooMany, View
from phases.kit.grids import codes, grid_of
from phases.kit.inputs import Given
from phases.kit.judging import FORMULA_FAULTS, Judgement
from phases.kit.refusals import Refusal
from phases.kit.say import show
from phases.kit.spread import Spread
from phases.kit.units import UNITS

if TYPE_CHECKING:
    from numpy.typing import NDArray

_POINTS = 65
_ROUNDS = 3
_DRAWN = ("Ω", "F", "H", "mm")
"""Units of what is drawn: of values, not of what the board is asked for."""
_COUNTS = 6
"""How many counts to either side are tried."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """The range of one input that cures; intervals in SI, an open end is infinite.

    cures: the limits it cures, titles: what they are called. whole: everything then passes. owner:
    who gives that input where it is not this calculation's own. typical: the range is that of the
    typical value, about which the spread stays. options: of a count or a choice what cures it, as
    typed; it has no intervals. No interval: nothing within the range looked at cures it.
    """

    field: str
    title: str
    unit: str
    intervals: tuple[tuple[float, float], ...]
    cures: tuple[str, ...]
    whole: bool
    owner: str | None = None
    titles: tuple[str, ...] = ()
    typical: bool = False
    options: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        intervals = [_range_words(low, high, self.unit) for low, high in self.intervals]
        ranges = " or ".join([*intervals, *self.options])
        middle = ", typical" if self.typical else ""
        whose = f" ({self.owner})" if self.owner else ""
        some = ", ".join(self.titles)
        verb = "passes" if len(self.titles) < 2 else "pass"
        so = "Passes" if self.whole else f"{some} {verb}"
        return f"{so} with {self.title} {ranges}{middle}{whose}"


def _range_words(low: float, high: float, unit: str) -> str:
    if math.isinf(low) and math.isinf(high):
        return "of any value"
    if math.isinf(low):
        return f"{show(high, unit)} or less"
    if math.isinf(high):
        return f"{show(low, unit)} or more"
    return f"{show(low, unit)} to {show(high, unit)}"


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
    limits = type(calculation).limits
    ailing = tuple(name for name in limits if judgement.limit(name) in (FAIL, MARGINAL))
    if not ailing:
        return []
    reads = {limit: set(dependencies(calculation, limit)) for limit in ailing}
    found: list[Remedy] = []
    for search in _searches(judgement):
        touched = tuple(limit for limit in ailing if reads[limit].intersection(search.together))
        if touched:
            found.extend(_remedies_in(search, touched, ailing))
    found.extend(_other_ways(judgement, ailing))
    found.sort(key=lambda remedy: _rank(judgement, remedy.field))
    whole = [r for r in found if r.whole]
    failing = {limit for limit in ailing if judgement.limit(limit) == FAIL}
    return whole or sorted(found, key=lambda r: not failing.intersection(r.cures))


def _rank(judgement: Judgement, name: str) -> tuple[int, int]:
    """A part, a value or another way, then common practice, then what the board is asked for."""
    fields = type(judgement.calculation).fields
    field = fields[name]
    order = list(fields).index(name)
    if field.of == PART or not isinstance(field, Quantity) or field.unit in _DRAWN:
        return 0, order
    if field.of == PRACTICE:
        return 1, order
    return (3 if field.ledger else 2), order


def _other_ways(judgement: Judgement, ailing: tuple[str, ...]) -> Iterator[Remedy]:
    """Counts and choices of the board, tried one by one."""
    calculation = judgement.calculation
    limits = type(calculation).limits
    seen = calculation.under(CORNERS)
    reads: dict[str, frozenset[str]] = {}
    for key in ailing:
        grid_of(limits[key], seen)
        reads[key] = seen._frame.inputs_of(limits[key].name)
    for name, field in type(calculation).fields.items():
        touched = tuple(key for key in ailing if name in reads[key])
        tried = _tried(field, calculation.inputs.reading(name).value) if touched else ()
        good = {text: _good(calculation, name, text) for text in tried}
        for wanted in [ailing, *((one,) for one in touched if len(ailing) > 1)]:
            others = {key for key in limits if key not in ailing}
            cured = [text for text in tried if good[text] >= {*wanted, *others}]
            if cured and set(wanted) <= set(touched):
                yield Remedy(
                    name,
                    field.title,
                    "1",
                    (),
                    wanted,
                    wanted == ailing,
                    titles=tuple(limits[key].title for key in wanted),
                    options=_nearest(field, cured, calculation.inputs.reading(name).value),
                )
                break


def _tried(field: Field, now: Any) -> tuple[str, ...]:
    if isinstance(field, Choice) and field.way:
        return tuple(option for option in field.options if option != now)
    if isinstance(field, Count) and field.of == BOARD and field.ledger is None:
        near = range(int(now) - _COUNTS, int(now) + _COUNTS + 1)
        most = field.most if field.most is not None else near[-1]
        return tuple(f"{n}" for n in near if field.least <= n <= most and n != now)
    return ()


def _nearest(field: Field, cured: Sequence[str], now: Any) -> tuple[str, ...]:
    """Of counts that cure the next one to either side; of choices all of them."""
    if not isinstance(field, Count):
        return tuple(cured)
    counts = [int(text) for text in cured]
    ends = (
        max((n for n in counts if n < now), default=None),
        min((n for n in counts if n > now), default=None),
    )
    return tuple(f"{end}" for end in ends if end is not None)


def _good(calculation: Calculator, name: str, text: str) -> set[str]:
    """The limits that pass with another option of one input."""
    tried = calculation.with_given({name: Given(text)})
    try:
        found = codes(tried, CORNERS)[:, 0]
    except (Refusal, *FORMULA_FAULTS):
        return set()
    most = VERDICTS.index(PASS)
    return {key for key, code in zip(type(calculation).limits, found, strict=True) if code <= most}


@dataclass(frozen=True, slots=True)
class _Search:
    """One input moved while everything else stays; with it what the same ledger name feeds."""

    calculation: Calculator
    field: Quantity
    value: Spread
    owner: str | None
    together: tuple[str, ...]

    def moved(self, typ: float) -> Spread:
        return self.value.shifted(typ) if self.field.unit == "°C" else self.value.about(typ)

    def good(self, points: Sequence[float] | NDArray[Any]) -> Mapping[str, NDArray[Any]]:
        """For each limit and point: does it pass with the margin asked?"""
        import numpy as np

        spreads = tuple(self.moved(float(p)) for p in points)
        view = View(corners=True, scan=dict.fromkeys(self.together, spreads))
        seen = self.calculation.under(view)
        most = VERDICTS.index(PASS)
        return {
            name: np.broadcast_to((grid_of(limit, seen).verdict <= most).all(axis=0), len(spreads))
            for name, limit in type(self.calculation).limits.items()
        }

    def passes(self, points: Sequence[float] | NDArray[Any], limits: Sequence[str]) -> NDArray[Any]:
        return _all(self.good(points), limits)


def _searches(judgement: Judgement) -> Iterator[_Search]:
    calculation = judgement.calculation
    seen: set[str] = set()
    for reading in judgement.readings:
        field = type(calculation).fields[reading.field]
        if not isinstance(field, Quantity) or field.fixed or reading.field in seen:
            continue
        if isinstance(reading.value, Spread):
            together = calculation.inputs.fed_together(reading.field)
            seen.update(together)
            yield _Search(calculation, field, reading.value, reading.owner, together)


def _remedies_in(
    search: _Search, touched: tuple[str, ...], ailing: tuple[str, ...]
) -> list[Remedy]:
    field = search.field
    ends = _span(field, search.value)
    if ends is None:
        return []
    points = _points(*ends, log=field.unit != "°C" and ends[0] > 0)
    try:
        good = search.good(points)
    except TooMany:
        return []
    others = [limit for limit in type(search.calculation).limits if limit not in ailing]
    for wanted in [ailing, *((one,) for one in touched if len(ailing) > 1)]:
        if not set(wanted) <= set(touched):
            continue
        limits = [*wanted, *others]
        intervals = _refined(search, points, _all(good, limits), limits)
        if intervals:
            return [
                Remedy(
                    field.name,
                    field.title,
                    field.unit,
                    tuple(intervals),
                    wanted,
                    wanted == ailing,
                    search.owner,
                    tuple(type(search.calculation).limits[key].title for key in wanted),
                    typical=not search.value.is_exact,
                )
            ]
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


def _all(good: Mapping[str, NDArray[Any]], limits: Sequence[str]) -> NDArray[Any]:
    import numpy as np

    found: NDArray[Any] = np.logical_and.reduce([good[limit] for limit in limits])
    return found


def _refined(
    search: _Search, points: NDArray[Any], passes: NDArray[Any], limits: Sequence[str]
) -> list[tuple[float, float]]:
    """The intervals that pass, each end narrowed between its two neighbours, then rounded."""
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
        low, high = -math.inf, math.inf
        if first > 0:
            low = _edge(search, float(points[first]), float(points[first - 1]), limits)
        if index < last:
            high = _edge(search, float(points[index]), float(points[index + 1]), limits)
        intervals.append(_rounded(search, low, high, limits))
        index += 1
    return [interval for interval in intervals if interval is not None]


def _edge(search: _Search, inside: float, outside: float, limits: Sequence[str]) -> float:
    """The last value on the way from `inside` to `outside` that still passes."""
    import numpy as np

    for _ in range(_ROUNDS):
        points = np.linspace(inside, outside, 33)
        fails = np.flatnonzero(~search.passes(points, limits))
        stop = int(fails[0]) if len(fails) else len(points) - 1
        inside, outside = float(points[max(stop - 1, 0)]), float(points[stop])
    return inside


def _rounded(
    search: _Search, low: float, high: float, limits: Sequence[str]
) -> tuple[float, float] | None:
    """Three digits in the field's unit: the nearest where it passes, else the next one inward.

    None where no such value passes: nobody could set it.
    """
    factor = UNITS[search.field.unit].factor
    lows, highs = _three_digits(low / factor, math.ceil), _three_digits(high / factor, math.floor)
    tried = [value * factor for value in (*lows, *highs) if math.isfinite(value)]
    passes = dict(zip(tried, search.passes(tried, limits), strict=True)) if tried else {}
    low, high = (
        next((end for end in (v * factor for v in ends) if passes.get(end, True)), math.nan)
        for ends in (lows, highs)
    )
    return (low, high) if low <= high else None


def _three_digits(value: float, inward: Callable[[float], int]) -> tuple[float, float]:
    """`value` rounded to three digits, and rounded towards the side that is `inward`."""
    if math.isinf(value) or value == 0:
        return value, value
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    places = round(value / step, 6)
    return float(f"{round(places) * step:.3g}"), float(f"{inward(places) * step:.3g}")
