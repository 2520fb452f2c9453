"""Values of a journal in words; a unit nobody knows is written as it is."""

from __future__ import annotations

from phases.kit.say import show
from phases.kit.units import UNITS


def value(number: float | None, unit: str) -> str:
    """A value in SI with its unit."""
    if number is None:
        return "–"
    said = show(number, unit) if unit in UNITS else f"{number:.3g} {unit}".strip()
    return said.replace("-", "−")
