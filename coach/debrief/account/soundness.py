"""Figures and texts out of a journal that anybody may have written: what is of no use is left out.

A record of a calculation is plain data, and so are the seconds of a forged event. Whatever is not
in shape is said once, in a sentence, and does not reach the account.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from coach.history.read_sprint import FORGED
from phases.kit.text import line

T = TypeVar("T")

LONGEST = 3.6e7
"""Seconds beyond which a time is none of a sprint's: ten thousand hours."""

_LARGEST = 1e30  # no figure of a board is larger, in whatever unit
_LONGEST_TEXT = 400


@dataclass(slots=True)
class Soundness:
    """What was found out of shape so far, a sentence each, in order."""

    faults: list[str] = field(default_factory=list)

    def fault(self, sentence: str) -> None:
        """Says it, once."""
        if sentence not in self.faults:
            self.faults.append(sentence)

    def seconds(self, value: float, what: str) -> float:
        """A time; cut to what a sprint can last, zero for what is no number."""
        if abs(value) <= LONGEST:
            return value
        self.fault(f"{what} is no time a sprint can have; it was cut.")
        return 0.0 if math.isnan(value) else math.copysign(LONGEST, value)

    def section(self, what: str, make: Callable[[], T], empty: T) -> T:
        """What `make` makes, or `empty` where the journal contradicts itself there."""
        try:
            return make()
        except FORGED as raised:
            self.fault(f"{what} cannot be told ({type(raised).__name__}).")
            return empty


def number(value: object) -> float | None:
    """A number that a board can have, else None; yes and no are none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if abs(value) <= _LARGEST else None


def text(value: object) -> str:
    """One clean line, not longer than an event keeps; empty for what is no text."""
    return line(value)[:_LONGEST_TEXT] if isinstance(value, str) else ""


def table(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def tables(value: object) -> list[Mapping[str, Any]]:
    """The tables of a list; what else stands in it is left out."""
    return [one for one in value if isinstance(one, Mapping)] if isinstance(value, list) else []
