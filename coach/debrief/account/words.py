"""How the debrief puts numbers and names into sentences."""

from __future__ import annotations

from collections.abc import Sequence


def count(number: int, one: str, several: str = "") -> str:
    """ "1 essential", "3 essentials"."""
    return f"{number} {one if number == 1 else several or one + 's'}"


def are(number: int) -> str:
    return "is" if number == 1 else "are"


def was(number: int) -> str:
    return "was" if number == 1 else "were"


def ended(text: str) -> str:
    """With a full stop where it has no end of its own."""
    return text if not text or text[-1] in ".?!" else text + "."


def unended(text: str) -> str:
    """Without its full stop, to go on in a sentence."""
    return text[:-1] if text.endswith(".") else text


def upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def listed(names: Sequence[str], most: int = 3) -> str:
    """ "a, b and c", "a, b, c and 4 more"."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def named(statements: Sequence[str], most: int = 3) -> str:
    """Whole statements in a row, told apart by semicolons: "a; b; 4 more"."""
    shown = [unended(one) for one in statements[:most]]
    rest = [f"{len(statements) - most} more"] if len(statements) > most else []
    return "; ".join([*shown, *rest])


def to_make_good(time: str, number: int = 1) -> str:
    """ "making it good takes 4 min": the work that leaving out comes to, not what breaks by it."""
    return f"making {'it' if number == 1 else 'them'} good takes {time}"


def times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")
