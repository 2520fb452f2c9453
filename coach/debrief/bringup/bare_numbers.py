"""A number typed without its unit, read as the step shows what it expects.

At a step that expects 134 .. 600 mA nobody means 190 A by "190".
"""

from __future__ import annotations

import math
import re

from coach.debrief.bringup.figures import value_words, window_words
from coach.debrief.bringup.sheet import Expected
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.units import PREFIXES, UNITS

_BARE = re.compile(r"[+\-−]?(?=[.]?[0-9½¼¾])[0-9.½¼¾\s+\-−±/…%]*")
_POWER_OF_TEN = re.compile(r"[+\-−]?[0-9.]+[eE][+\-]?[0-9]{1,2}")
_PREFIXED = re.compile(r"[+\-−]?[0-9]*[.]?[0-9]+ ?[pnµumkMG]")
_FIRST = re.compile(r"[+\-−]?[0-9.]+")


def with_unit(text: str, expected: Expected) -> str:
    """What was typed, with the unit it is read in where it has none; else as it is.

    The prefix is the one the step shows. Where the number lies inside the window with one prefix
    alone, of those shown and the bare unit, it is that one. A power of ten is of the bare unit.
    """
    text, unit = text.strip(), expected.unit
    if unit not in UNITS or "%" in (text, unit):
        return text
    if _POWER_OF_TEN.fullmatch(text):
        return _joined(text, unit)
    if len(UNITS[unit].ladder) > 1 and _PREFIXED.fullmatch(text):
        return f"{text}{unit}"
    if not _BARE.fullmatch(text):
        return text
    return _joined(text, f"{_prefix(text, expected)}{unit}")


def other_way(text: str, expected: Expected) -> str:
    """A doubt, where a bare number below one is inside as it was read and outside in the bare
    unit: 0.35 at most 300 mV. Empty where there is none."""
    read = with_unit(text, expected)
    if read == text.strip() or not expected.judged or _POWER_OF_TEN.fullmatch(text.strip()):
        return ""
    plain = _joined(text.strip(), expected.unit)
    first, second = _value(read, expected.unit), _value(plain, expected.unit)
    written = _FIRST.match(text.strip())
    if first is None or second is None or written is None or read == plain:
        return ""
    if abs(second) < 1 and _inside(first, expected) and not _inside(second, expected):
        return f"If {value_words(second, expected.unit)} was meant, write its unit."
    return ""


def _joined(text: str, unit: str) -> str:
    """The unit behind a number, before its tolerance where that is a share."""
    first = _FIRST.match(text) if "%" in text else None
    if first is None:
        return f"{text} {unit}"
    return f"{first[0]} {unit}{text[first.end() :]}"


def _prefix(text: str, expected: Expected) -> str:
    unit = expected.unit
    shown = _shown(expected)
    found = {}
    for prefix in dict.fromkeys((*shown, "")):
        value = _value(_joined(text, f"{prefix}{unit}"), unit)
        if value is not None:
            found[prefix] = value
    inside = [prefix for prefix, value in found.items() if _inside(value, expected)]
    if expected.judged and len(inside) == 1:
        return inside[0]
    among = [p for p in (inside or shown) if p in shown and p in found] or shown
    return min(among, key=lambda prefix: _away(found.get(prefix, 0.0), expected))


def _shown(expected: Expected) -> list[str]:
    """The prefixes with which a step shows what it expects, that of the upper end first."""
    unit = expected.unit
    if len(UNITS[unit].ladder) == 1:
        return [""]
    letters = "".join(PREFIXES)
    found = re.findall(rf"[0-9] ([{letters}]?){re.escape(unit)}(?!\w)", window_words(expected))
    return list(dict.fromkeys(reversed(found))) or [""]


def _value(text: str, unit: str) -> float | None:
    try:
        return read_quantity(text, unit, least=-UNITS[unit].greatest).typ
    except Refusal:
        return None


def _inside(value: float, expected: Expected) -> bool:
    low, high = expected.low, expected.high
    return (low is None or value >= low) and (high is None or value <= high)


def _away(value: float, expected: Expected) -> float:
    """How many times a value lies beside what is expected, as a logarithm."""
    ends = [abs(end) for end in (expected.low, expected.typ, expected.high) if end]
    if not value or not ends:
        return 0.0
    return min(abs(math.log(abs(value) / end)) for end in ends)
