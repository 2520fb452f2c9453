"""What the bench measures of an output: where, with what, and what to look at first.

    @output("V", "rail voltage", publishes="rail.{rail}.voltage", bench=Bench("voltage"))

puts the output on the bring-up sheet: readings are kept under its ledger name, judged by the
figure over all corners, and the section says when to measure and with which meter. Only what is
special about this output is said here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from phases.kit.facts import FactValue

Section = Literal[
    "look", "resistance", "limit", "voltage", "current", "ripple", "heat", "level", "clock", "bus",
    "usb", "programming", "indicators",
]  # fmt: skip
"""A section of the sheet, in the order of a careful first power-on; the first three come before
any power."""

TEXTS = ("title", "do", "where", "tool", "words", "first", "caution")

_PLACES = re.compile(r"\[([^][]*)\]|\{([^{}]*)\}")
_NAMES = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class Bench:
    """A point of the bring-up sheet.

    Its texts hold names in braces: subjects ("{rail}"), inputs as typed ("{pin}"), other outputs
    ("{I_F}"). A clause in square brackets is left out where a name in it is not known.
    """

    section: Section
    title: str = ""
    do: str = ""
    """What to do, in which state of the board. Empty, as `where` and `tool` may be: as the
    section says."""
    where: str = ""
    tool: str = ""
    words: str = ""
    """What is right, where it is not a number or not the number alone."""
    first: str = ""
    """What to look at first when a reading is outside."""
    caution: str = ""
    point: str = ""
    """The id that readings are kept under; empty for the ledger name of the output. One that
    begins with a dot is put behind the name of the calculation."""
    unit: str = ""
    """Of what is measured, where that is not the output: `words` then say what is right."""
    ends: Literal["both", "high"] = "both"
    """The ends of the figure that a reading is judged by."""
    limit: str = ""
    """The limit whose bound a reading is judged by, instead of the ends of the figure."""
    row: str = ""
    """Of an output kept along a table: the row that is measured."""
    when: Mapping[str, FactValue] | None = None
    """Facts with which the sheet has this point even before anything is calculated."""

    def filled(self, names: Mapping[str, str]) -> dict[str, str]:
        """Its texts with the names put in."""
        return {text: fill(getattr(self, text), names) for text in TEXTS}


def fill(text: str, names: Mapping[str, str]) -> str:
    """A text with names in braces and clauses in brackets replaced."""
    return " ".join(_filled(text, names).split())


def _filled(text: str, names: Mapping[str, str]) -> str:
    def put(place: re.Match[str]) -> str:
        clause = place[1]
        if clause is None:
            return names.get(place[2], "")
        return _filled(clause, names) if all(map(names.get, _NAMES.findall(clause))) else ""

    return _PLACES.sub(put, text)
