"""Drop chain: what reaches the regulator, at what loss, with which reverse blocking?

Sources: drops and losses of diode, MOSFET and regulated ideal diode, Elektor, ideal diode
controller, Nexperia, ideal diodes (30 mV), onsemi, low-VCE(sat) training; resistance a port switch
may have, TI SLVA037A and Micrel MIC2529; conductors and contacts, USB 2.0 (250 mΩ a conductor) and
USB Type-C (40 mΩ a contact, both legs count). An on-resistance hot is 1.3 to 1.6 times that at
25 °C (from memory). What an open USB source takes back: 400 mV (open hardware review list) over
15 kΩ (from memory). The sum is our own composition of these.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Choice,
    Count,
    Curve,
    Finding,
    Flag,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    limit,
    listing,
    not_applicable,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.frame import CORNERS

NONE, DIODE, MOSFET, SWITCH = "none", "Schottky diode", "MOSFET", "low-drop switch"


class DropChain(
    Calculator,
    name="drop-chain",
    title="Input voltage drop",
    per="rail",
    source="TI SLVA037A; USB 2.0 and USB Type-C, cables and contacts; Nexperia, ideal diodes",
):
    """What reaches the regulator, at what loss?

    A Schottky diode of 0.45 V at 3 A loses 1.35 W (published, an article on ideal diodes):

    >>> judged = judge(DropChain(blocking="Schottky diode", V_F="0.45 V", I="3 A"))
    >>> round(judged.output("P_block").typ, 2)
    1.35
    """

    part = Card(
        "part card of the blocking part", of="board", default="", ledger="rail.{rail}.card.blocking"
    )
    V_src = SupplyVoltage(
        "source voltage",
        of="board",
        default="4.75 .. 5.25 V",
        ledger="rail.{rail}.window",
        span=(1.0, 60.0),
    )
    I = Quantity(  # noqa: E741
        "A", "load", of="board", default="300 mA", ledger="rail.{rail}.peak", span=(1e-3, 10.0)
    )
    R_wire = Quantity(
        "Ω",
        "cable resistance, supply",
        of="practice",
        default="100 mΩ",
        span=(1e-3, 10.0),
        note="0 if the source voltage is given at the board's connector",
    )
    R_return = Quantity(
        "Ω", "cable resistance, return", of="practice", default="100 mΩ", span=(1e-3, 10.0)
    )
    R_contact = Quantity(
        "Ω", "resistance of one contact", of="practice", default="40 mΩ", fixed=True
    )
    n_contact = Count("contacts in series, supply + return", of="board", default=4, most=100)
    R_fuse = Quantity(
        "Ω",
        "fuse resistance",
        of="board",
        default="0 Ω",
        ledger="rail.{rail}.fuse_resistance",
        fixed=True,
    )
    R_trace = Quantity(
        "Ω", "track resistance, supply + return", of="practice", default="20 mΩ", span=(1e-4, 10.0)
    )
    V_other = Quantity("V", "other fixed drop", of="board", default="0 V", fixed=True)
    blocking = Choice(
        "reverse-current blocking",
        (NONE, DIODE, MOSFET, SWITCH),
        of="board",
        default=NONE,
        way=True,
    )
    V_F = Quantity(
        "V",
        "diode: forward voltage at this load",
        card="part.forward",
        default="0.35 .. 0.5 V",
        span=(0.05, 1.5),
    )
    I_R = Quantity(
        "A",
        "diode: reverse leakage, hot",
        card="part.leakage",
        default="200 µA",
        span=(1e-9, 0.1),
        note="At max temperature: doubles about every 10 K (common practice)",
    )
    R_DS = Quantity(
        "Ω",
        "MOSFET: on-resistance at its gate voltage",
        card="part.on_resistance",
        default="60 mΩ",
        span=(1e-3, 1.0),
    )
    k_hot = Quantity(
        "1",
        "MOSFET: on-resistance, hot / 25 °C",
        of="practice",
        default="1 / 1.3 / 1.6",
        fixed=True,
        note="Typically 1.3 to 1.6; 1 if the on-resistance is given hot",
    )
    I_DSS = Quantity("A", "MOSFET: leakage", card="part.leakage", default="1 µA", span=(1e-9, 0.1))
    R_sw = Quantity(
        "Ω",
        "switch: on-resistance",
        card="part.on_resistance",
        default="100 mΩ",
        span=(1e-3, 1.0),
    )
    V_reg = Quantity(
        "V",
        "switch: regulated drop, 0 if none",
        card="part.regulated_drop",
        default="30 mV",
        fixed=True,
    )
    I_sw = Quantity(
        "A", "switch: reverse leakage", card="part.leakage", default="10 µA", span=(1e-9, 0.1)
    )
    second = Flag("can another supply be present at the same time?", of="board", default="no")
    I_back = Quantity(
        "A",
        "allowed reverse current",
        of="practice",
        default="26 µA",
        fixed=True,
        note="USB: 400 mV over 15 kΩ. Primary cell: see its data sheet",
    )
    V_need = SupplyVoltage(
        "min input of the regulator",
        of="part",
        ledger="rail.{rail}.needs",
        default="3.7 V",
        span=(1.0, 60.0),
    )
    P_max = Quantity(
        "W",
        "max dissipation of the blocking part",
        card="part.power",
        default="0.5 W",
        span=(0.01, 20.0),
    )

    def _drop(self, kind: str) -> Array:
        """What a blocking part of that kind drops at this load."""
        if kind == DIODE:
            return self.V_F
        if kind == MOSFET:
            return self.I * self.R_DS * self.k_hot
        return np.maximum(self.V_reg, self.I * self.R_sw) if kind == SWITCH else 0.0 * self.I

    def _leak(self, kind: str) -> Array:
        """What flows back through it; without one, whatever the other supply gives."""
        by_kind = {DIODE: "I_R", MOSFET: "I_DSS", SWITCH: "I_sw"}
        found: Array = getattr(self, by_kind[kind]) if kind in by_kind else np.asarray(np.inf)
        return found

    def _left(self, kind: str) -> Array:
        """What is left at the regulator with a blocking part of that kind."""
        return self.V_fuse - self._drop(kind) - self.I * self.R_trace - self.V_other

    @output("Ω", "cable and contact resistance")
    def R_cable(self) -> Array:
        """R_cable = R_wire + R_return + n_contact R_contact; 2 R_wire where the legs are alike"""
        return self.R_wire + self.R_return + self.n_contact * self.R_contact

    @output("V", "at the connector")
    def V_conn(self) -> Array:
        """V_conn = V_src - I R_cable"""
        return self.V_src - self.I * self.R_cable

    @output("V", "after the fuse")
    def V_fuse(self) -> Array:
        """V_fuse = V_conn - I R_fuse"""
        return self.V_conn - self.I * self.R_fuse

    @output("V", "after the blocking part")
    def V_block(self) -> Array:
        """V_block = V_fuse - V_F (diode), - I R_DS k_hot (MOSFET), - max(V_reg, I R_sw) (switch)"""
        return self.V_fuse - self._drop(self.blocking)

    @output("V", "at the regulator")
    def V_in(self) -> Array:
        """V_in = V_block - I R_trace - V_other"""
        return self._left(self.blocking)

    @output("Ω", "resistance of cable, fuse and tracks", publishes="rail.{rail}.way_resistance")
    def R_way(self) -> Array:
        """R_way = R_cable + R_fuse + R_trace"""
        return self.R_cable + self.R_fuse + self.R_trace

    @output("V", "other drop at this load", publishes="rail.{rail}.way_drop")
    def V_way(self) -> Array:
        """V_way = V_other, and what the blocking part drops"""
        return self.V_other + self._drop(self.blocking)

    @output(
        "V",
        "rail voltage, full load to no load",
        publishes="rail.{rail}.voltage",
        when={"regulator": "none"},
        bench=Bench(
            "voltage",
            title="{rail} voltage",
            first="The way from {parent}: fuse, blocking part, bead, joints",
            when={"regulator": "none"},
        ),
    )
    def V_rail(self) -> Array:
        """V_in at this load; V_src without a load"""
        loaded, idle = np.broadcast_arrays(self.V_in, self.V_src)
        return np.concatenate([loaded, idle])

    @output("W", "loss in cable and contacts")
    def P_cable(self) -> Array:
        """P_cable = I² R_cable"""
        return self.I**2 * self.R_cable

    @output("W", "loss in the fuse")
    def P_fuse(self) -> Array:
        """P_fuse = I² R_fuse"""
        return self.I**2 * self.R_fuse

    @output("W", "loss in the blocking part")
    def P_block(self) -> Array:
        """P_block = I V_drop"""
        return self.I * self._drop(self.blocking)

    @output("W", "loss in tracks and other drops")
    def P_trace(self) -> Array:
        """P_trace = I² R_trace + I V_other"""
        return self.I**2 * self.R_trace + self.I * self.V_other

    @output("W", "total loss")
    def P_loss(self) -> Array:
        """P_loss = I (V_src - V_in)"""
        return self.I * (self.V_src - self.V_in)

    @output("%", "efficiency of the input path")
    def eta(self) -> Array:
        """eta = V_in / V_src"""
        return self.V_in / self.V_src

    @output("W", "loss with a Schottky diode")
    def P_diode(self) -> Array:
        """P_diode = V_F I"""
        return self.I * self._drop(DIODE)

    @output("W", "loss with a MOSFET")
    def P_MOSFET(self) -> Array:
        """P_MOSFET = I² R_DS k_hot"""
        return self.I * self._drop(MOSFET)

    @output("W", "loss with a low-drop switch")
    def P_switch(self) -> Array:
        """P_switch = V_reg I; I² R_sw where that is more"""
        return self.I * self._drop(SWITCH)

    @output("A", "load below which the MOSFET loses less than the diode")
    def I_even(self) -> Array:
        """I_even = V_F / (R_DS k_hot)"""
        return self.V_F / (self.R_DS * self.k_hot)

    @output("V", "max drop of the blocking part")
    def V_spare(self) -> Array:
        """V_spare = V_src - V_need - I (R_cable + R_fuse + R_trace) - V_other"""
        return self._left(NONE) - self.V_need

    @output("Ω", "max resistance of the blocking part")
    def R_most(self) -> Array:
        """R_most = V_spare / I"""
        return np.where(self.I > 0, self.V_spare / self.I, np.inf)

    @output("A", "reverse leakage into the source")
    def I_leak(self) -> Array:
        """I_R (diode), I_DSS (MOSFET), I_sw (switch); unlimited with none"""
        return self._leak(self.blocking)

    @listing("reverse-current blocking compared")
    def comparison(self) -> list[dict[str, Any]]:
        """Each way at its worst over all corners: drop, loss, leakage, and what is left."""
        worst = self.under(CORNERS)
        return [worst._compared(kind) for kind in (NONE, DIODE, MOSFET, SWITCH)]

    def _compared(self, kind: str) -> dict[str, Any]:
        drop, leak, left = self._drop(kind), self._leak(kind), self._left(kind)
        loss = self.I * drop
        broken = {
            "regulator input": bool((left < self.V_need).any()),
            "back-feed": self.second and bool((leak > self.I_back).any()),
            "dissipation": bool((loss > self.P_max).any()),
        }
        return {
            "way": kind,
            "drop": show(float(drop.max()), "V"),
            "loss": show(float(loss.max()), "W"),
            "leakage": show(float(leak.max()), "A"),
            "left": show(float(left.min()), "V"),
            "breaks": ", ".join(name for name, is_broken in broken.items() if is_broken)
            or "nothing",
        }

    @limit("Regulator input", unit="V")
    def regulator_input(self) -> Bound:
        return above(self.V_in, self.V_need)

    @limit("Back-feed", unit="A", asked=0.0)
    def back_feed(self) -> Bound | NotApplicable:
        if not self.second:
            return not_applicable("No other supply can feed the source")
        return below(self.I_leak, self.I_back)

    @limit("Dissipation", unit="W")
    def dissipation(self) -> Bound | NotApplicable:
        if self.blocking == NONE:
            return not_applicable("No blocking part")
        return below(self.P_block, self.P_max)

    curves = (
        Curve(
            "Regulator input against load",
            x="I",
            y="V_in",
            span=(0.0, 3.0),
            limit="regulator-input",
        ),
        Curve(
            "Loss in the blocking part against load",
            x="I",
            y="P_block",
            span=(0.0, 3.0),
            limit="dissipation",
        ),
    )

    def parts(self) -> Sequence[Part]:
        load, most = (
            show(float(self.I.max()), "A"),
            show(float(self._drop(self.blocking).max()), "V"),
        )
        what = {
            DIODE: f"Schottky diode, {most} or less at {load}",
            MOSFET: f"MOSFET, {show(float(self.R_DS.max()), 'Ω')} or less",
            SWITCH: f"low-drop switch, {show(float(self.R_sw.max()), 'Ω')} or less",
        }
        if self.blocking not in what:
            return ()
        rail = self.inputs.names.get("rail", "the input")
        return (Part("D", what[self.blocking], f"between the connector and {rail}"),)

    def notes(self) -> Sequence[Finding]:
        said = [
            (
                self.blocking == MOSFET,
                "A P-channel MOSFET with its gate at GND blocks reverse polarity, not back-feed",
                "Drive its gate from the source side, or use two back to back",
            ),
            (
                self.blocking == DIODE,
                "Cold it drops more, hot it leaks more",
                "Use the forward voltage at min temperature, the leakage at max temperature",
            ),
            (
                float(self.R_wire.max()) > 0,
                "The cable is counted from the point the source voltage is given at",
                "Set it to 0 if that is the board's connector",
            ),
        ]
        return [
            Finding("input path", what, cure, serious=False) for says, what, cure in said if says
        ]
