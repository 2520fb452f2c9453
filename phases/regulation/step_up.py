"""Step-up converter: duty, inductor, capacitors, losses, for continuous inductor current.

Sources: duty from the drops, inductor, peak current, TI SLVS497E, page 13; duty from an efficiency,
output capacitor, TI SLVA372; buck-boost of four switches, one pair switching at a time, TI TPS63000
(SLVS520B), equations 3 to 6; right-half-plane zero, TI TPS43000 (SLUS489), equation 13; load
disconnect, Microchip DS22234B, section 4.1. Max load, ESR step, currents of the capacitors:
textbook (from memory). Of its own: the inductor's resistance in the duty, as the root of a
quadratic; without it the duty is that of SLVS497E. The ripple leaves that resistance out, which
errs to the safe side. Losses: as for the step-down converter. Junction to ambient of a board of
one's own: as for the linear regulator.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import log, pi

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Choice,
    Curve,
    Finding,
    Flag,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    inside,
    limit,
    not_applicable,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.extrema import beside, with_extrema
from phases.kit.frame import CORNERS
from phases.kit.preferred import around
from phases.kit.spread import Spread

BOOST, BUCK_BOOST = "boost", "buck-boost"
DROPS, EFFICIENCY = "drops", "efficiency"
SWITCH, DIODE = "switch", "diode"

TOO_HOT_TO_TOUCH = 60.0
"""°C, by common practice; the case follows the junction closely."""

CROSSOVER = 5
"""The loop crosses a fifth of the right-half-plane zero or lower, the strictest of the shares that
TI SNVS176D (a half), SLUSDY3 (a third) and a design note on the LM5156 (a fifth) give."""

LEAKED = 0.1
"""V that leakage leaves on an output that is disconnected (common practice)."""

_MADE_HERE = {"regulator": "step-up"}

Formula = Callable[[Array, Array], Array]
"""Of input voltage and load current: what is evaluated at places between their ends."""


class StepUp(
    Calculator,
    name="step-up",
    title="Step-up converter",
    per="rail",
    source="TI SLVS497E, SLVA372, TPS63000 (SLVS520B), TPS43000 (SLUS489); Microchip DS22234B",
):
    """Does this boost (or buck-boost) converter carry its load from the lowest input?

    5 V to 12 V at 0.5 A with 4.7 µH and no loss (published, MP1527 data sheet: 141 kHz):

    >>> lossless = {"DCR": "0 Ω", "V_SW": "0 V", "V_F": "0 V", "L": "4.7 µH"}
    >>> judged = judge(StepUp(lossless, V_in="5 V", V_out="12 V", I_out="0.5 A"))
    >>> round(judged.output("f_RHP").typ / 1e3)
    141
    """

    regulator = Card(
        "part card of the regulator", of="board", default="", ledger="rail.{rail}.card.regulator"
    )
    inductor = Card(
        "part card of the inductor", of="board", default="", ledger="rail.{rail}.card.inductor"
    )
    diode = Card("part card of the diode", of="board", default="", ledger="rail.{rail}.card.diode")
    kind = Choice("topology", (BOOST, BUCK_BOOST), of="board", default=BOOST)
    V_in = SupplyVoltage(
        "input voltage",
        of="board",
        default="3 / 3.7 / 4.2 V",
        ledger="rail.{parent}.window",
        least=1e-3,
        span=(0.5, 60.0),
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
        default="300 mA",
        ledger="rail.{rail}.peak",
        span=(1e-3, 10.0),
    )
    f = Quantity(
        "Hz",
        "switching frequency",
        card="regulator.frequency",
        default="1.2 MHz ± 10 %",
        least=1.0,
        span=(5e4, 5e6),
    )
    K = Quantity(
        "%",
        "wanted inductor ripple / mean current",
        of="practice",
        default="30 %",
        least=1e-3,
        fixed=True,
        note="20 to 40 %: SLVA372",
    )
    L = Quantity("H", "inductance", of="board", free=True, least=1e-9)
    tol_L = Quantity(
        "%", "inductance tolerance", card="inductor.tolerance", default="20 %", most=0.5, fixed=True
    )
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
        default="1.9 A",
        span=(0.01, 50.0),
    )
    duty = Choice(
        "duty cycle from",
        (DROPS, EFFICIENCY),
        of="board",
        default=DROPS,
        note="A buck-boost always uses the efficiency",
    )
    eta_D = Quantity(
        "%", "assumed efficiency", of="practice", default="85 %", least=0.1, most=1.0, fixed=True
    )
    V_SW = Quantity(
        "V",
        "voltage drop of a switch, on",
        of="part",
        default="50 / 70 / 120 mV",
        span=(1e-3, 1.0),
        note="On-resistance, hot, times peak current",
    )
    rectifier = Choice("rectifier", (SWITCH, DIODE), of="board", default=SWITCH)
    V_F = Quantity(
        "V",
        "voltage drop of the rectifier",
        card="diode.forward",
        default="50 / 80 / 120 mV",
        span=(1e-3, 2.0),
        note="Forward voltage of a diode; of a switch as above",
    )
    I_FD = Quantity("A", "rated current of the diode", card="diode.current", default="1 A")
    V_RD = Quantity(
        "V", "rated reverse voltage of the diode", card="diode.voltage_max", default="20 V"
    )
    t_r = Quantity(
        "s", "rise time at the switch", card="regulator.rise_time", default="5 ns", fixed=True
    )
    I_Q = Quantity(
        "A",
        "quiescent current, from the output",
        card="regulator.ground_current",
        default="0.5 mA",
        fixed=True,
    )
    I_lim = Quantity(
        "A",
        "current limit of the switch",
        card="regulator.switch_current",
        default="1.2 / 1.5 / 1.8 A",
        fixed=True,
    )
    D_max = Quantity(
        "%", "max duty cycle", card="regulator.duty", default="88 %", most=1.0, fixed=True
    )
    V_inmin = SupplyVoltage("min input voltage under load", of="part", default="1.8 V", fixed=True)
    V_inmax = SupplyVoltage(
        "max recommended input voltage", card="regulator.input_max", default="5.5 V", fixed=True
    )
    V_outmax = SupplyVoltage(
        "max recommended switch voltage", of="part", default="5.5 V", fixed=True
    )
    disconnects = Flag("load disconnect when disabled?", of="part", default="no")
    V_D = Quantity(
        "V",
        "diode or body diode drop, disabled",
        of="part",
        default="0.2 / 0.5 / 0.8 V",
        fixed=True,
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
    I_COr = Quantity(
        "A", "output capacitor ripple rating", of="part", default="1 A", note="Common practice"
    )
    dV = Quantity(
        "V", "allowed output ripple, peak to peak", of="board", default="50 mV", fixed=True
    )
    C_in = Quantity(
        "F", "input capacitance, effective", of="board", default="4 / 6 / 10 µF", least=1e-12
    )
    ESR_in = Quantity("Ω", "ESR of the input capacitor", of="practice", default="2 / 4 / 8 mΩ")
    I_CIr = Quantity(
        "A", "input capacitor ripple rating", of="part", default="1 A", note="Common practice"
    )
    dV_in = Quantity(
        "V", "allowed input ripple, peak to peak", of="board", default="50 mV", fixed=True
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
        "own board over test board",
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
        """E12 values, the nearest by ratio to L_min at the lowest input and max load first"""
        lowest: Spread = self.inputs.reading("V_in").value
        V_in, load = self.V_in * 0.0 + lowest.low, self.I_out
        wanted = float((self._volt_seconds(V_in, load) / (self.K * self._I_L(V_in, load))).max())
        if 0 < wanted < 1e3:
            yield from sorted(around("E12", wanted, 9), key=lambda L: abs(log(L / wanted)))

    # ---- The inductor --------------------------------------------------------------------

    def _off(self, V_in: Array, I_out: Array) -> Array:
        """1 - D of the output pair; at the corners, where nearly all is asked, made once."""
        if V_in is self.V_in and I_out is self.I_out:
            return 1 - self.D
        return self._rest(V_in, I_out)

    def _rest(self, V_in: Array, I_out: Array) -> Array:
        """1 - D of the output pair: the greater root of
        (V_out + V_F - V_SW) x² - (V_in - V_SW) x + I_out DCR = 0. Where there is none, losses eat
        up the input before the output gets it. At most 1."""
        if self._by_efficiency():
            return np.minimum(V_in * self._in_duty() / self.V_out, 1.0)
        on, off = V_in - self.V_SW, self.V_out + self.V_F - self.V_SW
        root = np.sqrt(on * on - 4 * off * I_out * self.DCR)
        return np.where(on > 0, np.minimum((on + root) / (2 * off), 1.0), np.nan)

    def _in_duty(self) -> Array | float:
        """The efficiency that the duty has in it: none of a buck-boost, as SLVS520B has it."""
        return 1.0 if self.kind == BUCK_BOOST else self.eta_D

    def _on_in(self, V_in: Array) -> Array:
        """Share of time that the input pair joins inductor and input: of a boost all of it."""
        if self.kind == BOOST:
            return V_in * 0.0 + 1.0
        return np.minimum(self.V_out / V_in, 1.0)

    def _I_L(self, V_in: Array, I_out: Array) -> Array:
        """I_out / (1 - D); of a buck-boost over the efficiency, as SLVS520B has it"""
        return I_out / (self._off(V_in, I_out) * (self.eta_D if self.kind == BUCK_BOOST else 1.0))

    def _volt_seconds(self, V_in: Array, I_out: Array) -> Array:
        """Ripple times inductance."""
        drop = self.V_SW if (self.kind, self.duty) == (BOOST, DROPS) else 0.0
        rise = np.maximum(V_in - drop, 0.0) * (1 - self._off(V_in, I_out))
        return (rise + self.V_out * (1 - self._on_in(V_in))) / self.f

    def _dI(self, V_in: Array, I_out: Array) -> Array:
        return self._volt_seconds(V_in, I_out) / self.L

    def _over_all(self, formula: Formula, off: Array | float | None = None) -> Array:
        """`formula` over the spread of the input; of a buck-boost at V_in = V_out as well.

        off: the 1 - D at which it turns below the output, where a closed form says so.
        """

        def of(V_in: Array) -> Array:
            return formula(V_in, self.I_out)

        found = with_extrema(self.V_in, of, at=None if off is None else self._input_at(off))
        if self.kind == BOOST:
            return found
        return beside(found, with_extrema(self.V_in, of, at=self.V_out))

    def _input_at(self, off: Array | float) -> Array:
        """The input at which 1 - D is `off`."""
        if self._by_efficiency():
            return off * self.V_out / self._in_duty()
        swing = self.V_out + self.V_F - self.V_SW
        return self.V_SW + off * swing + self.I_out * self.DCR / off

    def _dcr_share(self) -> Array:
        """I_out DCR over V_out + V_F - V_SW; up to 1/27 the ripple of a boost rises and falls."""
        if self._by_efficiency():
            return self.V_out * 0.0
        lost = self.I_out * self.DCR / (self.V_out + self.V_F - self.V_SW)
        return np.minimum(lost, 1 / 27)

    def _steepest(self) -> Array:
        """1 - D at the greatest ripple, a half without losses: 2 x³ - x² + lost = 0, by Newton."""
        lost = self._dcr_share()
        x = 0.5 + 0.0 * lost
        for _ in range(5):
            x = np.maximum(x - (2 * x**3 - x**2 + lost) / (6 * x**2 - 2 * x), 0.34)
        return x

    def _over_input(self, formula: Formula) -> Array:
        """The same for what in continuous current turns at V_in = V_out only."""
        if not float(self.dI_L.max()) < 2 * float(self.I_L.min()):
            return self._over_all(formula)
        if self.kind == BOOST:
            return formula(self.V_in, self.I_out)
        return with_extrema(self.V_in, lambda V_in: formula(V_in, self.I_out), at=self.V_out)

    def _with_losses(self, formula: Formula) -> Array:
        """The same for what has losses in it: those of a buck-boost may turn above its output."""
        return self._over_all(formula) if self.kind == BUCK_BOOST else self._over_input(formula)

    @output("%", "duty cycle")
    def D(self) -> Array:
        """1 - (V_in - V_SW) / (V_out + V_F - V_SW) with V_in less I_L DCR; or
        1 - V_in eta_D / V_out; of a buck-boost that of its output pair, 1 - V_in / V_out"""
        return 1 - self._rest(self.V_in, self.I_out)

    @output("H", "inductance for the ripple wanted")
    def L_min(self) -> Array:
        """dI_L L / (K I_L)"""
        return self._over_all(
            lambda V, load: self._volt_seconds(V, load) / (self.K * self._I_L(V, load)),
            off=(1 + np.sqrt(np.maximum(1 - 3 * self._dcr_share(), 0.0))) / 3,
        )

    @output("H", "min inductance for continuous current")
    def L_continuous(self) -> Array:
        """dI_L L / (2 I_L); of a boost D (1 - D)² V_out / (2 f I_out)"""
        return self.L_min * self.K / 2

    @output("A", "mean inductor current")
    def I_L(self) -> Array:
        """I_out / (1 - D); of a buck-boost V_out I_out / (eta_D V_in), or I_out / eta_D"""
        return self._I_L(self.V_in, self.I_out)

    @output("A", "inductor ripple current, peak to peak")
    def dI_L(self) -> Array:
        """(V_in - V_SW) D / (f L); by the efficiency V_in D / (f L); of a buck-boost above its
        output V_out (1 - V_out / V_in) / (f L)"""
        return self._over_all(self._dI, off=self._steepest())

    @output("A", "peak current")
    def I_PK(self) -> Array:
        """I_L + dI_L / 2"""
        return self._over_input(self._peak)

    def _peak(self, V_in: Array, I_out: Array) -> Array:
        return self._I_L(V_in, I_out) + self._dI(V_in, I_out) / 2

    def _square(self, V_in: Array, I_out: Array) -> Array:
        """The mean square of the inductor current."""
        return self._I_L(V_in, I_out) ** 2 + self._dI(V_in, I_out) ** 2 / 12

    @output("A", "inductor current, RMS")
    def I_RMS(self) -> Array:
        """√(I_L² + dI_L² / 12)"""
        return self._over_input(lambda V, load: np.sqrt(self._square(V, load)))

    @output("A", "max load at the current limit")
    def I_max(self) -> Array:
        """(I_lim - dI_L / 2) (1 - D), of a buck-boost times eta_D; DCR counts at that current"""
        return self._over_input(self._most)

    def _most(self, V_in: Array, I_out: Array) -> Array:
        I_L = np.maximum(self.I_lim - self._dI(V_in, I_out) / 2, 0.0)
        if self.kind == BUCK_BOOST:
            return I_L * self._off(V_in, I_out) * self.eta_D
        if self.duty == EFFICIENCY:
            return I_L * self._off(V_in, I_out)
        left = np.maximum(V_in - self.V_SW - I_L * self.DCR, 0.0)
        return I_L * np.minimum(left / (self.V_out + self.V_F - self.V_SW), 1.0)

    @output("Hz", "right-half-plane zero")
    def f_RHP(self) -> Array:
        """V_out (1 - D)² / (2 π L I_out)"""
        return self.V_out * self._off(self.V_in, self.I_out) ** 2 / (2 * pi * self.L * self.I_out)

    # ---- The capacitors ------------------------------------------------------------------

    def _V_C(self, V_in: Array, I_out: Array) -> Array:
        x = self._off(V_in, I_out)
        own = self._dI(V_in, I_out) / (8 * self.f * self.C_out)
        return np.where(x < 1, I_out * (1 - x) / (self.f * self.C_out), own)

    def _V_ESR(self, V_in: Array, I_out: Array) -> Array:
        dI = self._dI(V_in, I_out)
        return self.ESR * np.where(self._off(V_in, I_out) < 1, self._I_L(V_in, I_out) + dI / 2, dI)

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
        """I_out D / (f C_out) + ESR I_PK; of a buck-boost above its output
        dI_L (1 / (8 f C_out) + ESR)"""
        return self._over_input(lambda V, load: self._V_C(V, load) + self._V_ESR(V, load))

    @output("V", "ESR step of the output ripple")
    def V_ESR(self) -> Array:
        """ESR I_PK, because the output current steps from 0 to the peak"""
        return self._over_input(self._V_ESR)

    @output("F", "output capacitance for the ripple, without ESR")
    def C_ripple(self) -> Array:
        """I_out D / (f dV)"""
        return self._over_input(lambda V, load: self._V_C(V, load) * self.C_out / self.dV)

    @output("A", "output capacitor current, RMS")
    def I_CO(self) -> Array:
        """√(I_out² D / (1 - D) + (1 - D) dI_L² / 12)"""
        return self._over_input(lambda V, load: self._cut(self._off(V, load), V, load))

    @output("A", "input capacitor current, RMS")
    def I_CIN(self) -> Array:
        """dI_L / √12; of a buck-boost above its output, at d = V_out / V_in,
        √(d (1 - d) I_L² + d dI_L² / 12)"""
        if self.kind == BOOST:
            return self.dI_L / 12**0.5
        return self._over_all(lambda V, load: self._cut(self._on_in(V), V, load))

    def _cut(self, share: Array, V_in: Array, I_out: Array) -> Array:
        """RMS of the alternating part of the inductor current that flows that share of time."""
        I_L, dI = self._I_L(V_in, I_out), self._dI(V_in, I_out)
        return np.sqrt(share * (1 - share) * I_L**2 + share * dI**2 / 12)

    @output("V", "input ripple, peak to peak")
    def V_CIN(self) -> Array:
        """dI_L (1 / (8 f C_in) + ESR_in); of a buck-boost above its output
        I_out d (1 - d) / (f C_in) + ESR_in I_PK, d = V_out / V_in"""
        if self.kind == BOOST:
            return self.dI_L * (1 / (8 * self.f * self.C_in) + self.ESR_in)
        return self._over_all(self._V_CIN)

    def _V_CIN(self, V_in: Array, I_out: Array) -> Array:
        """Of a buck-boost."""
        D_in, dI = self._on_in(V_in), self._dI(V_in, I_out)
        cut = I_out * D_in * (1 - D_in) / (self.f * self.C_in)
        cut = cut + self.ESR_in * (self._I_L(V_in, I_out) + dI / 2)
        return np.where(D_in < 1, cut, dI * (1 / (8 * self.f * self.C_in) + self.ESR_in))

    # ---- The losses ----------------------------------------------------------------------

    def _P_on(self, V_in: Array, I_out: Array) -> Array:
        """Loss of the switches that charge the inductor while they conduct."""
        share = 1 - self._off(V_in, I_out)
        if self.kind == BUCK_BOOST:
            share = share + self._on_in(V_in)
        return self.V_SW * self._I_L(V_in, I_out) * share

    def _P_rect(self, V_in: Array, I_out: Array) -> Array:
        share = self._off(V_in, I_out)
        if self.kind == BUCK_BOOST:
            share = share + 1 - self._on_in(V_in)
        return self.V_F * self._I_L(V_in, I_out) * share

    def _P_part(self, V_in: Array, I_out: Array) -> Array:
        """Loss of the part itself."""
        own = self._P_on(V_in, I_out) + self._P_SW(V_in, I_out) + self.V_out * self.I_Q
        return own + (self._P_rect(V_in, I_out) if self.rectifier == SWITCH else 0.0)

    def _loss(self, V_in: Array, I_out: Array) -> Array:
        outside = self._P_rect(V_in, I_out) if self.rectifier == DIODE else 0.0
        return self._P_part(V_in, I_out) + outside + self._square(V_in, I_out) * self.DCR

    @output("W", "switch conduction loss")
    def P_on(self) -> Array:
        """V_SW I_L D; of a buck-boost V_SW I_L (D + d), d = V_out / V_in, at most 1"""
        return self._over_input(self._P_on)

    @output("W", "rectifier loss")
    def P_rect(self) -> Array:
        """V_F I_L (1 - D); of a buck-boost V_F I_L (2 - D - d)"""
        return self._over_input(self._P_rect)

    @output("W", "switching loss")
    def P_SW(self) -> Array:
        """V_out I_L f t_r, V_in where that is more"""
        return self._over_input(self._P_SW)

    def _P_SW(self, V_in: Array, I_out: Array) -> Array:
        return np.maximum(V_in, self.V_out) * self._I_L(V_in, I_out) * self.f * self.t_r

    @output("W", "inductor loss")
    def P_CU(self) -> Array:
        """I_RMS² DCR"""
        return self._over_input(lambda V, load: self._square(V, load) * self.DCR)

    @output("W", "total loss")
    def P(self) -> Array:
        """P_on + P_rect + P_SW + P_CU + V_out I_Q"""
        return self._with_losses(self._loss)

    @output("A", "current from the input", publishes="rail.{rail}.input_current", when=_MADE_HERE)
    def I_in(self) -> Array:
        """(V_out I_out + P) / V_in"""
        return self._over_input(lambda V, load: (self.V_out * load + self._loss(V, load)) / V)

    @output("%", "efficiency")
    def eta(self) -> Array:
        """V_out I_out / (V_out I_out + P)"""
        V_in = with_extrema(self.V_in, lambda V_in: V_in, at=self.V_out)
        best = with_extrema(self.I_out, lambda load: self._eta(V_in, load))
        return beside(self._with_losses(self._eta), best)

    def _eta(self, V_in: Array, I_out: Array) -> Array:
        power = self.V_out * I_out
        return power / (power + self._loss(V_in, I_out))

    # ---- The rail ------------------------------------------------------------------------

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
        "V",
        "output while disabled",
        bench=Bench(
            "voltage",
            title="{rail} with its converter disabled",
            do="Hold enable low; measure the output",
            where="output capacitor of {rail}",
            first="The enable level; whether this order code disconnects its load",
            ends="high",
        ),
    )
    def V_off(self) -> Array:
        """V_in - V_D of a boost without load disconnect: inductor and diode join it to the input;
        0.1 V at most with it"""
        joined = np.maximum(self.V_in - self.V_D, 0.0)
        return joined * 0.0 + LEAKED if self._switched_off() else joined

    def _switched_off(self) -> bool:
        return self.disconnects or self.kind == BUCK_BOOST

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
        """T_A + k_board theta_JA (P - P_CU), a diode's loss left out"""
        return self._with_losses(self._hot)

    def _hot(self, V_in: Array, I_out: Array) -> Array:
        return self.T_A + self.k_board * self.theta_JA * self._P_part(V_in, I_out)

    # ---- Its limits ----------------------------------------------------------------------

    @limit("Output above the input", unit="V")
    def output_above_input(self) -> Bound | NotApplicable:
        """V_out above V_in: a boost passes a higher input through"""
        if self.kind == BUCK_BOOST:
            return not_applicable("A buck-boost steps down as well")
        return above(self.V_out, self.V_in)

    @limit("Saturation", unit="A")
    def saturation(self) -> Bound:
        """I_PK below I_sat"""
        return below(self.I_PK, self.I_sat)

    @limit("Current limit", unit="A")
    def current_limit(self) -> Bound:
        """I_PK below I_lim"""
        return below(self.I_PK, self.I_lim)

    @limit("Duty cycle", unit="%", asked=0.0)
    def duty_(self) -> Bound:
        """D below D_max: above it the output falls with the input"""
        return below(self.D, self.D_max)

    @limit("Input voltage", unit="V")
    def input_range(self) -> Bound:
        """V_in from V_inmin to V_inmax"""
        return inside(self.V_in, self.V_inmin, self.V_inmax, of=self.V_inmax - self.V_inmin)

    @limit("Voltage at the switch", unit="V", asked=0.0)
    def switch_rating(self) -> Bound:
        """V_out, of a buck-boost V_in where that is more, below V_outmax"""
        highest = self.V_out if self.kind == BOOST else np.maximum(self.V_in, self.V_out)
        return below(highest, self.V_outmax)

    @limit("Output ripple", unit="V")
    def ripple(self) -> Bound:
        return below(self.V_ripple, self.dV)

    @limit("Input ripple", unit="V")
    def input_ripple(self) -> Bound:
        return below(self.V_CIN, self.dV_in)

    @limit("Output capacitor current", unit="A")
    def output_capacitor(self) -> Bound:
        """I_CO below I_COr"""
        return below(self.I_CO, self.I_COr)

    @limit("Input capacitor current", unit="A")
    def input_capacitor(self) -> Bound:
        """I_CIN below I_CIr"""
        return below(self.I_CIN, self.I_CIr)

    @limit("Diode current", unit="A")
    def diode_current(self) -> Bound | NotApplicable:
        """I_out below I_FD"""
        if self.rectifier == SWITCH:
            return not_applicable("The rectifier is a switch of the part")
        return below(self.I_out, self.I_FD)

    @limit("Diode voltage", unit="V")
    def diode_voltage(self) -> Bound | NotApplicable:
        """V_out below V_RD"""
        if self.rectifier == SWITCH:
            return not_applicable("The rectifier is a switch of the part")
        return below(self.V_out, self.V_RD)

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self._hot(self.V_in, self.I_out), self.T_Jmax, of=self.T_Jmax - self.T_A)

    curves = (
        Curve(
            "Peak current against input",
            x="V_in",
            y="I_PK",
            span=(0.8, 24.0),
            limit="current-limit",
            log=True,
        ),
        Curve("Max load against input", x="V_in", y="I_max", span=(0.8, 24.0), log=True),
        Curve("Efficiency against load", x="I_out", y="eta", span=(1e-3, 2.0), log=True),
    )

    def parts(self) -> Sequence[Part]:
        names, worst = self.inputs.names, self.under(CORNERS)
        rail, parent = names.get("rail", "rail"), names.get("parent", "input")
        volts, load = show(float(worst.V_out.max()), "V"), show(float(worst.I_out.max()), "A")
        peak = show(float(worst.I_lim.min()), "A")
        what = f"{self.kind} converter, {volts}, {load}, switch limited at {peak} or more"
        found = [Part("U", what, f"{parent} to {rail}")]
        if self.text("L"):
            saturates = show(float(worst.I_sat.min()), "A")
            what = f"{self.text('L')} inductor, saturation current {saturates} or more"
            found.append(Part("L", what, f"{parent} to switch node"))
        if self.rectifier == DIODE:
            volts, amps = show(float(worst.V_RD.min()), "V"), show(float(worst.I_FD.min()), "A")
            what = f"Schottky diode, {volts}, {amps} or more"
            found.append(Part("D", what, f"switch node to {rail}"))
        found.append(Part("C_in", f"{self.text('C_in')} effective", f"{parent} to GND, at U"))
        if self.inputs.reading("C_out").origin not in ("ledger", "brief"):
            found.append(Part("C_out", f"{self.text('C_out')} effective", f"{rail} to GND"))
        return found

    def notes(self) -> Sequence[Finding]:
        worst = self.under(CORNERS)
        hot = float(worst.T_J.max())
        said = [
            *self._of_the_output(worst),
            *(self._of_the_inductor(worst) if self.text("L") else ()),
            (
                hot > TOO_HOT_TO_TOUCH,
                "converter",
                f"It gets too hot to touch, over {show(TOO_HOT_TO_TOUCH, '°C')}",
                "Keep fingers and plastics away from it; measure it at the first power-on",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]

    def _of_the_output(self, worst: StepUp) -> Sequence[tuple[bool, str, str, str]]:
        left = show(float(worst.V_off.max()), "V")
        return [
            (
                not self._switched_off(),
                "output",
                f"Disabled it stays connected to the input, at {left}, and a short is not limited",
                "Where that matters use a part with load disconnect, or a load switch",
            ),
            (
                self.kind == BUCK_BOOST,
                "buck-boost",
                "Where input and output are close all four switches switch: more ripple and loss",
                "For that region use the part's own curves",
            ),
            (
                self._by_efficiency() and float(worst.eta.min()) < float(worst.eta_D.min()),
                "efficiency",
                f"The losses leave {show(float(worst.eta.min()), '%')} in the worst corner, less "
                "than assumed",
                "Assume that, or less",
            ),
        ]

    def _by_efficiency(self) -> bool:
        return self.kind == BUCK_BOOST or self.duty == EFFICIENCY

    def _of_the_inductor(self, worst: StepUp) -> Sequence[tuple[bool, str, str, str]]:
        lowest = float(worst.f_RHP.min())
        return [
            (
                float(worst.L.min()) < float(worst.L_continuous.max()),
                "inductor",
                "Not in continuous conduction at this load, unless the part forces it: duty cycle "
                "and ripple hold for continuous current only",
                "At light load use the part's efficiency curve",
            ),
            (
                float(worst.I_sat.min()) < float(worst.I_lim.max()),
                "inductor",
                "Start-up and faults drive it to the current limit, above saturation",
                f"Choose one that saturates above {show(float(worst.I_lim.max()), 'A')}",
            ),
            (
                0 < lowest < np.inf,
                "loop",
                f"Right-half-plane zero at {show(lowest, 'Hz', 2)} at worst; stability is not "
                "judged here",
                f"Cross over below {show(lowest / CROSSOVER, 'Hz', 2)}; keep inductor and output "
                "capacitor as in its application circuit",
            ),
        ]
