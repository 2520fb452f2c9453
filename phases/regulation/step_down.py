"""Step-down converter: duty, inductor, capacitors, losses, in continuous conduction.

Sources: duty, inductor, peak current and output capacitor, TI SLVA477B; currents of inductor and
capacitors, onsemi NCP3170 data sheet, equations 3 to 21; output capacitor at load steps and
losses, TI TPS54540 (SLVSBX7), equations 26 to 35 and 49 to 53; input ripple at the worst duty, TI
TPS5430 (SLVS632), equation 2; soft start, TI TPS54531 (SLVSBI5); continuous current, Hart, Power
Electronics, section 6.3 (from memory). Sheets differ in some forms; each can be chosen, the first
named is the default: duty from the volt-seconds of the inductor with the drops of switches and
inductor in them (textbook, from memory), V_out / V_in or, SLVA477B, over the efficiency; the whole
inductance or, TPS5430, 0.8 of it; the two ripples of the output capacitor added or, TPS54540, as
a root of squares; overshoot by energy (TPS54540), its first order (SLVA477B) or twice that
(TPS56221). At start-up and in a fault the current rises to the limit of the switch: data sheets
of TI's converters ask for an inductor that bears it. Junction to ambient of a board of one's own:
as for the linear regulator.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import log

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Check,
    Choice,
    Curve,
    Finding,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    holds,
    limit,
    not_applicable,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.extrema import beside, with_extrema
from phases.kit.preferred import around

LOSSES, IDEAL, WITH_EFFICIENCY = "with losses", "ideal", "with efficiency"
WHOLE, FOUR_FIFTHS = "whole", "0.8 of it"
SUM, ROOT = "sum", "root of squares"
ENERGY, FIRST_ORDER, DOUBLE = "energy", "first order", "twice first order"
SWITCH, DIODE = "switch", "diode"
SKIPS, FORCED = "skips pulses", "forced continuous"
TINY = 1e-9

TOO_HOT_TO_TOUCH = 60.0
"""°C, by common practice; the case follows the junction closely."""

_MADE_HERE = {"regulator": "switching"}


class StepDown(
    Calculator,
    name="step-down",
    title="Step-down converter",
    per="rail",
    source="TI SLVA477B, TPS54540 (SLVSBX7), TPS5430 (SLVS632); onsemi NCP3170 data sheet",
):
    """Does this converter carry its load?

    36 V to 5 V at 1 A, with a ripple of a fifth (published, an open-hardware notebook: 43 µH):

    >>> said = {"V_in": "36 V", "V_out": "5 V", "I_out": "1 A", "f": "500 kHz", "K": "20 %"}
    >>> judged = judge(StepDown(said, duty="ideal"))
    >>> round(judged.output("L_min").typ * 1e6)
    43
    """

    regulator = Card(
        "part card of the regulator", of="board", default="", ledger="rail.{rail}.card.regulator"
    )
    inductor = Card(
        "part card of the inductor", of="board", default="", ledger="rail.{rail}.card.inductor"
    )
    diode = Card("part card of the diode", of="board", default="", ledger="rail.{rail}.card.diode")
    capacitor = Card(
        "part card of the input capacitor",
        of="board",
        default="",
        ledger="rail.{rail}.card.input-capacitor",
    )
    V_in = SupplyVoltage(
        "input voltage",
        of="board",
        default="9 / 12 / 15 V",
        ledger="rail.{parent}.window",
        least=1e-3,
        span=(1.0, 60.0),
    )
    V_out = SupplyVoltage(
        "output voltage",
        of="board",
        default="5 V ± 2 %",
        ledger="rail.{rail}.set_voltage",
        least=1e-3,
        fixed=True,
    )
    I_out = Quantity(
        "A",
        "load current",
        of="board",
        default="500 mA",
        ledger="rail.{rail}.peak",
        span=(1e-3, 10.0),
    )
    f = Quantity(
        "Hz",
        "switching frequency",
        card="regulator.frequency",
        default="500 kHz ± 10 %",
        least=1.0,
        span=(50e3, 5e6),
    )
    K = Quantity(
        "%",
        "wanted inductor ripple / load current",
        of="practice",
        default="30 %",
        least=1e-3,
        fixed=True,
        note="20 to 40 %: SLVA477B",
    )
    L = Quantity("H", "inductance", of="board", free=True, least=1e-9)
    tol_L = Quantity(
        "%", "inductance tolerance", card="inductor.tolerance", default="20 %", most=0.5, fixed=True
    )
    counted = Choice("inductance counted", (WHOLE, FOUR_FIFTHS), of="practice", default=WHOLE)
    DCR = Quantity(
        "Ω",
        "inductor resistance (DCR)",
        card="inductor.resistance",
        default="60 / 80 / 100 mΩ",
        span=(1e-3, 2.0),
    )
    I_sat = Quantity(
        "A",
        "saturation current of the inductor",
        card="inductor.saturation",
        default="2 A",
        span=(0.01, 50.0),
    )
    duty = Choice(
        "duty cycle formula", (LOSSES, IDEAL, WITH_EFFICIENCY), of="practice", default=LOSSES
    )
    eta_D = Quantity(
        "%",
        "efficiency in the duty cycle",
        of="practice",
        default="85 %",
        least=0.1,
        most=1.0,
        fixed=True,
        note="Used in the formula with efficiency only",
    )
    rectifier = Choice("low side", (SWITCH, DIODE), of="board", default=SWITCH, way=True)
    light = Choice("at light load", (SKIPS, FORCED), of="practice", default=SKIPS)
    R_hi = Quantity(
        "Ω",
        "high-side on-resistance, hot",
        card="regulator.high_switch",
        default="80 / 120 / 180 mΩ",
        span=(1e-3, 2.0),
    )
    R_lo = Quantity(
        "Ω",
        "low-side on-resistance, hot",
        card="regulator.low_switch",
        default="50 / 80 / 120 mΩ",
        span=(1e-3, 2.0),
    )
    V_F = Quantity(
        "V",
        "forward voltage of the diode",
        card="diode.forward",
        default="0.35 / 0.4 / 0.5 V",
        fixed=True,
    )
    C_j = Quantity("F", "diode capacitance", card="diode.capacitance", default="100 pF", fixed=True)
    I_FD = Quantity("A", "rated current of the diode", card="diode.current", default="1 A")
    V_RD = Quantity(
        "V", "rated reverse voltage of the diode", card="diode.voltage_max", default="40 V"
    )
    t_r = Quantity(
        "s", "rise time at the switch", card="regulator.rise_time", default="10 ns", fixed=True
    )
    Q_G = Quantity("C", "gate charge", card="regulator.gate_charge", default="3 nC", fixed=True)
    I_Q = Quantity(
        "A", "quiescent current", card="regulator.ground_current", default="0.2 mA", fixed=True
    )
    I_lim = Quantity(
        "A",
        "current limit of the switch",
        card="regulator.switch_current",
        default="1.2 / 1.5 / 1.8 A",
        fixed=True,
    )
    V_inmax = Quantity(
        "V",
        "absolute maximum input voltage",
        card="regulator.input_max",
        default="30 V",
        fixed=True,
    )
    V_inrec = Quantity(
        "V",
        "recommended max input voltage",
        card="regulator.input_recommended",
        default="28 V",
        fixed=True,
    )
    V_inmin = SupplyVoltage(
        "min input voltage",
        card="regulator.input_min",
        default="4 V",
        fixed=True,
        note="Undervoltage lock-out, rising, at its highest",
    )
    C_SS = Quantity("F", "soft-start capacitor", of="board", default="10 nF", fixed=True)
    I_SS = Quantity(
        "A",
        "soft-start current",
        card="regulator.soft_start",
        default="2 µA",
        least=1e-9,
        fixed=True,
    )
    V_REF = Quantity(
        "V", "reference voltage", card="regulator.reference", default="0.8 V", fixed=True
    )
    t_min = Quantity("s", "min on-time", card="regulator.on_time", default="100 ns", fixed=True)
    D_max = Quantity(
        "%", "max duty cycle", card="regulator.duty", default="95 %", most=1.0, fixed=True
    )
    C_out = Quantity(
        "F",
        "output capacitance, effective",
        of="board",
        default="12 / 15 / 20 µF",
        least=1e-12,
        ledger="rail.{rail}.output_capacitance",
        span=(1e-6, 1e-3),
    )
    ESR = Quantity(
        "Ω", "ESR of the output capacitor", of="practice", default="2 / 4 / 8 mΩ", span=(1e-4, 1.0)
    )
    ESL = Quantity("H", "ESL of the output capacitor", of="practice", default="1 nH", fixed=True)
    ripple_form = Choice("how the two ripple terms add", (SUM, ROOT), of="practice", default=SUM)
    dV = Quantity(
        "V", "allowed output ripple, peak to peak", of="board", default="30 mV", fixed=True
    )
    I_L = Quantity("A", "load step, lower load", of="board", default="100 mA", fixed=True)
    I_H = Quantity("A", "load step, upper load", of="board", default="350 mA", fixed=True)
    dV_step = Quantity(
        "V", "allowed swing at the load step", of="board", default="150 mV", least=1e-6, fixed=True
    )
    overshoot = Choice(
        "overshoot formula", (ENERGY, FIRST_ORDER, DOUBLE), of="practice", default=ENERGY
    )
    C_in = Quantity(
        "F", "input capacitance, effective", of="board", default="4 / 6 / 10 µF", least=1e-12
    )
    ESR_in = Quantity("Ω", "ESR of the input capacitor", of="practice", default="2 / 4 / 8 mΩ")
    I_Crms = Quantity(
        "A",
        "input capacitor ripple rating",
        card="capacitor.ripple_current",
        default="1 A",
        note="Common practice",
    )
    dV_in = Quantity(
        "V", "allowed input ripple, peak to peak", of="board", default="100 mV", fixed=True
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    theta_JA = Quantity(
        "K/W",
        "junction to ambient, data sheet",
        card="regulator.theta_ja",
        default="60 K/W",
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
        "°C", "max junction temperature", card="regulator.junction", default="125 °C", fixed=True
    )

    @proposal("L", tolerance="tol_L")
    def stocked(self) -> Iterator[float]:
        """E12 values, the nearest by ratio to L_min at max input and load first"""
        V_in, V_out, load = (self.spread_of(name) for name in ("V_in", "V_out", "I_out"))
        most = V_out.typ * (V_in.high - V_out.typ) / V_in.high
        if most > 0 and load.high > 0:
            wanted = most / (self.spread_of("K").typ * load.high * self.spread_of("f").typ)
            yield from sorted(around("E12", wanted, 9), key=lambda L: abs(log(L / wanted)))

    # ---- The inductor --------------------------------------------------------------------

    @output("V", "drop while the high side conducts")
    def V_hi(self) -> Array:
        """I_out (R_hi + DCR)"""
        return self.I_out * (self.R_hi + self.DCR)

    @output("V", "drop while the low side conducts")
    def V_lo(self) -> Array:
        """I_out (R_lo + DCR), of a diode V_F + I_out DCR"""
        if self.rectifier == DIODE:
            return self.V_F + self.I_out * self.DCR
        return self.I_out * (self.R_lo + self.DCR)

    def _off(self, V_out: Array) -> Array:
        """Volts across the inductor while the low side conducts."""
        return V_out + self.V_lo if self.duty == LOSSES else V_out

    def _both(self, V_in: Array) -> Array:
        """Volts across the inductor in either state, added up: its duty is _off / _both."""
        if self.duty != LOSSES:
            return V_in
        return np.maximum(V_in - self.V_hi + self.V_lo, TINY)

    def _over_efficiency(self, found: Array) -> Array:
        return found / self.eta_D if self.duty == WITH_EFFICIENCY else found

    def _duty(self, V_in: Array, V_out: Array) -> Array:
        return self._over_efficiency(self._off(V_out) / self._both(V_in))

    def _share(self, V_in: Array) -> Array:
        """The duty as far as there is one: 1 where the input is below the output."""
        return np.minimum(self._duty(V_in, self.V_out), 1.0)

    def _ripple(self, off: Array, both: Array) -> Array:
        """Ripple times inductance and frequency, of the volts across the inductor."""
        return self._over_efficiency(np.maximum(both - off, 0.0) * off / both)

    def _L(self) -> Array:
        return self.L * (0.8 if self.counted == FOUR_FIFTHS else 1.0)

    def _peaked(self) -> tuple[Array, Array | None]:
        """`_ripple` at its corners, and where it peaks between them, at a duty of a half.

        It is concave in both voltages, so that it is least at a corner. Which voltage off goes
        with which of both is left open: the peak may lie a little higher than any part has it.
        """
        off, both = self._off(self.V_out), self._both(self.V_in)
        corners = self._ripple(off, both)
        axes = tuple(range(off.ndim - 1))
        least, most = (end(axis=axes, keepdims=True) for end in (off.min, off.max))
        if not ((least < both / 2) & (both / 2 < most)).any():
            return corners, None
        return corners, self._ripple(np.clip(both / 2, least, most), both)

    def _of_ripple(self, answer: Callable[[Array], Array]) -> Array:
        """What follows from `_ripple`."""
        corners, peak = self._frame.once("_peaked", self._peaked)
        if peak is None:
            return answer(corners)
        return beside(answer(corners), answer(peak))

    def _of_swing(self, answer: Callable[[Array], Array]) -> Array:
        """What follows from the inductor's ripple current."""
        scale = self.f * self._L()
        return self._of_ripple(lambda ripple: answer(ripple / scale))

    @output("%", "duty cycle")
    def D(self) -> Array:
        """(V_out + V_lo) / (V_in - V_hi + V_lo), or V_out / V_in, or V_out / (V_in eta_D)

        At most all of the period.
        """
        return self._share(self.V_in)

    @output("s", "on-time")
    def t_on(self) -> Array:
        """D / f"""
        return self.D / self.f

    @output("H", "inductance for the ripple wanted")
    def L_min(self) -> Array:
        """(V_in - V_hi - V_out) D / (f K I_out)"""
        return self._of_ripple(lambda ripple: ripple / (self.f * self.K * self.I_out))

    @output("H", "min inductance for continuous current")
    def L_continuous(self) -> Array:
        """(V_in - V_hi - V_out) D / (2 f I_out)"""
        return self._of_ripple(lambda ripple: ripple / (2 * self.f * self.I_out))

    @output("A", "inductor ripple current, peak to peak")
    def dI_L(self) -> Array:
        """(V_in - V_hi - V_out) D / (f L)"""
        return self._of_swing(lambda dI: dI)

    @output("A", "peak current")
    def I_PK(self) -> Array:
        """I_out + dI_L / 2"""
        return self._of_swing(lambda dI: self.I_out + dI / 2)

    @output("A", "valley current")
    def I_valley(self) -> Array:
        """I_out - dI_L / 2"""
        return self._of_swing(lambda dI: self.I_out - dI / 2)

    @output("A", "inductor current, RMS")
    def I_RMS(self) -> Array:
        """√(I_out² + dI_L² / 12)"""
        return self._of_swing(lambda dI: np.sqrt(self.I_out**2 + dI**2 / 12))

    @output("A", "max load at the current limit")
    def I_max(self) -> Array:
        """I_lim - dI_L / 2"""
        return self.I_lim - self.dI_L / 2

    # ---- The capacitors ------------------------------------------------------------------

    def _Z(self) -> Array:
        """Output ripple over inductor ripple."""
        own = 1 / (8 * self.f * self.C_out)
        return own + self.ESR if self.ripple_form == SUM else np.sqrt(own**2 + self.ESR**2)

    @output(
        "V",
        "output ripple, peak to peak",
        publishes="rail.{rail}.ripple",
        when=_MADE_HERE,
        bench=Bench(
            "ripple",
            title="{rail} ripple",
            where="output capacitor of {rail}",
            first="The output capacitor: value, joints, ESR; then the probe's ground lead",
            caution="Switching spikes add to this; most come from the probe.",
            ends="high",
            when=_MADE_HERE,
        ),
    )
    def V_ripple(self) -> Array:
        """dI_L (1 / (8 f C_out) + ESR), or dI_L √((1 / (8 f C_out))² + ESR²)"""
        return self._of_swing(lambda dI: dI * self._Z())

    @output("%", "output ripple / output voltage")
    def ripple_share(self) -> Array:
        """V_ripple / V_out"""
        return self._of_swing(lambda dI: dI / self.V_out * self._Z())

    @output("F", "output capacitance for the ripple")
    def C_ripple(self) -> Array:
        """dI_L / (8 f dV)"""
        return self._of_swing(lambda dI: dI / (8 * self.f * self.dV))

    @output("Ω", "max ESR for the ripple")
    def ESR_max(self) -> Array:
        """dV / dI_L"""
        return self.dV / self.dI_L

    @output("F", "output capacitance for the load step")
    def C_step(self) -> Array:
        """2 (I_H - I_L) / (f dV_step)"""
        return 2 * (self.I_H - self.I_L) / (self.f * self.dV_step)

    @output("F", "output capacitance for the overshoot")
    def C_over(self) -> Array:
        """L (I_H² - I_L²) / ((V_out + dV_step)² - V_out²), or L (I_H - I_L)² / (2 V_out dV_step),
        or twice that"""
        step = self.I_H - self.I_L
        if self.overshoot == ENERGY:
            swing = (2 * self.V_out + self.dV_step) * self.dV_step
            return self._L() * step * (self.I_H + self.I_L) / swing
        twice: Array = self._L() * step * step / (self.V_out * self.dV_step)
        return twice / 2 if self.overshoot == FIRST_ORDER else twice

    @output("V", "ESR step at the load step")
    def V_jump(self) -> Array:
        """(I_H - I_L) ESR"""
        return (self.I_H - self.I_L) * self.ESR

    @output("V", "overshoot at the load step")
    def V_over(self) -> Array:
        """√(V_out² + L (I_H² - I_L²) / C_out) - V_out, or L (I_H - I_L)² / (2 V_out C_out), or
        twice that"""
        step = self.I_H - self.I_L
        if self.overshoot == ENERGY:
            energy = self._L() * step * (self.I_H + self.I_L) / self.C_out
            return np.sqrt(self.V_out**2 + energy) - self.V_out
        twice: Array = self._L() * step * step / (self.V_out * self.C_out)
        return twice / 2 if self.overshoot == FIRST_ORDER else twice

    @output("V", "swing at the load step")
    def V_swing(self) -> Array:
        """2 (I_H - I_L) / (f C_out) + V_jump, or V_over where that is more"""
        droop = 2 * (self.I_H - self.I_L) / (self.f * self.C_out)
        return np.maximum(droop + self.V_jump, self.V_over)

    @output("V", "ESL step, switch on")
    def V_ESL_on(self) -> Array:
        """ESL dI_L f / D"""
        rising = self._both(self.V_in) - self._off(self.V_out)
        return self.ESL * np.maximum(rising, 0.0) / self._L()

    @output("V", "ESL step, switch off")
    def V_ESL_off(self) -> Array:
        """ESL dI_L f / (1 - D), at the ideal duty ESL V_out / L"""
        return self.ESL * self._off(self.V_out) / self._L()

    @output("A", "output capacitor current, RMS")
    def I_CO(self) -> Array:
        """dI_L / √12"""
        return self._of_swing(lambda dI: dI / 12**0.5)

    @output("A", "input capacitor current, RMS")
    def I_CIN(self) -> Array:
        """I_out √(D (1 - D)), max at D = 0.5"""
        D = self._share(self.V_in)
        corners = self.I_out * np.sqrt(D * (1 - D))
        axes = tuple(range(D.ndim - 1))
        least, most = (end(axis=axes, keepdims=True) for end in (D.min, D.max))
        if not ((least < 0.5) & (most > 0.5)).any():
            return corners
        half = np.clip(0.5, least, most)
        return beside(corners, self.I_out * np.sqrt(half * (1 - half)))

    @output("A", "input capacitor current, worst duty, RMS")
    def I_CIN_worst(self) -> Array:
        """I_out / 2, at D = 0.5"""
        return self.I_out / 2

    @output("A", "input capacitor current with inductor ripple, RMS")
    def I_CIN_ripple(self) -> Array:
        """√(D (I_out² (1 - D) + dI_L² / 12))"""
        D, load = self._share(self.V_in), self.I_out
        axes = tuple(range(D.ndim - 1))
        least, most = (end(axis=axes, keepdims=True) for end in (D.min, D.max))

        def worst(dI: Array) -> Array:
            """At the duty where it peaks for this ripple, whether or not the two go together."""
            peak = np.where(load > 0, 0.5 + dI**2 / (24 * load**2), 1.0)
            d = np.clip(peak, least, most)
            found: Array = np.sqrt(d * (load**2 * (1 - d) + dI**2 / 12))
            return found

        dI = self._ripple(self._off(self.V_out), self._both(self.V_in)) / (self.f * self._L())
        corners = np.sqrt(D * (load**2 * (1 - D) + dI**2 / 12))
        return beside(corners, self._of_swing(worst))

    @output("V", "input ripple at the worst duty, peak to peak")
    def V_CIN(self) -> Array:
        """0.25 I_out / (f C_in) + I_out ESR_in"""
        return 0.25 * self.I_out / (self.f * self.C_in) + self.I_out * self.ESR_in

    @output("F", "input capacitance for the ripple allowed")
    def C_in_min(self) -> Array:
        """0.25 I_out / (f (dV_in - I_out ESR_in))"""
        left = np.maximum(self.dV_in - self.I_out * self.ESR_in, 0.0)
        return 0.25 * self.I_out / (self.f * left)

    # ---- The losses ----------------------------------------------------------------------

    @output("W", "high-side conduction loss")
    def P_COND(self) -> Array:
        """I_out² R_hi D"""
        return self.I_out**2 * self.R_hi * self._share(self.V_in)

    @output("A", "average current of the low side")
    def I_F(self) -> Array:
        """I_out (1 - D)"""
        return self.I_out * (1 - self._share(self.V_in))

    @output("W", "low-side loss")
    def P_low(self) -> Array:
        """I_out² R_lo (1 - D); of a diode V_F I_out (1 - D) + C_j f (V_in + V_F)² / 2"""
        if self.rectifier == SWITCH:
            return self.I_out * self.I_F * self.R_lo
        return self.V_F * self.I_F + self.C_j * self.f * (self.V_in + self.V_F) ** 2 / 2

    @output("W", "switching loss")
    def P_SW(self) -> Array:
        """V_in f I_out t_r"""
        return self.V_in * self.f * self.I_out * self.t_r

    @output("W", "gate drive loss")
    def P_GD(self) -> Array:
        """V_in Q_G f"""
        return self.V_in * self.Q_G * self.f

    @output("W", "quiescent loss")
    def P_Q(self) -> Array:
        """V_in I_Q"""
        return self.V_in * self.I_Q

    @output("W", "inductor loss")
    def P_CU(self) -> Array:
        """I_RMS² DCR"""
        return self.I_RMS**2 * self.DCR

    @output("W", "input capacitor loss")
    def P_CIN(self) -> Array:
        """I_CIN² ESR_in"""
        return self.I_CIN**2 * self.ESR_in

    @output("W", "output capacitor loss")
    def P_CO(self) -> Array:
        """I_CO² ESR"""
        return self.I_CO**2 * self.ESR

    def _fixed(self, V_in: Array) -> Array:
        """The losses that do not follow the load."""
        dI = self._ripple(self._off(self.V_out), self._both(V_in)) / (self.f * self._L())
        found = V_in * (self.Q_G * self.f + self.I_Q) + (self.DCR + self.ESR) * dI**2 / 12
        if self.rectifier == DIODE:
            found = found + self.C_j * self.f * (V_in + self.V_F) ** 2 / 2
        return found

    def _linear(self, V_in: Array) -> Array:
        """The losses that follow the load, over it."""
        found = V_in * self.f * self.t_r
        return found + (self.V_F * (1 - self._share(V_in)) if self.rectifier == DIODE else 0.0)

    def _square(self, V_in: Array) -> Array:
        """The losses that follow the square of the load, over it."""
        D = self._share(V_in)
        found = self.R_hi * D + self.DCR + self.ESR_in * D * (1 - D)
        return found + (self.R_lo * (1 - D) if self.rectifier == SWITCH else 0.0)

    def _loss(self, V_in: Array) -> Array:
        I = self.I_out  # noqa: E741
        return self._fixed(V_in) + self._linear(V_in) * I + self._square(V_in) * I**2

    def _loss_of_part(self, V_in: Array) -> Array:
        D, I = self._share(V_in), self.I_out  # noqa: E741
        R = self.R_hi * D + (self.R_lo * (1 - D) if self.rectifier == SWITCH else 0.0)
        return I**2 * R + V_in * (self.f * I * self.t_r + self.Q_G * self.f + self.I_Q)

    @output("W", "loss inside the converter")
    def P_IC(self) -> Array:
        """P_COND + P_SW + P_GD + P_Q, and P_low of a switch"""
        return with_extrema(self.V_in, self._loss_of_part)

    @output("W", "total loss")
    def P(self) -> Array:
        """P_COND + P_low + P_SW + P_GD + P_Q + P_CU + P_CIN + P_CO"""
        return with_extrema(self.V_in, self._loss)

    @output("%", "efficiency")
    def eta(self) -> Array:
        """V_out I_out / (V_out I_out + P)"""
        corners = tuple(range(self.I_out.ndim - 1))
        least, most = (end(axis=corners, keepdims=True) for end in (self.I_out.min, self.I_out.max))

        def of(V_in: Array, load: Array) -> Array:
            loss = self._fixed(V_in) / load + self._linear(V_in) + self._square(V_in) * load
            found: Array = self.V_out / (self.V_out + loss)
            return found

        def best(V_in: Array) -> Array:
            square = self._square(V_in)
            load = np.where(square > 0, np.sqrt(self._fixed(V_in) / square), most)
            found: Array = np.minimum(np.maximum(load, least), most)
            return found

        ends = with_extrema(self.V_in, lambda V_in: of(V_in, self.I_out))
        if (least == most).all():  # one load: none between its ends is better
            return ends
        return beside(ends, with_extrema(self.V_in, lambda V_in: of(V_in, best(V_in))))

    @output("A", "current from the input", publishes="rail.{rail}.input_current", when=_MADE_HERE)
    def I_in(self) -> Array:
        """(V_out I_out + P) / V_in"""
        return (self.V_out * self.I_out + self._loss(self.V_in)) / self.V_in

    @output("s", "soft-start time")
    def t_SS(self) -> Array:
        """C_SS V_REF / I_SS"""
        return self.C_SS * self.V_REF / self.I_SS

    @output(
        "V",
        "rail voltage",
        publishes="rail.{rail}.voltage",
        when=_MADE_HERE,
        bench=Bench(
            "voltage",
            title="{rail} voltage",
            first="The divider, the enable level, the inductor's joints, {parent} itself",
            caution="A slipped probe at the switching node kills the part: clip on, power off.",
            when=_MADE_HERE,
        ),
    )
    def V_rail(self) -> Array:
        """V_rail = V_out"""
        return self.V_out

    @output(
        "°C",
        "junction temperature",
        bench=Bench(
            "heat",
            title="{rail} converter: case temperature",
            where="case of the converter of {rail}",
            first="Load and input voltage; copper and vias under it; whether it oscillates",
        ),
    )
    def T_J(self) -> Array:
        """T_A + k_board theta_JA P_IC"""
        return self.T_A + self.k_board * self.theta_JA * self.P_IC

    # ---- Its limits ----------------------------------------------------------------------

    @limit("Saturation", unit="A")
    def saturation(self) -> Bound:
        """I_PK below I_sat"""
        return below(self.I_PK, self.I_sat)

    @limit("Current limit", unit="A")
    def current_limit(self) -> Bound:
        """I_PK below I_lim"""
        return below(self.I_PK, self.I_lim)

    @limit("On-time", unit="s")
    def on_time(self) -> Bound:
        return above(self.t_on, self.t_min)

    @limit("Input above the output")
    def steps_down(self) -> Check:
        """V_in above V_out"""
        V_in, V_out = self.spread_of("V_in").low, self.spread_of("V_out").high
        what = (
            f"A step-down converter makes no {show(V_out, 'V')} of {show(V_in, 'V')}: take a "
            "step-up or a step-up-down converter"
        )
        return holds(self.V_in > self.V_out, what)

    @limit("Duty cycle", unit="%", asked=0.0)
    def duty_(self) -> Bound:
        """D below D_max: above it the output falls with the input"""
        return below(self.D, self.D_max)

    @limit("Output ripple", unit="V")
    def ripple(self) -> Bound:
        return below(self.V_ripple, self.dV)

    @limit("Load step", unit="V")
    def load_step(self) -> Bound:
        """V_swing below dV_step"""
        return below(self.V_swing, self.dV_step)

    @limit("Input ripple", unit="V")
    def input_ripple(self) -> Bound:
        """V_CIN below dV_in"""
        return below(self.V_CIN, self.dV_in)

    @limit("Input capacitor current", unit="A")
    def input_capacitor(self) -> Bound:
        """I_CIN below I_Crms"""
        return below(self.I_CIN, self.I_Crms)

    @limit("Input voltage", unit="V")
    def switch_rating(self) -> Bound:
        return below(self.V_in, self.V_inmax)

    @limit("Recommended input", unit="V", asked=0.0)
    def recommended_input(self) -> Bound:
        return below(self.V_in, self.V_inrec)

    @limit("Min input", unit="V", asked=0.0)
    def min_input(self) -> Bound:
        return above(self.V_in, self.V_inmin)

    @limit("Diode current", unit="A")
    def diode_current(self) -> Bound | NotApplicable:
        """I_F below I_FD"""
        if self.rectifier == SWITCH:
            return not_applicable("Synchronous converter, no diode")
        return below(self.I_F, self.I_FD)

    @limit("Diode voltage", unit="V")
    def diode_voltage(self) -> Bound | NotApplicable:
        """V_in below V_RD"""
        if self.rectifier == SWITCH:
            return not_applicable("Synchronous converter, no diode")
        return below(self.V_in, self.V_RD)

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        hottest = self.T_A + self.k_board * self.theta_JA * self._loss_of_part(self.V_in)
        return below(hottest, self.T_Jmax, of=self.T_Jmax - self.T_A)

    curves = (
        Curve("Junction against load", x="I_out", y="T_J", span=(0.0, 2.0), limit="junction"),
        Curve("Efficiency against load", x="I_out", y="eta", span=(1e-3, 2.0), log=True),
        Curve(
            "Input capacitor current against input", x="V_in", y="I_CIN", limit="input-capacitor"
        ),
    )

    def parts(self) -> Sequence[Part]:
        names = self.inputs.names
        rail, parent = names.get("rail", "rail"), names.get("parent", "input")
        volts, load = show(self.spread_of("V_out").typ, "V"), show(float(self.I_out.max()), "A")
        from_input = show(float(self.V_inrec.min()), "V")
        what = f"step-down converter, {from_input} in, {volts} out, {load} or more"
        found = [Part("U", what, f"{parent} to {rail}")]
        if self.text("L"):
            saturation = show(float(self.I_sat.min()), "A")
            what = f"inductor {self.on_drawing('L')}, saturation at {saturation} or more"
            found.append(Part("L", what, f"switch node to {rail}"))
        if self.rectifier == DIODE:
            reverse, forward = show(float(self.V_RD.min()), "V"), show(float(self.I_FD.min()), "A")
            what = f"Schottky diode, {reverse}, {forward} or more"
            found.append(Part("D", what, "GND to switch node"))
        across, through = show(float(self.V_in.max()), "V"), show(float(self.I_Crms.min()), "A")
        what = f"{self.on_drawing('C_in')} effective at {across}, {through} RMS or more"
        found.append(Part("C_in", what, f"{parent} to GND, at U"))
        if self.inputs.reading("C_out").origin not in ("ledger", "brief"):
            found.append(Part("C_out", f"{self.on_drawing('C_out')} effective", f"{rail} to GND"))
        return found

    def _forced(self) -> bool:
        """Whether the current may turn round: then the formulas hold down to no load."""
        return self.light == FORCED and self.rectifier == SWITCH

    def notes(self) -> Sequence[Finding]:
        hot = float(self.T_J.max())
        least, most = float(self.I_sat.min()), float(self.I_lim.max())
        said = [
            (
                hot > TOO_HOT_TO_TOUCH,
                "converter",
                f"It gets too hot to touch, over {show(TOO_HOT_TO_TOUCH, '°C')}",
                "Keep fingers and plastics away from it; measure it at the first power-on",
            ),
            (
                self.spread_of("V_in").low < self.spread_of("V_out").high,
                "converter",
                "The input can fall below the output, which a step-down converter cannot hold",
                "Use a step-up converter, or a buck-boost where both happen",
            ),
            (
                least < most,
                "inductor",
                f"Start-up and faults drive the current to the switch's limit, up to "
                f"{show(most, 'A')}; it saturates at {show(least, 'A')}",
                "Choose one with a saturation current above the limit",
            ),
            (
                not self._forced() and bool(self.text("L")) and float(self.I_valley.min()) < 0,
                "inductor",
                "Not in continuous conduction at this load: duty, ripple and losses hold for "
                "continuous current only",
                "At light load use the part's efficiency curve",
            ),
            (
                self.counted == FOUR_FIFTHS and not self.inputs.reading("L").value.is_exact,
                "inductor",
                "Counted at 0.8 and with its tolerance: the same margin twice",
                "Enter the inductance without a tolerance, or count the whole of it",
            ),
            (
                True,
                "converter",
                "Stability is not judged here",
                "Keep inductor, output capacitor and compensation as in its application circuit",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]
