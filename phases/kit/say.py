"""Values in words: engineering notation, with the prefix a person would use."""

from __future__ import annotations

import math

from phases.kit.spread import Spread
from phases.kit.units import PREFIXES, UNITS, Unit


def _digits(value: float, digits: int) -> str:
    """`value` to so many significant digits, without exponent and without idle zeros."""
    if value == 0:
        return "0"
    whole = math.floor(math.log10(abs(value))) + 1
    text = f"{value:.{max(digits - whole, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _prefix(value: float, unit: Unit, digits: int) -> tuple[float, str]:
    """The scale and prefix under which `value` (SI) reads as 1 to 999."""
    size = float(f"{abs(value):.{digits - 1}e}")
    chosen = unit.ladder[0]
    for prefix in unit.ladder:
        if size >= PREFIXES.get(prefix, 1.0) * (1 - 1e-12):
            chosen = prefix
    return PREFIXES.get(chosen, 1.0), chosen


def _base(unit: Unit) -> str:
    return unit.si if unit.si != "1" else ""


def show(value: float, symbol: str, digits: int = 3) -> str:
    """`value` (SI) in a field declared in `symbol`: 0.0047 A -> "4.7 mA", 0.05 in % -> "5 %"."""
    unit = UNITS[symbol]
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if symbol == "1":
        return _plain(value, digits)
    if unit.ladder == ("",):
        places = digits + 1 if symbol in ("°C", "K") and abs(value) >= 1000 else digits
        return f"{_digits(value / unit.factor, places)} {symbol}"
    if unit.si == "m" and value != 0 and 1e-4 <= abs(value) < 1:
        return f"{_digits(value * 1e3, digits)} mm"
    if value == 0:
        return f"0 {symbol if unit.si == symbol else _base(unit)}"
    scale, prefix = _prefix(value, unit, digits)
    return f"{_digits(value / scale, digits)} {prefix}{_base(unit)}"


def _plain(value: float, digits: int) -> str:
    if value != 0 and not 1e-4 <= abs(value) < 1e7:
        return f"{value:.{digits - 1}e}"
    return _digits(value, max(digits, 1))


def show_spread(spread: Spread, symbol: str, digits: int = 3) -> str:
    """A spread in the notation that `read_quantity` reads back."""
    if spread.is_exact:
        return show(spread.typ, symbol, digits)
    middle = (spread.low + spread.high) / 2
    low, typ, high = (show(v, symbol, digits) for v in (spread.low, spread.typ, spread.high))
    if not math.isclose(spread.typ, middle, rel_tol=1e-9, abs_tol=1e-30):
        return f"{low} / {typ} / {high}"
    reach = _tidy_reach(spread) if not UNITS[symbol].signed else None
    return f"{typ} ± {reach:g} %" if reach else f"{low} .. {high}"


def _tidy_reach(spread: Spread) -> float | None:
    """The tolerance in per cent where it is one that a person would have written."""
    if spread.typ == 0:
        return None
    reach = (spread.high - spread.typ) / abs(spread.typ) * 100
    tidy = float(f"{reach:.2g}")
    return tidy if math.isclose(reach, tidy, rel_tol=1e-9) and tidy <= 50 else None


def exactly(spread: Spread, symbol: str) -> str:
    """A spread written so that reading it back gives the same floats to ten digits."""
    return show_spread(spread, symbol, 10)
