"""Linear regulator: enough headroom, cool enough?

Sources: dissipation and junction, Linear Technology LT1763 data sheet, thermal considerations;
max input and current, Micrel MIC5219 data sheet, thermal considerations; what a heat sink or
copper may have, Micrel MIC5209 data sheet. Thermal resistance on a board of one's own: TI SPRA953D
(a data sheet's figure compares packages, it is no property of the board); 1.3 to 2 times that
figure on a small two-layer board is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Curve,
    Finding,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    limit,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.extrema import with_extrema

TOO_HOT_TO_TOUCH = 60.0
"""°C, by common practice; the case follows the junction closely."""

_MADE_HERE = {"regulator": "linear"}


class LinearRegulator(
    Calculator,
    name="linear-regulator",
    title="Linear regulator",
    per="rail",
    source="LT1763, MIC5219 and MIC5209 data sheets, thermal considerations; TI SPRA953D",
):
    """Enough headroom, cool enough?

    3.3 V from 4 to 6 V at 250 mA (published, LT1763 data sheet, thermal considerations; it
    rounds on the way and prints 103.3 °C):

    >>> sheet = {"I_GND": "5 mA", "theta_JA": "75 K/W", "k_board": "1", "T_A": "50 °C"}
    >>> judged = judge(LinearRegulator(sheet, V_in="4 .. 6 V", V_out="3.3 V", I_out="250 mA"))
    >>> round(judged.output("T_J").high, 1)
    102.9
    """

    regulator = Card(
        "part card of the regulator", of="board", default="", ledger="rail.{rail}.card.regulator"
    )
    V_in = SupplyVoltage(
        "input voltage",
        of="board",
        default="5 V ± 5 %",
        ledger="rail.{parent}.voltage",
        span=(1.0, 40.0),
    )
    V_out = SupplyVoltage(
        "output voltage",
        of="board",
        default="3.3 V ± 2 %",
        ledger="rail.{rail}.set_voltage",
        fixed=True,
    )
    I_out = Quantity(
        "A",
        "load current",
        of="board",
        default="150 mA",
        ledger="rail.{rail}.peak",
        span=(1e-4, 5.0),
    )
    V_DO = Quantity(
        "V", "dropout at this load, hot", card="dropout", default="0.3 V", span=(0.01, 3.0)
    )
    I_GND = Quantity("A", "ground current", card="ground_current", default="5 mA", fixed=True)
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    theta_JA = Quantity(
        "K/W",
        "junction to ambient, data sheet",
        card="theta_ja",
        default="75 K/W",
        span=(5.0, 500.0),
        note="For the data sheet's test board; your board's factor is applied on top",
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
        "°C", "max junction temperature", card="junction", default="125 °C", fixed=True
    )
    V_inmax = Quantity(
        "V", "absolute maximum input voltage", card="input_max", default="16 V", fixed=True
    )
    V_inrec = Quantity(
        "V",
        "recommended max input voltage",
        card="input_recommended",
        default="15 V",
        fixed=True,
    )
    V_inmin = SupplyVoltage(
        "min input voltage",
        card="input_min",
        default="2.5 V",
        fixed=True,
        note="Undervoltage lock-out, or the lowest its data sheet holds for",
    )
    I_rated = Quantity(
        "A", "rated output current", card="output_current", default="1 A", span=(1e-3, 10.0)
    )
    P_pkg = Quantity("W", "max package dissipation", card="power", default="1 W", fixed=True)
    theta_JC = Quantity("K/W", "junction to case", card="theta_jc", default="15 K/W", fixed=True)
    theta_CS = Quantity(
        "K/W",
        "case to heat sink or copper",
        of="practice",
        default="0 K/W",
        fixed=True,
        note="Used with junction to case for the heat-sink resistance only",
    )

    @output(
        "V",
        "rail voltage",
        publishes="rail.{rail}.voltage",
        when=_MADE_HERE,
        bench=Bench(
            "voltage",
            title="{rail} voltage",
            first="The regulator's pins and part number, a bridge at {rail}, {parent} itself",
            when=_MADE_HERE,
        ),
    )
    def V_rail(self) -> Array:
        """V_rail = V_out, or V_in - V_DO where that is less"""
        return self._reached(self.V_in)

    def _reached(self, V_in: Array) -> Array:
        """Below its dropout it follows the input, and no further down than to 0 V."""
        return np.minimum(self.V_out, np.maximum(V_in - self.V_DO, 0.0))

    @output("V", "headroom")
    def headroom_left(self) -> Array:
        """V_in - V_out"""
        return self.V_in - self.V_out

    @output("W", "dissipation")
    def P_D(self) -> Array:
        """P_D = (V_in - V_rail) I_out + V_in I_GND"""
        return (self.V_in - self.V_rail) * self.I_out + self.V_in * self.I_GND

    @output("K/W", "junction to ambient on this board")
    def theta(self) -> Array:
        """theta = k_board theta_JA"""
        return self.k_board * self.theta_JA

    @output(
        "°C",
        "junction temperature",
        bench=Bench(
            "heat",
            title="{rail} regulator: case temperature",
            where="case of the regulator of {rail}",
            first="Load and input voltage; copper and vias under it; whether it oscillates",
        ),
    )
    def T_J(self) -> Array:
        """T_J = T_A + theta P_D"""
        return self.T_A + self.theta * self.P_D

    @output("W", "max dissipation at this ambient")
    def P_Dmax(self) -> Array:
        """P_Dmax = (T_Jmax - T_A) / theta"""
        return (self.T_Jmax - self.T_A) / self.theta

    @output("K/W", "max junction to ambient for this dissipation")
    def theta_max(self) -> Array:
        """theta_max = (T_Jmax - T_A) / P_D"""
        return np.where(self.P_D > 0, (self.T_Jmax - self.T_A) / self.P_D, np.inf)

    @output("K/W", "of this, left for heat sink or copper")
    def theta_SA(self) -> Array:
        """theta_SA = theta_max - theta_JC - theta_CS"""
        return self.theta_max - self.theta_JC - self.theta_CS

    @output("A", "max load at this ambient")
    def I_max(self) -> Array:
        """I_max = (P_Dmax - V_in I_GND) / (V_in - V_out), not below zero"""
        spare = np.maximum(self.P_Dmax - self.V_in * self.I_GND, 0.0)
        return np.where(self.V_in > self.V_out, spare / (self.V_in - self.V_out), np.inf)

    @output("V", "max input voltage at this load and ambient")
    def V_max(self) -> Array:
        """V_max = (P_Dmax + V_out I_out) / (I_out + I_GND)"""
        return (self.P_Dmax + self.V_out * self.I_out) / (self.I_out + self.I_GND)

    @output(
        "A",
        "current from the input",
        publishes="rail.{rail}.input_current",
        when=_MADE_HERE,
    )
    def I_in(self) -> Array:
        """I_in = I_out + I_GND"""
        return self.I_out + self.I_GND

    @output(
        "A",
        "of this, to GND",
        publishes="rail.{rail}.ground_current",
        when=_MADE_HERE,
    )
    def I_own(self) -> Array:
        """I_own = I_GND"""
        return self.I_GND

    @output("%", "efficiency")
    def eta(self) -> Array:
        """eta = V_rail I_out / (V_in I_in), max where V_in is V_out + V_DO"""
        share = self.I_out / self.I_in
        return with_extrema(
            self.V_in,
            lambda V_in: np.where(V_in > 0, self._reached(V_in) / V_in, 0.0) * share,
            at=self.V_out + self.V_DO,
        )

    @limit("Headroom", unit="V", asked=0.1)
    def headroom(self) -> Bound:
        return above(self.headroom_left, self.V_DO)

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self.T_J, self.T_Jmax, of=self.T_Jmax - self.T_A)

    @limit("Dissipation", unit="W")
    def package_power(self) -> Bound:
        return below(self.P_D, self.P_pkg)

    @limit("Input voltage", unit="V")
    def input_rating(self) -> Bound:
        return below(self.V_in, self.V_inmax)

    @limit("Recommended input", unit="V", asked=0.0)
    def recommended_input(self) -> Bound:
        return below(self.V_in, self.V_inrec)

    @limit("Min input", unit="V", asked=0.0)
    def min_input(self) -> Bound:
        return above(self.V_in, self.V_inmin)

    @limit("Rated current", unit="A")
    def rated_current(self) -> Bound:
        return below(self.I_out, self.I_rated)

    curves = (
        Curve("Junction against load", x="I_out", y="T_J", span=(0.0, 1.0), limit="junction"),
        Curve(
            "Headroom against input",
            x="V_in",
            y="headroom_left",
            span=(2.0, 16.0),
            limit="headroom",
        ),
        Curve("Efficiency against load", x="I_out", y="eta", span=(1e-3, 1.0), log=True),
    )

    def parts(self) -> Sequence[Part]:
        names = self.inputs.names
        volts, load = show(self.spread_of("V_out").typ, "V"), show(float(self.I_out.max()), "A")
        what = f"linear regulator, {volts}, {load} or more"
        return (Part("U", what, f"{names.get('parent', 'input')} to {names.get('rail', 'rail')}"),)

    def notes(self) -> Sequence[Finding]:
        if float(self.T_J.max()) <= TOO_HOT_TO_TOUCH:
            return ()
        return (
            Finding(
                "regulator",
                f"It gets too hot to touch, over {show(TOO_HOT_TO_TOUCH, '°C')}",
                "Keep fingers and plastics away from it; measure it at the first power-on",
                serious=False,
            ),
        )
