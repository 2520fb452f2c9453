"""Round numbers for the ticks of an axis."""

from __future__ import annotations

import math


def round_ticks(low: float, high: float, most: int, *, log: bool = False) -> tuple[float, ...]:
    """At most `most` ticks at 1, 2 or 5 times a power of ten; at decades where the axis is log."""
    return _decades(low, high, most) if log else _steps(low, high, most)


def _steps(low: float, high: float, most: int) -> tuple[float, ...]:
    if not high > low or most < 2:
        return (low,)
    power = math.floor(math.log10((high - low) / most))
    for step in (m * 10.0**p for p in (power, power + 1) for m in (1, 2, 5)):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first + 1 <= most:
            return tuple(n * step for n in range(first, last + 1)) or (low,)
    return (low,)


def _decades(low: float, high: float, most: int) -> tuple[float, ...]:
    first, last = math.ceil(math.log10(low) - 1e-9), math.floor(math.log10(high) + 1e-9)
    every = max(math.ceil((last - first + 1) / max(most, 1)), 1)
    return tuple(10.0**n for n in range(first, last + 1, every)) or (low,)
