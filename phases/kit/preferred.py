"""Preferred values: IEC 60063:2015, tables 1 and 2 (E3 to E24, E48 to E192).

E24 and coarser are a table of their own, not a rounded geometric series; E192 has 9.20
where the formula gives 9.19.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from functools import lru_cache

_E24 = tuple(
    int(two)
    for two in "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91".split()
)

SERIES = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")


@lru_cache
def mantissas(series: str) -> tuple[float, ...]:
    """The values of one decade, from 1.0 up to below 10."""
    count = int(series[1:])
    if count <= 24:
        return tuple(value / 10 for value in _E24[:: 24 // count])
    values = [round(100 * 10 ** (n / count)) for n in range(count)]
    if count == 192:
        values[185] = 920
    return tuple(value / 100 for value in values)


def decade(series: str, low: float, high: float) -> list[float]:
    """Every preferred value from `low` to `high`, ends included, ascending."""
    if not (0 < low <= high < math.inf):
        return []
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    values = (
        float(f"{mantissa}e{exponent}")
        for exponent in range(first, last + 1)
        for mantissa in mantissas(series)
    )
    return [v for v in values if low * (1 - 1e-9) <= v <= high * (1 + 1e-9)]


def at_or_above(series: str, value: float) -> float:
    """The least preferred value not below `value` (one that equals it to nine digits counts).

    NaN where `value` is no positive number: such a candidate is then passed over.
    """
    return next(iter(decade(series, value, value * 11)), math.nan)


def nearest(series: str, value: float) -> float:
    """The preferred value nearest by ratio: the series is geometric, so ohms would mislead.

    NaN where `value` is no positive number.
    """
    near = decade(series, value / 11, value * 11)
    return min(near, key=lambda v: abs(math.log(v / value)), default=math.nan)


def around(series: str, value: float, steps: int) -> list[float]:
    """The preferred value at or above `value`, with `steps` neighbours on each side, ascending."""
    if not (0 < value < math.inf):
        return []
    values = mantissas(series)

    def at(place: int) -> float:
        """The value at a place of the endless ladder of decades, in which 1.0 has place 0."""
        exponent, step = divmod(place, len(values))
        return float(f"{values[step]}e{exponent}")

    below = (math.floor(math.log10(value)) - 1) * len(values)
    ladder = range(below, below + 3 * len(values))
    place = below + bisect_left(ladder, value * (1 - 1e-9), key=at)
    return [at(near) for near in range(place - steps, place + steps + 1)]
