"""Inrush: is it acceptable to the source?

Sources: charge and capacitance at a USB port, USB 2.0 section 7.2.4.1 and the USB-IF inrush test
(Agilent AN 1400); charging at a slew rate or at a current limit, TI TPS22810, TPS22992, TPS22918
and TPS22919 data sheets; resistance that keeps a peak down and the energy it takes, Ametherm,
selecting a thermistor; ring of a cable with ceramic capacitors, Linear Technology AN 88. The peaks
are those of a series R-L-C circuit (textbook), that of the voltage with what a class 2 ceramic
loses on the way up (see `ring`). 0.3 to 2 µH and 0.05 to 0.5 Ω for source, cable and
contacts are common practice: 1 nH a millimetre.
The figures of USB, each with its source, stand in shared/tables/usb-inrush.toml.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from phases.kit import (
    Bound,
    Calculator,
    Card,
    Choice,
    Curve,
    Finding,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    below,
    limit,
    not_applicable,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.capacitor_bias import CASES, half_voltage, usual_loss
from phases.kit.spec_tables import spec_table
from phases.power_entry.ring import overshoot

CERAMIC, KEEPS = "class 2 ceramic", "C0G, film or electrolytic"
NONE, SLEW, RISE, CURRENT = "none", "slew rate", "rise time", "current limit"
WHOLE, PART = "whole step", "10 to 90 %"


def _angle(zeta: Array) -> Array:
    """acos ζ / √(1 - ζ²), acosh ζ / √(ζ² - 1) beyond 1; 1 at 1, where the two meet."""
    below_1, above_1 = np.minimum(zeta, 1 - 1e-9), np.maximum(zeta, 1 + 1e-9)
    rings = np.arccos(below_1) / np.sqrt(1 - below_1**2)
    creeps = np.arccosh(above_1) / np.sqrt(above_1**2 - 1)
    found: Array = np.where(zeta < 1, rings, creeps)
    return found


class Inrush(
    Calculator,
    name="inrush",
    title="Inrush",
    per="connector",
    source="USB 2.0, section 7.2.4.1; USB-IF inrush test; TI TPS22810 data sheet; LT AN 88",
):
    """Is the inrush acceptable to the source?

    10 µF on 5 V take the 50 µC that USB allows (published, USB 2.0 section 7.2.4.1):

    >>> judged = judge(Inrush(C_bus="10 µF", C_after="0 F", V="5 V"))
    >>> round(judged.output("Q_plug").typ * 1e6)
    50
    """

    part = Card(
        "part card of the limiter",
        of="board",
        default="",
        ledger="connector.{connector}.card.limiter",
    )
    V = SupplyVoltage(
        "supply", of="board", default="4.75 .. 5.25 V", ledger="rail.{rail}.window", fixed=True
    )
    C_bus = Quantity(
        "F",
        "capacitance directly on the supply",
        of="board",
        default="4.7 µF",
        ledger="rail.{rail}.capacitance",
        span=(1e-7, 1e-3),
        note="Nominal: DC bias takes off more than the tolerance adds (common practice)",
    )
    kind = Choice(
        "kind of this capacitor",
        (CERAMIC, KEEPS),
        of="board",
        way=True,
        default=CERAMIC,
        note="A class 2 ceramic loses capacitance as the voltage rises: it rings higher",
    )
    case = Choice("its case", CASES, of="board", default="0805", way=True)
    V_R = Quantity("V", "its voltage rating; twice V if blank", of="board", least=1.0, fixed=True)
    k_bias = Quantity(
        "1",
        "its bias-loss factor",
        of="practice",
        default=usual_loss,
        least=0.1,
        fixed=True,
        note="Own fit, common practice",
    )
    C_after = Quantity(
        "F",
        "capacitance after limiter or regulator",
        of="board",
        default="4.7 µF",
        ledger="rail.{mcu_rail}.output_capacitance",
        span=(1e-7, 1e-2),
    )
    V_after = SupplyVoltage(
        "its final voltage; the supply if blank",
        of="board",
        ledger="rail.{mcu_rail}.voltage",
        fixed=True,
    )
    limiter = Choice(
        "inrush limited by",
        (NONE, SLEW, RISE, CURRENT),
        of="board",
        way=True,
        default=NONE,
        note="A soft start is specified as one of these",
    )
    dV_dt = Quantity(
        "V/s", "slew rate", card="part.slew_rate", default="2 kV/s", least=1e-3, span=(10.0, 1e6)
    )
    t_r = Quantity(
        "s", "rise time", card="part.rise_time", default="1 ms", least=1e-9, span=(1e-6, 1.0)
    )
    I_lim = Quantity(
        "A",
        "current limit",
        card="part.current_limit",
        default="400 mA",
        least=1e-9,
        span=(1e-3, 10.0),
    )
    step = Choice(
        "rise and charging time cover",
        (WHOLE, PART),
        of="practice",
        default=WHOLE,
        note="Data sheets differ: the whole step, or its 80 % from 10 to 90 %",
    )
    I_load = Quantity(
        "A", "load current during charging", of="board", default="0 A", span=(0.0, 5.0)
    )
    t_0 = Quantity(
        "s",
        "start delay of the limiter",
        of="practice",
        default="0 s",
        span=(1e-6, 1.0),
        note="From 100 µs on, charge at plug-in and charge behind the limiter count apart (USB)",
    )
    I_src = Quantity(
        "A", "max source current", of="board", default="500 mA", ledger="source.allowed", fixed=True
    )
    R_src = Quantity(
        "Ω",
        "resistance of source, cable, contacts",
        of="practice",
        default="0.05 / 0.15 / 0.5 Ω",
        least=1e-4,
        span=(0.01, 10.0),
    )
    ESR = Quantity("Ω", "ESR of the capacitor", of="practice", default="10 mΩ", span=(1e-3, 10.0))
    L = Quantity(
        "H",
        "cable inductance",
        of="practice",
        default="0.3 / 1 / 2 µH",
        least=1e-10,
        span=(1e-8, 1e-5),
        note="About 1 µH a metre (common practice)",
    )
    I_sw = Quantity(
        "A",
        "peak current rating of contacts and switch",
        of="part",
        least=1e-3,
        span=(0.1, 200.0),
        note="Data sheets of connectors seldom state one",
    )
    V_abs = Quantity(
        "V",
        "lowest abs. max. of the parts at the input",
        of="part",
        ledger="rail.{rail}.withstands",
        default="16 V",
        span=(3.0, 100.0),
    )
    V_clamp = SupplyVoltage(
        "clamp voltage of the TVS there, if any",
        of="board",
        ledger="connector.{connector}.clamped",
        fixed=True,
    )
    source_kind = Choice("kind of source", ("USB", "other"), of="board", default="USB")

    # ---- what is charged ---------------------------------------------------------------------

    def _V_after(self) -> Array:
        return self.V_after if self.text("V_after") else self.V

    def _dV(self) -> Array:
        """The part of the step that rise time and charging time span."""
        return self._V_after() * (1.0 if self.step == WHOLE else 0.8)

    @output("F", "capacitance at plug-in")
    def C_plug(self) -> Array:
        """C_plug = C_bus; with C_after where nothing limits its charging"""
        return self.C_bus + self.C_after if self.limiter == NONE else self.C_bus + 0 * self.C_after

    @output("C", "charge at plug-in")
    def Q_plug(self) -> Array:
        """Q_plug = C_bus V; with C_after V_after where nothing limits its charging"""
        Q = self.C_bus * self.V
        return Q + self.C_after * self._V_after() if self.limiter == NONE else Q

    @output("A", "charging current behind the limiter")
    def I_C(self) -> Array:
        """I_C = C_after dV/dt, C_after dV / t_r, or I_lim; dV the step or 80 % of it"""
        if self.limiter == NONE:
            return 0.0 * self.C_after
        if self.limiter == CURRENT:
            return self.I_lim
        slew = self.dV_dt if self.limiter == SLEW else self._dV() / self.t_r
        return self.C_after * slew

    @output("V/s", "slew rate behind the limiter")
    def slew(self) -> Array:
        """slew = I_C / C_after"""
        return np.where(self.C_after > 0, self.I_C / self.C_after, 0.0)

    @output("s", "charging time")
    def t_C(self) -> Array:
        """t_C = C_after dV / I_C; without a limiter 5 (R_src + ESR) C_plug"""
        if self.limiter == NONE:
            return 5 * self.R * self.C_plug
        return self.C_after * self._dV() / self.I_C

    @output("C", "charge above 100 mA")
    def Q_above(self) -> Array:
        """Q_plug, taken whole, and Q_C (I_C + I_load - 100 mA) / I_C together; the worse of the two
        where 100 µs pass between them"""
        table = spec_table("usb-inrush")
        over = np.maximum(self.I_C + self.I_load - table["counted"]["current"], 0.0)
        Q_C = self.C_after * self._V_after()
        Q_late = np.where(self.I_C > 0, Q_C * over / self.I_C, 0.0)
        together = self.t_0 < table["counted"]["gap"]
        return np.where(together, self.Q_plug + Q_late, np.maximum(self.Q_plug, Q_late))

    @output("F", "max capacitance for 50 µC")
    def C_most(self) -> Array:
        """C_most = 50 µC / V"""
        return np.asarray(spec_table("usb-inrush")["charge"]["most"]) / self.V

    @output("J", "stored energy (the same again is dissipated)")
    def E(self) -> Array:
        """E = C_plug V² / 2"""
        return self.C_plug * self.V**2 / 2

    # ---- the peaks of a straight plug --------------------------------------------------------

    @output("Ω", "total loop resistance")
    def R(self) -> Array:
        """R = R_src + ESR"""
        return self.R_src + self.ESR

    @output("1", "damping ratio")
    def zeta(self) -> Array:
        """zeta = (R / 2) √(C_bus / L); cable and capacitor ring below 1"""
        return self.R / 2 * np.sqrt(self.C_bus / self.L)

    @output("A", "peak current at plug-in")
    def I_pk(self) -> Array:
        """I_pk = V √(C_plug / L) exp(-ζ acos ζ / √(1 - ζ²)), ζ of C_plug; acosh beyond 1

        A capacitor that loses capacitance takes less.
        """
        zeta = self.R / 2 * np.sqrt(self.C_plug / self.L)
        return (
            self.V * np.sqrt(self.C_plug / self.L) * np.exp(-np.maximum(zeta, 1e-12) * _angle(zeta))
        )

    @output("V", "peak voltage at plug-in")
    def V_pk(self) -> Array:
        """V_pk = V (1 + exp(-π ζ / √(1 - ζ²))), up to 2 V; a class 2 ceramic goes beyond (`ring`)

        No more than the clamp lets through, where there is one.
        """
        a = self.V_half / self.V if self.kind == CERAMIC else self.V * 0 + np.inf
        free = self.V * np.where(self.C_bus > 0, overshoot(self.zeta, a), 1.0)
        return np.minimum(free, self.V_clamp) if self.text("V_clamp") else free

    @output("V", "half of the capacitance is left at")
    def V_half(self) -> Array:
        """V_half = k_bias √(volume V_R / C_bus), usual loss of a class 2 ceramic"""
        V_R = self.V_R if self.text("V_R") else 2 * self.V
        return half_voltage(self.C_bus, V_R, self.case, self.k_bias)

    @output("Ω", "min resistance for the peak current rating")
    def R_need(self) -> Array:
        """R_need = V / I_sw; none without a rating"""
        return self.V / self.I_sw if self.text("I_sw") else self.V * 0

    # ---- limits ------------------------------------------------------------------------------

    def _usb(self, value: Array, figure: str) -> Bound | NotApplicable:
        """A figure of USB, where the supply is that of a USB port before it negotiates another."""
        table: dict[str, Any] = spec_table("usb-inrush")
        if self.source_kind != "USB":
            return not_applicable("The source is not a USB port")
        highest = table["supply"]["most"]
        return below(
            value,
            table[figure]["most"],
            where=highest >= self.V,
            otherwise="The supply is above that of a USB port",
        )

    @limit("Capacitance at plug-in", unit="F", asked=0.0)
    def usb_capacitance(self) -> Bound | NotApplicable:
        """C_plug, of nominal values, within 10 µF"""
        return self._usb(self.C_plug, "capacitance")

    @limit("Charge above 100 mA", unit="C", asked=0.0)
    def usb_charge(self) -> Bound | NotApplicable:
        """Q_above within 50 µC"""
        return self._usb(self.Q_above, "charge")

    @limit("Current while charging", unit="A")
    def source_(self) -> Bound | NotApplicable:
        """I_C + I_load within I_src"""
        if self.limiter == NONE:
            return not_applicable("No limiter: charge and peak current decide")
        return below(self.I_C + self.I_load, self.I_src)

    @limit("Peak current", unit="A")
    def switch(self) -> Bound | NotApplicable:
        """The greater of I_pk and I_C + I_load within I_sw"""
        if not self.text("I_sw"):
            return not_applicable("No rating of contacts or switch is given")
        return below(np.maximum(self.I_pk, self.I_C + self.I_load), self.I_sw)

    @limit("Peak voltage", unit="V")
    def peak_voltage(self) -> Bound:
        """V_pk within V_abs"""
        return below(self.V_pk, self.V_abs)

    curves = (
        Curve(
            "Hot-plug peak against cable inductance",
            x="L",
            y="V_pk",
            span=(1e-8, 1e-5),
            limit="peak-voltage",
            log=True,
        ),
        Curve(
            "Charge at plug-in against capacitance",
            x="C_bus",
            y="Q_above",
            span=(1e-6, 2.2e-5),
            limit="usb-charge",
        ),
    )

    def parts(self) -> Sequence[Part]:
        connector = self.inputs.names.get("connector", "the connector")
        found = []
        if float(self.C_bus.max()) > 0:
            what = f"capacitor {show(self.spread_of('C_bus').typ, 'F')}"
            found.append(Part("C", what, f"from the supply to GND at {connector}"))
        if self.limiter != NONE:
            current = show(float((self.I_C + self.I_load).max()), "A")
            found.append(Part("U", f"soft start of {current} or less", f"after {connector}"))
        return found

    def notes(self) -> Sequence[Finding]:
        rings = float(self.zeta.min()) < 0.5 and float(self.C_bus.min()) > 0
        ohms = float(np.sqrt(self.L / self.C_bus).max()) if rings else 0.0
        said = [
            (
                rings,
                "Cable and ceramic capacitors ring at plug-in",
                f"Damp it with several times the capacitance and about {show(ohms, 'Ω', 2)} in "
                "series, or clamp the peak",
            ),
            (
                self.limiter == NONE and float(self.C_after.max()) > 0,
                "Capacitance after a regulator without soft start counts as plugged in",
                "Enter how its charging is limited, if it is",
            ),
            (
                self.source_kind == "USB" and float(self.C_bus.min()) < 1e-6,
                "Less than 1 µF on VBUS: a USB device has 1 to 10 µF there",
                "Put 1 µF or more at the connector",
            ),
            (
                float(self.V.max()) >= 12,
                "Contacts spark when a live supply of 12 V or more is plugged in",
                "First power-on: a current-limited supply, plugged in before it is switched on",
            ),
        ]
        return [Finding("plug-in", what, cure, serious=False) for says, what, cure in said if says]
