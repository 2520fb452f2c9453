"""Cards: what is known about one component, or about what one fabricator can make.

A thin part card is enough: counts of the supply pins and a few limits. The richer one has a
table of pins. All quantities stay texts here; whoever computes with one reads it in its unit.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Literal, Self, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from phases.kit.card_figures import Limits, is_ratio
from phases.kit.documents import RefusedError, read_document, validate
from phases.kit.field_types import Count, Farads, Micrometres, Millimetres, Name, Volts
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown
from phases.kit.shared_data import find_shared
from phases.kit.tables import Column, rows_from_csv
from phases.kit.text import Line, Text, clean

PinKind = Literal[
    "supply",
    "analogue",
    "core",
    "reference",
    "ground",
    "backup",
    "usb",
    "io",
    "reset",
    "strap",
    "debug",
    "oscillator",
]
PIN_KINDS: tuple[PinKind, ...] = get_args(PinKind)

PartKind = Literal[
    "mcu", "radio", "regulator", "converter", "transceiver", "sensor", "switch", "other"
]


ROLES: dict[str, tuple[str, ...]] = {
    "rail": (
        "regulator",
        "inductor",
        "diode",
        "input-capacitor",
        "fuse",
        "blocking",
        "cell",
        "charger",
        "led",
    ),
    "bus": ("transceiver",),
    "connector": ("clamp", "series", "limiter"),
    "clock": ("crystal",),
    "load": ("load", "switch", "diode", "clamp"),
}
"""By kind of subject, what its cards are to it; one that is named alone is the first."""


_OF_SUPPLY = {"input_min": "min", "input_recommended": "max"}
"""Figures that the window a part may be supplied in gives, where its limits do not."""

_FACTS_OF_PINS: dict[str, PinKind] = {
    "analogue_pin": "analogue",
    "core_pin": "core",
    "reference_pin": "reference",
    "backup_pin": "backup",
    "usb_supply_pin": "usb",
    "strap_pins": "strap",
}


def _number_as_text(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Pin(_Table):
    """One pin. number: as on the package, "7" or "B3"; empty on a thin card.

    kind: "usb" is a supply pin of its own for USB; data pins are "io" like any other.
    pull: what the part itself does to the pin in reset. capacitor: as its data sheet states it.
    """

    name: Line
    number: Annotated[Line, BeforeValidator(_number_as_text)] = ""
    kind: PinKind
    functions: tuple[Line, ...] = ()
    pull: Literal["up", "down", "none"] = "none"
    capacitor: Farads | None = None
    note: Line = ""


class PinCounts(_Table):
    """How many pins there are of each kind; None where the card does not say."""

    supply: Count
    analogue: Count | None = None
    core: Count | None = None
    reference: Count | None = None
    ground: Count | None = None

    def facts(self) -> dict[str, bool]:
        """The board facts (phases/facts.toml) that these counts answer."""
        counts = ((fact, getattr(self, kind, None)) for fact, kind in _FACTS_OF_PINS.items())
        return {fact: count > 0 for fact, count in counts if count is not None}


class _CountedPins(_Table):
    count: PinCounts


class Supply(_Table):
    """The window the part may be supplied in."""

    min: Volts
    max: Volts

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if read_quantity(self.min, "V").low > read_quantity(self.max, "V").high:
            what = f"The supply runs from {self.min} down to {self.max}"
            raise RefusedError(Refusal(what, do="Swap them"))
        return self


class PartCard(_Table):
    """One component: its supply, its pins or their number, its limits."""

    name: Name
    title: Line
    kind: PartKind
    package: Line = ""
    source: Line = ""
    note: Text = ""
    supply: Supply | None = None
    pins: _CountedPins | None = None
    pin_table: tuple[Pin, ...] = Field((), alias="pin")
    limits: Limits = Limits()

    @model_validator(mode="after")
    def _one_account_of_the_pins(self) -> Self:
        if self.pin_table and self.pins:
            raise RefusedError(Refusal("The pins appear twice", do="Keep the counts or the table"))
        if twice := _first_twice(pin.number for pin in self.pin_table if pin.number):
            raise RefusedError(Refusal(f"Two pins have the number {twice}"))
        if twice := _first_twice(pin.name for pin in self.pin_table):
            what = f"Two pins have the name {twice}"
            raise RefusedError(Refusal(what, do="Number them: VDD1, VDD2"))
        return self

    def pins_of(self, kind: PinKind) -> tuple[Pin, ...]:
        """The pins of one kind; on a card that only counts them, named "supply 1", "supply 2"."""
        if self.pins is None:
            return tuple(pin for pin in self.pin_table if pin.kind == kind)
        count = getattr(self.pins.count, kind, None) or 0
        return tuple(Pin(name=f"{kind} {n}", kind=kind) for n in range(1, count + 1))

    def facts(self) -> dict[str, bool]:
        """The board facts (phases/facts.toml) that the pins of this card answer."""
        if self.pins is not None:
            return self.pins.count.facts()
        if not self.pin_table:
            return {}
        return {fact: bool(self.pins_of(kind)) for fact, kind in _FACTS_OF_PINS.items()}

    def figure(self, key: str) -> str | None:
        """A figure by its key, as text; None where the card does not say.

        Keys are those of its limits; "vil_ratio" and "vih_ratio" where they are ratios of the
        supply; "supply": the window it may be supplied in; "pull": that of the pulls inside it;
        "strap_pull": that of its strap pins, where all have the same;
        "either_leakage": the leakage of a pin with either sign.
        """
        if key == "supply":
            return f"{self.supply.min} .. {self.supply.max}" if self.supply else None
        if key in ("vil_ratio", "vih_ratio"):
            level = self.figure(key.removesuffix("_ratio"))
            return level if level is not None and is_ratio(level) else None
        if key == "either_leakage":
            leakage = self.figure("leakage")
            return f"-{leakage} .. {leakage}" if leakage else None
        if key == "strap_pull":
            pulls = {pin.pull for pin in self.pin_table if pin.kind == "strap"}
            return pulls.pop() if len(pulls) == 1 else None
        if key == "pull":
            ends = (self.figure("pull_min"), self.figure("pull_max"))
            return f"{ends[0]} .. {ends[1]}" if None not in ends else None
        found = self.limits.figure(key)
        if found is None and self.supply is not None and key in _OF_SUPPLY:
            return str(getattr(self.supply, _OF_SUPPLY[key]))
        return found.value if found else None

    def pin(self, name: str) -> Pin:
        """The pin called `name`. Raises Refusal, with the nearest one, where there is none."""
        for pin in self.pin_table:
            if pin.name == name:
                return pin
        if not self.pin_table:
            raise Refusal(
                f"Part card {self.name} counts its pins and does not name them",
                do="Add a table of pins to the card",
            )
        near = unknown("pin", name, [pin.name for pin in self.pin_table])
        raise Refusal(f"Part card {self.name} has no pin {name!r}", do=near.do)


class CapabilityCard(_Table):
    """What a fabricator can make: the smallest of each, as text.

    edge_routed, edge_scored: copper to the board's edge.
    """

    name: Name
    title: Line
    source: Line = ""
    note: Text = ""
    layers: Count | None = None
    track: Millimetres
    gap: Millimetres
    drill: Millimetres
    ring: Millimetres
    legend_height: Millimetres | None = None
    legend_stroke: Millimetres | None = None
    copper_outer: Micrometres
    copper_inner: Micrometres | None = None
    edge_routed: Millimetres
    edge_scored: Millimetres | None = None
    plating: Micrometres | None = None


def load_part(name_or_path: str | Path) -> PartCard:
    """A part card by the bare name of a bundled one, or by path. Raises Refusal."""
    return read_document(find_shared("parts", str(name_or_path)), PartCard, kind="part card")


def load_capability(name_or_path: str | Path) -> CapabilityCard:
    """A capability card by the bare name of a bundled one, or by path. Raises Refusal."""
    path = find_shared("capability", str(name_or_path))
    return read_document(path, CapabilityCard, kind="capability card")


_PIN_COLUMNS = {
    name: Column(name, "text")
    for name in ("name", "number", "kind", "functions", "pull", "capacitor", "note")
}


def pins_from_csv(text: str) -> list[Pin]:
    """Pins from CSV or from cells pasted out of a spreadsheet.

    Columns by their header, or without one in the order name, number, kind, functions. Several
    functions in one cell stand apart by blanks, slashes or bars. Raises Refusal with the row.
    """
    pins = []
    try:
        rows = rows_from_csv(clean(text), _PIN_COLUMNS)
    except csv.Error as fault:
        raise Refusal(f"The table cannot be read: {fault}") from None
    if not rows:
        raise Refusal("The table of pins is empty", do="Give a row a pin: name, number, kind")
    for number, row in enumerate(rows, start=1):
        cells: dict[str, object] = {name: cell for name, cell in row.items() if cell}
        cells["functions"] = re.findall(r"[^|/,;\s]+", row.get("functions", ""))
        pins.append(validate(cells, Pin, where=f"row {number}"))
    return pins


def _first_twice(names: Iterable[str]) -> str:
    return next((name for name, count in Counter(names).items() if count > 1), "")
