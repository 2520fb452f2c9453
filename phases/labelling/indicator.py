"""Indicator: which series resistor, and how much current over the whole supply range?

Sources: series resistor and its power, Lessons in Electric Circuits vol. III, light-emitting
diodes (from memory); the next E24 value upward, University of Latvia, table of LED resistors.
Common practice: 1 to 2 mA is well visible, 0.5 mA still. From memory: at least 0.3 V for the
resistor, else the current follows every millivolt of supply and diode; what each case of thick
film resistor carries at 70 °C, as IEC 60115-8 rates them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Choice,
    Count,
    Curve,
    Finding,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    above,
    below,
    limit,
    not_applicable,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.preferred import around, at_or_above

LEAST_FOR_RESISTOR = 0.3
CASE_POWER = {"0402": 0.063, "0603": 0.1, "0805": 0.125, "1206": 0.25}
"""W, by case: what the resistor carries."""


class Indicator(
    Calculator,
    name="indicator",
    title="Indicator",
    per="rail",
    source="Lessons in Electric Circuits vol. III; University of Latvia, LED resistor table",
):
    """Which resistor, and what current over the supply?

    5 V, a forward voltage of 2.1 V and 20 mA (published, LED notes, University of Latvia: 150 Ω):

    >>> judge(Indicator(V="5 V", V_F="2.1 V", I="20 mA")).picks["R"]
    '150 Ω ± 5 %'
    """

    V = SupplyVoltage(
        "supply", of="board", default="3.3 V ± 5 %", ledger="rail.{rail}.voltage", span=(1.0, 40.0)
    )
    V_F = Quantity(
        "V",
        "forward voltage at this current",
        card="led.forward",
        default="1.8 / 2 / 2.2 V",
        span=(0.2, 40.0),
    )
    I = Quantity("A", "current wanted", of="board", default="2 mA", least=1e-6, fixed=True)  # noqa: E741
    R = Quantity("Ω", "series resistor", of="board", free=True, least=1e-3)
    V_sw = Quantity(
        "V",
        "drop of the switch or pin",
        of="board",
        default="0 V",
        fixed=True,
        note="0 V directly from the rail; for a pin V_OL, or VDD - V_OH, at this current",
    )
    driver = Choice("driven by", ("rail", "pin"), of="board", default="rail")
    n = Count(
        "number of LEDs, each with its own resistor", of="board", default=1, least=1, most=1000
    )
    I_Fmax = Quantity(
        "A",
        "max LED current",
        card="led.current",
        default="30 mA",
        fixed=True,
        note="Common practice for LEDs of 20 mA; the data sheet decides",
    )
    I_pin = Quantity(
        "A",
        "max pin current",
        card="mcu.io_current",
        default="8 mA",
        fixed=True,
        note="From the data sheet; used if a pin drives it",
    )
    I_vis = Quantity(
        "A",
        "min visible current",
        card="led.visible_current",
        default="0.5 mA",
        fixed=True,
        note="Common practice",
    )
    case = Choice("case of the resistor", tuple(CASE_POWER), of="board", default="0603", way=True)
    led = Card("part card of the LED", of="board", default="", ledger="rail.{rail}.card.led")
    mcu = Card("part card of the microcontroller", of="board", default="", ledger="board.mcu")

    @proposal("R", tolerance="5 %")
    def next_upward(self) -> Iterator[float]:
        """The next E24 value above the ideal one at typical values; where that breaks a limit,
        the nearest that does not."""
        ideal = float(self.R_0.max())
        if ideal > 0:
            first = at_or_above("E24", ideal)
            yield from sorted(around("E24", first, 24), key=lambda R: abs(np.log(R / first)))

    @output(
        "V",
        "voltage across the resistor",
        bench=Bench(
            "indicators",
            title="{rail} LED",
            do="Lit? Then the voltage across its resistor",
            where="across its series resistor",
            words="lit[, {I_F}]",
            first="Dark: its polarity, then its resistor",
            point="rail.{rail}.indicator",
            when={"indicator": True},
        ),
    )
    def V_R(self) -> Array:
        """V_R = V - V_F - V_sw"""
        return self.V - self.V_F - self.V_sw

    @output("Ω", "ideal resistor")
    def R_0(self) -> Array:
        """R_0 = V_R / I"""
        return self.V_R / self.I

    @output("A", "current")
    def I_F(self) -> Array:
        """I_F = V_R / R; none backwards, because the diode blocks"""
        return np.maximum(self.V_R, 0.0) / self.R

    @output("W", "power in the resistor")
    def P_R(self) -> Array:
        """P_R = I_F² R"""
        return self.I_F**2 * self.R

    @output("A", "total current of all LEDs")
    def I_sum(self) -> Array:
        """I_sum = n I_F"""
        return self.n * self.I_F

    @limit("LED current", unit="A")
    def led_current(self) -> Bound:
        return below(self.I_F, self.I_Fmax)

    @limit("Pin current", unit="A")
    def pin_current(self) -> Bound | NotApplicable:
        if self.driver != "pin":
            return not_applicable("Fed from the rail, no pin drives it")
        return below(self.I_sum, self.I_pin)

    @limit("Min LED current", unit="A")
    def visible(self) -> Bound:
        return above(self.I_F, self.I_vis)

    @limit("Resistor voltage", unit="V")
    def headroom(self) -> Bound:
        return above(self.V_R, LEAST_FOR_RESISTOR)

    @limit("Resistor power", unit="W")
    def resistor_power(self) -> Bound:
        """P_R below what its case carries"""
        return below(self.P_R, CASE_POWER[self.case])

    curves = (
        Curve("Current against supply", x="V", y="I_F", span=(1.5, 6.0), limit="visible"),
        Curve("Current against resistor", x="R", y="I_F", limit="led-current", log=True),
    )

    def parts(self) -> Sequence[Part]:
        if not self.text("R"):
            return ()
        rail = self.inputs.names.get("rail", "its rail")
        where = f"indicator on {rail}" if self.driver == "rail" else "indicator at its pin"
        forward = show(self.spread_of("V_F").typ, "V")
        return (
            Part("R", f"{self.on_drawing('R')} {self.case}", f"in series, {where}", self.n),
            Part("D", f"LED of {forward} forward", where, self.n),
        )

    def notes(self) -> Sequence[Finding]:
        notes = []
        if self.driver == "rail" and float(self.I_sum.max()) > 0.01:
            notes.append(
                Finding(
                    "rail",
                    f"It loads the rail with {show(float(self.I_sum.max()), 'A')} all the time",
                    "1 to 2 mA each is well visible (common practice)",
                    serious=False,
                )
            )
        return notes
