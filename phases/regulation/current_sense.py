"""Current sense: which shunt, and how exact is the reading?

A shunt, an amplifier, a converter; a monitor that has all of it inside is one of gain 1 whose
reference is its full scale at the shunt. Sources: shunt and its power, TI INA225-Q1 (SBOS728A),
tables 7-1 and 7-2; swing, TI INA270 (SBOS381E); offsets referred to the input and the root of
squares, TI INA240 (SBOS662C), total error; step of the converter, TI SBOA511A. The worst case is
the plain sum of the causes, products of two of them left out. Common practice: half of a shunt's
rated power; 0.5 mΩ for a square of outer copper of 35 µm; the stocked values of shunts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Choice,
    Count,
    Curve,
    Finding,
    Findings,
    Flag,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    found,
    inside,
    limit,
    listing,
    not_applicable,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.extrema import with_extrema
from phases.kit.frame import CORNERS
from phases.kit.spread import Spread

HIGH, LOW = "high side", "low side"

STOCKED = (1.0, 1.5, 2.0, 2.2, 2.5, 3.0, 3.3, 4.0, 4.7, 5.0, 6.8, 7.5, 8.2)
"""What shunts are sold in, each decade (common practice)."""


class CurrentSense(
    Calculator,
    name="current-sense",
    title="Current sense",
    per="rail",
    source="TI INA225-Q1 (SBOS728A), INA240 (SBOS662C), INA270 (SBOS381E), SBOA511A",
):
    """Which shunt, and how exact is the reading?

    5 A in a converter of 15 bits behind 40 mV (published, an INA226 thread: 8 mΩ, 152 µA a step):

    >>> monitor = {"G": "1", "V_REF": "40 mV", "N": "15", "V_top": "0 V"}
    >>> judged = judge(CurrentSense(monitor, I_FS="5 A", R_S="8 mΩ"))
    >>> round(judged.output("R_max").typ * 1e3, 3), int(judged.output("I_LSB").typ * 1e6)
    (8.0, 152)
    """

    I_FS = Quantity(
        "A",
        "current at full scale",
        of="board",
        default="2 A",
        ledger="rail.{rail}.peak",
        least=1e-9,
        span=(1e-3, 50.0),
    )
    both = Flag("bidirectional?", of="board", default="no")
    side = Choice("shunt position", (HIGH, LOW), of="board", default=HIGH)
    V_bus = SupplyVoltage(
        "voltage of the rail",
        of="board",
        default="5 V ± 5 %",
        ledger="rail.{rail}.voltage",
        fixed=True,
    )
    R_S = Quantity("Ω", "shunt", of="board", free=True, least=1e-7, span=(1e-4, 10.0))
    tol_R = Quantity("%", "shunt tolerance", of="part", default="1 %", most=0.5, fixed=True)
    TCR = Quantity("ppm", "shunt drift per kelvin", of="part", default="100 ppm", fixed=True)
    dT = Quantity(
        "K",
        "shunt temperature away from 25 °C",
        of="board",
        default="50 K",
        fixed=True,
    )
    P_S = Quantity("W", "rated power of the shunt", of="part", default="1 W", span=(0.01, 20.0))
    k_P = Quantity(
        "%",
        "usable share of the rated power",
        of="practice",
        default="50 %",
        least=0.01,
        most=1.0,
        fixed=True,
        note="Half of it: common practice",
    )
    dV = Quantity("V", "allowed drop at full scale", of="board", default="100 mV", span=(1e-3, 1.0))
    kelvin = Flag("Kelvin sensing at the shunt's pads?", of="board", default="yes")
    squares = Quantity(
        "1", "without it: squares of copper sensed", of="practice", default="1", fixed=True
    )
    R_sq = Quantity(
        "Ω",
        "resistance per square",
        of="practice",
        default="0.5 mΩ",
        fixed=True,
        note="Outer copper of 35 µm: common practice",
    )
    G = Quantity(
        "1", "gain of the amplifier", of="part", default="50", least=1e-3, span=(1.0, 500.0)
    )
    eps_G = Quantity("%", "gain error", of="part", default="1 %", fixed=True)
    eps_L = Quantity("%", "nonlinearity", of="part", default="0.01 %", fixed=True)
    V_OS = Quantity("V", "offset voltage", of="part", default="150 µV", span=(1e-6, 0.01))
    TC_OS = Quantity("V", "offset drift per kelvin", of="part", default="0.5 µV", fixed=True)
    CMR = Quantity(
        "ppm",
        "common-mode error, µV/V",
        of="part",
        default="10 ppm",
        fixed=True,
        note="100 dB are 10 µV/V, 120 dB are 1 µV/V",
    )
    V_test = Quantity(
        "V", "common mode the offset is specified at", of="part", default="12 V", fixed=True
    )
    PSR = Quantity("ppm", "supply error, µV/V", of="part", default="10 ppm", fixed=True)
    V_Stest = SupplyVoltage(
        "supply the offset is specified at", of="part", default="5 V", fixed=True
    )
    V_CMmin = Quantity("V", "min common mode, 0 if it includes GND", of="part", default="0 V")
    V_below = Quantity("V", "common mode below GND", of="part", default="0.2 V", fixed=True)
    V_CMmax = Quantity("V", "max common mode", of="part", default="26 V", fixed=True)
    V_S = SupplyVoltage(
        "supply of the amplifier",
        of="board",
        default="3.3 V ± 3 %",
        ledger="rail.{mcu_rail}.voltage",
        fixed=True,
    )
    V_top = Quantity("V", "swing headroom at the top", of="part", default="0.1 V", fixed=True)
    V_bot = Quantity("V", "min level of the swing", of="part", default="20 mV", fixed=True)
    V_REF = SupplyVoltage(
        "reference of the ADC",
        of="board",
        default="3.3 V ± 1 %",
        ledger="rail.{mcu_rail}.voltage",
        least=1e-6,
        fixed=True,
    )
    N = Count("ADC bits", of="part", default=12, least=4, most=24)
    E_ADC = Quantity("1", "total ADC error, in LSB", of="part", default="4", fixed=True)
    low = Quantity(
        "%",
        "smallest reading / full scale",
        of="board",
        default="10 %",
        least=1e-6,
        most=1.0,
        fixed=True,
    )
    eps_want = Quantity("%", "allowed error at full scale", of="board", default="5 %", fixed=True)
    eps_low = Quantity(
        "%", "allowed error at the smallest reading", of="board", default="20 %", fixed=True
    )

    @proposal("R_S", tolerance="tol_R")
    def stocked(self) -> Iterator[float]:
        """Stocked values, the largest first that leaves swing, drop and power alone"""
        corners = self.under(CORNERS)
        I_FS = float(corners.I_FS.max())
        room = float(corners.V_DIFF.min()) / I_FS
        kept = float((corners.k_P * corners.P_S).min()) / I_FS**2
        wanted = min(room, float(corners.dV.min()) / I_FS, kept)
        if 1e-6 < wanted < 1e6:
            values = [m * 10.0**e for e in range(-7, 7) for m in STOCKED]
            near = [R for R in values if wanted / 30 < R < wanted * 3]
            yield from sorted(near, key=lambda R: (R * (1 + self._most("tol_R")) > wanted, -R))

    def _spread(self, name: str) -> Spread:
        value: Spread = self.inputs.reading(name).value
        return value

    def _most(self, name: str) -> float:
        return self._spread(name).high

    # ---- Shunt and amplifier -------------------------------------------------------------

    @output("V", "amplifier output at zero current")
    def V_0(self) -> Array:
        """0; in both directions V_REF / 2"""
        return self.V_REF * (0.5 if self.both else 0.0)

    @output("V", "max shunt voltage of the amplifier")
    def V_DIFF(self) -> Array:
        """(the lesser of V_S - V_top and V_REF, less V_0) / G"""
        return (np.minimum(self.V_S - self.V_top, self.V_REF) - self.V_0) / self.G

    @output("Ω", "max shunt")
    def R_max(self) -> Array:
        """V_DIFF / I_FS"""
        return self.V_DIFF / self.I_FS

    @output("V", "shunt voltage at full scale")
    def V_FS(self) -> Array:
        """I_FS R_S"""
        return self.I_FS * self.R_S

    @output("W", "power in the shunt at full scale")
    def P(self) -> Array:
        """I_FS² R_S"""
        return self.I_FS**2 * self.R_S

    @output("V", "amplifier output at full scale")
    def V_out(self) -> Array:
        """V_0 + G V_FS"""
        return self.V_0 + self.G * self.V_FS

    @output("V", "offset voltage, worst case")
    def V_off(self) -> Array:
        """V_OS + TC_OS dT + CMR |V_CM - V_test| + PSR |V_S - V_Stest|"""
        return self.V_OS + self.TC_OS * self.dT + self._by_common_mode() + self._by_supply()

    def _by_common_mode(self) -> Array:
        """On the low side the common mode is that of ground."""
        if self.side == LOW:
            return self.CMR * self.V_test
        return self.CMR * self._apart(self.V_bus, self.V_test)

    def _by_supply(self) -> Array:
        return self.PSR * self._apart(self.V_S, self.V_Stest)

    def _apart(self, V: Array, stated: Array) -> Array:
        """How far a voltage is from the one a figure is stated at; none where it passes through it.

        Rail and amplifier may be fed by one and the same voltage: both are looked at where either
        passes through the one it is stated at.
        """
        for place in (self.V_test, self.V_Stest):
            V = with_extrema(V, lambda same: same, at=place)
        return np.maximum(V - stated, stated - V)

    @output("A", "offset as a current")
    def I_off(self) -> Array:
        """V_off / R_S"""
        return self.V_off / self.R_S

    @output(
        "V",
        "max amplifier output without load",
        bench=Bench(
            "voltage",
            title="{rail} current amplifier without load",
            do="Take the load off {rail}; measure the amplifier's output",
            where="output of the current amplifier of {rail}",
            first="Sense tracks swapped or open, the reference of the amplifier, its supply",
            ends="high",
        ),
    )
    def V_zero(self) -> Array:
        """V_0 + G V_off, not below V_bot"""
        highest = self._most("V_REF") * (0.5 if self.both else 0.0)
        found: Array = np.maximum(highest + self.G * self.V_off, self.V_bot)
        return found

    @output("A", "min readable current")
    def I_still(self) -> Array:
        """V_bot / (G R_S); none in both directions"""
        return self.V_bot / (self.G * self.R_S) * (0.0 if self.both else 1.0)

    @output("A", "current of one LSB")
    def I_LSB(self) -> Array:
        """V_REF / (2^N G R_S), at the nominal reference"""
        found: Array = self._spread("V_REF").typ / 2**self.N / (self.G * self.R_S)
        return found

    # ---- The error -----------------------------------------------------------------------

    def _causes(self, share: Array | float) -> Mapping[str, Array]:
        """By cause: the error, over the reading, at that share of full scale."""
        V = share * self.V_FS
        copper = 0.0 if self.kelvin else 1.0
        REF = self._spread("V_REF")
        return {
            "shunt tolerance": self.tol_R,
            "shunt drift": self.TCR * self.dT,
            "copper in the sense path": copper * self.squares * self.R_sq / self.R_S,
            "gain": self.eps_G,
            "nonlinearity": self.eps_L,
            "reference": np.asarray(max(REF.high - REF.typ, REF.typ - REF.low) / REF.typ),
            "offset": self.V_OS / V,
            "offset drift": self.TC_OS * self.dT / V,
            "common mode": self._by_common_mode() / V,
            "supply": self._by_supply() / V,
            "ADC": self.E_ADC * self.I_LSB / (share * self.I_FS),
        }

    def _sum(self, share: Array | float) -> Array:
        total: Array = sum(self._causes(share).values(), np.asarray(0.0))
        return total

    def _root(self, share: Array | float) -> Array:
        squares: Array = sum((e * e for e in self._causes(share).values()), np.asarray(0.0))
        return np.sqrt(squares)

    @output("%", "error at full scale, worst case")
    def eps(self) -> Array:
        """Sum of the causes"""
        return self._sum(1.0)

    @output("%", "error at full scale, likely")
    def eps_rss(self) -> Array:
        """Root of the squares of the causes"""
        return self._root(1.0)

    @output("%", "error at the smallest reading, worst case")
    def eps_small(self) -> Array:
        """Sum of the causes, offset and converter over low I_FS"""
        return self._sum(self.low)

    @output("%", "error at the smallest reading, likely")
    def eps_small_rss(self) -> Array:
        """Root of the squares of the causes, offset and converter over low I_FS"""
        return self._root(self.low)

    @listing("Error by cause, worst case")
    def budget(self) -> list[dict[str, Any]]:
        """The causes, largest at full scale first, at full scale and at the smallest reading"""
        if not self.text("R_S"):
            return []
        corners = self.under(CORNERS)
        full, small = corners._causes(1.0), corners._causes(corners.low)
        ranked = sorted(full, key=lambda cause: -float(full[cause].max()))
        return [
            {
                "cause": cause,
                "full scale": show(float(full[cause].max()), "%", 2),
                "smallest reading": show(float(small[cause].max()), "%", 2),
            }
            for cause in ranked
            if float(small[cause].max()) > 0
        ]

    # ---- Its limits ----------------------------------------------------------------------

    @limit("Power of the shunt", unit="W")
    def power(self) -> Bound:
        """P below k_P P_S"""
        return below(self.P, self.k_P * self.P_S)

    @limit("Drop over the shunt", unit="V")
    def drop(self) -> Bound:
        return below(self.V_FS, self.dV)

    @limit("Common mode", unit="V", asked=0.0)
    def common_mode(self) -> Bound:
        """The rail from V_CMmin to V_CMmax; on the low side V_FS below ground where the current
        turns round, less than V_below - V_CMmin"""
        if self.side == HIGH:
            return inside(self.V_bus, self.V_CMmin, self.V_CMmax)
        below_ground = self.V_FS * (1.0 if self.both else 0.0)
        return below(below_ground, self.V_below - self.V_CMmin, of=self.V_CMmax)

    @limit("Swing of the amplifier", unit="V")
    def swing(self) -> Bound:
        """V_out below V_S - V_top"""
        return below(self.V_out, self.V_S - self.V_top)

    @limit("Lower swing", unit="V")
    def lower_swing(self) -> Bound | NotApplicable:
        """V_0 - G V_FS above V_bot"""
        if not self.both:
            return not_applicable("The reading is one-way")
        return above(self.V_0 - self.G * self.V_FS, self.V_bot, of=self.V_0)

    @limit("ADC range", unit="V", asked=0.0)
    def converter_range(self) -> Bound:
        """V_out below V_REF"""
        return below(self.V_out, self.V_REF)

    @limit("Smallest reading", unit="A")
    def smallest(self) -> Bound | NotApplicable:
        """low I_FS above I_still"""
        if self.both:
            return not_applicable("At zero current the output is at half scale")
        return above(self.low * self.I_FS, self.I_still)

    @limit("Error at full scale", unit="%")
    def error(self) -> Bound:
        """eps below eps_want"""
        return below(self.eps, self.eps_want)

    @limit("Error at the smallest reading", unit="%")
    def error_small(self) -> Bound:
        """eps_small below eps_low"""
        return below(self.eps_small, self.eps_low)

    @limit("Kelvin sensing")
    def kelvin_(self) -> Findings:
        """Sense tracks from the shunt's pads: no copper that carries the load is inside them"""
        if self.kelvin:
            return found()
        share = float((self.squares * self.R_sq / self.under(CORNERS).R_S).max())
        what = f"Copper in the load path is sensed too: {show(share, '%', 2)} too much"
        return found(Finding("shunt", what, "Route both sense tracks from inside its pads"))

    curves = (
        Curve(
            "Error against the share of full scale",
            x="low",
            y="eps_small",
            span=(5e-3, 1.0),
            limit="error-small",
            log=True,
        ),
        Curve(
            "Power against full scale", x="I_FS", y="P", span=(1e-2, 20.0), limit="power", log=True
        ),
    )

    def parts(self) -> Sequence[Part]:
        worst, rail = self.under(CORNERS), self.inputs.names.get("rail", "rail")
        where = f"in series with {rail}" if self.side == HIGH else f"load of {rail} to GND"
        gain, reach = show(float(self.G.max()), "1"), show(float(worst.V_CMmax.min()), "V")
        drawn = [Part("U", f"current amplifier, gain {gain}, common mode to {reach}", "at R_S")]
        if self.text("R_S"):
            power = show(float(worst.P_S.min()), "W")
            what = f"{self.text('R_S')} shunt, {power} or more, Kelvin tracks from its pads"
            drawn.insert(0, Part("R_S", what, where))
        return drawn

    def notes(self) -> Sequence[Finding]:
        if not self.text("R_S"):
            return ()
        worst, names = self.under(CORNERS), self.inputs.names
        lifted = show(float(worst.V_FS.max()), "V")
        rail = self.inputs.reading("V_REF").origin in ("ledger", "brief")
        said = [
            (
                self.side == LOW,
                "GND",
                f"The load's GND is lifted by up to {lifted}",
                "No other path from the load to the board's GND",
            ),
            (
                self.side == HIGH and float(worst.V_CMmin.max()) > 0,
                "amplifier",
                "While the rail is off its inputs are below its common mode range",
                "Check its output then, and what its inputs withstand",
            ),
            (
                rail,
                "reference",
                f"The ADC measures against {names.get('mcu_rail', 'its supply')}: the whole "
                "tolerance of that rail is an error of the reading",
                "Correct it by the ADC's internal reference, or add a reference",
            ),
            (
                True,
                "inputs",
                "Filter resistors in front of them change the gain",
                "Keep them below the max value of its data sheet",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]
