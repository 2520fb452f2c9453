"""Output capacitor: is the regulator stable with it in the worst corner?

Sources: what is left, product of tolerance, temperature, bias and ageing: TI SLUSEA4D and Maxim
APP5527 on bias, EIA-198 (TI SLAA701B, table 1-16) on temperature, IEC 60384-9 on ageing. Ageing
is counted per decade of hours, from the 1000 h of IEC 60384-9 or from the first hour, its losses
added or compounded; the first named is the default. Without points of the part's own curve a
usual loss under bias stands in, by case, rating and capacitance: own fit, common practice.
An electrolytic or polymer one loses nothing under bias and has an ESR that counts. The figures,
each with its source, stand in shared/tables/capacitor-temperature-codes.toml, capacitor-kinds.toml
and capacitor-bias.toml.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Choice,
    Column,
    Count,
    Curve,
    Finding,
    Following,
    Part,
    Quantity,
    SupplyVoltage,
    Table,
    Window,
    above,
    below,
    inside,
    limit,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.capacitor_bias import CASES, half_voltage, left_under_bias, usual_loss
from phases.kit.capacitor_codes import (
    Capacitance,
    TemperatureCode,
    ageing_per_decade,
    most_ageing_per_decade,
    temperature_code,
)
from phases.kit.preferred import decade
from phases.kit.refusals import Refusal
from phases.kit.spec_tables import spec_table

DIELECTRICS = tuple("C0G X5R X5S X6S X6T X7R X7S X7T X7U X8R Y5V Z5U 2B1 2C1 2R1".split())
POLARISED = ("electrolytic", "polymer")
UNBIASED = ("C0G", *POLARISED)
ADDED, COMPOUNDED = "added", "compounded"
EXTRAPOLATED = ("0201", "0402", "0603")
"""Cases below the smallest whose loss the fit was compared with."""


def _changes() -> Mapping[str, str]:
    """The change over temperature of each code, as typed."""
    codes = {name: _code(name) for name in (*DIELECTRICS, *POLARISED)}
    return {n: f"{c.least * 100:g} / 0 / {c.most * 100:g} %" for n, c in codes.items()}


def _code(name: str) -> TemperatureCode:
    """What a temperature code promises, or what is usual of a kind."""
    if name not in POLARISED:
        return temperature_code(name)
    kind = spec_table("capacitor-kinds")[name]
    least, most = kind["change"]
    return TemperatureCode(kind["lowest"], kind["highest"], least / 100, most / 100)


def _losses() -> Mapping[str, str]:
    ceramic = {}
    for name in DIELECTRICS:
        usual, most = ageing_per_decade(name) * 100, most_ageing_per_decade(name) * 100
        spread = f"{usual:g} / {usual:g} / {most:g}" if most > usual else f"{usual:g}"
        ceramic[name] = f"{spread} %"
    kinds = spec_table("capacitor-kinds")
    return ceramic | {name: f"{kinds[name]['ageing']:g} %" for name in POLARISED}


def _resistances() -> Mapping[str, str]:
    kinds = spec_table("capacitor-kinds")
    ceramic = dict.fromkeys(DIELECTRICS, "2 / 5 / 10 mΩ")
    return ceramic | {name: str(kinds[name]["ESR"]) for name in POLARISED}


class OutputCapacitor(
    Calculator,
    name="output-capacitor",
    title="Output capacitor",
    per="rail",
    source="TI SLUSEA4D, Maxim APP5527; EIA-198 (TI SLAA701B, table 1-16); IEC 60384-9",
):
    """Is the regulator stable with it, worst case?

    Two of 10 µF at 24 V keep 6.9 µF (published, SLUSEA4D):

    >>> left = [{"V": "24 V", "left": "34.5 %"}]
    >>> judged = judge(OutputCapacitor(C="10 µF", n="2", V="24 V", bias=left, t="1000 h"))
    >>> round(judged.output("C_eff").typ * 1e6, 1)
    6.9
    """

    C = Capacitance(
        "capacitance, nominal",
        of="board",
        free=True,
        least=1e-13,
        span=(1e-8, 1e-3),
        note="10 µF ± 10 %, or the code on the part: 106K",
    )
    regulator = Card(
        "part card of the regulator", of="board", default="", ledger="rail.{rail}.card.regulator"
    )
    n = Count("number in parallel", of="board", default=1, least=1, most=100)
    tol = Quantity(
        "%", "tolerance of a proposed one", of="board", default="10 %", most=0.5, fixed=True
    )
    V = SupplyVoltage(
        "voltage across it",
        of="board",
        default="3.3 V ± 2 %",
        ledger="rail.{rail}.voltage",
        span=(0.0, 25.0),
    )
    V_R = Quantity("V", "rated voltage", of="board", default="10 V", least=0.1, span=(2.5, 100.0))
    case = Choice("case", CASES, of="board", default="0805", way=True)
    dielectric = Choice(
        "temperature code, or kind",
        (*DIELECTRICS, *POLARISED),
        of="board",
        default="X7R",
        way=True,
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    TCC = Quantity(
        "%",
        "change over temperature",
        of="practice",
        default=Following("dielectric", _changes),
        least=-1.0,
        most=1.0,
        fixed=True,
    )
    bias = Table(
        "DC bias curve",
        (Column("V", "V", "voltage"), Column("left", "%", "share remaining", most=1.5)),
        of="practice",
        default=(),
        note="Points of the part's own curve; typical loss if empty",
    )
    k_bias = Quantity(
        "1",
        "bias-loss factor",
        of="practice",
        default=usual_loss,
        least=0.1,
        fixed=True,
        note="Own fit, common practice; used if no curve is given",
    )
    k_age = Quantity(
        "%",
        "ageing loss per decade of hours",
        of="practice",
        default=Following("dielectric", _losses),
        most=0.5,
        fixed=True,
    )
    t = Quantity(
        "s",
        "age",
        of="practice",
        default="1000 / 1000 / 87600 h",
        least=3600.0,
        fixed=True,
        note="Hours since it was last above 125 °C",
    )
    reference = Choice(
        "age at the nominal value", ("1000 h", "1 h"), of="practice", default="1000 h"
    )
    ageing = Choice(
        "ageing losses of the decades", (ADDED, COMPOUNDED), of="practice", default=ADDED
    )
    ESR = Quantity(
        "Ω",
        "ESR of one",
        of="practice",
        default=Following("dielectric", _resistances),
        span=(1e-4, 10.0),
    )
    C_need = Window(
        "F",
        "capacitance range for stability",
        card="regulator.output_capacitance",
        default="1 .. 100 µF",
    )
    ESR_need = Window(
        "Ω", "ESR range for stability", card="regulator.capacitor_resistance", default="0 .. 0.5 Ω"
    )

    @proposal("C", tolerance="tol")
    def stocked(self) -> Iterator[float]:
        """E3 values, the smallest that passes"""
        low, high = self.C_need
        yield from decade("E3", max(low / self.n, 1e-12) / 2, max(high, 10 * low) * 5)

    def _steps(self) -> list[tuple[Array, Array]]:
        """Voltage and share of each point, from 0 V; Refusal where it is no curve of a capacitor"""
        points = [(row["V"].typ, row["left"].typ) for row in self.bias.data.rows]
        for (V, left), (V_next, left_next) in pairwise(points):
            if V_next <= V or left_next > left:
                raise Refusal("Voltages must rise and shares must fall", where="bias")
        V_all, all_left = self.bias["V"], self.bias["left"]
        steps = [
            (self.bias.pick(V_all, i), self.bias.pick(all_left, i)) for i in range(len(points))
        ]
        if points and points[0][0] > 0:
            steps.insert(0, (steps[0][0] * 0.0, steps[0][1] * 0.0 + 1.0))
        return steps

    @output("%", "remaining under DC bias")
    def k_V(self) -> Array:
        """Straight between the points, unknown beyond them; or 1 / (1 + V² C / (volume V_R k²))"""
        if self.dielectric in UNBIASED:
            return self.V * 0.0 + 1.0
        steps = self._steps()
        if not steps:
            V_half = half_voltage(self.C, self.V_R, self.case, self.k_bias)
            return left_under_bias(self.V, V_half)
        V, found = self.V, steps[0][1]
        for (V_0, left_0), (V_1, left_1) in pairwise(steps):
            way = np.minimum(np.maximum((V - V_0) / (V_1 - V_0), 0.0), 1.0)
            found = found + (left_1 - left_0) * way
        return np.where(steps[-1][0] >= V, found, np.nan)

    @output("%", "remaining after ageing")
    def k_t(self) -> Array:
        """1 - k_age log10(t / t_ref), or (1 - k_age)^log10(t / t_ref)"""
        hours = spec_table("capacitor-temperature-codes")["reference"][self.reference]
        decades: Array = np.log10(self.t / (3600.0 * hours))
        if self.ageing == ADDED:
            return 1 - self.k_age * decades
        return np.power(1 - self.k_age, decades)

    @output(
        "F",
        "capacitance, effective",
        publishes="rail.{rail}.output_capacitance",
        bench=Bench(
            "ripple",
            title="{rail} ripple",
            where="output capacitor of {rail}",
            words="a few millivolts, no sine wave: a linear regulator that oscillates is not "
            "stable with its capacitor",
            first="The output capacitor: value, joints, ESR; then the probe's ground lead",
            point="rail.{rail}.ripple",
            unit="V",
            when={"regulator": "linear"},
        ),
    )
    def C_eff(self) -> Array:
        """n C (1 + TCC) k_V k_t"""
        return self.n * self.C * (1 + self.TCC) * self.k_V * self.k_t

    @output("%", "remaining of nominal")
    def left(self) -> Array:
        """C_eff over n times the nominal C"""
        nominal = self.inputs.reading("C").value
        return self.C_eff / (self.n * (nominal.typ if nominal else self.C))

    @output("Ω", "ESR of all")
    def ESR_all(self) -> Array:
        """ESR / n"""
        return self.ESR / self.n

    @output("%", "ESR position in its range, 0 low, 100 high")
    def ESR_place(self) -> Array:
        """(ESR_all - low) / (high - low)"""
        low, high = self.ESR_need
        return (self.ESR_all - low) / (high - low if high > low else np.nan)

    @output("%", "voltage / rated voltage")
    def V_share(self) -> Array:
        """V / V_R"""
        return self.V / self.V_R

    def _extrapolated(self) -> bool:
        """Whether the bias loss is that of the fit, in a case smaller than any it was made of."""
        class_2 = self.dielectric not in UNBIASED
        return class_2 and not self.bias.data.rows and self.case in EXTRAPOLATED

    @limit("Capacitance", unit="F")
    def capacitance(self) -> Bound:
        """C_eff inside C_need; above it where that is one value. Where the bias loss is
        extrapolated, at the best end of its fit: it must not fail what nobody measured."""
        if not self._extrapolated():
            return _within(self.C_eff, *self.C_need)
        V_half = half_voltage(self.C, self.V_R, self.case, self.k_bias.max(keepdims=True))
        k_V = left_under_bias(self.V, V_half)
        return _within(self.n * self.C * (1 + self.TCC) * k_V * self.k_t, *self.C_need)

    @limit("ESR", unit="Ω")
    def series_resistance(self) -> Bound:
        """ESR_all inside ESR_need; below it where that is one value"""
        low, high = self.ESR_need
        return below(self.ESR_all, high) if low in (0, high) else _within(self.ESR_all, low, high)

    @limit("Rated voltage", unit="V")
    def rating(self) -> Bound:
        return below(self.V, self.V_R)

    @limit("Temperature", unit="°C", asked=0.0)
    def temperature(self) -> Bound:
        """T_A inside the range of the code"""
        code = _code(self.dielectric)
        return inside(self.T_A, code.lowest, code.highest)

    curves = (Curve("Effective capacitance against bias", x="V", y="C_eff", limit="capacitance"),)

    def parts(self) -> Sequence[Part]:
        if not self.text("C"):
            return ()
        rail = self.inputs.names.get("rail", "output")
        volts = show(float(self.V_R.min()), "V")
        case = "" if self.dielectric in POLARISED else f" {self.case}"
        what = f"{self.on_drawing('C')} {self.dielectric} {volts}{case}"
        return (Part("C", what, f"{rail} to GND, at the regulator", self.n),)

    def notes(self) -> Sequence[Finding]:
        class_2, points = self.dielectric not in UNBIASED, self.bias.data.rows
        beyond = bool(points) and self.inputs.reading("V").value.high > points[-1]["V"].low
        said = [
            (
                self._extrapolated(),
                "bias",
                f"Loss in case {self.case} is extrapolated from larger cases, and judged at its "
                "best",
                "Enter points of the part's own curve",
            ),
            (
                class_2 and not points and not self._extrapolated(),
                "bias",
                "Bias loss is typical of case, rating and capacitance (own fit, common practice)",
                "Enter points of the part's own curve",
            ),
            (
                class_2 and beyond,
                "bias",
                "The curve ends below the voltage across it: the loss there is unknown",
                "Enter a point at or above that voltage",
            ),
            (
                self.dielectric in POLARISED,
                self.dielectric,
                "It is polarised, and its ESR rises in the cold",
                "Use the ESR of its data sheet at min temperature; mind which end is positive",
            ),
            (
                self.dielectric in ("Y5V", "Z5U"),
                "dielectric",
                "Loses most of its capacitance when cold, hot or under bias",
                "Use X5R or X7R",
            ),
            (
                bool(self.text("C")) and self.inputs.reading("C").value.is_exact,
                "C",
                "Given without a tolerance: counted as exact",
                "Enter 10 µF ± 10 %, or its code, 106K",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]


def _within(value: Array, low: float, high: float) -> Bound:
    """Inside a window that may span decades: the margin is a share of its nearer end."""
    if low == high:
        return above(value, low)
    return inside(value, low, high, of=np.where(value - low < high - value, low, high))
