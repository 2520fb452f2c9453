"""Times of a sprint in words: how long, how long since the start, how far from the plan.

Everything is said to the nearest minute, an instant like a length. A length between two instants
that a reader sees beside it is `between` them: the difference of the two as they are shown.
"""

from __future__ import annotations


def elapsed(seconds: float | None) -> str:
    """Time since the start as hours and minutes: 4980 s is 1:23; a dash where there is none."""
    if seconds is None:
        return "–"
    hours, minutes = divmod(minutes_of(max(seconds, 0.0)), 60)
    return f"{hours}:{minutes:02d}"


def since_start(seconds: float) -> str:
    """The same, and days where it is long after: of what was measured and found afterwards."""
    days = seconds / (24 * 3600)
    return elapsed(seconds) if days < 2 else f"{days:.0f} d"


def duration(seconds: float | None) -> str:
    """How long, to the minute, whatever its sign: "45 s", "12 min", "1 h 20 min"."""
    if seconds is None:
        return "–"
    if abs(seconds) < 59.5:
        return f"{abs(seconds):.0f} s"
    hours, minutes = divmod(minutes_of(abs(seconds)), 60)
    parts = (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "")
    return " ".join(part for part in parts if part)


def minutes_of(seconds: float) -> int:
    """Whole minutes as they are shown; differences of shown times are made of these."""
    return round(seconds / 60)


def apart(since: float, to: float) -> float:
    """Seconds from one instant to another as both are shown, whatever their order; of two that are
    shown as the same minute, as they are."""
    return 60.0 * abs(minutes_of(to) - minutes_of(since)) or min(abs(to - since), 59.0)


def between(since: float, to: float) -> str:
    """How long from one instant to another, as both are shown: from 0:07 to 0:24 it is 17 min."""
    return duration(apart(since, to))


def against(used: float, planned: float) -> str:
    """How far from the plan, of both as they are shown: "+14 min", "−3 min", "as planned"."""
    over = minutes_of(used) - minutes_of(planned)
    if not over:
        return "as planned"
    return f"{'+' if over > 0 else '−'}{duration(60.0 * abs(over))}"


def tenths(seconds: float) -> str:
    """A part of a sum that is explained, so that the parts add up: "8.2 min"."""
    return f"{seconds / 60:.1f} min"


def countdown(seconds: float) -> str:
    """Time left: "1 h 14 min", "9 min", under five minutes "4:05 min"; none once it is over."""
    whole = int(max(seconds, 0.0))
    if whole < 300:
        return f"{whole // 60}:{whole % 60:02d} min"
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"
