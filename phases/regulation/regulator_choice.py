"""Regulator choice: linear or switching here? Both, computed on one question, side by side.

Sources: those of the linear regulator and of the step-down converter, whose calculations are run.
What a real part is chosen for (saturation, current limit, rated ripple current) is taken as
fitting: twice the load, which is common practice. It says which limits each kind would break with
its other figures at their usual values, and does not choose.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from phases.kit import (
    Calculator,
    Card,
    Count,
    Finding,
    Judgement,
    Quantity,
    SupplyVoltage,
    listing,
    output,
    proposal,
    show,
)
from phases.kit.arrays import Array
from phases.kit.bounds import FAIL, MARGINAL
from phases.kit.comparison import answer_of, side_by_side
from phases.kit.frame import CORNERS
from phases.kit.inputs import Given
from phases.kit.judging import Figure
from phases.kit.proposals import propose
from phases.kit.sentences import verdict_sentence
from phases.kit.spread import Spread
from phases.regulation.linear_regulator import LinearRegulator
from phases.regulation.step_down import StepDown

LINEAR, SWITCHING = "linear", "switching"

# The inputs each of the two takes from here, by their names there.
_SHARED = {
    name: name
    for name in ("V_in", "V_out", "I_out", "T_A", "k_board", "T_Jmax", "V_inmax", "V_inrec")
}
_OF_LINEAR = _SHARED | {
    "V_DO": "V_DO",
    "I_GND": "I_GND",
    "theta_JA": "theta_linear",
    "P_pkg": "P_linear",
}
_OF_SWITCHING = _SHARED | {
    "f": "f",
    "L": "L",
    "R_hi": "R_hi",
    "R_lo": "R_lo",
    "C_out": "C_out",
    "theta_JA": "theta_switching",
    "t_min": "t_min",
    "dV": "dV",
}


class RegulatorChoice(
    Calculator,
    name="regulator-choice",
    title="Regulator choice",
    per="rail",
    source="those of linear-regulator and step-down, run on the same question",
):
    """Linear or switching here?

    The junction of either in °C, with the values it starts from:

    >>> judged = judge(RegulatorChoice())
    >>> [round(judged.output(f"T_J_{kind}").high) for kind in ("linear", "switching")]
    [99, 52]
    """

    linear = Card("part card of the linear regulator", of="board", default="")
    switching = Card("part card of the switching regulator", of="board", default="")
    V_in = SupplyVoltage(
        "input voltage",
        of="board",
        default="5 V ± 5 %",
        ledger="rail.{parent}.window",
        least=1e-3,
        span=(1.0, 60.0),
    )
    V_out = SupplyVoltage(
        "output voltage",
        of="board",
        default="3.3 V ± 2 %",
        ledger="rail.{rail}.set_voltage",
        least=1e-3,
    )
    I_out = Quantity(
        "A", "max load", of="board", default="150 mA", ledger="rail.{rail}.peak", span=(1e-3, 10.0)
    )
    I_avg = Quantity(
        "A",
        "average load",
        of="board",
        default="60 mA",
        ledger="rail.{rail}.load",
        span=(1e-6, 10.0),
    )
    T_A = Quantity("°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient")
    dV = Quantity("V", "max ripple the rail's parts accept", of="board", default="30 mV")
    V_inmax = Quantity(
        "V", "absolute maximum input voltage of either part", of="part", default="30 V"
    )
    V_inrec = Quantity(
        "V", "recommended max input voltage of either part", of="part", default="28 V"
    )
    k_board = Quantity(
        "1", "θJA factor: your board / data sheet", of="practice", default="1.3 / 1.6 / 2"
    )
    T_Jmax = Quantity("°C", "max junction temperature of either part", of="part", default="125 °C")
    V_DO = Quantity(
        "V", "linear: dropout at this load, hot", card="linear.dropout", default="0.3 V"
    )
    I_GND = Quantity("A", "linear: ground current", card="linear.ground_current", default="5 mA")
    theta_linear = Quantity(
        "K/W", "linear: junction to ambient, data sheet", card="linear.theta_ja", default="75 K/W"
    )
    P_linear = Quantity("W", "linear: max package dissipation", card="linear.power", default="1 W")
    f = Quantity(
        "Hz",
        "switching: frequency",
        card="switching.frequency",
        default="500 kHz ± 10 %",
        least=1.0,
    )
    L = Quantity("H", "switching: inductance", of="board", free=True, least=1e-9)
    R_hi = Quantity(
        "Ω",
        "switching: high-side on-resistance, hot",
        card="switching.high_switch",
        default="80 / 120 / 180 mΩ",
    )
    R_lo = Quantity(
        "Ω",
        "switching: low-side on-resistance, hot",
        card="switching.low_switch",
        default="50 / 80 / 120 mΩ",
    )
    C_out = Quantity(
        "F",
        "switching: output capacitance, effective",
        of="board",
        default="12 / 15 / 20 µF",
        least=1e-12,
        ledger="rail.{rail}.output_capacitance",
    )
    theta_switching = Quantity(
        "K/W",
        "switching: junction to ambient, data sheet",
        card="switching.theta_ja",
        default="60 K/W",
    )
    t_min = Quantity("s", "switching: min on-time", card="switching.on_time", default="100 ns")
    area_linear = Count("linear: area rank, 1 = smallest", of="board", default=1, least=1, most=9)
    area_switching = Count("switching: area rank", of="board", default=2, least=1, most=9)
    cost_linear = Count(
        "linear: parts cost rank, 1 = lowest", of="board", default=1, least=1, most=9
    )
    cost_switching = Count("switching: parts cost rank", of="board", default=2, least=1, most=9)

    @proposal("L", tolerance="20 %")
    def inductance(self) -> Iterator[float]:
        """The inductor the step-down converter would offer"""
        converter = StepDown(self._given(_OF_SWITCHING, without="L"))
        for candidate in propose(converter, StepDown.proposals[0]):
            yield StepDown(candidate.values).L.item()

    # ---- The two, at max load and at the average one -------------------------------------

    def _given(self, feeds: Mapping[str, str], *, without: str = "") -> dict[str, Any]:
        """What the other is asked, with what a part is chosen for fitting."""
        given = {
            own: Given(self.spread_of(field)) for own, field in feeds.items() if own != without
        }
        twice = Given(Spread.exact(max(2 * self.spread_of("I_out").high, 1e-6)))
        none = Given(Spread.exact(0.0))
        given["V_inmin"] = none
        if feeds is _OF_LINEAR:
            given["I_rated"] = twice
        else:
            given |= {"I_sat": twice, "I_lim": twice, "I_Crms": twice, "I_L": none, "I_H": none}
            given["C_in"] = Given(Spread.exact(1.0))
        return given

    @cached_property
    def _linear(self) -> LinearRegulator:
        return LinearRegulator(self._given(_OF_LINEAR))

    @cached_property
    def _switching(self) -> StepDown:
        self.L  # noqa: B018  # blank as long as there is no inductor
        return StepDown(self._given(_OF_SWITCHING))

    def _answer(self, kind: str, name: str, load: str = "I_out") -> Array:
        """An output of one of the two, with `load` as its load."""
        feeds = {**(_OF_LINEAR if kind == LINEAR else _OF_SWITCHING), "I_out": load}
        other = self._linear if kind == LINEAR else self._switching
        at_load = other.with_given({"I_out": Given(self.spread_of(load))})
        return answer_of(at_load, name, self, feeds)

    @output("W", "heat, linear")
    def P_linear_all(self) -> Array:
        """linear-regulator P_D"""
        return self._answer(LINEAR, "P_D")

    @output("W", "heat, switching")
    def P_switching_all(self) -> Array:
        """step-down P"""
        return self._answer(SWITCHING, "P")

    @output("°C", "junction, linear")
    def T_J_linear(self) -> Array:
        """linear-regulator T_J"""
        return self._answer(LINEAR, "T_J")

    @output("°C", "junction, switching")
    def T_J_switching(self) -> Array:
        """step-down T_J"""
        return self._answer(SWITCHING, "T_J")

    @output("%", "efficiency at max load, linear")
    def eta_linear(self) -> Array:
        """linear-regulator eta"""
        return self._answer(LINEAR, "eta")

    @output("%", "efficiency at max load, switching")
    def eta_switching(self) -> Array:
        """step-down eta"""
        return self._answer(SWITCHING, "eta")

    @output("A", "input current at the average load, linear")
    def I_in_linear(self) -> Array:
        """linear-regulator I_in at I_avg"""
        return self._answer(LINEAR, "I_in", "I_avg")

    @output("A", "input current at the average load, switching")
    def I_in_switching(self) -> Array:
        """step-down I_in at I_avg"""
        return self._answer(SWITCHING, "I_in", "I_avg")

    @output("1", "runtime, switching / linear")
    def runtime(self) -> Array:
        """I_in_linear / I_in_switching"""
        return self.I_in_linear[:, None, 0] / self.I_in_switching[None, :, 0]

    @output("V", "ripple, switching")
    def V_ripple(self) -> Array:
        """step-down V_ripple"""
        return self._answer(SWITCHING, "V_ripple")

    # ---- Side by side --------------------------------------------------------------------

    @cached_property
    def _judged(self) -> dict[str, Judgement]:
        return side_by_side({LINEAR: self._linear, SWITCHING: self._switching})

    @listing("side by side", later=True)
    def comparison(self) -> list[dict[str, Any]]:
        if not self.text("L"):
            return []
        at_average = side_by_side(
            {
                kind: other.with_given({"I_out": Given(self.spread_of("I_avg"))})
                for kind, other in ((LINEAR, self._linear), (SWITCHING, self._switching))
            }
        )
        rows = [
            self._row("heat", self._judged, "W", ("P_D", "P")),
            self._row("junction", self._judged, "°C", ("T_J", "T_J")),
            self._row("efficiency", self._judged, "%", ("eta", "eta")),
            self._row("efficiency at the average load", at_average, "%", ("eta", "eta")),
            self._row("input current at the average load", at_average, "A", ("I_in", "I_in")),
        ]
        ripple = _words(self._judged[SWITCHING].output("V_ripple"), "V")
        runtime = self.under(CORNERS).runtime
        longer = Figure(float(runtime.min()), float(self.runtime.max()), float(runtime.max()))
        parts = [_parts(judgement) for judgement in self._judged.values()]
        broken = [_limits(judgement, FAIL) for judgement in self._judged.values()]
        thin = [_limits(judgement, MARGINAL) for judgement in self._judged.values()]
        return [
            *rows,
            _pair("runtime / runtime of the linear one", "1", _words(longer, "1")),
            _pair("ripple it adds", "none", ripple),
            _pair("parts besides capacitors", *parts),
            _pair("rank of area", str(self.area_linear), str(self.area_switching)),
            _pair("rank of cost", str(self.cost_linear), str(self.cost_switching)),
            _pair("limits it fails", *broken),
            _pair("marginal limits", *thin),
        ]

    @listing("failed and marginal limits", later=True)
    def limits_broken(self) -> list[dict[str, Any]]:
        if not self.text("L"):
            return []
        return [
            {"kind": kind, "verdict": v.verdict, "message": verdict_sentence(v)}
            for kind, judgement in self._judged.items()
            for v in judgement.verdicts
            if v.verdict in (FAIL, MARGINAL)
        ]

    @staticmethod
    def _row(
        what: str, judged: Mapping[str, Judgement], unit: str, names: tuple[str, str]
    ) -> dict[str, Any]:
        figures = (judged[kind].output(n) for kind, n in zip(judged, names, strict=True))
        return _pair(what, *(_words(figure, unit) for figure in figures))

    def notes(self) -> Sequence[Finding]:
        said = [
            "Both are shown; the choice is yours",
            "Inputs not asked here use the defaults of linear-regulator and step-down; inductor, "
            "switch and capacitors are taken as rated for twice the load, the input as smooth",
            "At light load a converter skips pulses; use its efficiency curve",
        ]
        if not self.text("L"):
            said = ["Neither makes a rail above its input: there is nothing to compare"]
        return [Finding("choice", what, serious=False) for what in said]


def _pair(what: str, linear: str, switching: str) -> dict[str, Any]:
    return {"what": what, LINEAR: linear, SWITCHING: switching}


def _words(figure: Figure, unit: str) -> str:
    low, typ, high = (show(value, unit) for value in (figure.low, figure.typ, figure.high))
    return typ if low == high else f"{typ} ({low} .. {high})"


def _parts(judgement: Judgement) -> str:
    roles = [part.role for part in judgement.parts if not part.role.startswith("C")]
    return f"{len(roles)} ({', '.join(roles)})"


def _limits(judgement: Judgement, verdict: str) -> str:
    titles = dict.fromkeys(v.title for v in judgement.verdicts if v.verdict == verdict)
    return ", ".join(titles) or "none"
