"""Capacitor schedule: which capacitor at which supply pin, and the bulk of each rail.

Sources: a capacitor for each supply pin, and at a core pin exactly what the data sheet states,
TI SLAAE76B hardware guide. Common practice: 100 nF at each pin, within 3 mm, at the analogue
supply too; 10 µF a rail. From memory: rated for 1.5 to 2 times the rail, because a class 2
ceramic loses capacitance under direct voltage, of which its temperature code (EIA-198) says
nothing. An entry rail has 1 to 4.7 µF: a USB port allows 10 µF in all (USB 2.0, 7.2.4.1), a sink
has 1 to 10 µF (cSnkBulk, TI TPS25741A). Losses: a maker's sheet as read out in synth-diy 2020-05;
TI SLUSEA4D; the estimate for a case is our own fit to such sheets
(shared/tables/capacitor-bias.toml).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from phases.decoupling.seats import (
    HIGH_RAIL,
    Seat,
    kept,
    known_rail,
    no_name_twice,
    rating,
    seats_of_others,
    seats_of_part,
)
from phases.kit import (
    Calculator,
    Card,
    Column,
    Finding,
    Findings,
    Part,
    Quantity,
    SupplyColumn,
    Table,
    Words,
    found,
    limit,
    listing,
    output,
    show,
)
from phases.kit.arrays import Array
from phases.kit.spec_tables import spec_table

COUNTED = ("supply", "analogue", "core", "reference", "ground")
USUAL, USUAL_BULK, LEAST_ENTRY = 100e-9, 10e-6, 1e-6


class CapacitorSchedule(
    Calculator,
    name="capacitor-schedule",
    title="Capacitor schedule",
    per="board",
    source="TI SLAAE76B hardware guide; EIA-198; common practice",
):
    """Which capacitor at which pin, and on each rail?

    A core pin has exactly the capacitor that its data sheet states (published, SLAAE76B):

    >>> core = [{"kind": "core", "count": "1"}]
    >>> judge(CapacitorSchedule(pins=core, C_core="470 nF")).parts[0].what
    '470 nF 0603, 10 V or more'
    """

    part = Card("part card of the microcontroller", of="part", default="", ledger="board.mcu")
    pins = Table(
        "supply pins, where no card is named",
        (Column("kind", "choice", choices=COUNTED), Column("count", "count", most=1000)),
        of="part",
        default=({"kind": "supply", "count": "3"}, {"kind": "analogue", "count": "1"}),
        ledger="board.pins",
    )
    rail = Words("rail of the microcontroller", of="board", default="3v3", ledger="board.mcu_rail")
    others = Table(
        "other parts",
        (
            Column("part", "text"),
            Column("rail", "text", default=""),
            Column("pins", "count", "supply pins", default="1", most=1000),
        ),
        of="board",
        default=(),
        note="Sensors, memories, transceivers; no rail means that of the microcontroller",
    )
    rails = Table(
        "rails",
        (
            Column("rail", "text"),
            Column("parent", "text", default=""),
            Column("kind", "text", "made by", default=""),
            SupplyColumn("voltage", default="0 V"),
            Column("rating", "A", default="0 A"),
            Column("bulk", "count", "bulk capacitors", default="1", most=100),
        ),
        of="board",
        default=(
            {"rail": "vbus", "voltage": "4.75 .. 5.25 V"},
            {"rail": "3v3", "parent": "vbus", "kind": "linear", "voltage": "3.3 V ± 5 %"},
        ),
        ledger="board.rails",
    )
    C_pin = Quantity(
        "F", "capacitor at a pin", of="practice", default="100 nF ± 10 %", note="Common practice"
    )
    C_core = Quantity(
        "F",
        "capacitor at a core pin, from the data sheet",
        of="part",
        free=True,
        note="Blank where the card states it, or where there is no core pin",
    )
    C_bulk = Quantity(
        "F", "bulk capacitor", of="board", default="10 µF ± 20 %", note="Common practice"
    )
    C_entry = Quantity(
        "F",
        "bulk capacitor of an entry rail",
        of="board",
        default="2.2 µF ± 20 %",
        note="1 to 4.7 µF: a USB port allows 10 µF with all that stands beside it",
    )
    case = Words("case at a pin", of="board", default="0603")
    case_bulk = Words("case of bulk", of="board", default="0805")

    @output(
        "F",
        "capacitance on the rail, nominal",
        along="rails",
        publishes="rail.{row}.capacitance",
    )
    def C_rail(self) -> Array:
        """C_rail = C_pin times its pins + what cards state + bulk C_bulk, on an entry rail C_entry;
        no DC bias loss yet"""
        names = self.rails.words("rail")
        seats = [seat for seat in self.seats() if seat.kind != "core"]
        chosen = [sum(s.count for s in seats if s.rail == r and not s.stated) for r in names]
        stated = [sum(s.value for s in seats if s.rail == r and s.stated) for r in names]
        at_pins = self.C_pin * self.rails.constant(chosen) + self.rails.constant(stated)
        entry = self.rails.constant([not parent for parent in self.rails.words("parent")])
        each = self.C_entry * entry + self.C_bulk * (1 - entry)
        return at_pins + each * self.rails["bulk"]

    @listing("Schedule")
    def schedule(self) -> list[dict[str, Any]]:
        """One row a pin, then one a rail for its bulk."""
        rated = self._rated()
        return [
            {
                "pin": seat.pin,
                "value": show(seat.value, "F"),
                "case": self.case,
                "rated": rated[seat.rail],
                "count": seat.count,
                "bulk": "no",
            }
            for seat in self.seats()
        ] + [
            {
                "pin": row["rail"],
                "value": show(self._bulk_of(row), "F"),
                "case": self.case_bulk,
                "rated": rated[row["rail"]],
                "count": row["bulk"],
                "bulk": "yes",
            }
            for row in self.rails.data.rows
            if row["bulk"]
        ]

    @limit("Supply pins")
    def every_pin(self) -> Findings:
        seats = self.seats()
        unserved = [
            Finding(
                seat.pin,
                "The capacitor of the core supply is not known",
                "Enter the data sheet's value; nothing else may connect there",
            )
            for seat in seats
            if seat.kind == "core" and not seat.value > 0
        ]
        pinless = [row["part"] for row in self.others.data.rows if row["pins"] == 0]
        if not any(seat.kind == "supply" for seat in self._of_the_part()):
            pinless.append("microcontroller")
        unserved += [
            Finding(name, "It has no supply pin", "Count them in its data sheet")
            for name in pinless
        ]
        if any(seat.kind != "core" and not seat.stated for seat in seats):
            unserved += _small("pins", self._printed("C_pin"), USUAL)
        return found(*unserved)

    @limit("Bulk of each rail")
    def bulk(self) -> Findings:
        bare = [row["rail"] for row in self.rails.data.rows if row["bulk"] == 0]
        cure = f"Put one there, {show(USUAL_BULK, 'F')} (common practice)"
        return found(
            *(Finding(rail, "It has no bulk capacitor", cure) for rail in bare),
            *_small("bulk", self._printed("C_bulk"), USUAL_BULK),
            *_small("entry", self._printed("C_entry"), LEAST_ENTRY),
        )

    def seats(self) -> list[Seat]:
        """The pins with their capacitors: of the microcontroller, then of the other parts.

        Refusal for a rail that is not in the table of rails, and for a name that is there twice.
        """
        rails = self.rails.words("rail")
        no_name_twice(rails, "rails")
        no_name_twice(self.others.words("part"), "others")
        known_rail(self.rail, rails, "rail")
        rows, usual = self.others.data.rows, self._printed("C_pin")
        return self._of_the_part() + seats_of_others(rows, rails, self.rail, usual)

    def _of_the_part(self) -> list[Seat]:
        usual, core = self._printed("C_pin"), self._printed("C_core")
        # A card counts its own pins: the table is not looked at then.
        counted = () if self.part is not None else self.pins.data.rows
        return seats_of_part(self.part, counted, self.rail, usual, core)

    def _printed(self, field: str) -> float:
        """What is printed on the capacitor, without its tolerance; NaN while it is blank."""
        value = self.inputs.reading(field).value
        return float("nan") if value is None else float(value.typ)

    def _bulk_of(self, row: Mapping[str, Any]) -> float:
        """What is printed on one bulk capacitor of a rail."""
        return self._printed("C_bulk" if row["parent"] else "C_entry")

    def _rated(self) -> dict[str, str]:
        ratings = {row["rail"]: rating(row["voltage"].high) for row in self.rails.data.rows}
        return {rail: show(volts, "V") if volts else "" for rail, volts in ratings.items()}

    def parts(self) -> Sequence[Part]:
        rated = {
            rail: f", {volts} or more" if volts else "" for rail, volts in self._rated().items()
        }
        return [
            Part(
                f"C {s.pin}",
                f"{show(s.value, 'F')} {self.case}{rated[s.rail]}",
                f"{s.pin} to GND, within 3 mm",
                s.count,
            )
            for s in self.seats()
            if s.is_known
        ] + [
            Part(
                f"bulk {row['rail']}",
                f"{show(self._bulk_of(row), 'F')} {self.case_bulk}{rated[row['rail']]}",
                f"{row['rail']} to GND, bulk",
                row["bulk"],
            )
            for row in self.rails.data.rows
            if row["bulk"]
        ]

    def notes(self) -> Sequence[Finding]:
        asking = [
            s.pin for s in self.seats() if s.kind in ("analogue", "reference") and not s.stated
        ]
        usb = [not row["parent"] and 4 < row["voltage"].typ < 5.6 for row in self.rails.data.rows]
        most = spec_table("usb-inrush")["capacitance"]["most"]
        heavy = float((self.C_rail * self.rails.constant(usb)).max()) > most * (1 + 1e-9)
        counts = self.part.pins.count if self.part is not None and self.part.pins else None
        unsaid = [kind for kind in COUNTED[:4] if counts and getattr(counts, kind) is None]
        said = [
            (
                True,
                "bulk",
                "A class 2 ceramic may keep a fifth of it or less under DC bias",
                "Rate it for 1.5 to 2 times the rail, see output-capacitor",
            ),
            (
                bool(asking),
                ", ".join(asking),
                "It may need more than a supply pin",
                "Compare it with the data sheet",
            ),
            (
                heavy,
                "entry",
                f"More than {show(most, 'F')} is on it",
                "That is the max on a USB port: see inrush",
            ),
            (
                bool(unsaid),
                "part card",
                f"It does not count these pins: {', '.join(unsaid)}",
                "See the data sheet and complete the card",
            ),
        ]
        return self._on_high_rails() + [
            Finding(where, what, cure, serious=False) for says, where, what, cure in said if says
        ]

    def _on_high_rails(self) -> list[Finding]:
        """What the bulk chosen keeps on each rail above 12.5 V."""
        notes = []
        for row in self.rails.data.rows:
            V, C = row["voltage"].high, self._bulk_of(row)
            if V <= HIGH_RAIL or not row["bulk"] or not C > 0:
                continue
            part = f"{show(C, 'F')}, {show(rating(V), 'V')}, in case {self.case_bulk}"
            left = kept(C, rating(V), self.case_bulk, V)
            keeps = "far less than that"
            if left is not None:
                keeps = f"about {show(left.low, 'F', 2)} to {show(left.high, 'F', 2)} (own fit)"
            notes.append(
                Finding(
                    row["rail"],
                    f"As a class 2 ceramic {part}, it keeps {keeps} at {show(V, 'V')}",
                    "Use a larger case, or an electrolytic in parallel with a ceramic",
                    serious=False,
                )
            )
        return notes


def _small(where: str, value: float, usual: float) -> list[Finding]:
    """Nothing at all is a fault, less than what is usual a caution."""
    if value >= usual * (1 - 1e-9):
        return []
    what = f"{show(value, 'F')} is less than the usual {show(usual, 'F')} (common practice)"
    return [Finding(where, what, "See the data sheet", serious=value == 0)]
