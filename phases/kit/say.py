"""Values in words: engineering notation, with the prefix a person would use."""

from __future__ import annotations

import math

from phases.kit.spread import Spread
from phases.kit.units import PREFIXES, UNITS, Unit

_MOST_DIGITS = 10


def _digits(value: float, digits: int) -> str:
    """`value` to so many significant digits, without exponent and without idle zeros."""
    if value == 0:
        return "0"
    whole = math.floor(math.log10(abs(value))) + 1
    return _without_idle_zeros(f"{value:.{max(digits - whole, 0)}f}")


def _without_idle_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _rounded(value: float, digits: int) -> float:
    return float(f"{value:.{digits - 1}e}")


def _written(value: float, digits: int) -> str:
    """`value` with so many digits; with an exponent where that would take a row of zeros."""
    if value != 0 and not 1e-4 <= abs(value) < 1e7:
        mantissa, exponent = f"{value:.{digits - 1}e}".split("e")
        return f"{_without_idle_zeros(mantissa)}e{exponent}"
    return _digits(value, digits)


def _prefix(value: float, unit: Unit, digits: int) -> tuple[float, str]:
    """The scale and prefix under which `value` (SI) reads as 1 to 999."""
    size = abs(_rounded(value, digits))
    chosen = unit.ladder[0]
    for prefix in unit.ladder:
        if size >= PREFIXES.get(prefix, 1.0) * (1 - 1e-12):
            chosen = prefix
    return PREFIXES.get(chosen, 1.0), chosen


def show(value: float, symbol: str, digits: int = 3) -> str:
    """`value` (SI) in a field declared in `symbol`: 0.0047 A -> "4.7 mA", 0.05 in % -> "5 %"."""
    unit = UNITS[symbol]
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if symbol == "1":
        return _written(value, digits)
    if unit.ladder == ("",) or value == 0:
        return f"{_written(value / unit.factor, digits)} {symbol}"
    if unit.si == "m" and abs(value) >= 1e-4 and abs(_rounded(value, digits)) < 1:
        return f"{_digits(value * 1e3, digits)} mm"
    scale, prefix = _prefix(value, unit, digits)
    shown = _written(value / scale, digits)
    return f"{_written(value, digits)} {unit.si}" if "e" in shown else f"{shown} {prefix}{unit.si}"


def show_difference(value: float, symbol: str) -> str:
    """A difference of two values as `show` writes them: of temperatures it is in K."""
    return show(value, "K" if symbol == "°C" else symbol)


def show_spread(spread: Spread, symbol: str, digits: int = 3) -> str:
    """A spread in the notation that `read_quantity` reads back.

    With more digits than asked where its ends would else look the same.
    """
    if spread.is_exact:
        return show(spread.typ, symbol, digits)
    middle = (spread.low + spread.high) / 2
    even = math.isclose(spread.typ, middle, rel_tol=1e-10, abs_tol=1e-30)
    # A per cent of a temperature means nothing, one of a per cent could mean two things.
    reach = _tidy_reach(spread) if even and not (UNITS[symbol].signed or symbol == "%") else None
    if reach:
        return f"{show(spread.typ, symbol, digits)} ± {reach:g} %"
    while digits < _MOST_DIGITS and show(spread.low, symbol, digits) == show(
        spread.high, symbol, digits
    ):
        digits += 1
    low, typ, high = (show(v, symbol, digits) for v in (spread.low, spread.typ, spread.high))
    return f"{low} .. {high}" if even else f"{low} / {typ} / {high}"


def _tidy_reach(spread: Spread) -> float | None:
    """The tolerance in per cent where it is one that a person would have written."""
    if spread.typ == 0:
        return None
    reach = (spread.high - spread.typ) / abs(spread.typ) * 100
    tidy = float(f"{reach:.2g}")
    return tidy if math.isclose(reach, tidy, rel_tol=1e-9) and tidy <= 50 else None


def exactly(spread: Spread, symbol: str) -> str:
    """A spread written so that reading it back gives the same floats to ten digits."""
    return show_spread(spread, symbol, _MOST_DIGITS)
