"""Shares and values of a journal in words; a unit nobody knows is written as it is."""

from __future__ import annotations

from phases.kit.say import show
from phases.kit.units import UNITS


def per_cent(share: float | None) -> str:
    """A share in per cent, with one decimal where it is thin; a dash where there is none."""
    if share is None:
        return "–"
    if abs(share) > 99.99:
        return "over 9999 %" if share > 0 else "below −9999 %"
    digits = 1 if 0 < abs(share) < 0.0995 else 0
    return f"{share * 100:.{digits}f} %".replace("-", "−")


def value(number: float | None, unit: str) -> str:
    """A value in SI with its unit."""
    if number is None:
        return "–"
    said = show(number, unit) if unit in UNITS else f"{number:.3g} {unit}".strip()
    return said.replace("-", "−")
