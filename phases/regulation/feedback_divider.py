"""Feedback divider: which two resistors, and what output accuracy?

Sources: output and top resistor, every regulator's data sheet (Microchip MCP16367 section 8.1, TI
TPS54531 SLVSBI5 equations 4 and 5); max resistances, TI TPS7A25 and SLVA477 (a hundred times
the bias current through the divider); exact worst case, Renesas REJ03G1782 page 17; first order
and root sum of squares, TI AN-1378 (SNVA112A) and SNVSCU9A. The nearest preferred value is the
one nearest by ratio, because IEC 60063 is a geometric series. Common practice: 20 to 500 µA.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log
from typing import Any

from phases.kit import (
    Bound,
    Calculator,
    Card,
    Choice,
    Curve,
    Finding,
    NotApplicable,
    Part,
    Quantity,
    SupplyWindow,
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
from phases.kit.frame import CORNERS
from phases.kit.inputs import Given
from phases.kit.preferred import around, decade
from phases.kit.proposals import propose
from phases.kit.spread import Spread

TIMES_BIAS = 100.0
"""Divider current over bias current, SLVA477."""

SAME = 0.0005
"""Worst-case errors closer than this count as the same: then the smaller current is better."""

_MOST_PAIRS, _LISTED = 120, 6


class FeedbackDivider(
    Calculator,
    name="feedback-divider",
    title="Feedback divider",
    per="rail",
    source="TI SLVA477, TPS7A25, SNVSCU9A; Renesas REJ03G1782; Microchip MCP16367 section 8.1",
):
    """Which two resistors, and what output accuracy?

    1.8 V from a reference of 0.6 V over 6.04 kΩ (published, SLVSDC9B: 12.1 kΩ):

    >>> judge(FeedbackDivider(V_out="1.8 V", V_REF="0.6 V", R2="6.04 kΩ")).picks["R1"]
    '12.1 kΩ ± 1 %'
    """

    regulator = Card(
        "part card of the regulator", of="board", default="", ledger="rail.{rail}.card.regulator"
    )
    V_out = SupplyWindow(
        "output wanted, with the range the rail's parts accept",
        of="board",
        default="3.3 V ± 5 %",
        ledger="rail.{rail}.window",
    )
    V_REF = Quantity(
        "V",
        "reference at the feedback pin",
        card="reference",
        default="0.8 V ± 1 %",
        least=1e-3,
        fixed=True,
    )
    R1 = Quantity("Ω", "top resistor, output to feedback", of="board", free=True, least=1e-3)
    R2 = Quantity("Ω", "bottom resistor, feedback to GND", of="board", free=True, least=1e-3)
    series = Choice("resistor series", ("E24", "E96", "E192"), of="board", default="E96")
    tol = Quantity("%", "resistor tolerance", of="board", default="1 %", most=0.2, fixed=True)
    I_FB = Quantity(
        "A",
        "bias current into the feedback pin",
        card="feedback_current",
        default="0 A",
        least=-1e-3,
        fixed=True,
        note="Most parts: -100 to 100 nA; times R1 it adds to the output",
    )
    dV_reg = Quantity(
        "%",
        "line and load regulation",
        card="regulation",
        default="0 %",
        least=-0.5,
        most=0.5,
        fixed=True,
    )
    I_least = Quantity(
        "A",
        "min divider current",
        of="practice",
        default="20 µA",
        fixed=True,
        note="Common practice, against noise and leakage; 100 times I_FB where that is more",
    )
    I_most = Quantity(
        "A",
        "max divider current",
        of="practice",
        default="500 µA",
        fixed=True,
        note="Common practice",
    )

    @proposal("R1", "R2", tolerance="tol", rank="worst_error_then_current")
    def pairs(self) -> Iterator[tuple[float, float]]:
        """Preferred values whose ratio comes nearest; of one that is given, its partners"""
        ratio = float(self.ratio.max())
        R1, R2 = self._value("R1"), self._value("R2")
        if ratio <= 0:
            return
        found: list[tuple[float, float]] = []
        if R1 is not None and R2 is None:
            found = [(R1.typ, low) for low in around(self.series, R1.typ / ratio, 2)]
        elif R2 is not None and R1 is None:
            found = [(top, R2.typ) for top in around(self.series, ratio * R2.typ, 2)]
        else:
            V_REF = float(self.V_REF.max())
            most, least = (max(float(i.max()), 1e-7) for i in (self.I_most, self._I_least()))
            lows = decade(self.series, V_REF / most, V_REF / least)
            for low in lows:
                found += [(top, low) for top in around(self.series, ratio * low, 1)]
        yield from sorted(found, key=lambda R: abs(log(R[0] / R[1] / ratio)))[:_MOST_PAIRS]

    def worst_error_then_current(self) -> Array:
        """Steps of worst-case error by ratio; within one the current, as a share of one."""
        V_set, I_R = self.V_set, self.I_R
        corners = tuple(range(V_set.ndim - 1))
        worst = np.abs(np.log(V_set / self.target)).max(axis=corners, keepdims=True)
        current = I_R.max(axis=tuple(range(I_R.ndim - 1)), keepdims=True)
        found: Array = (worst / SAME + 0.5) // 1 + current / (current + self.I_most.max())
        return found

    def _value(self, name: str) -> Spread | None:
        value: Spread | None = self.inputs.reading(name).value
        return value

    @property
    def target(self) -> Array:
        return np.asarray(self.spread_of("V_out").typ)

    def _I_least(self) -> Array:
        return np.maximum(self.I_least, TIMES_BIAS * np.abs(self.I_FB))

    @output("V", "output", publishes="rail.{rail}.set_voltage")
    def V_set(self) -> Array:
        """V_set = (V_REF (1 + R1 / R2) + I_FB R1) (1 + dV_reg)"""
        return (self.V_REF * (1 + self.R1 / self.R2) + self.I_FB * self.R1) * (1 + self.dV_reg)

    @output("%", "output error, worst case")
    def error(self) -> Array:
        """V_set / V_out - 1"""
        return self.V_set / self.target - 1

    @output("1", "ratio R1 / R2 wanted")
    def ratio(self) -> Array:
        """V_out / V_REF - 1"""
        return self.target / self.V_REF - 1

    @output("Ω", "top resistor wanted with this bottom one")
    def R1_ideal(self) -> Array:
        """R1 = R2 (V_out / V_REF - 1)"""
        return self.R2 * self.ratio

    @output("A", "divider current")
    def I_R(self) -> Array:
        """I_R = V_REF / R2"""
        return self.V_REF / self.R2

    @output("Ω", "max bottom resistor for the bias current")
    def R2_max(self) -> Array:
        """V_REF / (100 I_FB)"""
        return np.where(self.I_FB > 0, self.V_REF / (TIMES_BIAS * np.abs(self.I_FB)), np.inf)

    @output("Ω", "max sum of both for the bias current")
    def R_max(self) -> Array:
        """V_out / (100 I_FB)"""
        return np.where(self.I_FB > 0, self.target / (TIMES_BIAS * np.abs(self.I_FB)), np.inf)

    @output("%", "deviation of the reference")
    def dV_REF(self) -> Array:
        """V_REF over its typical value, less 1"""
        return self.V_REF / self.spread_of("V_REF").typ - 1

    @output("%", "half the spread of the reference about its middle")
    def dV_REF_centred(self) -> Array:
        """(V_REF,max - V_REF,min) / (V_REF,max + V_REF,min)"""
        return np.asarray(_reach(self.spread_of("V_REF")))

    @output("%", "error from the resistors, root sum of squares")
    def dR_rss(self) -> Array:
        """√2 δR (1 - V_REF / V_out)"""
        return 2**0.5 * self._dR() * self._gain()

    @output("%", "error, first order")
    def error_first(self) -> Array:
        """δV_REF + 2 δR (1 - V_REF / V_out)"""
        return _reach(self.spread_of("V_REF")) + 2 * self._dR() * self._gain()

    @output("%", "error, root sum of squares")
    def error_rss(self) -> Array:
        """√(δV_REF² + 2 (δR (1 - V_REF / V_out))²)"""
        reference, resistors = _reach(self.spread_of("V_REF")), self._dR() * self._gain()
        return np.sqrt(reference**2 + 2 * resistors**2)

    @output("%", "min output error, resistors by root sum of squares")
    def error_low(self) -> Array:
        """min dV_REF - dR_rss + min dV_reg"""
        V_REF = self.spread_of("V_REF")
        return V_REF.low / V_REF.typ - 1 - self.dR_rss + self.spread_of("dV_reg").low

    @output("%", "max output error, resistors by root sum of squares")
    def error_high(self) -> Array:
        """max dV_REF + dR_rss + max dV_reg"""
        V_REF = self.spread_of("V_REF")
        return V_REF.high / V_REF.typ - 1 + self.dR_rss + self.spread_of("dV_reg").high

    @output("%", "half the span of these two")
    def error_centred(self) -> Array:
        """(error_high - error_low) / 2"""
        return (self.error_high - self.error_low) / 2

    def _gain(self) -> Array:
        return 1 - self.spread_of("V_REF").typ / self.target

    def _dR(self) -> float:
        """The tolerance of the resistors as they are given; where they are exact, `tol`."""
        given = [R for R in (self._value("R1"), self._value("R2")) if R and not R.is_exact]
        return max((_reach(R) for R in given), default=self.spread_of("tol").high)

    @listing("best pairs", later=True)
    def best_pairs(self) -> list[dict[str, Any]]:
        """Of the whole series, by worst-case error and then by current"""
        rows = []
        for candidate in propose(self, type(self).proposals[0])[:_LISTED]:
            given = {name: Given(text) for name, text in candidate.values.items()}
            pair = self.with_given(given).under(CORNERS)
            V_set, error = pair.V_set, pair.error
            rows.append(
                {
                    **candidate.values,
                    "output": f"{show(float(V_set.min()), 'V')} .. {show(float(V_set.max()), 'V')}",
                    "error": f"{show(float(error.min()), '%')} .. {show(float(error.max()), '%')}",
                    "current": show(float(pair.I_R.max()), "A"),
                    "verdict": candidate.verdict,
                }
            )
        return rows

    @limit("Output", unit="V")
    def output_window(self) -> Bound | NotApplicable:
        """V_set inside the range of V_out"""
        low, high = self.V_out
        if low == high:
            return not_applicable("No range is given for the output")
        return inside(self.V_set, low, high)

    @limit("Divider current", unit="A", asked=0.0)
    def divider_current(self) -> Bound:
        """I_R from I_least, or 100 I_FB where that is more, to I_most"""
        return inside(self.I_R, self._I_least(), self.I_most)

    curves = (
        Curve("Output against top resistor", x="R1", y="V_set", limit="output-window", log=True),
    )

    def parts(self) -> Sequence[Part]:
        if not (self.text("R1") and self.text("R2")):
            return ()
        rail = self.inputs.names.get("rail", "output")
        return (
            Part("R1", self.on_drawing("R1"), f"{rail} to feedback"),
            Part("R2", self.on_drawing("R2"), "feedback to GND"),
        )

    def notes(self) -> Sequence[Finding]:
        exact = [n for n in ("R1", "R2") if (R := self._value(n)) is not None and R.is_exact]
        said = [
            (
                float(self.target) < self.spread_of("V_REF").high,
                "divider",
                "The output cannot be set below the reference",
                "Use a part with a lower reference, or tie feedback to the output",
            ),
            (
                bool(exact),
                " and ".join(exact),
                "Given without a tolerance: counted as exact",
                f"Enter 10 kΩ ± {self.spread_of('tol').high * 100:g} %",
            ),
            (
                True,
                "feedback",
                "Some parts limit R1 and R2 for other reasons (stability, soft start)",
                "See the data sheet; sense the divider at the load",
            ),
        ]
        return [Finding(where, what, do, serious=False) for is_so, where, what, do in said if is_so]


def _reach(value: Spread) -> float:
    """Half the spread over its middle."""
    return (value.high - value.low) / (value.high + value.low)
