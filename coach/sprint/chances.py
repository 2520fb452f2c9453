"""A chance as a person would say it."""

from __future__ import annotations


def in_ten(chance: float) -> str:
    """ "7 in 10"; never a certainty, neither way."""
    if chance < 0.05:
        return "under 1 in 20"
    if chance >= 0.95:
        return "over 19 in 20"
    return f"{min(max(round(chance * 10), 1), 9)} in 10"
