"""A small invented board, its items and three calculators, on which the rules can be followed.

The bench lamp: 5 V comes in, a resistor in series makes the 3v3 rail (so that the arithmetic fits
in a head: what is left is 5 V - I R), a second one the 1v8 rail. Its calculators hang on each
other as real ones do: the sum of the loads feeds the resistors, the first of them feeds the
strap and the second.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import parse_brief
from phases.kit import Bound, Calculator, Part, Quantity, above, below, limit, output
from phases.kit.arrays import Array
from phases.kit.items import PHASE_IDS, Closing, Phase

BRIEF_TEXT = """
title = "Bench lamp"
[deadline]
minutes = 120
reserve = 20
[board]
parts = 45
layers = 2
mcu_rail = "3v3"
[facts]
second_supply = false
[[rail]]
id = "vin"
voltage = "5 V"
current = "500 mA"
facts = { regulator = "none" }
[[rail]]
id = "3v3"
title = "Main supply"
parent = "vin"
voltage = "3.3 V ± 20 %"
current = "300 mA"
facts = { regulator = "linear" }
[[rail]]
id = "1v8"
parent = "3v3"
voltage = "1.8 V ± 20 %"
facts = { regulator = "linear" }
[[bus]]
id = "uart1"
title = "Console"
rail = "3v3"
[[connector]]
id = "j1"
rail = "vin"
[[clock]]
id = "main"
frequency = "16 MHz"
[[load]]
id = "mcu"
rail = "3v3"
typical = "20 mA"
peak = "40 mA"
[[load]]
id = "lamp"
title = "Lamp"
rail = "3v3"
typical = "50 mA"
peak = "60 mA"
[[feature]]
id = "light"
title = "Light"
required = true
subjects = ["lamp"]
[[feature]]
id = "talk"
title = "Console"
required = false
subjects = ["uart1"]
facts = { console = false }
"""


def lamp_brief() -> Brief:
    return parse_brief(BRIEF_TEXT, "lamp.toml")


# ---- calculators -----------------------------------------------------------------------------


class SumOfLoads(
    Calculator, name="sum-of-loads", title="Sum of loads", per="board", source="own arithmetic"
):
    """What the board takes."""

    I = Quantity("A", "load", default="100 mA")  # noqa: E741
    I_source = Quantity("A", "source", default="1 A", ledger="source.current")

    @output("A", "load of the board", publishes="board.load")
    def total(self) -> Array:
        return self.I

    @output("A", "load of the rail", publishes="rail.{mcu_rail}.peak")
    def rail(self) -> Array:
        return self.I

    @limit("Source", unit="A")
    def source_(self) -> Bound:
        return below(self.total, self.I_source)


class SeriesResistor(
    Calculator, name="series-resistor", title="Series resistor", per="rail", source="Ohm"
):
    """What is left after a resistor."""

    V_in = Quantity("V", "input", default="5 V", ledger="rail.{parent}.voltage")
    I = Quantity("A", "load", default="10 mA", ledger="rail.{rail}.peak")  # noqa: E741
    R = Quantity("Ω", "resistor", default="10 Ω")
    V_least = Quantity("V", "least that is needed", default="3 V")
    P_most = Quantity("W", "power it may take", default="0.25 W")

    @output("V", "what is left", publishes="rail.{rail}.voltage")
    def V_left(self) -> Array:
        """V_in - I R"""
        return self.V_in - self.I * self.R

    @limit("Voltage left", unit="V", asked=0.1)
    def enough(self) -> Bound:
        return above(self.V_left, self.V_least)

    @limit("Heat", unit="W", asked=0.1)
    def heat(self) -> Bound:
        return below(self.I**2 * self.R, self.P_most)

    def parts(self) -> Sequence[Part]:
        return [Part("R", self.text("R"), f"into {self.inputs.names['rail']}")]


class PullUp(Calculator, name="pull-up", title="Pull-up", per="board", source="Ohm"):
    """Does a pull-up reach the level?"""

    V = Quantity("V", "supply", default="3.3 V", ledger="rail.{mcu_rail}.voltage")
    R = Quantity("Ω", "pull-up", default="10 kΩ")
    I_leak = Quantity("A", "leakage", default="10 µA")
    V_IH = Quantity("V", "high level", default="2.5 V")

    @output("V", "level")
    def level(self) -> Array:
        return self.V - self.I_leak * self.R

    @limit("Level reached", unit="V")
    def reached(self) -> Bound:
        return above(self.level, self.V_IH)

    def parts(self) -> Sequence[Part]:
        return [
            Part("R", self.text("R"), "BOOT to 3v3"),
            Part("C", "100 nF", "BOOT to GND"),
        ]


CALCULATORS = (SumOfLoads, SeriesResistor, PullUp)


# ---- items -----------------------------------------------------------------------------------


def item(name: str, **said: Any) -> dict[str, Any]:
    """An item of the sheet that is met by looking, unless `said` otherwise."""
    usual = {
        "id": name,
        "statement": f"The {name.replace('-', ' ')} is seen to",
        "why": "Without it the lamp stays dark on the bench",
        "severity": "dead board",
        "stage": "schematic",
        "per": "board",
        "met_by": ["inspected"],
        "confirm_s": 6.0,
        "left_out_min": 4.0,
        "reopened_by": [],
        "source": "common practice",
    }
    return {**usual, **said}


def phase(name: str, minutes: float, *items: dict[str, Any]) -> Phase:
    return Phase.model_validate(
        {
            "id": name,
            "title": name.replace("-", " ").capitalize(),
            "short": name[:3],
            "name": name.replace("-", " ")[:16],
            "drawing": {"optimistic": minutes / 2, "likely": minutes, "pessimistic": minutes * 1.5},
            "item": list(items),
        }
    )


_LINEAR = [{"regulator": "linear"}]
_BY_CALCULATION = {"met_by": ["calculated"], "essential": True}
_BY_EITHER = {"met_by": ["calculated", "data sheet"], "essential": True}

PHASES = (
    phase(
        "power-entry",
        6,
        item("supply-contacts", essential=True, reopened_by=["change:connector-part"]),
        item(
            "no-back-feed",
            essential=True,
            severity="hazard",
            when=[{"second_supply": True}],
            asks="second_supply",
            reopened_by=["fact:second_supply"],
        ),
        item(
            "source-load",
            cites=["sum-of-loads:source"],
            reopened_by=["board.load"],
            **_BY_CALCULATION,
        ),
        item(
            "entrance-clamp",
            severity="degraded",
            met_by=["data sheet", "inspected"],
            reopened_by=["rail.{rail}.window"],
        ),
    ),
    phase(
        "regulation",
        6,
        item(
            "enough-left",
            per="rail",
            when=_LINEAR,
            asks="regulator",
            cites=["series-resistor:enough"],
            reopened_by=["change:regulator-part"],
            **_BY_EITHER,
        ),
        item(
            "not-too-hot",
            per="rail",
            when=_LINEAR,
            asks="regulator",
            cites=["series-resistor:heat"],
            reopened_by=["rail.{rail}.voltage", "change:regulator-part"],
            **_BY_CALCULATION,
        ),
        item(
            "output-seen",
            per="rail",
            essential=True,
            met_by=["inspected", "data sheet"],
            when=[{"regulator": "linear"}, {"regulator": "switching"}],
            asks="regulator",
            reopened_by=["rail.{rail}.voltage", "fact:regulator", "change:regulator-part"],
        ),
        item(
            "rail-indicator",
            per="rail",
            severity="rework",
            when=[{"indicator": True}],
            asks="indicator",
        ),
    ),
    phase("debug-access", 4, item("debug-pins", essential=True, reopened_by=["board.mcu"])),
    phase(
        "clock-boot",
        8,
        item(
            "boot-level",
            when=[{"strap_pins": True}],
            asks="strap_pins",
            cites=["pull-up:reached"],
            reopened_by=[],
            **_BY_EITHER,
        ),
        item(
            "strap-shared",
            essential=True,
            when=[{"strap_pins": True, "strap_shared": True}],
            asks="strap_shared",
        ),
        item("strap-source", essential=True, when=[{"strap_pins": True}], asks="strap_pins"),
        item(
            "console-wiring",
            essential=True,
            per="bus",
            severity="degraded",
            when=[{"bus_kind": "uart"}, {"bus_kind": "rs485"}],
            asks="bus_kind",
        ),
        item(
            "crystal-starts",
            per="clock",
            met_by=["data sheet"],
            when=[{"clock_kind": "crystal"}],
            asks="clock_kind",
        ),
    ),
    phase(
        "decoupling",
        4,
        item("capacitors", essential=True, severity="degraded"),
        item(
            "capacitor-close",
            essential=True,
            severity="degraded",
            stage="placement",
            met_by=["measured", "inspected"],
            reopened_by=["change:placement"],
        ),
    ),
    phase(
        "layout",
        20,
        item("footprints-fit", essential=True, stage="placement"),
        item("nets-routed", essential=True, stage="routing", reopened_by=["change:netlist"]),
    ),
    phase(
        "labelling",
        4,
        item("pin-one-marks", essential=True, stage="files"),
        item(
            "way-round-marked",
            per="connector",
            severity="rework",
            stage="files",
            when=[{"keyed": False}],
            asks="keyed",
        ),
    ),
)

CLOSING = Closing.model_validate(
    {
        "id": "closing",
        "title": "Closing list",
        "item": [
            item(name, stage="files", step=number, minutes=2.0)
            for number, name in enumerate(("files-whole", "first-upload", "accepted-and-paid"), 1)
        ],
    }
)

assert tuple(one.id for one in PHASES) == PHASE_IDS
