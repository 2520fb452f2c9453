"""What the bench measures of an output: where, with what, and what to look at first.

    @output("V", "rail voltage", publishes="rail.{rail}.voltage", bench=Bench("voltage"))

puts the output on the bring-up sheet: readings are kept under its ledger name, judged by the
figure over all corners, and the section says when to measure and with which meter. Only what is
special about this output is said here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from phases.kit.expected import Expected
from phases.kit.say import show
from phases.kit.spread import Spread
from phases.kit.units import UNITS

if TYPE_CHECKING:
    from phases.kit.facts import FactValue
    from phases.kit.judging import Judgement, Output

Section = Literal[
    "look",
    "resistance",
    "limit",
    "voltage",
    "current",
    "ripple",
    "heat",
    "level",
    "clock",
    "bus",
    "usb",
    "programming",
    "indicators",
]
"""A section of the sheet, in the order of a careful first power-on; the first three come before
any power."""

AMBIENT = 25.0
"""Of a bench, in °C (common practice): a temperature is expected by its rise above that."""

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

    # ---- of a judgement ------------------------------------------------------------------------

    def measured(self, judgement: Judgement, out: Output) -> dict[str, Any]:
        """What the bench measures of an output that was judged, as its record has it."""
        right, how = self._right(judgement, out)
        return {
            "section": self.section,
            "unit": right.unit,
            "low": right.low,
            "typ": right.typ,
            "high": right.high,
            "how": how,
            **self.filled(_names(judgement)),
        }

    def _right(self, judgement: Judgement, out: Output) -> tuple[Expected, str]:
        """What a reading should be, and what to know of that."""
        unit = self.unit or UNITS[out.unit].si
        one = next((one for one in out.figures if (one.row or "") == self.row), None)
        if self.unit or one is None or not all(map(math.isfinite, (one.low, one.typ, one.high))):
            return Expected(unit=unit), ""
        if unit == "°C":
            return _on_a_bench(judgement, one.spread), f"its rise above a bench of {AMBIENT:g} °C"
        if not self.limit:
            low = one.low if self.ends == "both" else None
            return Expected.within(low, one.typ, one.high, unit), ""
        how = f"computed {_ends(one.spread, unit)}"
        for judged in judgement.verdicts:
            if (judged.limit, judged.scenario or "") == (self.limit, self.row):
                bound = judged.bound if math.isfinite(judged.bound) else None
                return Expected.up_to(bound, one.typ, unit, above=judged.side == "above"), how
        return Expected(unit=unit), how


def _on_a_bench(judgement: Judgement, temperature: Spread) -> Expected:
    """A temperature by its rise above the ambient it was computed with."""
    ambient = Spread.exact(AMBIENT)
    for reading in judgement.readings:
        known = reading.value if reading.ledger == "board.ambient" else None
        if isinstance(known, Spread) and known.high <= temperature.high:
            ambient = known
    high = AMBIENT + temperature.high - ambient.high
    typ = AMBIENT + max(temperature.typ - ambient.typ, 0.0)
    return Expected.within(None, min(typ, high), high, "°C")


def _names(judgement: Judgement) -> dict[str, str]:
    """What the texts may name: outputs, inputs as typed, subjects."""
    outputs = (out for out in judgement.outputs if out.figures)
    return {
        **{out.name: _ends(out.figures[0].spread, out.unit) for out in outputs},
        **{reading.field: reading.text for reading in judgement.readings},
        **judgement.calculation.inputs.names,
    }


def _ends(spread: Spread, unit: str) -> str:
    return f"{show(spread.low, unit, 2)} .. {show(spread.high, unit, 2)}"


def fill(text: str, names: Mapping[str, str]) -> str:
    """A text with names in braces and clauses in brackets replaced, as long as a record keeps."""
    return " ".join(_filled(text, names).split())[:400]


def _filled(text: str, names: Mapping[str, str]) -> str:
    def put(place: re.Match[str]) -> str:
        clause = place[1]
        if clause is None:
            return names.get(place[2], "")
        return _filled(clause, names) if all(map(names.get, _NAMES.findall(clause))) else ""

    return _PLACES.sub(put, text)
