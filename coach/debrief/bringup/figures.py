"""Windows and readings in words, with one unit and as many decimals at both ends."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from coach.debrief.bringup.sheet import Expected
from phases.kit.say import show
from phases.kit.units import PREFIXES, UNITS

_MOST = 1e15

Ends = tuple[float | None, float | None]


def outward(low: float | None, high: float | None, digits: int = 3) -> Ends:
    """Both ends to so many digits of the greater one, away from the middle: as they are shown."""
    ends = low, high
    for _ in range(4):  # an end that passes a decade takes the other one to fewer decimals
        before, ends = ends, _rounded(ends[0], ends[1], digits)
        if ends == before:
            break
    return ends


def _rounded(low: float | None, high: float | None, digits: int) -> Ends:
    size = max((abs(end) for end in (low, high) if end is not None), default=0.0)
    if size == 0 or not math.isfinite(size):
        return low, high
    apart = low is not None and high is not None and not _near(low, high)
    first, second = (abs(low or size), abs(high or size)) if apart else (size, size)
    return (
        None if low is None else _to(low, _step(first, digits), ROUND_FLOOR),
        None if high is None else _to(high, _step(second, digits), ROUND_CEILING),
    )


def _near(low: float, high: float) -> bool:
    """Whether both ends are written with the same prefix and decimals."""
    return low <= 0 or high <= 10 * low


def _step(size: float, digits: int) -> Decimal:
    return Decimal(1).scaleb(Decimal(_written(size)).adjusted() - digits + 1)


def _to(value: float, step: Decimal, way: str) -> float:
    return float((Decimal(_written(value)) / step).to_integral_value(way) * step)


def _written(value: float) -> str:
    # Past twelve digits stands the noise of the arithmetic, which must not round a step further.
    return f"{value:.12g}"


def expected_words(expected: Expected) -> str:
    """ "3.20 .. 3.40 V", "at most 30.3 mV", or its words; both where there are both."""
    window = window_words(expected)
    if not window:
        return expected.words or "write down what it is"
    return f"{window}; {expected.words}" if expected.words else window


def window_words(expected: Expected) -> str:
    """The window alone, without its typical value; empty where there is none."""
    low, high, unit, digits = expected.low, expected.high, expected.unit, expected.digits
    if low is not None and high is not None:
        if not _near(low, high):
            return f"{value_words(low, unit, digits)} .. {value_words(high, unit, digits)}"
        first, second = _alike((low, high), unit, digits)
        return f"{first} .. {second}"
    if high is not None:
        return f"at most {_alike((high,), unit, digits)[0]}"
    if low is not None:
        return f"at least {_alike((low,), unit, digits)[0]}"
    return f"about {_alike((expected.typ,), unit, digits)[0]}" if expected.typ is not None else ""


def typical_words(expected: Expected) -> str:
    """The typical value where it says more than the window does."""
    if expected.typ is None or not expected.judged:
        return ""
    return show(expected.typ, expected.unit, max(expected.digits, 3))


def value_words(value: float, unit: str, digits: int = 4) -> str:
    return show(value, unit, digits) if unit in UNITS else f"{value:g} {unit}".strip()


def _alike(values: tuple[float, ...], unit: str, digits: int) -> tuple[str, ...]:
    """Values with the prefix and the decimals of the greatest, the unit behind the last."""
    size = max(abs(value) for value in values)
    if unit not in UNITS or not 1e-13 < size < _MOST:
        return tuple(value_words(value, unit) for value in values)
    known = UNITS[unit]
    scale, prefix = 1.0, ""
    for letter in known.ladder if len(known.ladder) > 1 else ():
        if size >= PREFIXES.get(letter, 1.0) * (1 - 1e-12):
            scale, prefix = PREFIXES.get(letter, 1.0), letter
    decimals = max(digits - 1 - math.floor(math.log10(size / scale) + 1e-9), 0)
    written = [f"{value / scale:.{decimals}f}" for value in values]
    if decimals > 2:
        written = _without_common_zeros(written, decimals - 2)
    written = ["0" if float(text) == 0 else text for text in written]
    return (*written[:-1], f"{written[-1]} {prefix}{known.si}")


def _without_common_zeros(written: list[str], most: int) -> list[str]:
    for _ in range(most):
        if not all(text.endswith("0") for text in written):
            break
        written = [text[:-1] for text in written]
    return written
