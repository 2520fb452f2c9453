"""Charger: is the lithium cell charged within its limits while the board runs?

One lithium-ion cell behind a linear charger. Sources: set resistor, TI bq24074 (SLUS810K), section
10.2.2.2, and bq24040 (SLUS941F); dissipation, Microchip MCP73831 (DS20001984), section 6.1.1.2;
with a power path, Linear Technology LTC4089-3, page 21; share of the input, LTC4085-3, page 14;
current when hot, LTC4054; a load on the cell, SLUS941F, section 8.4.10. Common practice: charge
time of 1.3 to 1.5 times capacity over current. The data sheets of the cell and of the charger
decide. Junction to ambient of a board of one's own: as for the linear regulator.
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
    Flag,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    Window,
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
from phases.kit.frame import CORNERS
from phases.kit.preferred import around
from phases.kit.spread import Spread

RESISTOR, PART = "resistor", "part"
CELL, PATH, SOURCE = "cell", "power path", "source"
HOUR = 3600.0

TOO_HOT_TO_TOUCH = 60.0
"""°C, by common practice; the case follows the junction closely."""


class Charger(
    Calculator,
    name="charger",
    title="Lithium-ion charger",
    per="rail",
    source="TI bq24074 (SLUS810K), bq24040 (SLUS941F); Microchip MCP73831 (DS20001984); LTC4054",
):
    """Is the lithium cell charged within its limits while the board runs?

    A charger of 890 V set to 0.8 A (published, bq24074 data sheet: 1.1125 kΩ):

    >>> judged = judge(Charger(K="890 V", I_want="0.8 A"))
    >>> round(judged.output("R_want").typ, 1)
    1112.5
    """

    charger = Card(
        "part card of the charger", of="board", default="", ledger="rail.{rail}.card.charger"
    )
    battery = Card("part card of the cell", of="board", default="", ledger="rail.{rail}.card.cell")
    Q = Quantity(
        "mAh",
        "capacity of the cell",
        card="battery.capacity",
        default="1000 mAh",
        least=1e-3,
        fixed=True,
    )
    I_cell = Quantity(
        "A", "max charge current of the cell", of="part", default="500 mA", fixed=True
    )
    V_cell = Quantity(
        "V", "max charge voltage of the cell", of="part", default="4.25 V", fixed=True
    )
    T_cell = Window("°C", "charge temperature range of the cell", of="part", default="0 .. 45 °C")
    ntc = Flag("thermistor at the cell?", of="board", default="yes")
    T_chg = Window("°C", "charger's own temperature window", of="part", default="2 .. 43 °C")
    V_in = SupplyVoltage(
        "input voltage",
        of="board",
        default="5 V ± 5 %",
        ledger="rail.{rail}.voltage",
        span=(3.0, 20.0),
        note="Of the rail it charges from",
    )
    V_inmax = SupplyVoltage(
        "max recommended input voltage", card="charger.input_max", default="6 V", fixed=True
    )
    how = Choice("charge current set by", (RESISTOR, PART), of="board", default=RESISTOR)
    I_want = Quantity(
        "A", "wanted charge current", of="board", default="400 mA", least=1e-6, span=(1e-2, 3.0)
    )
    K = Quantity(
        "V",
        "set constant (charge current x resistor)",
        of="part",
        default="1000 V ± 8 %",
        least=1.0,
        fixed=True,
        note="Of the part; data sheets print it in AΩ",
    )
    R_SET = Quantity("Ω", "set resistor", of="board", free=True, least=1.0)
    V_FLT = Quantity("V", "charge voltage", of="part", default="4.2 V ± 0.75 %", fixed=True)
    k_PRE = Quantity(
        "%", "pre-charge / charge current", of="part", default="8 / 10 / 12 %", fixed=True
    )
    k_TERM = Quantity(
        "%", "termination / charge current", of="part", default="8 / 10 / 12 %", fixed=True
    )
    V_BAT = Quantity(
        "V",
        "cell voltage at full charge current",
        of="practice",
        default="2.9 / 3.7 / 4.2 V",
        fixed=True,
        note="From the end of pre-charge to the charge voltage",
    )
    V_DO = Quantity(
        "V", "dropout of the charger", card="charger.dropout", default="0.2 V", fixed=True
    )
    I_Q = Quantity(
        "A", "quiescent current", card="charger.ground_current", default="1 mA", fixed=True
    )
    load = Choice("board load connected to", (CELL, PATH, SOURCE), of="board", default=PATH)
    I_load = Quantity(
        "A",
        "average load while charging",
        of="board",
        default="30 mA",
        ledger="board.load",
        span=(1e-5, 3.0),
    )
    I_peak = Quantity(
        "A", "max load", of="board", default="150 mA", ledger="rail.{rail}.peak", span=(1e-5, 3.0)
    )
    V_OUT = SupplyVoltage("output of the power path", of="part", default="4.4 V", fixed=True)
    I_CL = Quantity("A", "input limit of the power path", of="part", default="450 / 475 / 500 mA")
    I_source = Quantity(
        "A",
        "current the source may give",
        of="board",
        default="500 mA",
        ledger="rail.{rail}.rating",
        fixed=True,
    )
    folds = Flag("thermal regulation?", of="part", default="yes")
    T_REG = Quantity(
        "°C", "thermal regulation temperature", of="part", default="120 °C", fixed=True
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    theta_JA = Quantity(
        "K/W",
        "junction to ambient, data sheet",
        card="charger.theta_ja",
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
        "°C", "max junction temperature", card="charger.junction", default="125 °C", fixed=True
    )
    k_t = Quantity(
        "1",
        "charge time x current / capacity",
        of="practice",
        default="1.3 / 1.4 / 1.5",
        fixed=True,
        note="Constant current, then constant voltage: common practice",
    )
    t_safe = Quantity("h", "safety timer, 0 for none", of="part", default="8 h", fixed=True)
    t_want = Quantity("h", "wanted charge time, 0 for none", of="board", default="0 h", fixed=True)

    @proposal("R_SET", tolerance="1 %")
    def stocked(self) -> Iterator[float]:
        """E96 values, the nearest by ratio to R_want first"""
        wanted = float(self.R_want.max())
        yield from sorted(around("E96", wanted, 12), key=lambda R: abs(log(R / wanted)))

    # ---- The cell ------------------------------------------------------------------------

    @output("Ω", "set resistor for the wanted current")
    def R_want(self) -> Array:
        """K / I_want"""
        return self.K / self.I_want

    @output("A", "charge current")
    def I_CHG(self) -> Array:
        """K / R_SET; I_want where the part sets it"""
        return self.K / self.R_SET if self.how == RESISTOR else self.I_want

    @output("1", "charge rate, in C")
    def C(self) -> Array:
        """I_CHG 1 h / Q"""
        return self.I_CHG * HOUR / self.Q

    @output("A", "pre-charge current")
    def I_PRE(self) -> Array:
        """k_PRE I_CHG"""
        return self.k_PRE * self.I_CHG

    @output("A", "termination current")
    def I_TERM(self) -> Array:
        """k_TERM I_CHG"""
        return self.k_TERM * self.I_CHG

    @output(
        "V",
        "voltage of the full cell",
        bench=Bench(
            "voltage",
            title="Cell, fully charged",
            do="Charge to the end, watched; measure at the cell",
            where="terminals of the cell",
            first="Stop charging. The charger's part number and its voltage; the cell's protection",
            caution="Lithium: never let the probes touch each other.",
        ),
    )
    def V_full(self) -> Array:
        """V_full = V_FLT"""
        return self.V_FLT

    # ---- What the charger gives ----------------------------------------------------------

    def _set(self) -> Array:
        """What is set, as far as the power path leaves it; negative where the cell adds to it."""
        if self.load != PATH:
            return self.I_CHG
        return np.minimum(self.I_CHG, self.I_CL - self.I_load)

    def _beside(self) -> Array:
        """What the charger loses beside the charge current itself."""
        path = np.maximum(self.V_in - self.V_OUT, 0.0) * self.I_load if self.load == PATH else 0.0
        return self.V_in * self.I_Q + path

    def _given(self, V_BAT: Array | float) -> Array:
        """What it gives at a cell voltage: what is set, or what its temperature leaves."""
        if not self.folds:
            return self._set()
        kept = np.maximum((self.T_REG - self.T_A) / self.theta - self._beside(), 0.0)
        left = self.V_in - V_BAT
        return np.minimum(self._set(), np.where(left > 0, kept / left, np.inf))

    def _into_cell(self, V_BAT: Array | float) -> Array:
        return self._given(V_BAT) - (self.I_load if self.load == CELL else 0.0)

    @output("K/W", "junction to ambient on this board")
    def theta(self) -> Array:
        """theta = k_board theta_JA"""
        return self.k_board * self.theta_JA

    @output("°C", "max ambient for full current")
    def T_full(self) -> Array:
        """T_REG - theta P, with P at the current that is set"""
        P = np.maximum(self.V_in - self.V_BAT, 0.0) * np.maximum(self._set(), 0.0)
        return self.T_REG - self.theta * (P + self._beside())

    @output(
        "A",
        "current into the cell",
        bench=Bench(
            "current",
            title="Charge current into the cell",
            do="Cell half charged, board running; meter in the lead of the cell",
            where="lead of the cell",
            first="The set resistor; the input limit; whether the charger is hot and slows down",
            caution="Lithium: charge it watched, with its protection in place.",
        ),
    )
    def I_BAT(self) -> Array:
        """The lowest of I_CHG, I_CL - I_load of a power path, and of what heat leaves,
        ((T_REG - T_A) / theta - V_in I_Q) / (V_in - V_BAT); less I_load on the cell"""
        return self._into_cell(self.V_BAT)

    @output("W", "dissipation")
    def P(self) -> Array:
        """(V_in - V_BAT) I + V_in I_Q; with a power path + (V_in - V_OUT) I_load"""
        given = np.maximum(self._given(self.V_BAT), 0.0)
        return np.maximum(self.V_in - self.V_BAT, 0.0) * given + self._beside()

    @output(
        "°C",
        "junction temperature",
        bench=Bench(
            "heat",
            title="Charger: case temperature",
            where="case of the charger",
            first="Input voltage; charge current; copper and vias under it",
        ),
    )
    def T_J(self) -> Array:
        """T_A + theta P"""
        return self.T_A + self.theta * self.P

    @output("h", "charge time")
    def t_full(self) -> Array:
        """k_t Q / I_BAT, at the middle V_BAT"""
        middle: Spread = self.inputs.reading("V_BAT").value
        into = self._into_cell(middle.typ)
        return np.where(into > 0, self.k_t * self.Q / into, np.inf)

    @output("A", "source current at max load")
    def I_IN(self) -> Array:
        """I_CHG + I_Q, + I_peak unless the load is on the cell; of a power path at most I_CL"""
        if self.load == CELL:
            return self.I_CHG + self.I_Q
        if self.load == SOURCE:
            return self.I_CHG + self.I_Q + self.I_peak
        return np.minimum(self.I_CHG + self.I_Q + self.I_peak, self.I_CL)

    @output("A", "source current for the cell", publishes="rail.{rail}.charge_current")
    def I_share(self) -> Array:
        """I_IN - I_peak, not below 0; I_IN where the load is on the cell"""
        if self.load == CELL:
            return self.I_IN
        if self.load == SOURCE:
            return self.I_CHG + self.I_Q
        return np.maximum(np.minimum(self.I_CHG + self.I_Q, self.I_CL - self.I_peak), 0.0)

    # ---- Its limits ----------------------------------------------------------------------

    @limit("Charge current", unit="A")
    def cell_current(self) -> Bound:
        """I_CHG below I_cell"""
        return below(self.I_CHG, self.I_cell)

    @limit("Charge voltage", unit="V", asked=0.0)
    def cell_voltage(self) -> Bound:
        """V_FLT below V_cell"""
        return below(self.V_FLT, self.V_cell)

    @limit("Charge temperature", unit="°C", asked=0.0)
    def temperature(self) -> Bound:
        """T_chg inside T_cell; without a thermistor the ambient"""
        lowest, highest = self.T_cell
        if not self.ntc:
            return inside(self.T_A, lowest, highest)
        at = self.T_chg
        nearer = at.low if at.low - lowest < highest - at.high else at.high
        return inside(np.asarray(nearer), lowest, highest)

    @limit("Pre-charge", unit="A")
    def pre_charge(self) -> Bound | NotApplicable:
        """I_PRE above I_load: else an empty cell never gets out of pre-charge"""
        if self.load != CELL:
            return not_applicable("The load is not connected to the cell")
        return above(self.I_PRE, self.I_load)

    @limit("Termination", unit="A")
    def termination(self) -> Bound | NotApplicable:
        """I_TERM above I_load: else the charge never ends"""
        if self.load != CELL:
            return not_applicable("The load is not connected to the cell")
        return above(self.I_TERM, self.I_load)

    @limit("Current left for the cell", unit="A")
    def left(self) -> Bound:
        """I_BAT above I_TERM: with less the charge ends early or creeps"""
        return above(self.I_BAT, self.I_TERM, of=self.I_CHG)

    @limit("Source", unit="A", asked=0.0)
    def source_(self) -> Bound:
        """I_IN below I_source"""
        return below(self.I_IN, self.I_source)

    @limit("Headroom", unit="V", asked=0.1)
    def headroom(self) -> Bound:
        """V_in - V_FLT above V_DO: else the cell is never full"""
        return above(self.V_in - self.V_FLT, self.V_DO)

    @limit("Input voltage", unit="V")
    def input_rating(self) -> Bound:
        return below(self.V_in, self.V_inmax)

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self.T_J, self.T_Jmax, of=self.T_Jmax - self.T_A)

    @limit("Safety timer", unit="h")
    def timer(self) -> Bound | NotApplicable:
        """t_full below t_safe: else it stops before the cell is full"""
        if self.inputs.reading("t_safe").value.high == 0:
            return not_applicable("The charger has no timer")
        return below(self.t_full, self.t_safe)

    @limit("Charge time", unit="h")
    def time(self) -> Bound | NotApplicable:
        if self.inputs.reading("t_want").value.high == 0:
            return not_applicable("No charge time is asked for")
        return below(self.t_full, self.t_want)

    curves = (
        Curve("Current into the cell against its voltage", x="V_BAT", y="I_BAT", span=(2.5, 4.2)),
        Curve("Current into the cell against ambient", x="T_A", y="I_BAT", span=(0.0, 85.0)),
    )

    def parts(self) -> Sequence[Part]:
        worst = self.under(CORNERS)
        volts, amps = show(float(self.V_FLT.max()), "V"), show(float(worst.I_want.max()), "A")
        what = f"lithium-ion charger, {volts}, {amps} or more"
        drawn = [Part("U", what, f"{self.inputs.names.get('rail', 'source')} to cell")]
        if self.how == RESISTOR and self.text("R_SET"):
            drawn.append(Part("R_SET", self.text("R_SET"), "set pin of the charger to GND"))
        if self.ntc:
            what = "thermistor as in the charger's data sheet"
            drawn.append(Part("NTC", what, "at the cell, to the charger"))
        return drawn

    def notes(self) -> Sequence[Finding]:
        worst = self.under(CORNERS)
        set_by_resistor = self.how == RESISTOR and not self.text("R_SET")
        said = [
            (
                True,
                "cell",
                "A lithium-ion cell charged too fast, too far, too cold or too hot can burn",
                "The data sheets of cell and charger decide; fit its protection, charge it watched",
            ),
            (
                not self.ntc,
                "cell",
                "Nothing stops the charge when the cell is cold or hot",
                "Use a charger with a thermistor at the cell, unless ambient alone warms it",
            ),
            *(() if set_by_resistor else self._of_the_charger(worst)),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]

    def _of_the_charger(self, worst: Charger) -> Sequence[tuple[bool, str, str, str]]:
        least, set_ = float(worst.I_BAT.min()), float(worst.I_CHG.min())
        slows = self.folds and float(worst.T_full.min()) < float(worst.T_A.max())
        return [
            (
                slows,
                "charger",
                f"Thermal regulation lowers its current: {show(least, 'A')} into the cell at "
                f"worst, {show(set_, 'A')} set",
                "More copper, less current, or a lower input voltage",
            ),
            (
                float(worst.T_J.max()) > TOO_HOT_TO_TOUCH,
                "charger",
                f"It gets too hot to touch, over {show(TOO_HOT_TO_TOUCH, '°C')}",
                "Keep it away from the cell and from fingers; measure it at the first power-on",
            ),
            (
                self.load == PATH and float(worst.I_peak.max()) > float(worst.I_CL.min()),
                "power path",
                "Peaks above its input limit come out of the cell",
                "Without a cell, or with an empty one, the board resets at such a peak",
            ),
            (
                self.load == CELL,
                "load",
                "On the cell it takes from the charge current, and the cell ages at full voltage",
                "Use a charger with a power path where the board runs while it charges",
            ),
        ]
