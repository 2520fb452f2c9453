"""Counts and sentences in English: how a number of things, a list and a full stop are written."""

from __future__ import annotations

from collections.abc import Sequence


def count(number: int, one: str, several: str = "") -> str:
    """ "1 item", "3 items"; `several` where its plural is not made with an s."""
    return f"{number} {one if number == 1 else several or one + 's'}"


def so_many(number: int, thing: str) -> str:
    """ "2 x 100 nF"; the thing alone where there is one."""
    return f"{number} x {thing}" if number > 1 else thing


def are(number: int) -> str:
    return "is" if number == 1 else "are"


def was(number: int) -> str:
    return "was" if number == 1 else "were"


def times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def sentence(text: str) -> str:
    """With a full stop where it has no end of its own."""
    return text if not text or text[-1] in ".?!" else text + "."


def clause(text: str) -> str:
    """Without its full stop, to go on in a sentence."""
    return text[:-1] if text.endswith(".") else text


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def sentences(*parts: str) -> str:
    """Parts one after the other, each with a capital and a full stop; empty ones are left out."""
    return " ".join(capital(sentence(part)) for part in parts if part)


def listed(names: Sequence[str], most: int = 3) -> str:
    """ "a, b and c"; "a, b, c and 4 more"."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def listed_clauses(statements: Sequence[str], most: int = 3) -> str:
    """Whole statements in a row, told apart by semicolons: "a; b; 4 more"."""
    shown = [clause(one) for one in statements[:most]]
    rest = [f"{len(statements) - most} more"] if len(statements) > most else []
    return "; ".join([*shown, *rest])


def yes_or_no(value: object) -> str:
    """An answer as a person says it: yes and no, a number without idle zeros, else the word."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
