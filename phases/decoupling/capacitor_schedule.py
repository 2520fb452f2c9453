"""Capacitor schedule: which capacitor at which supply pin, and the bulk of each rail.

Sources: a capacitor for each supply pin, TI SLAAE76B hardware guide; the core pin has exactly
what the data sheet states and no load, the same. Common practice: 100 nF at each pin, within
3 mm, at the analogue supply too; 10 µF a rail. From memory: rated for twice the rail, because a
class 2 ceramic loses capacitance under direct voltage, which its temperature code (EIA-198)
says nothing about.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from phases.kit import (
    Calculator,
    Card,
    Column,
    Finding,
    Findings,
    Part,
    Quantity,
    Table,
    Words,
    found,
    limit,
    listing,
    output,
    show,
)
from phases.kit.arrays import Array
from phases.kit.refusals import Refusal, unknown

KINDS = ("supply", "analogue", "core", "reference", "usb", "backup")
COUNTED = ("supply", "analogue", "core", "reference", "ground")
RATINGS = (6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 100.0)
USUAL, USUAL_BULK = 100e-9, 10e-6


class Seat(NamedTuple):
    """A capacitor of the schedule. value: in F, None where the data sheet must say.

    stated: it is a constant of the data sheet, not the value chosen for all pins.
    """

    pin: str
    rail: str
    value: float | None
    stated: bool
    count: int = 1


class CapacitorSchedule(
    Calculator,
    name="capacitor-schedule",
    title="Capacitor schedule",
    per="board",
    source="TI SLAAE76B hardware guide; EIA-198; common practice",
):
    """Which capacitor at which supply pin, and the bulk of each rail?"""

    part = Card("part card of the microcontroller", default="", ledger="board.mcu")
    pins = Table(
        "supply pins, where no card is named",
        (Column("kind", "choice", choices=COUNTED), Column("count", "count", most=1000)),
        default=({"kind": "supply", "count": "3"}, {"kind": "analogue", "count": "1"}),
        ledger="board.pins",
    )
    rail = Words("rail of the microcontroller", default="3v3", ledger="board.mcu_rail")
    others = Table(
        "other parts",
        (
            Column("part", "text"),
            Column("rail", "text"),
            Column("pins", "count", "supply pins", default="1", most=1000),
        ),
        default=({"part": "sensor", "rail": "3v3"},),
    )
    rails = Table(
        "rails",
        (
            Column("rail", "text"),
            Column("parent", "text", default=""),
            Column("kind", "text", "made by", default=""),
            Column("voltage", "V", default="0 V"),
            Column("rating", "A", default="0 A"),
            Column("bulk", "count", "bulk capacitors", default="1", most=100),
        ),
        default=(
            {"rail": "vbus", "voltage": "4.75 .. 5.25 V"},
            {"rail": "3v3", "parent": "vbus", "kind": "linear", "voltage": "3.3 V ± 5 %"},
        ),
        ledger="board.rails",
    )
    C_pin = Quantity("F", "capacitor at a pin", default="100 nF ± 10 %", note="Common practice")
    C_core = Quantity(
        "F", "capacitor at a core pin, from the data sheet", free=True,
        note="Blank where the card states it or there is no core pin",
    )  # fmt: skip
    C_bulk = Quantity("F", "bulk capacitor", default="10 µF ± 20 %", note="Common practice")
    case = Words("case at a pin", default="0603")
    case_bulk = Words("case of bulk", default="0805")

    @output("F", "capacitance on the rail, as printed", along="rails")
    def C_rail(self) -> Array:
        """C_rail = count C_pin + what data sheets state + bulk C_bulk, without loss under voltage"""
        usual: Counter[str] = Counter()
        stated: Counter[str] = Counter()
        for seat in self.seats():
            if seat.stated:
                stated[seat.rail] += (seat.value or 0.0) * seat.count  # type: ignore[assignment]
            else:
                usual[seat.rail] += seat.count
        names = self.rails.words("rail")
        return (
            self.C_pin * self.rails.constant([usual[name] for name in names])
            + self.rails.constant([stated[name] for name in names])
            + self.C_bulk * self.rails["bulk"]
        )
