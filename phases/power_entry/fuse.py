"""Fuse: which fuse rating, or hold and trip current?

Sources: resettable fuses, Bourns MF-MSMF and Littelfuse 1812L data sheets (hold current by the
part's own table, trip, voltage, fault current; max resistance one hour after a trip or after
soldering, R1max: the definition from memory). One-shot fuses: Littelfuse, Fuseology (75 % of the
rating at 25 °C); TA-I CP04 and Daito (70 %; thin chip fuses below 50 %); UL 248-14; IEC 60127.
Pulses: Littelfuse, fuse selection, I²t by shape and count.
The figures, each with its source, stand in shared/tables/fuse-derating.toml.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from itertools import pairwise
from typing import Any

from phases.kit import (
    Bound,
    Calculator,
    Card,
    Choice,
    Column,
    Curve,
    Finding,
    Following,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    Table,
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
from phases.kit.refusals import Refusal
from phases.kit.spec_tables import spec_table

RESETTABLE, ONE_SHOT = "resettable", "one-shot"
CONVENTIONS = ("UL 248-14", "IEC 60127")


def usual_derating() -> Mapping[str, Sequence[Mapping[str, Any]]]:
    """Rows of the derating table for each kind of part."""
    return {kind: part["rows"] for kind, part in spec_table("fuse-derating")["derating"].items()}


class Fuse(
    Calculator,
    name="fuse",
    title="Fuse",
    per="rail",
    source="Littelfuse, Fuseology; Bourns MF-MSMF and Littelfuse 1812L data sheets; UL 248-14",
):
    """Which fuse rating, or hold and trip current?

    A part of 5 A holds 3.6 A at 60 °C (published, MF-RG500 data sheet):

    >>> judged = judge(Fuse(I_N="5 A", k_T="0.72", T_A="60 °C"))
    >>> round(judged.output("I_hold").typ, 1)
    3.6
    """

    fuse = Card("part card of the fuse", of="board", default="", ledger="rail.{rail}.card.fuse")
    I_load = Quantity(
        "A",
        "steady load",
        of="board",
        default="400 mA",
        ledger="rail.{rail}.peak",
        span=(1e-3, 20.0),
    )
    kind = Choice("kind of part", (RESETTABLE, ONE_SHOT), of="board", default=RESETTABLE, way=True)
    I_N = Quantity(
        "A", "rating (hold current if resettable)", of="board", free=True, span=(0.01, 30.0)
    )
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    derating = Table(
        "derating",
        (Column("T", "°C", "ambient"), Column("k", "%", "share of the rating", least=0.01)),
        of="part",
        default=Following("kind", usual_derating),
        note="The part's own table; default: typical of its kind",
    )
    k_T = Quantity(
        "1",
        "temperature factor, instead of the table",
        of="board",
        least=0.01,
        most=3.0,
        fixed=True,
    )
    convention = Choice(
        "rating standard of a one-shot fuse", CONVENTIONS, of="practice", default="UL 248-14"
    )
    k_N = Quantity(
        "%",
        "allowed share of a UL rating",
        of="practice",
        default="75 %",
        least=0.01,
        most=1.0,
        fixed=True,
        note="75 % (Littelfuse), 70 % (TA-I, Daito), below 50 % for a thin chip fuse",
    )
    k_trip = Quantity(
        "1",
        "trip over hold current; typical if blank",
        card="fuse.trip_ratio",
        least=1.0,
        fixed=True,
        typical=True,
        note="2 from 0.2 A on, up to 3 below (MF-MSMF, MF-NSMF)",
    )
    I_wire = Quantity(
        "A", "current rating of track and connector", of="board", default="3 A", span=(0.1, 50.0)
    )
    R_1max = Quantity(
        "Ω",
        "max resistance; typical if blank",
        card="fuse.resistance",
        fixed=True,
        typical=True,
        note="Resettable: after a trip or after soldering",
    )
    V = SupplyVoltage(
        "supply", of="board", default="5 V ± 5 %", ledger="rail.{rail}.window", fixed=True
    )
    V_max = Quantity(
        "V",
        "voltage rating",
        card="fuse.voltage_max",
        default=Following("kind", {RESETTABLE: "15 V", ONE_SHOT: "63 V"}),
    )
    I_fault = Quantity(
        "A", "max fault current of the source", of="practice", default="5 A", fixed=True
    )
    I_max = Quantity("A", "interrupting rating", card="fuse.fault_current", default="40 A")
    I_p = Quantity(
        "A", "inrush pulse", of="board", default="2 A", note="From the inrush calculator"
    )
    t_p = Quantity("s", "pulse duration (time constant if decaying)", of="board", default="50 µs")
    shape = Choice(
        "pulse shape", ("square", "half sine", "triangle", "decay"), of="board", default="decay"
    )
    pulses = Choice(
        "pulses over its life", ("100", "1000", "10000", "100000"), of="practice", default="10000"
    )
    I2t_p = Quantity("A²s", "I²t of the pulse, if known", of="board", fixed=True)
    f_p = Quantity(
        "%",
        "share of the melting I²t for these pulses, the maker's",
        of="part",
        least=0.001,
        most=1.0,
        fixed=True,
        note="By the number of pulses if blank",
    )
    I2t_melt = Quantity("A²s", "melting I²t", card="fuse.melting_integral", default="0.05 A²s")

    @proposal("I_N", rank="small_but_holding")
    def ratings(self) -> Sequence[float]:
        """Stock ratings; the smallest that passes"""
        return self._ratings()

    def _ratings(self) -> Sequence[float]:
        which = RESETTABLE if self.kind == RESETTABLE else self.convention
        found: list[float] = spec_table("fuse-derating")["ratings"][which]["amperes"]
        return found

    def small_but_holding(self) -> Array:
        """The smallest first that carries the load; then the largest of those that do not."""
        return np.where(self.I_hold >= self.I_load, self.I_N, 1e6 / self.I_N)

    def _factor(self, of: str, word: str) -> float:
        factor: float = spec_table("fuse-derating")[of][word]
        return factor

    def _meaning(self) -> Mapping[str, Any]:
        meaning: Mapping[str, Any] = spec_table("fuse-derating")["convention"][self.convention]
        return meaning

    def _steps(self) -> list[tuple[Array, Array]]:
        """Temperature and factor of each row; Refusal where the table is none of a fuse."""
        rows = [(row["T"].typ, row["k"].typ) for row in self.derating.data.rows]
        for (T, k), (T_next, k_next) in pairwise(rows):
            if T_next <= T or k_next > k:
                raise Refusal("Temperatures must rise and factors must fall", where="derating")
        T_all, k_all = self.derating["T"], self.derating["k"]
        return [
            (self.derating.pick(T_all, i), self.derating.pick(k_all, i)) for i in range(len(rows))
        ]

    @output("1", "temperature factor")
    def k(self) -> Array:
        """The table at T_A, straight between its rows and unknown beyond them; or k_T"""
        if self.text("k_T"):
            return self.k_T
        steps = self._steps()
        if not steps:
            return self.T_A * np.nan
        T, found = self.T_A, steps[0][1]
        for (T_0, k_0), (T_1, k_1) in pairwise(steps):
            way = np.minimum(np.maximum((T - T_0) / (T_1 - T_0), 0.0), 1.0)
            found = found + (k_1 - k_0) * way
        coldest, hottest = steps[0][0], steps[-1][0]
        return np.where((coldest <= T) & (hottest >= T), found, np.nan)

    def _share(self) -> Array | float:
        """What of the rating the steady load may use at the reference temperature."""
        return self.k_N if self.kind == ONE_SHOT and not self._meaning()["carries"] else 1.0

    def _usual(self, word: str) -> Array:
        """A typical figure of the kind of part, by its rating."""
        found = np.nan * self.I_N
        for step in reversed(spec_table("fuse-derating")["usual"][self.kind]["rows"]):
            found = np.where(step["below"] > self.I_N, step[word], found)
        return found

    @output("A", "hold current at this ambient", publishes="rail.{rail}.fuse_hold")
    def I_hold(self) -> Array:
        """I_hold = I_N k; of a fuse with a UL rating I_N k k_N"""
        return self.I_N * self.k * self._share()

    @output("A", "guaranteed trip current")
    def I_trip(self) -> Array:
        """I_trip = k_trip I_N k, k_trip up to 3 below 0.2 A; of a one-shot fuse 2 I_N k (UL) or
        2.1 I_N k (IEC)"""
        if self.kind == ONE_SHOT:
            return float(self._meaning()["opens"]) * self.I_N * self.k
        times = self.k_trip if self.text("k_trip") else self._usual("trip")
        return times * self.I_N * self.k

    @output("A", "rating needed")
    def I_need(self) -> Array:
        """I_need = I_load / k; of a fuse with a UL rating I_load / (k_N k)"""
        return self.I_load / (self.k * self._share())

    @output("A", "next stock rating")
    def I_next(self) -> Array:
        """The smallest rating not below I_need"""
        enough = (1 - 1e-9) * self.I_need
        none = np.where(np.isnan(enough), np.nan, np.inf)
        return reduce(lambda n, r: np.where(r >= enough, r, n), reversed(self._ratings()), none)

    @output("Ω", "fuse resistance", publishes="rail.{rail}.fuse_resistance")
    def R_f(self) -> Array:
        """R_f = R_1max; where blank 0.15 V / I_N (one-shot), 0.5 V / I_N and up to 1.5 V / I_N in
        small ratings (resettable)"""
        if self.text("R_1max"):
            return self.R_1max
        return self._usual("drop") / self.I_N

    @output("V", "drop")
    def V_f(self) -> Array:
        """V_f = I_load R_f"""
        return self.I_load * self.R_f

    @output("W", "loss")
    def P(self) -> Array:
        """P = I_load² R_f"""
        return self.I_load**2 * self.R_f

    @output("A²s", "I²t of the pulse")
    def I2t(self) -> Array:
        """I2t = I2t_p, or s I_p² t_p; s: square 1, half sine 1/2, triangle 1/3, decay 1/2"""
        if self.text("I2t_p"):
            return self.I2t_p
        return self._factor("shape", self.shape) * self.I_p**2 * self.t_p

    @output("A²s", "melting I²t needed")
    def I2t_need(self) -> Array:
        """I2t_need = I2t / f; f = f_p, or by the number of pulses: 0.48, 0.38, 0.29, 0.22"""
        f = self.f_p if self.text("f_p") else self._factor("pulses", self.pulses)
        return self.I2t / f

    @limit("Hold current", unit="A")
    def hold(self) -> Bound:
        """I_hold at max temperature above I_load"""
        return above(self.I_hold, self.I_load)

    @limit("Trip current", unit="A")
    def trip(self) -> Bound:
        """I_trip at min temperature below the rating of track and connector"""
        return below(self.I_trip, self.I_wire)

    @limit("Voltage", unit="V", asked=0.0)
    def voltage(self) -> Bound:
        return below(self.V, self.V_max)

    @limit("Fault current", unit="A", asked=0.0)
    def fault_current(self) -> Bound:
        return below(self.I_fault, self.I_max)

    @limit("Pulse", unit="A²s", asked=0.0)
    def pulse(self) -> Bound | NotApplicable:
        """I2t_need below I2t_melt"""
        if self.kind == RESETTABLE:
            return not_applicable("A resettable fuse has no element that pulses wear out")
        return below(self.I2t_need, self.I2t_melt)

    curves = (
        Curve(
            "Hold current against ambient",
            x="T_A",
            y="I_hold",
            span=(-20.0, 80.0),
            limit="hold",
        ),
    )

    def parts(self) -> Sequence[Part]:
        rail = self.inputs.names.get("rail", "the rail")
        rating, volts = show(float(self.I_N.max()), "A"), show(float(self.V_max.min()), "V")
        what = f"resettable fuse, hold {rating}," if self.kind == RESETTABLE else f"fuse, {rating},"
        return (Part("F", f"{what} {volts} or more", f"in front of everything on {rail}"),)

    def notes(self) -> Sequence[Finding]:
        slow = show(self._meaning()["within"], "s")
        never = float(self.I_fault.min()) < float(self.I_trip.max())
        resettable = self.kind == RESETTABLE
        said = [
            (
                never,
                "The source's fault current is below the trip current: the fuse may never open",
                "Use a lower rating, or rely on the source's own limit",
            ),
            (
                resettable,
                "When tripped it is over 100 °C and still passes a little current (common "
                "practice): it is not a switch",
                "Keep plastics and fingers away; take the supply off before touching the board",
            ),
            (
                not self.text("R_1max"),
                "Its resistance is that of typical parts (common practice)",
                "Enter the max of its data sheet",
            ),
            (
                resettable,
                "Its resistance, rating and temperature factors belong together",
                "Take all from the data sheet of the fitted part",
            ),
            (
                not resettable,
                f"The trip current may flow for {slow} before the fuse opens",
                "Enter what track and connector withstand for that long",
            ),
        ]
        return [Finding("fuse", what, cure, serious=False) for says, what, cure in said if says]
