"""Where capacitors sit: at the supply pins of a part card, of counted pins, of other parts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown
from phases.kit.spec_tables import spec_table
from phases.kit.spread import Spread

if TYPE_CHECKING:
    from phases.kit.cards import PartCard, PinKind

KINDS: tuple[PinKind, ...] = ("supply", "analogue", "core", "reference", "usb", "backup")
RATINGS = (6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 100.0)
HIGH_RAIL = 12.5


@dataclass(frozen=True, slots=True)
class Seat:
    """A pin with its capacitors. value: in F as printed on one; NaN where it is not known.

    stated: by the part card, not chosen here. A core pin is a supply of its own: what sits
    there does not hang on the rail.
    """

    pin: str
    kind: str
    rail: str
    value: float
    stated: bool = False
    count: int = 1

    @property
    def is_known(self) -> bool:
        return not math.isnan(self.value)


def seats_of_part(
    card: PartCard | None,
    counted: Sequence[Mapping[str, Any]],
    rail: str,
    usual: float,
    core: float,
) -> list[Seat]:
    """The seats of a microcontroller: as its card has them, else as many as are counted.

    usual: the value at a pin whose card states none; core: the same for a core pin.
    """
    seats = []
    for kind in KINDS:
        value = core if kind == "core" else usual
        if card is None:
            count = sum(row["count"] for row in counted if row["kind"] == kind)
            seats += [Seat(f"{kind} {n}", kind, rail, value) for n in range(1, count + 1)]
            continue
        for pin in card.pins_of(kind):
            stated = read_quantity(pin.capacitor, "F").typ if pin.capacitor else None
            seats.append(
                Seat(pin.name, kind, rail, value if stated is None else stated, stated is not None)
            )
    return seats


def seats_of_others(
    rows: Sequence[Mapping[str, Any]], rails: Sequence[str], home: str, usual: float
) -> list[Seat]:
    """The seats of the other parts, one row each. Refusal for a rail that is not there."""
    return [
        Seat(
            row["part"],
            "supply",
            known_rail(row["rail"] or home, rails, f"others, row {number}"),
            usual,
            count=row["pins"],
        )
        for number, row in enumerate(rows, start=1)
        if row["pins"]
    ]


def known_rail(rail: str, rails: Sequence[str], where: str) -> str:
    if rail not in rails:
        raise unknown("rail", rail, rails, where=where)
    return rail


def no_name_twice(names: Sequence[str], where: str) -> None:
    """A part to draw is known by its name, so that two of one name would be one."""
    for name in names:
        if names.count(name) > 1:
            raise Refusal(f"{name!r} appears twice", where=where, do="Number them: 1, 2")


def rating(voltage: float) -> float:
    """The least usual rating in V for a rail of that greatest voltage; 0 where it is not known.

    Twice the voltage, above 12.5 V one and a half times: from memory.
    """
    least = (2.0 if voltage <= HIGH_RAIL else 1.5) * voltage
    return next((r for r in RATINGS if r >= least), least) if least else 0.0


def kept(C: float, V_R: float, case: str, V: float) -> Spread | None:
    """What a class 2 ceramic of C in F, rated V_R, keeps at V; None for a case of unknown size.

    C / (1 + V² C / (body V_R k²)), C in µF, body in mm³: own fit of capacitor-bias.toml.
    """
    usual = spec_table("capacitor-bias")
    if case not in usual["case"]:
        return None
    body = math.prod(usual["case"][case])
    k = read_quantity(usual["k"]["text"], "1")
    ends = (C / (1 + V**2 * C * 1e6 / (body * V_R * end**2)) for end in (k.low, k.typ, k.high))
    return Spread(*ends)
