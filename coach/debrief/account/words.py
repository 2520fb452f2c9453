"""What it takes to make good what was left out."""

from __future__ import annotations


def to_make_good(time: str, number: int = 1) -> str:
    """ "making it good takes 4 min": the work that leaving out comes to, not what breaks by it."""
    return f"making {'it' if number == 1 else 'them'} good takes {time}"
