"""Figures of an account in words. None of them fails on a figure that a forged journal brought."""

from __future__ import annotations

import math

from coach.sprint.durations import duration, elapsed

MOST = 1000 * 3600.0
"""Seconds up to which a time is written out; no sprint comes near."""


def sane(seconds: float | None) -> bool:
    """Whether a time can be written and drawn."""
    return seconds is not None and math.isfinite(seconds) and abs(seconds) < MOST


def clock(seconds: float | None) -> str:
    """Elapsed time as h:mm; a dash where there is none."""
    if seconds is None:
        return "–"
    return elapsed(seconds) if sane(seconds) else "no time"


def span(seconds: float | None) -> str:
    """A span of time to the minute."""
    if seconds is None:
        return "–"
    return duration(seconds) if sane(seconds) else "no time"


def minutes(value: float | None) -> str:
    """Minutes as a journal keeps them."""
    return "–" if value is None else span(value * 60.0)


def against(seconds: float) -> str:
    """How far from the plan: "+14 min", "−3 min", "as planned" within half a minute."""
    if not sane(seconds):
        return "no time"
    if abs(seconds) < 30:
        return "as planned"
    return f"{'+' if seconds > 0 else '−'}{duration(max(abs(seconds), 60.0))}"


def per_cent(share: float | None) -> str:
    """A share in per cent, with one decimal where it is thin."""
    if share is None or not math.isfinite(share):
        return "–"
    if abs(share) > 99.99:
        return "over 9999 %" if share > 0 else "below −9999 %"
    digits = 1 if 0 < abs(share) < 0.0995 else 0
    return f"{share * 100:.{digits}f} %".replace("-", "−")


def value(number: float | None, unit: str) -> str:
    """A value in SI with its unit; a unit nobody knows is written as it stands."""
    from phases.kit.say import show
    from phases.kit.units import UNITS

    if number is None:
        return "–"
    if unit in UNITS:
        return show(number, unit).replace("-", "−")
    return f"{number:.3g} {unit}".replace("-", "−").strip()


def chance(of_one: float) -> str:
    """A chance as a person would say it, never a certainty."""
    if not math.isfinite(of_one):
        return "not known"
    if of_one < 0.05:
        return "under 1 in 20"
    if of_one >= 0.95:
        return "over 19 in 20"
    return f"{min(max(round(of_one * 10), 1), 9)} in 10"
