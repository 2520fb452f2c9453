"""Debug wiring: is the connection complete, defined and fast enough?

Sources: pin tables, pulls and the adapter's figures, shared/tables/debug-connectors.toml, each
with its own. The sources disagree about the value of a pull: what is judged is that no line
floats and that none is pulled both ways; the value is the data sheet's. Edge of an RC, 10 to
90 %: 2.2 R C; delay of a cable: L Z_0 C_l. The highest safe clock is composed of them: within
half a period the edge settles, the answer comes back and is set up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from phases.debug_access.debug_lines import (
    SIGNALS,
    DebugLine,
    floating,
    mispulled,
    missing,
    settled,
)
from phases.kit import (
    Bound,
    Calculator,
    Card,
    Choice,
    Column,
    Curve,
    Finding,
    Findings,
    Flag,
    Part,
    Quantity,
    Table,
    Words,
    below,
    found,
    limit,
    listing,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.spec_tables import spec_table


class DebugWiring(
    Calculator,
    name="debug-wiring",
    title="Debug wiring",
    per="board",
    source="Arm DDI0314H 2.4.2; Arm 100893; NXP, Design Considerations for Debug; Microchip",
):
    """Is the connection complete, defined and fast enough?

    5 m of cable delay by 26 ns (published, USB engineering change note of 1999):

    >>> judged = judge(DebugWiring(L="5 m", C_l="52 pF/m", Z_0="100 Ω"))
    >>> round(judged.output("t_d").typ * 1e9)
    26
    """

    connector = Choice(
        "connector",
        ("10-pin 1.27 mm", "20-pin 2.54 mm", "header", "pads"),
        of="board",
        default="10-pin 1.27 mm",
    )
    signals = Table(
        "signals",
        (
            Column("signal", "choice", choices=SIGNALS),
            Column("wired", "yes/no", "to the connector", default="yes"),
            Column(
                "pull",
                "choice",
                "board pull",
                default="as needed",
                choices=("as needed", "up", "down", "none"),
            ),
            Column("value", "Ω", "value of the board pull", default="100 kΩ", least=1.0),
            Column(
                "internal",
                "choice",
                "internal pull",
                default="card",
                choices=("card", "up", "down", "none"),
            ),
        ),
        of="board",
        default=(
            {"signal": "SWDIO"},
            {"signal": "SWCLK"},
            {"signal": "GND"},
            {"signal": "VTref"},
            {"signal": "nRESET", "value": "10 kΩ"},
            {"signal": "SWO"},
        ),
        note="as needed: a board pull where no internal one is known; card: from the part card",
    )
    part = Card("part card of the microcontroller", of="board", default="", ledger="board.mcu")
    rail = Words("rail of the microcontroller", of="board", default="3v3", ledger="board.mcu_rail")
    button = Flag("button or pads on reset", of="board", default="yes")
    f = Quantity("Hz", "clock wanted", of="board", default="4 MHz", span=(1e5, 1e8))
    L = Quantity("mm", "cable length", of="board", default="150 mm", span=(0.01, 3.0))
    C_l = Quantity(
        "F/m",
        "cable capacitance per length",
        of="practice",
        default="50 pF/m",
        fixed=True,
        note="Flat cable, typical, no source",
    )
    Z_0 = Quantity("Ω", "cable impedance", of="practice", default="100 Ω", fixed=True)
    C_in = Quantity(
        "F",
        "capacitance of pin, track and adapter",
        of="practice",
        default="10 .. 20 pF",
        fixed=True,
        note="Typical, no source",
    )
    R_d = Quantity(
        "Ω",
        "driver resistance",
        card="driver_resistance",
        default="25 .. 50 Ω",
        fixed=True,
        note="Typical, no source",
    )
    R_s = Quantity("Ω", "series resistor", of="board", default="0 Ω", span=(0.0, 1000.0))
    t_out = Quantity(
        "s",
        "output delay of the part after the clock",
        card="debug_delay",
        default="10 .. 15 ns",
        fixed=True,
        note="Typical, no source; the part's data sheet has it",
    )

    @output("F", "capacitance on the line")
    def C(self) -> Array:
        """C = C_in + C_l L"""
        return self.C_in + self.C_l * self.L

    @output("s", "edge time, 10 to 90 %")
    def t_e(self) -> Array:
        """t_e = 2.2 (R_d + R_s) C"""
        return 2.2 * (self.R_d + self.R_s) * self.C

    @output("s", "cable delay")
    def t_d(self) -> Array:
        """t_d = L Z_0 C_l"""
        return self.L * self.Z_0 * self.C_l

    @output("s", "minimum half period")
    def t_half(self) -> Array:
        """t_half = t_e + 2 t_d + t_out + setup, not less than the adapter's clock phase"""
        needed = self.t_e + 2 * self.t_d + self.t_out + self._figure("setup")
        return np.maximum(needed, self._figure("clock_phase"))

    @output("Hz", "highest safe clock", publishes="board.debug_clock")
    def f_max(self) -> Array:
        """f_max = 1 / (2 t_half)"""
        return 1 / (2 * self.t_half)

    @listing("Pins")
    def pins(self) -> list[dict[str, Any]]:
        """The connector's pins, what is on each, whether it is wired."""
        lines = self.lines()
        wired = {s: "yes" for s, line in lines.items() if line.wired}
        free = {"open": "left free", "key": "left free"}
        return [
            {"pin": str(number), "signal": signal, "wired": (free | wired).get(signal, "no")}
            for number, signal in enumerate(self._connector()["pins"], start=1)
        ]

    @limit("Signals")
    def complete(self) -> Findings:
        return found(*missing(self.lines(), self._connector()["pins"]))

    @limit("Floating lines")
    def nothing_floating(self) -> Findings:
        return found(*floating(self.lines()))

    @limit("Pulls")
    def pulls(self) -> Findings:
        return found(*mispulled(self.lines()))

    @limit("Reset")
    def reset_reachable(self) -> Findings:
        line = self.lines().get("nRESET")
        wired = line is not None and line.wired
        if wired and self.button:
            return found()
        if wired:
            what = "On the debug connector only: no button and no pads"
            return found(Finding("nRESET", what, "Add two pads or a button", serious=False))
        what = "Not on the debug connector: a part that disables debugging is lost"
        return found(Finding("nRESET", what, "Wire it to the connector", serious=not self.button))

    @limit("Clock", unit="Hz")
    def clock(self) -> Bound:
        return below(self.f, self.f_max)

    curves = (Curve("Highest safe clock against cable", x="L", y="f_max", span=(0.02, 2.0)),)

    def lines(self) -> dict[str, DebugLine]:
        """The signals of the table by name, their pulls settled."""
        return settled(self.signals.data.rows, self.part)

    def _connector(self) -> Mapping[str, Any]:
        connector: Mapping[str, Any] = spec_table("debug-connectors")["connector"][self.connector]
        return connector

    def _figure(self, name: str) -> float:
        """What the adapter asks for, in SI."""
        return float(spec_table("debug-connectors")["adapter"][name])

    def parts(self) -> Sequence[Part]:
        lines = self.lines()
        ends = {"up": self.rail, "down": "GND"}
        wired = ", ".join(s for s, line in lines.items() if line.wired)
        parts = [
            Part("J", str(self._connector()["title"]), f"with {wired}"),
            Part("C", "100 nF", "VTref to GND at the connector"),
        ]
        parts += [
            Part(f"R {line.signal}", show(line.value, "Ω"), f"{line.signal} to {ends[line.own]}")
            for line in lines.values()
            if line.own != "none"
        ]
        if float(self.R_s.max()) > 0:
            parts.append(
                Part("R_s", self.on_drawing("R_s"), "in series with SWDIO, beside the part")
            )
        return parts

    def notes(self) -> Sequence[Finding]:
        lines = self.lines()
        said = [
            (
                float((2 * self.t_d).max()) > float(self.t_e.max()),
                "cable",
                "The edge is faster than the cable's round trip: it will ring",
                "Series resistor and driver together about "
                f"{show(self.spread_of('Z_0').typ, 'Ω')}, as the cable, or a shorter cable",
            ),
            (
                any(line.own != "none" for line in lines.values()),
                "pulls",
                "Vendor guidelines differ, from 1 kΩ to 100 kΩ",
                "Use the value in the part's data sheet",
            ),
            (
                "SWO" not in lines or not lines["SWO"].wired,
                "SWO",
                "The trace output is not brought out: finding faults takes longer",
                "",
            ),
            (
                self.part is not None and not self.part.pin_table,
                "part card",
                "It does not list the internal pulls",
                "Enter them in the table, from the data sheet",
            ),
        ]
        return [
            Finding(where, what, cure, serious=False) for says, where, what, cure in said if says
        ]
