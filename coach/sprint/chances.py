"""A chance as a person would say it, and a share in per cent."""

from __future__ import annotations


def in_ten(chance: float) -> str:
    """ "7 in 10"; never a certainty, neither way."""
    if chance < 0.05:
        return "under 1 in 20"
    if chance >= 0.95:
        return "over 19 in 20"
    return f"{min(max(round(chance * 10), 1), 9)} in 10"


def against_target(chance: float, target: float) -> str:
    """A chance beside the one that is asked for: "6 in 10 (target 8 in 10)"."""
    if chance < target and in_ten(chance) == in_ten(target):
        return f"just under the target of {in_ten(target)}"
    return f"{in_ten(chance)} (target {in_ten(target)})"


def per_cent(share: float | None, digits: int | None = None) -> str:
    """A share in per cent, with one decimal where it is thin; a dash where there is none."""
    if share is None:
        return "–"
    if abs(share) > 99.99:
        return "over 9999 %" if share > 0 else "below −9999 %"
    if digits is None:
        digits = 1 if 0 < abs(share) < 0.0995 else 0
    return f"{share * 100:.{digits}f} %".replace("-", "−")


def per_cents(low: float, high: float) -> str:
    """Two shares between which another lies: "12 to 45 %"."""
    first, last = per_cent(low, 0), per_cent(high, 0)
    return f"{first.removesuffix(' %') if high <= 99.99 else first} to {last}"
