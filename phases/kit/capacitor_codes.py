"""Codes on ceramic capacitors: 106K for 10 µF ± 10 %, X7R for -55 to 125 °C and ± 15 %.

The figures, each with its source, stand in shared/tables/capacitor-markings.toml and
capacitor-temperature-codes.toml.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from phases.kit.fields import Quantity, as_typed
from phases.kit.refusals import Refusal
from phases.kit.spec_tables import spec_table
from phases.kit.spread import Spread
from phases.kit.text import one_line

_MARKED = re.compile(r"([0-9]{2})([0-9])([A-Z])?")
_POINTED = re.compile(r"([0-9]*)R([0-9]+)([A-Z])?")
_PICO = 1e-12


@dataclass(frozen=True, slots=True)
class TemperatureCode:
    """What a code promises: from `lowest` to `highest` °C a change of `least` to `most`, ratios."""

    lowest: float
    highest: float
    least: float
    most: float


def temperature_code(code: str) -> TemperatureCode:
    """The meaning of "X7R", "C0G", "2R1". Raises Refusal where it has none."""
    table = spec_table("capacitor-temperature-codes")
    whole = table["whole"].get(code)
    if whole is not None:
        lowest, highest, change = whole["lowest"], whole["highest"], whole["change"]
    else:
        signs = zip(("lowest", "highest", "change"), code, strict=False)
        found = [table[part].get(sign) for part, sign in signs]
        if len(code) != 3 or None in found:
            raise Refusal(
                f"{one_line(code)!r} is not a temperature code", do="Write one like X7R or C0G"
            )
        lowest, highest, change = found
    return TemperatureCode(lowest, highest, change[0] / 100, change[1] / 100)


def ageing_per_decade(code: str) -> float:
    """The usual loss in each decade of hours, a ratio."""
    table = spec_table("capacitor-temperature-codes")["ageing"]
    per_cent: float = table.get(code, table["usual"])
    return per_cent / 100


def most_ageing_per_decade(code: str) -> float:
    """The highest usual loss in each decade of hours, a ratio."""
    most: float = spec_table("capacitor-temperature-codes")["ageing_most"].get(code, 0.0)
    return max(most / 100, ageing_per_decade(code))


def marked_capacitance(code: str) -> Spread | None:
    """The capacitance that "106K", "104" or "1R0C" means, in F; None where it is no such code.

    Raises Refusal for a letter that is no tolerance.
    """
    digits, point = _MARKED.fullmatch(code), _POINTED.fullmatch(code)
    if digits is not None:
        power = spec_table("capacitor-markings")["power"][digits[2]]
        value, letter = float(f"{digits[1]}e{power}"), digits[3]
    elif point is not None:
        value, letter = float(f"{point[1] or 0}.{point[2]}"), point[3]
    else:
        return None
    down, up = _reach(value, letter, code) if letter else (0.0, 0.0)
    return Spread((value + down) * _PICO, value * _PICO, (value + up) * _PICO)


def _reach(value: float, letter: str, code: str) -> tuple[float, float]:
    """The tolerance below and above, in pF."""
    table = spec_table("capacitor-markings")
    for key, scale in (("tolerance_pf", 1.0), ("tolerance", value / 100)):
        if letter in table[key]:
            down, up = table[key][letter]
            return down * scale, up * scale
    known = [k for key in ("tolerance_pf", "tolerance") for k in table[key] if len(k) == 1]
    raise Refusal(
        f"{letter} in {code!r} is not a tolerance letter", do=f"One of: {', '.join(known)}"
    )


class Capacitance(Quantity):
    """A capacitance, also by the code on its part; of three digits nobody means farads."""

    def __init__(self, title: str, **more: Any) -> None:
        """more: as of a quantity."""
        super().__init__("F", title, **more)

    def _read(self, given: Any) -> tuple[Spread, str]:
        if not isinstance(given, Spread):
            text = one_line(as_typed(given, self.unit))
            marked = marked_capacitance(text)
            if marked is not None:
                return marked, text
        return super()._read(given)
