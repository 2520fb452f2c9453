"""What a reading should be: a window with its unit, or words; and what was typed, read against it.

The ends of a window are rounded when it is made, away from the middle, so that what is shown is
what readings are held against. Numbers are SI, temperatures °C.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.say import show
from phases.kit.units import UNITS

_SHOWN = 7
"""Digits of an end: as many as any is rounded to."""

_BARE = re.compile(r"[+\-−]?(?=[.]?[0-9½¼¾])[0-9.½¼¾\s+\-−±/…%]*")
_POWER_OF_TEN = re.compile(r"[+\-−]?[0-9.]+[eE][+\-]?[0-9]{1,2}")
_PREFIXED = re.compile(r"[+\-−]?[0-9]*[.]?[0-9]+ ?[pnµumkMG]")
_FIRST = re.compile(r"[+\-−]?[0-9.]+")


@dataclass(frozen=True, slots=True)
class Expected:
    low: float | None = None
    """None where there is no such end."""
    typ: float | None = None
    high: float | None = None
    unit: str = ""
    """Empty where the answer is words."""
    words: str = ""

    @classmethod
    def within(
        cls, low: float | None, typ: float | None, high: float | None, unit: str, digits: int = 3
    ) -> Expected:
        """Each figure to so many digits, the ends away from the middle."""
        return cls(
            _rounded(low, digits, ROUND_FLOOR),
            _rounded(typ, digits, ROUND_HALF_EVEN),
            _rounded(high, digits, ROUND_CEILING),
            unit,
        )

    @classmethod
    def up_to(
        cls, bound: float | None, typ: float | None, unit: str, *, above: bool = False
    ) -> Expected:
        """One end beyond which nothing is sure (above: its low one), rounded to the safe side."""
        typ = _rounded(typ, 3, ROUND_HALF_EVEN)
        if above:
            return cls(_rounded(bound, 3, ROUND_CEILING), typ, None, unit)
        return cls(None, typ, _rounded(bound, 3, ROUND_FLOOR), unit)

    # ---- in words ------------------------------------------------------------------------------

    @property
    def window(self) -> str:
        """ "3.2 .. 3.4 V", "at most 30.3 mV"; empty where there is none."""
        low, high = in_words(self.low, self.unit), in_words(self.high, self.unit)
        if low and high:
            alike = low.partition(" ")[2] == high.partition(" ")[2]
            return f"{low.partition(' ')[0] if alike else low} .. {high}"
        if low or high:
            return f"at least {low}" if low else f"at most {high}"
        return f"about {in_words(self.typ, self.unit)}" if self.typ is not None else ""

    @property
    def in_words(self) -> str:
        """The window, or words, or both."""
        return "; ".join(filter(None, (self.window, self.words))) or "write down what it is"

    @property
    def typical(self) -> str:
        """The typical value where it says more than the window does."""
        return in_words(self.typ, self.unit) if self.judged else ""

    # ---- a reading -----------------------------------------------------------------------------

    @property
    def judged(self) -> bool:
        """Whether a reading can be inside or outside."""
        return self.low is not None or self.high is not None

    def holds(self, value: float | None) -> bool:
        low, high = self.low, self.high
        return (
            value is not None and (low is None or value >= low) and (high is None or value <= high)
        )

    def with_unit(self, text: str) -> str:
        """What was typed, with the unit it is read in where it has none; else as it is.

        At 134 .. 600 mA nobody means 190 A by "190": the prefix is one that is shown, or none, and
        that with which the number is inside. A power of ten is of the bare unit.
        """
        text, unit = text.strip(), self.unit
        if unit not in UNITS or "%" in (text, unit):
            return text
        if _POWER_OF_TEN.fullmatch(text):
            return _joined(text, unit)
        if len(UNITS[unit].ladder) > 1 and _PREFIXED.fullmatch(text):
            return f"{text}{unit}"
        if not _BARE.fullmatch(text):
            return text
        ends = (in_words(end, unit) for end in (self.high, self.low, self.typ))
        shown = [end.rpartition(" ")[2].removesuffix(unit) for end in ends if end]

        def fits(prefix: str) -> tuple[bool, bool, float]:
            value = self._value(_joined(text, f"{prefix}{unit}"))
            return not self.holds(value), prefix not in shown, self._away(value)

        return _joined(text, f"{min(dict.fromkeys((*shown, '')), key=fits)}{unit}")

    def doubt(self, text: str) -> str:
        """Where a bare number below one is inside as it was read and outside in the bare unit:
        0.35 at most 300 mV. Empty where there is no doubt."""
        read, plain = self.with_unit(text), _joined(text.strip(), self.unit)
        if read in (text.strip(), plain) or not self.judged or not self.holds(self._value(read)):
            return ""
        value = self._value(plain)
        if value is None or abs(value) >= 1 or self.holds(value):
            return ""
        return f"If {in_words(value, self.unit)} was meant, write its unit."

    def _value(self, text: str) -> float | None:
        try:
            return read_quantity(text, self.unit, least=-UNITS[self.unit].greatest).typ
        except Refusal:
            return None

    def _away(self, value: float | None) -> float:
        """How many times a value is beside what is expected, as a logarithm."""
        ends = [abs(end) for end in (self.low, self.typ, self.high) if end]
        if not value:
            return 0.0
        return min((abs(math.log(abs(value) / end)) for end in ends), default=0.0)


def in_words(value: float | None, unit: str, digits: int = _SHOWN) -> str:
    """ "4.7 mA"; empty for None."""
    if value is None:
        return ""
    return show(value, unit, digits) if unit in UNITS else f"{value:g} {unit}".strip()


def _rounded(value: float | None, digits: int, way: str) -> float | None:
    if not value or not math.isfinite(value):
        return value
    # Past twelve digits is the noise of the arithmetic, which must not round a step further.
    exact = Decimal(f"{value:.12g}")
    step = Decimal(1).scaleb(exact.adjusted() - digits + 1)
    return float((exact / step).to_integral_value(way) * step)


def _joined(text: str, unit: str) -> str:
    """The unit behind a number, before its tolerance where that is a share."""
    first = _FIRST.match(text) if "%" in text else None
    return f"{first[0]} {unit}{text[first.end() :]}" if first else f"{text} {unit}"
