"""Low voltage is all that is sized here: mains and whatever is higher is refused, in one wording.

60 V DC bounds what may be touched in a dry place (IEC 62368-1, energy source class 1: from memory;
UL class 2 circuits have the same bound: from memory).
"""

from __future__ import annotations

import re
from typing import Any

from phases.kit.fields import Quantity, Window, as_typed
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.say import show_spread
from phases.kit.spread import Spread
from phases.kit.tables import Column
from phases.kit.text import one_line

HIGHEST_DC = 60.0
"""V. Above it nothing is sized; AC is refused at any voltage."""

LOW_SIDE = "start from the low-voltage DC side"

_AC = re.compile(r"(?i)(?<![a-z])(?:mains|vac|v ac|ac)(?![a-z])|~")


def names_mains(text: str) -> bool:
    """Whether `text` names mains or an AC supply."""
    return _AC.search(text) is not None


def refuse_mains(text: str) -> None:
    """Raises Refusal where `text` names mains or an AC supply."""
    if names_mains(text):
        raise Refusal(
            f"{text!r}: low-voltage DC boards only, mains and AC supplies are refused",
            do=f"Have a qualified person handle them; {LOW_SIDE} and give its voltage",
        )


def refuse_high(text: str, volts: float) -> None:
    """Raises Refusal where `volts`, which `text` reaches, is more than is sized here."""
    if volts > HIGHEST_DC:
        raise Refusal(
            f"{text!r} is above {HIGHEST_DC:g} V DC: low-voltage DC boards only, no mains",
            do=f"Have a qualified person handle it; {LOW_SIDE}",
        )


class SupplyVoltage(Quantity):
    """The voltage of a supply: a quantity in volts, kept to what is sized here."""

    def __init__(self, title: str, **more: Any) -> None:
        """more: as of a quantity; unit and `most` are given."""
        super().__init__("V", title, most=HIGHEST_DC, **more)

    def _read(self, given: Any) -> tuple[Spread, str]:
        return _read_supply(given, self.least)


class SupplyWindow(Window):
    """The range of voltages that a supply is allowed, kept to what is sized here."""

    def __init__(self, title: str, **more: Any) -> None:
        super().__init__("V", title, **more)

    def _read(self, given: Any) -> tuple[Spread, str]:
        return _read_supply(given, None)


class SupplyColumn(Column):
    """A column of supply voltages, one a row, kept to what is sized here."""

    __slots__ = ()

    def __init__(self, name: str, title: str = "", **more: Any) -> None:
        """more: as of a column; its kind is given."""
        super().__init__(name, "V", title, **more)

    def read(self, given: Any) -> tuple[Any, str]:
        if isinstance(given, Spread):
            return _read_supply(given, self.least)
        return super().read(given)

    def quantity(self, text: str) -> tuple[Any, str]:
        return _read_supply(text, self.least)


def _read_supply(given: Any, least: float | None) -> tuple[Spread, str]:
    if isinstance(given, Spread):
        spread, text = given, show_spread(given, "V")
    else:
        typed = as_typed(given, "V")
        text = one_line(typed)
        refuse_mains(text)
        spread = read_quantity(typed, "V", least=least)
    refuse_high(text, spread.high)
    return spread, text
