"""Load switch: does it drive this load, is it off in reset, what happens at turn-off?

For an N-channel MOSFET between load and ground; of a P-channel one above the load, give its
gate voltages as they stand between gate and source. Sources: conduction and switching loss, TI
SLVA477B and TPS54540 (SLVSBX7), equations 49 and 50, for this switch; energy of an inductance and
its decay through a diode or into a clamp, textbook (from memory): the supply feeds the clamp while
the current falls, so that it takes V_cl / (V_cl - V_S) of what the load had stored. Common
practice: 10 kΩ from gate to ground; on-resistance as the data sheet states it at a gate voltage
that is really there, and hot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Choice,
    Curve,
    Finding,
    Findings,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    found,
    limit,
    not_applicable,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.preferred import decade

RESISTIVE, INDUCTIVE = "resistive", "inductive"
DIODE, CLAMP, NOTHING = "diode", "clamp", "none"
USUAL_PULL_DOWN = 10e3
TOO_HOT_TO_TOUCH = 60.0
"""°C, by common practice; the case follows the junction closely."""


class LoadSwitch(
    Calculator,
    name="load-switch",
    title="Load switch",
    per="load",
    source="TI SLVA477B, TPS54540 (SLVSBX7), losses; energy of an inductive load: textbook",
):
    """Does it drive the load, is it off in reset?

    60 mΩ at 1 A lose 60 mW (published, onsemi training on low saturation, slide 6):

    >>> round(judge(LoadSwitch(I="1 A", R_on="60 mΩ")).output("P").high * 1e3)
    60
    """

    V_S = SupplyVoltage(
        "supply of the load", default="12 V ± 10 %", ledger="rail.{rail}.voltage", span=(1.0, 60.0)
    )
    load = Choice("kind of load", (RESISTIVE, INDUCTIVE), default=INDUCTIVE)
    I = Quantity(  # noqa: E741
        "A",
        "load current",
        default="500 mA",
        ledger="load.{load}.peak",
        span=(1e-3, 50.0),
        note="Maximum: for a motor the starting or stall current",
    )
    L = Quantity("H", "inductance of the load", default="10 mH", fixed=True)
    V_G = SupplyVoltage(
        "high level of the pin",
        default="3.3 V ± 3 %",
        ledger="rail.{mcu_rail}.voltage",
        span=(1.0, 20.0),
    )
    R_on = Quantity(
        "Ω", "on-resistance, hot, at V_spec", default="40 / 55 / 90 mΩ", span=(1e-3, 10.0)
    )
    V_spec = Quantity("V", "gate voltage of that figure", default="2.5 V", span=(1.0, 12.0))
    V_th = Quantity("V", "threshold", default="0.6 / 0.9 / 1.4 V", fixed=True)
    V_GSmax = Quantity("V", "absolute maximum gate voltage", default="8 V", fixed=True)
    V_DSmax = Quantity("V", "absolute maximum V_DS", default="40 V")
    R_pd = Quantity("Ω", "pull-down, gate to GND", free=True, least=1.0)
    R_G = Quantity("Ω", "series resistor, pin to gate", default="100 Ω ± 5 %", span=(1.0, 1e5))
    I_leak = Quantity(
        "A",
        "leakage out of the pin while it floats",
        default="0 / 0.1 / 1 µA",
        fixed=True,
        note="Of pin and switch together",
    )
    R_pu = Quantity(
        "Ω",
        "pull-up inside the pin during reset",
        least=1.0,
        fixed=True,
        note="Blank: it has none",
    )
    D = Quantity("%", "duty cycle", default="100 %", most=1.0, fixed=True)
    f = Quantity("Hz", "switching frequency", default="0 Hz", span=(1.0, 1e6))
    t_sw = Quantity("s", "rise and fall time together", default="200 ns", fixed=True)
    flyback = Choice("path of the current at turn-off", (DIODE, CLAMP, NOTHING), default=DIODE)
    V_F = Quantity("V", "forward voltage of the diode", default="0.7 / 0.9 / 1.1 V", least=0.01)
    I_FD = Quantity("A", "rated current of the diode", default="1 A")
    V_cl = Quantity("V", "clamp voltage, switch to GND", default="30 / 33 / 36 V")
    E_cl = Quantity("J", "clamp energy rating, single pulse", default="10 mJ")
    T_A = Quantity("°C", "ambient", default="25 .. 50 °C", ledger="board.ambient", fixed=True)
    theta_JA = Quantity(
        "K/W", "junction to ambient, data sheet", default="100 K/W", span=(5.0, 500.0)
    )
    k_board = Quantity(
        "1",
        "θJA factor: your board / data sheet",
        default="1.3 / 1.6 / 2",
        fixed=True,
        note="Small two-layer board 1.3 to 2 (common practice); 1 for the data sheet's own board",
    )
    T_Jmax = Quantity("°C", "max junction temperature", default="150 °C", fixed=True)

    @proposal("R_pd", tolerance="5 %")
    def pull_downs(self) -> Iterator[float]:
        """E12 values, the nearest to 10 kΩ first"""
        values = decade("E12", 470.0, 1e6)
        yield from sorted(values, key=lambda R: abs(log(R / USUAL_PULL_DOWN)))

    # ---- The gate ------------------------------------------------------------------------

    @output("V", "gate voltage, on")
    def V_GS(self) -> Array:
        """V_G R_pd / (R_pd + R_G)"""
        return self.V_G * self.R_pd / (self.R_pd + self.R_G)

    @output(
        "V",
        "gate voltage while the pin floats in reset",
        bench=Bench(
            "level",
            title="Gate of {load}, held in reset",
            do="Hold reset; measure gate to source before its load is connected",
            where="gate of the switch of {load}",
            first="The gate's pull-down, and the pin that drives it while the part is erased",
            caution="Its load stays disconnected until this is right.",
            point="load.{load}.gate-in-reset",
            limit="off-in-reset",
        ),
    )
    def V_reset(self) -> Array:
        """I_leak R_pd; with a pull-up in the pin (V_G + I_leak R_pu) R_pd / (R_pu + R_G + R_pd)"""
        if not self.text("R_pu"):
            return self.I_leak * self.R_pd
        pulled = self.V_G + self.I_leak * self.R_pu
        return pulled * self.R_pd / (self.R_pu + self.R_G + self.R_pd)

    @output("A", "current out of the pin, on")
    def I_pin(self) -> Array:
        """V_G / (R_pd + R_G)"""
        return self.V_G / (self.R_pd + self.R_G)

    # ---- Heat ----------------------------------------------------------------------------

    @output("V", "drop of the switch")
    def V_on(self) -> Array:
        """I R_on"""
        return self.I * self.R_on

    @output("W", "dissipation")
    def P(self) -> Array:
        """I² R_on D + V_S I t_sw f / 2"""
        return self.I**2 * self.R_on * self.D + self.V_S * self.I * self.t_sw * self.f / 2

    @output(
        "°C",
        "junction temperature",
        bench=Bench(
            "heat",
            title="{load} switch: case temperature",
            where="case of the switch of {load}",
            first="Load current; the gate's voltage; copper under it; how often it switches",
        ),
    )
    def T_J(self) -> Array:
        """T_A + k_board theta_JA P"""
        return self.T_A + self.k_board * self.theta_JA * self.P

    @output("A", "max load at this ambient")
    def I_max(self) -> Array:
        """The current at which P is (T_Jmax - T_A) / (k_board theta_JA)"""
        P = np.maximum(self.T_Jmax - self.T_A, 0.0) / (self.k_board * self.theta_JA)
        half = self.V_S * self.t_sw * self.f / 4
        return np.where(P > 0, P / (half + np.sqrt(half**2 + self.R_on * self.D * P)), 0.0)

    # ---- Turn-off ------------------------------------------------------------------------

    @output("V", "peak at turn-off")
    def V_peak(self) -> Array:
        """V_S; of an inductive load V_S + V_F with a diode, V_cl with a clamp, else unlimited"""
        if self.load == RESISTIVE:
            return self.V_S
        if self.flyback == DIODE:
            return self.V_S + self.V_F
        return np.maximum(self.V_S, self.V_cl if self.flyback == CLAMP else np.inf)

    @output("J", "energy stored in the load")
    def E_L(self) -> Array:
        """L I² / 2"""
        return self._L() * self.I**2 / 2

    @output("J", "energy into clamp or switch at turn-off")
    def E_off(self) -> Array:
        """E_L V_cl / (V_cl - V_S) with a clamp, E_L without a path, none with a diode"""
        if self.flyback == DIODE:
            return self.E_L * 0.0
        if self.flyback == NOTHING:
            return self.E_L
        over = self.V_cl - self.V_S
        return np.where(over > 0, self.E_L * self.V_cl / over, np.inf)

    @output("s", "current decay time")
    def t_off(self) -> Array:
        """L I / V_S ln(1 + V_S / V_F) with a diode, L I / (V_cl - V_S) at most with a clamp"""
        flux = self._L() * self.I
        if self.flyback == DIODE:
            return np.where(
                self.V_S > 0, flux / self.V_S * np.log(1 + self.V_S / self.V_F), flux / self.V_F
            )
        if self.flyback == NOTHING:
            return flux * 0.0
        over = self.V_cl - self.V_S
        return np.where(over > 0, flux / over, np.inf)

    def _L(self) -> Array:
        return self.L * (0.0 if self.load == RESISTIVE else 1.0)

    # ---- Its limits ----------------------------------------------------------------------

    @limit("Gate drive", unit="V")
    def drive(self) -> Bound:
        """V_GS above V_spec: the on-resistance holds only at a gate voltage really reached"""
        return above(self.V_GS, self.V_spec)

    @limit("Gate voltage", unit="V")
    def gate_rating(self) -> Bound:
        return below(self.V_GS, self.V_GSmax)

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self.T_J, self.T_Jmax, of=self.T_Jmax - self.T_A)

    @limit("Off in reset", unit="V", asked=0.2)
    def off_in_reset(self) -> Bound:
        """V_reset below the min threshold"""
        return below(self.V_reset, self.V_th)

    @limit("Peak at turn-off", unit="V")
    def peak(self) -> Bound:
        """V_peak below V_DSmax"""
        return below(self.V_peak, self.V_DSmax)

    @limit("Diode current", unit="A")
    def diode_current(self) -> Bound | NotApplicable | Findings:
        """I below I_FD: the diode takes all of it at turn-off"""
        if self.load == RESISTIVE:
            return not_applicable("The load stores no energy")
        if self.flyback == NOTHING:
            what = "The load current has no path at turn-off"
            return found(Finding("load", what, "Put a diode across it, or a clamp"))
        if self.flyback == CLAMP:
            return not_applicable("A clamp takes the current")
        return below(self.I, self.I_FD)

    @limit("Clamp energy", unit="J")
    def clamp_energy(self) -> Bound | NotApplicable:
        """E_off below E_cl"""
        if self.load == RESISTIVE or self.flyback != CLAMP:
            return not_applicable("No clamp takes the energy of the load")
        return below(self.E_off, self.E_cl)

    curves = (Curve("Junction against load", x="I", y="T_J", span=(0.0, 5.0), limit="junction"),)

    def parts(self) -> Sequence[Part]:
        names = self.inputs.names
        load, rail = names.get("load", "load"), names.get("rail", "supply")
        volts, ohms = show(float(self.V_DSmax.max()), "V"), show(float(self.R_on.max()), "Ω")
        gate = show(float(self.V_spec.max()), "V")
        what = f"MOSFET, {volts} or more, {ohms} at a gate of {gate}"
        drawn = [Part("Q", what, f"{load} to GND")]
        if self.text("R_pd"):
            drawn.append(Part("R_pd", self.on_drawing("R_pd"), f"gate to GND, switch of {load}"))
        if float(self.R_G.max()) > 0:
            drawn.append(Part("R_G", self.on_drawing("R_G"), f"pin to gate, switch of {load}"))
        if self.load == INDUCTIVE and self.flyback == DIODE:
            drawn.append(
                Part(
                    "D",
                    f"diode, {show(float(self.I_FD.max()), 'A')} or more",
                    f"switch of {load} to {rail}",
                )
            )
        if self.load == INDUCTIVE and self.flyback == CLAMP:
            what = f"clamp, {show(float(self.V_cl.max()), 'V')}"
            drawn.append(Part("D", what, f"across the switch of {load}"))
        return drawn

    def notes(self) -> Sequence[Finding]:
        inductive = self.load == INDUCTIVE
        said = [
            (
                float(self.T_J.max()) > TOO_HOT_TO_TOUCH,
                "switch",
                f"It gets too hot to touch, over {show(TOO_HOT_TO_TOUCH, '°C')}",
                "Keep fingers and plastics away from it; measure it at the first power-on",
            ),
            (
                inductive,
                "load",
                "A motor takes several times its running current at start-up (common practice)",
                "First power-on: without the motor, from a current-limited supply",
            ),
            (
                inductive and self.flyback == DIODE and float(self.f.max()) == 0,
                "diode",
                "Current decays slowly: a relay or valve releases late",
                "Use a clamp if it must release fast",
            ),
            (
                True,
                "threshold",
                "It falls as the switch gets hot, by a few mV/K (common practice)",
                "Use the data sheet's minimum, hot",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]
