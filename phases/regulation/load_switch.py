"""Load switch: does it drive this load, is it off in reset, what happens at turn-off?

For an N-channel MOSFET between load and ground, its gate at the pin, or a P-channel one between
supply and load, whose gate a small transistor pulls to GND; gate voltages stand between gate and
source. What charges the gate through its resistor sets the edges where that is slower than the
switch itself, and with them the inrush of a capacitive load (textbook, from memory). Sources:
conduction and switching loss, TI SLVA477B and TPS54540 (SLVSBX7), equations 49 and 50, for this
switch; energy of an inductance and its decay through a diode or into a clamp, textbook (from
memory): the supply feeds the clamp while the current falls, so that it takes V_cl / (V_cl - V_S) of
what the load had stored. Common practice: 10 kΩ from gate to ground; on-resistance as the data
sheet states it at a gate voltage that is really there, and hot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
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

RESISTIVE, INDUCTIVE, CAPACITIVE = "resistive", "inductive", "capacitive"
LOW, HIGH = "load and GND", "supply and load"
LEAST_DRIVE = 0.1
"""V above the threshold that the gate is charged with at least: below that it is not driven."""
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

    switch = Card(
        "part card of the switch", of="board", default="", ledger="load.{load}.card.switch"
    )
    diode = Card(
        "part card of the flyback diode", of="board", default="", ledger="load.{load}.card.diode"
    )
    clamp = Card("part card of the clamp", of="board", default="", ledger="load.{load}.card.clamp")
    driven = Card("part card of the load", of="board", default="", ledger="load.{load}.card.load")
    mcu = Card("part card of the microcontroller", of="board", default="", ledger="board.mcu")
    V_S = SupplyVoltage(
        "supply of the load",
        of="board",
        default="12 V ± 10 %",
        ledger="rail.{rail}.voltage",
        span=(1.0, 60.0),
    )
    load = Choice(
        "kind of load",
        (RESISTIVE, INDUCTIVE, CAPACITIVE),
        of="board",
        default=INDUCTIVE,
        fact="load_kind",
    )
    I = Quantity(  # noqa: E741
        "A",
        "load current",
        of="board",
        default="500 mA",
        ledger="load.{load}.peak",
        span=(1e-3, 50.0),
        note="Maximum: for a motor the starting or stall current",
    )
    L = Quantity(
        "H", "inductance of the load", card="driven.inductance", default="10 mH", fixed=True
    )
    V_G = SupplyVoltage(
        "high level of the pin",
        of="board",
        default="3.3 V ± 3 %",
        ledger="rail.{mcu_rail}.voltage",
        span=(1.0, 20.0),
    )
    side = Choice("switch between", (LOW, HIGH), of="board", default=LOW)
    R_on = Quantity(
        "Ω",
        "on-resistance, hot, at V_spec",
        card="switch.on_resistance",
        default="40 / 55 / 90 mΩ",
        span=(1e-3, 10.0),
    )
    V_spec = Quantity(
        "V",
        "gate voltage of that figure",
        card="switch.gate_voltage",
        default="2.5 V",
        span=(1.0, 12.0),
    )
    V_th = Quantity(
        "V", "threshold", card="switch.threshold", default="0.6 / 0.9 / 1.4 V", fixed=True
    )
    V_GSmax = Quantity(
        "V", "absolute maximum gate voltage", card="switch.gate_max", default="8 V", fixed=True
    )
    V_DSmax = Quantity("V", "absolute maximum V_DS", card="switch.voltage_max", default="40 V")
    R_pd = Quantity("Ω", "pull-down, gate to GND", of="board", free=True, least=1.0)
    R_G = Quantity(
        "Ω", "series resistor, pin to gate", of="board", default="100 Ω ± 5 %", span=(1.0, 1e5)
    )
    I_leak = Quantity(
        "A",
        "leakage out of the pin while it floats",
        card="mcu.leakage",
        default="0 / 0.1 / 1 µA",
        fixed=True,
        note="Of pin and switch together",
    )
    R_pu = Quantity(
        "Ω",
        "pull-up inside the pin during reset",
        of="board",
        least=1.0,
        fixed=True,
        note="Blank: it has none",
    )
    D = Quantity("%", "duty cycle", of="board", default="100 %", most=1.0, fixed=True)
    f = Quantity("Hz", "switching frequency", of="board", default="0 Hz", span=(1.0, 1e6))
    t_sw = Quantity(
        "s",
        "rise and fall time together",
        card="switch.switching_time",
        default="200 ns",
        fixed=True,
    )
    Q_G = Quantity(
        "C", "gate charge at that gate voltage", card="switch.gate_charge", default="5 nC"
    )
    C_load = Quantity(
        "F",
        "capacitance of the load",
        card="driven.capacitance",
        default="10 µF",
        span=(1e-8, 1e-2),
        note="Used of a capacitive load",
    )
    I_DM = Quantity(
        "A",
        "pulse current the switch takes",
        card="switch.pulse_current",
        default="15 A",
        note="Used of a capacitive load",
    )
    flyback = Choice(
        "path of the current at turn-off",
        (DIODE, CLAMP, NOTHING),
        of="board",
        default=DIODE,
        way=True,
    )
    V_F = Quantity(
        "V",
        "forward voltage of the diode",
        card="diode.forward",
        default="0.7 / 0.9 / 1.1 V",
        least=0.01,
    )
    I_FD = Quantity("A", "rated current of the diode", card="diode.current", default="1 A")
    V_cl = Quantity(
        "V", "clamp voltage, switch to GND", card="clamp.clamp_voltage", default="30 / 33 / 36 V"
    )
    E_cl = Quantity(
        "J", "clamp energy rating, single pulse", card="clamp.clamp_energy", default="10 mJ"
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    theta_JA = Quantity(
        "K/W",
        "junction to ambient, data sheet",
        card="switch.theta_ja",
        default="100 K/W",
        span=(5.0, 500.0),
    )
    k_board = Quantity(
        "1",
        "θJA factor: your board / data sheet",
        of="practice",
        default="1.3 / 1.6 / 2",
        fixed=True,
        note="Small two-layer board 1.3 to 2 (common practice); 1 for the data sheet's own board",
    )
    T_Jmax = Quantity(
        "°C", "max junction temperature", card="switch.junction", default="150 °C", fixed=True
    )

    @proposal("R_pd", tolerance="5 %")
    def pull_downs(self) -> Iterator[float]:
        """E12 values, the nearest to 10 kΩ first"""
        values = decade("E12", 470.0, 1e6)
        yield from sorted(values, key=lambda R: abs(log(R / USUAL_PULL_DOWN)))

    # ---- The gate ------------------------------------------------------------------------

    @output("V", "gate voltage, on")
    def V_GS(self) -> Array:
        """V_G R_pd / (R_pd + R_G), above the load V_S in the place of V_G"""
        return self._driven() * self.R_pd / (self.R_pd + self.R_G)

    def _driven(self) -> Array:
        return self.V_S if self.side == HIGH else self.V_G

    @output("s", "time the gate charge takes")
    def t_gate(self) -> Array:
        """Q_G R_G / (V_G - V_th), above the load V_S in the place of V_G"""
        return self.Q_G * self.R_G / np.maximum(self._driven() - self.V_th, LEAST_DRIVE)

    def _edges(self) -> Array:
        """Rise and fall together: those of the switch, or of its gate where that is slower."""
        return np.maximum(self.t_sw, 2 * self.t_gate)

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
        if not self.text("R_pu") or self.side == HIGH:
            return self.I_leak * self.R_pd
        pulled = self.V_G + self.I_leak * self.R_pu
        return pulled * self.R_pd / (self.R_pu + self.R_G + self.R_pd)

    @output("A", "current out of the pin, on")
    def I_pin(self) -> Array:
        """V_G / (R_pd + R_G); above the load that of its transistor, V_S / (R_pd + R_G)"""
        return self._driven() / (self.R_pd + self.R_G)

    # ---- Heat ----------------------------------------------------------------------------

    @output("V", "drop of the switch")
    def V_on(self) -> Array:
        """I R_on"""
        return self.I * self.R_on

    @output("W", "dissipation")
    def P(self) -> Array:
        """I² R_on D + V_S I t f / 2, t the more of t_sw and 2 t_gate"""
        return self.I**2 * self.R_on * self.D + self.V_S * self.I * self._edges() * self.f / 2

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
        half = self.V_S * self._edges() * self.f / 4
        return np.where(P > 0, P / (half + np.sqrt(half**2 + self.R_on * self.D * P)), 0.0)

    # ---- Turn-off ------------------------------------------------------------------------

    @output("V", "peak at turn-off")
    def V_peak(self) -> Array:
        """V_S; of an inductive load V_S + V_F with a diode, V_cl with a clamp, else unlimited"""
        if self.load != INDUCTIVE:
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
        return self.L * (1.0 if self.load == INDUCTIVE else 0.0)

    @output("A", "inrush of a capacitive load")
    def I_inrush(self) -> Array:
        """C_load V_S / t_gate, at most V_S / R_on"""
        if self.load != CAPACITIVE:
            return self.I * 0.0
        slow = np.where(self.t_gate > 0, self.C_load * self.V_S / self.t_gate, np.inf)
        return np.minimum(slow, self.V_S / self.R_on)

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
        if self.load != INDUCTIVE:
            return not_applicable("The load drives no current on")
        if self.flyback == NOTHING:
            what = "The load current has no path at turn-off"
            return found(Finding("load", what, "Put a diode across it, or a clamp"))
        if self.flyback == CLAMP:
            return not_applicable("A clamp takes the current")
        return below(self.I, self.I_FD)

    @limit("Inrush", unit="A")
    def inrush(self) -> Bound | NotApplicable:
        """I_inrush below I_DM"""
        if self.load != CAPACITIVE:
            return not_applicable("The load is not capacitive")
        return below(self.I_inrush, self.I_DM)

    @limit("Clamp energy", unit="J")
    def clamp_energy(self) -> Bound | NotApplicable:
        """E_off below E_cl"""
        if self.load != INDUCTIVE or self.flyback != CLAMP:
            return not_applicable("No clamp takes the energy of the load")
        return below(self.E_off, self.E_cl)

    curves = (Curve("Junction against load", x="I", y="T_J", span=(0.0, 5.0), limit="junction"),)

    def parts(self) -> Sequence[Part]:
        names = self.inputs.names
        load, rail = names.get("load", "load"), names.get("rail", "supply")
        volts, ohms = show(float(self.V_DSmax.min()), "V"), show(float(self.R_on.max()), "Ω")
        gate = show(float(self.V_spec.max()), "V")
        kind = "P-channel MOSFET" if self.side == HIGH else "MOSFET"
        what = f"{kind}, {volts} or more, {ohms} or less at a gate of {gate}"
        where = f"{rail} to {load}" if self.side == HIGH else f"{load} to GND"
        drawn = [Part("Q", what, where)]
        driver = "its transistor" if self.side == HIGH else "pin"
        ends = rail if self.side == HIGH else "GND"
        if self.side == HIGH:
            drawn.append(Part("Q_G", "small NPN or N-channel MOSFET", f"R_G to GND, for {load}"))
        if self.text("R_pd"):
            drawn.append(Part("R_pd", self.on_drawing("R_pd"), f"gate to {ends}, switch of {load}"))
        if float(self.R_G.max()) > 0:
            drawn.append(Part("R_G", self.on_drawing("R_G"), f"{driver} to gate, switch of {load}"))
        if self.load == INDUCTIVE and self.flyback == DIODE:
            drawn.append(
                Part(
                    "D",
                    f"diode, {show(float(self.I_FD.min()), 'A')} or more",
                    f"GND to {load}" if self.side == HIGH else f"switch of {load} to {rail}",
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
