"""Source runtime: how long does the battery last, and can it supply the peaks?

Sources: duty cycle and charge, applied-ee, battery-life estimation; pulse of a coin cell, TI
SWRA349 and interactive-matter; Peukert, electrotechnik.net (C / I^k) and the rated-hour form (from
memory), exponent from two tests, Xantrex Link 20 manual, page 26. Self-discharge as a constant
share of the charge that is left: own integral. With a capacitor beside the cell the sag follows
R C (textbook). In the cold the resistance doubles every 20 K below 20 °C (common practice); a coin
cell is counted down to where it has 30 Ω, which is 170 of its 230 mAh.
The figures of usual cells, each with its source, stand in shared/tables/battery-kinds.toml.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial, reduce

from phases.kit import (
    Bound,
    Calculator,
    Card,
    Choice,
    Column,
    Count,
    Curve,
    Finding,
    Following,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    SupplyWindow,
    Table,
    above,
    below,
    limit,
    not_applicable,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.low_voltage import refuse_high
from phases.kit.spec_tables import spec_table

COIN, LITHIUM_ION, ALKALINE, OTHER = "coin-cell", "lithium-ion", "alkaline", "other"
CELLS = (COIN, LITHIUM_ION, ALKALINE, OTHER)
STRAIGHT, PEUKERT, PEUKERT_RATED = "none", "Peukert, C / I^k", "Peukert, rated hours"
HOUR, YEAR = 3600.0, 8760 * 3600.0
SPANS = (("years", YEAR, 2.0), ("months", YEAR / 12, 2.0), ("days", 24 * HOUR, 2.0))
"""What a runtime is told in, its length in s, and the least number of them."""
ROOM, DOUBLES = 20.0, 20.0
"""°C below which the resistance rises, and the K in which it doubles."""


def _of_cells(figure: str) -> Mapping[str, str]:
    """One figure of each usual cell."""
    return {cell: spec_table("battery-kinds")[cell][figure] for cell in CELLS}


def usual(figure: str) -> Following:
    """The default that follows the kind of cell."""
    return Following("cell", partial(_of_cells, figure))


class SourceRuntime(
    Calculator,
    name="source-runtime",
    title="Battery runtime",
    per="rail",
    source="applied-ee, battery-life estimation; TI SWRA349; Xantrex Link 20 manual, page 26",
):
    """How long does it last, can it supply the peaks?

    A fresh coin cell that may sag by 1.2 V across its 20 Ω gives 60 mA (published, a pulse
    measurement):

    >>> judged = judge(SourceRuntime(V_OC="3.2 V", V_need="2 V", R_int="20 Ω"))
    >>> round(judged.output("I_most").typ * 1e3)
    60
    """

    battery = Card("part card of the cell", of="board", default="", ledger="rail.{rail}.card.cell")
    cell = Choice("kind of cell", CELLS, of="board", default=COIN, fact="battery_kind")
    Q = Quantity(
        "mAh", "cell capacity", card="battery.capacity", default=usual("Q"), span=(36.0, 3.6e6)
    )
    I_load = Quantity(
        "A",
        "average load",
        of="board",
        default="20 µA",
        ledger="rail.{rail}.load",
        span=(1e-7, 10.0),
    )
    I_peak = Quantity(
        "A", "peak load", of="board", default="12 mA", ledger="rail.{rail}.peak", span=(1e-6, 20.0)
    )
    V_OC = SupplyVoltage(
        "open-circuit voltage of a cell, empty to fresh",
        card="battery.open_voltage",
        default=usual("V_OC"),
        fixed=True,
    )
    R_int = Quantity(
        "Ω",
        "internal resistance of a cell",
        card="battery.resistance",
        default=usual("R_int"),
        fixed=True,
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    V_need = SupplyWindow(
        "voltage the rail needs", of="board", default="2 .. 3.6 V", ledger="rail.{rail}.window"
    )
    V_cut = Quantity(
        "V", "end voltage of a cell", card="battery.end_voltage", default=usual("V_cut"), fixed=True
    )
    I_cont = Quantity(
        "A",
        "max continuous current of a cell",
        card="battery.steady_current",
        default=usual("I_cont"),
        fixed=True,
    )
    I_pulse = Quantity(
        "A",
        "max pulse current of a cell",
        card="battery.pulse_current",
        default=usual("I_pulse"),
        fixed=True,
    )
    s = Quantity(
        "%",
        "self-discharge per year",
        card="battery.self_discharge",
        default=usual("s"),
        most=100.0,
        fixed=True,
    )
    cells = Count("cells in series", of="board", default=1, least=1, most=20)
    beside = Count("strings in parallel", of="board", default=1, least=1, most=20)
    usable = Quantity(
        "%",
        "usable capacity",
        of="practice",
        default=usual("usable"),
        least=0.01,
        most=1.0,
        note="Cold, pulses and an early end voltage take 10 to 40 % of a coin cell",
    )
    states = Table(
        "duty cycle",
        (
            Column("state", "text", "state"),
            Column("I", "A", "current"),
            Column("t", "s", "time in it"),
        ),
        of="board",
        default=(),
        note="Instead of the average load and the peak load",
    )
    T = Quantity("s", "period; sum of the times if blank", of="board", least=1e-9, fixed=True)
    C_bulk = Quantity("F", "capacitor across the cell", of="board", default="0 F", span=(1e-6, 1.0))
    t_p = Quantity("s", "duration of the pulse", of="board", default="10 ms", span=(1e-6, 10.0))
    law = Choice(
        "capacity against current",
        (STRAIGHT, PEUKERT, PEUKERT_RATED),
        of="practice",
        default=STRAIGHT,
    )
    k = Quantity(
        "1",
        "Peukert exponent",
        card="battery.peukert",
        default="1.2",
        least=1.0,
        most=3.0,
        fixed=True,
    )
    H = Quantity(
        "h",
        "hours the capacity is rated for",
        card="battery.rated_time",
        default="20 h",
        least=1.0,
        fixed=True,
    )
    I_1 = Quantity("A", "first test, current", of="board", least=1e-9, fixed=True)
    Q_1 = Quantity("mAh", "first test, capacity", of="board", least=1e-6, fixed=True)
    I_2 = Quantity("A", "second test, current", of="board", least=1e-9, fixed=True)
    Q_2 = Quantity("mAh", "second test, capacity", of="board", least=1e-6, fixed=True)
    t_want = Quantity("h", "runtime wanted, 0 for none", of="board", default="0 h", span=(1.0, 1e6))

    # ---- the load ----------------------------------------------------------------------------

    @output("s", "period")
    def period(self) -> Array:
        """period = T; the sum of the times where it is blank"""
        return self.T if self.text("T") else self.states.sum(self.states["t"])

    @output("mAh", "charge in a period")
    def Q_cycle(self) -> Array:
        """Q_cycle = sum of I t over the states"""
        return self.states.sum(self.states["I"] * self.states["t"])

    @output("A", "average current")
    def I_avg(self) -> Array:
        """I_avg = Q_cycle / period; without states the load of the rail"""
        return self.Q_cycle / self.period if len(self.states) else self.I_load

    @output("mAh", "charge in a year")
    def Q_year(self) -> Array:
        """Q_year = I_avg 8760 h"""
        return self.I_avg * YEAR

    @output("A", "peak current")
    def I_p(self) -> Array:
        """I_p = the max of the states; without states the peak load"""
        rows = range(len(self.states))
        currents = [self.states.pick(self.states["I"], row) for row in rows]
        return reduce(np.maximum, currents) if currents else self.I_peak

    # ---- how long ----------------------------------------------------------------------------

    @output("mAh", "usable charge")
    def Q_usable(self) -> Array:
        """Q_usable = beside Q usable"""
        return self.beside * self.Q * self.usable

    @output("1", "Peukert exponent from two tests")
    def n(self) -> Array:
        """n = (log t_2 - log t_1) / (log I_1 - log I_2), t = Q / I"""
        t_1, t_2 = self.Q_1 / self.I_1, self.Q_2 / self.I_2
        return np.log(t_2 / t_1) / np.log(self.I_1 / self.I_2)

    def _straight(self) -> Array:
        """Constant load and self-discharge: the charge falls as dQ/dt = -I - s Q."""
        rate = self.s / YEAR
        plain = self.Q_usable / self.I_avg
        return np.where(rate > 0, np.log1p(rate * plain) / np.where(rate > 0, rate, 1.0), plain)

    @output("h", "runtime", publishes="board.runtime")
    def t_run(self) -> Array:
        """t_run = Q_usable / I_avg, with self-discharge ln(1 + s Q_usable / I_avg) / s; Peukert
        Q_usable / I_avg^k in Ah, A and h, or H (Q_usable / (I_avg H))^k"""
        if self.law == STRAIGHT:
            return self._straight()
        ampere_hours, hours = self.Q_usable / HOUR, self.H / HOUR
        if self.law == PEUKERT:
            return HOUR * ampere_hours / np.power(self.I_avg, self.k)
        return self.H * np.power(ampere_hours / (self.I_avg * hours), self.k)

    # ---- the peaks ---------------------------------------------------------------------------

    @output("V", "open-circuit voltage")
    def V_0(self) -> Array:
        """V_0 = cells V_OC"""
        highest = self.cells * self.inputs.reading("V_OC").value.high
        refuse_high(f"{self.cells} x {self.text('V_OC')}", highest)
        return self.cells * self.V_OC

    @output("Ω", "internal resistance")
    def R(self) -> Array:
        """R = cells R_int / beside; below 20 °C times 2^((20 °C - T_A) / 20 K)"""
        cold = np.power(2.0, np.maximum(ROOM - self.T_A, 0.0) / DOUBLES)
        return self.cells * self.R_int * cold / self.beside

    @output("A", "peak current of a cell")
    def I_cell(self) -> Array:
        """I_cell = I_p / beside; with a capacitor times (1 - exp(-t_p / (R C_bulk)))"""
        RC = self.R * self.C_bulk
        risen = np.where(RC > 0, -np.expm1(-self.t_p / np.where(RC > 0, RC, 1.0)), 1.0)
        return self.I_p * risen / self.beside

    @output("V", "voltage at peak current")
    def V_peak(self) -> Array:
        """V_peak = V_0 - beside I_cell R"""
        return self.V_0 - self.beside * self.I_cell * self.R

    @output("V", "voltage at average current")
    def V_avg(self) -> Array:
        """V_avg = V_0 - I_avg R"""
        return self.V_0 - self.I_avg * self.R

    @output("A", "max pulse for the rail's minimum")
    def I_most(self) -> Array:
        """I_most = (V_0 - V_need) / R"""
        return np.where(self.R > 0, (self.V_0 - self.V_need.low) / self.R, np.inf)

    # ---- limits ------------------------------------------------------------------------------

    @limit("Voltage at peak current", unit="V")
    def peak_voltage(self) -> Bound:
        """V_peak above the rail's minimum"""
        return above(self.V_peak, self.V_need.low)

    @limit("Pulse current of a cell", unit="A")
    def pulse(self) -> Bound:
        return below(self.I_cell, self.I_pulse)

    @limit("Continuous current of a cell", unit="A")
    def steady(self) -> Bound:
        return below(self.I_avg / self.beside, self.I_cont)

    @limit("End voltage", unit="V", asked=0.0)
    def cut_off(self) -> Bound | NotApplicable:
        """The rail's minimum above cells V_cut: the board stops before the cell is empty"""
        if self.cell not in (LITHIUM_ION, OTHER):
            return not_applicable("A primary cell may be fully discharged")
        return above(np.asarray(self.V_need.low), self.cells * self.V_cut)

    @limit("Runtime", unit="h")
    def runtime(self) -> Bound | NotApplicable:
        if self.inputs.reading("t_want").value.high == 0:
            return not_applicable("No runtime is asked for")
        return above(self.t_run, self.t_want)

    curves = (
        Curve(
            "Runtime against average current",
            x="I_load",
            y="t_run",
            span=(1e-6, 1e-1),
            limit="runtime",
            log=True,
        ),
        Curve(
            "Voltage against average current", x="I_load", y="V_avg", span=(1e-6, 1e-1), log=True
        ),
        Curve(
            "Voltage against peak load",
            x="I_peak",
            y="V_peak",
            span=(1e-3, 5e-2),
            limit="peak-voltage",
        ),
    )

    def parts(self) -> Sequence[Part]:
        rail = self.inputs.names.get("rail", "its rail")
        cell = Part(
            "BT", f"cell, {show(self.spread_of('Q').typ, 'mAh')} or more", f"feeding {rail}"
        )
        if float(self.C_bulk.max()) == 0:
            return (cell,)
        bulk = Part("C", f"capacitor {show(self.spread_of('C_bulk').typ, 'F')}", f"{rail} to GND")
        return (cell, bulk)

    def notes(self) -> Sequence[Finding]:
        least = float(self.t_run.min())
        shelf = "Few cells last longer than 10 years on a shelf (common practice)"
        said = [
            (0 < least < 1e4 * YEAR, f"About {_long(least)}", shelf if least > 5 * YEAR else ""),
            (
                self.law == STRAIGHT,
                "A capacity holds only for its load, temperature and end voltage",
                "Use the data sheet's capacity at your load and min temperature",
            ),
            (
                self.law != STRAIGHT and self.cell != OTHER,
                "Peukert's law applies to lead-acid cells",
                "Use the data sheet's capacity at your load; the pulse limit decides",
            ),
            *self._cautions(),
        ]
        return [Finding("cell", what, cure, serious=False) for says, what, cure in said if says]

    def _cautions(self) -> Sequence[tuple[bool, str, str]]:
        return [
            (
                self.cell == LITHIUM_ION,
                "A lithium-ion cell that is shorted, overcharged, emptied or charged in the cold "
                "can burn",
                "Fit its protection and the charger its data sheet asks for; for the first "
                "power-on use a current-limited supply instead",
            ),
            (
                self.cell == COIN,
                "Never charge or short a lithium coin cell, and keep it away from children",
                "Block every other supply from it",
            ),
            (
                self.cell == ALKALINE,
                "Never charge alkaline cells; they leak when empty",
                "Block every other supply from them",
            ),
        ]


def _long(seconds: float) -> str:
    """A runtime as a person would tell it: in hours, days, months or years."""
    for word, length, least in SPANS:
        if seconds >= least * length:
            return f"{show(seconds / length, '1', 2)} {word}"
    return f"{show(seconds / HOUR, '1', 2)} hours"
