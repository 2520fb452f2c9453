"""Boot or strap pin: is its level defined in every case, and does the override win?

Sources: pull against leakage and against an opposite internal pull, TI SLVA485 (method, as
restated) and the sizing of a direction pin's pull-up for SN74LVC1T45; button against pull,
Raspberry Pi, Hardware design with RP2040, sections 2.2 and 3.2; leakage of an unpowered adapter,
Arm DUI0499. 10 kΩ, and 1 to 100 kΩ because of noise and not of leakage, are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Card,
    Choice,
    Column,
    Finding,
    NotApplicable,
    Part,
    Quantity,
    SupplyVoltage,
    Table,
    Words,
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
from phases.kit.preferred import around

RESISTOR, TIE, INTERNAL = "resistor", "direct tie", "internal pull"
RELEASED = "reset released"
LEAST_RESISTANCE = 1e-3
"""Ω: a tie, a closed contact. Nothing is nearer to a rail than that."""


class Strap(
    Calculator,
    name="strap",
    title="Boot strap resistor",
    per="board",
    source="TI SLVA485; Raspberry Pi, Hardware design with RP2040, sections 2.2 and 3.2",
):
    """Is the boot level defined in every case?

    A button with 1 kΩ against a pull-down of 8.06 kΩ (published, RP2040 hardware design, section
    3.2.2: at least 2.93 V):

    >>> pressed = [{"state": "button", "expect": "override", "path": "other"}]
    >>> strap = Strap(
    ...     V="3.3 V", R_pull="8.06 kΩ", R_tol="0 %", R_over="1 kΩ", I_leak="0 A", states=pressed
    ... )
    >>> round(judge(strap).rows("V_pin")["button"].typ, 2)
    2.94
    """

    part = Card("part card of the microcontroller", of="board", default="", ledger="board.mcu")
    pin = Words("pin", of="board", default="BOOT")
    level = Choice("wanted level", ("low", "high"), of="board", default="low")
    pull = Choice("pull source", (RESISTOR, TIE, INTERNAL), of="board", default=RESISTOR)
    R_pull = Quantity("Ω", "pull resistor", of="board", free=True, span=(10.0, 10e6))
    R_tol = Quantity("%", "pull resistor tolerance", of="board", default="5 %", fixed=True)
    V = SupplyVoltage(
        "supply", of="board", default="3.3 V ± 5 %", ledger="rail.{mcu_rail}.voltage", fixed=True
    )
    k_IL = Quantity("1", "VIL max / VDD", card="vil_ratio", default="0.3", most=1.0, fixed=True)
    k_IH = Quantity("1", "VIH min / VDD", card="vih_ratio", default="0.7", most=1.0, fixed=True)
    internal = Choice(
        "internal pull, in reset", ("none", "up", "down"), card="strap_pull", default="none"
    )
    R_int = Quantity(
        "Ω", "internal pull resistance", card="pull", default="20 / 40 / 60 kΩ", fixed=True
    )
    I_leak = Quantity(
        "A",
        "leakage of the pin, either sign",
        card="either_leakage",
        default="-1 .. 1 µA",
        least=-1e-3,
        fixed=True,
    )
    R_over = Quantity(
        "Ω",
        "resistor in series with the override",
        of="board",
        default="1 kΩ ± 5 %",
        span=(LEAST_RESISTANCE, 1e6),
    )
    t = Quantity(
        "s",
        "time from power-on or reset release until sampled",
        of="practice",
        default="1 ms",
        fixed=True,
    )
    states = Table(
        "states",
        (
            Column("state", "text", "state"),
            Column(
                "expect", "choice", "what must win", default="pull", choices=("pull", "override")
            ),
            Column(
                "path",
                "choice",
                "path to the other or the wanted level",
                default="none",
                choices=("none", "other", "wanted"),
            ),
            Column("R", "Ω", "resistance of that path", default="0 Ω"),
            Column("I", "A", "current towards the other level", default="0 A"),
            Column("C", "F", "capacitance at the pin, charged the other way", default="0 F"),
        ),
        of="practice",
        default=(
            {"state": RELEASED},
            {"state": "button or jumper", "expect": "override", "path": "other"},
            {"state": "indicator or module on the pin", "path": "other", "R": "100 kΩ"},
            {"state": "debug adapter attached, off", "I": "10 µA"},
            {"state": "capacitor still charging", "C": "10 nF"},
        ),
        scenarios=True,
    )

    @proposal("R_pull", tolerance="R_tol", rank="steps_from_10k")
    def usual_pull(self) -> Sequence[float]:
        """E12 values from about 1 kΩ to 100 kΩ, where a resistor holds the pin"""
        return around("E12", 10e3, 12) if self.pull == RESISTOR else ()

    def steps_from_10k(self) -> Array:
        """Common practice is 10 kΩ: the nearest by ratio comes first."""
        return np.abs(np.log(self.R_pull / 10e3))

    def _is(self, column: str, word: str) -> Array:
        return self.states.constant([float(w == word) for w in self.states.words(column)])

    def _G_path(self, towards: str) -> Array:
        """Conductance of the state's own path, that of an override with its series resistor."""
        R = self.states["R"] + self._is("expect", "override") * self.R_over
        return self._is("path", towards) / np.maximum(R, LEAST_RESISTANCE)

    def _G_internal(self, towards: str) -> Array:
        up = (self.level == "high") == (towards == "wanted")
        there = self.internal == ("up" if up else "down")
        return float(there) / np.maximum(self.R_int, LEAST_RESISTANCE)

    def _G_also(self) -> Array:
        """What pulls to the wanted level besides the resistor or tie."""
        return self._G_internal("wanted") + self._G_path("wanted")

    def _G_other(self) -> Array:
        return self._G_internal("other") + self._G_path("other")

    def _G_pull(self) -> Array | float:
        if self.pull == INTERNAL:
            return 0.0
        R = self.R_pull if self.pull == RESISTOR else 0.0
        return 1.0 / np.maximum(R, LEAST_RESISTANCE)

    def _I(self) -> Array:
        """Current towards the other level: into a pin that is to be low, out of one to be high."""
        return self.states["I"] + (1.0 if self.level == "low" else -1.0) * self.I_leak

    @output("Ω", "resistance at the pin", along="states")
    def R_pin(self) -> Array:
        """R_pin = 1 / (G_pull + G_also + G_other)"""
        return 1.0 / (self._G_pull() + self._G_also() + self._G_other())

    @output(
        "V",
        "level at the pin",
        along="states",
        bench=Bench(
            "level",
            title="{pin}[, {level}]",
            do="Measure in reset and after it",
            where="{pin}",
            first="Its resistor: value, fitted at all, on the right net; then what else is on it",
            point=".level",
            row=RELEASED,
            limit="level",
            when={"strap_pins": True},
        ),
    )
    def V_pin(self) -> Array:
        """Away from the wanted rail by u = (V G_other + I) R_pin, within the supply; while a
        capacitor still moves, by u + (u_0 - u) exp(-t / (R_pin C))"""
        u = np.minimum(np.maximum((self.V * self._G_other() + self._I()) * self.R_pin, 0.0), self.V)
        C = self.states["C"]
        left = np.where(C > 0, np.exp(-self.t / (self.R_pin * np.where(C > 0, C, 1.0))), 0.0)
        u = u + (self._is("expect", "pull") * self.V - u) * left
        return u if self.level == "low" else self.V - u

    @output("Ω", "max pull that holds in every state, capacitors settled")
    def R_most(self) -> Array:
        """1 / ((V G_other + I) / (s V) - G_other - G_also); s = k_IL, or 1 - k_IH for a high"""
        s = self.k_IL if self.level == "low" else 1.0 - self.k_IH
        needed = (self.V * self._G_other() + self._I()) / (s * self.V)
        G = needed - self._G_other() - self._G_also()
        R = np.where(G > 0, 1.0 / np.where(G > 0, G, 1.0), np.inf)
        held = [i for i, word in enumerate(self.states.words("expect")) if word == "pull"]
        return reduce(np.minimum, [self.states.pick(R, i) for i in held], np.asarray(np.inf))

    @limit("Level held", unit="V", along="states")
    def level_(self) -> Bound:
        """Below k_IL V for a low, above k_IH V for a high, wherever the pull must win"""
        return self._against(self.level, "pull", "Here the override must win")

    @limit("Override wins", unit="V", along="states")
    def override(self) -> Bound | NotApplicable:
        """On the other side of the other threshold, wherever the override must win"""
        if "override" not in self.states.words("expect"):
            return not_applicable("No button, jumper or host overrides this pin")
        other = "high" if self.level == "low" else "low"
        return self._against(other, "override", "Here the pull must win")

    def _against(self, side: str, expect: str, otherwise: str) -> Bound:
        where = self._is("expect", expect)
        if side == "low":
            return below(self.V_pin, self.k_IL * self.V, where=where, otherwise=otherwise)
        way = (1.0 - self.k_IH) * self.V
        return above(self.V_pin, self.k_IH * self.V, of=way, where=where, otherwise=otherwise)

    def parts(self) -> Sequence[Part]:
        wanted, other = ("GND", "the supply") if self.level == "low" else ("the supply", "GND")
        found = []
        if self.pull == RESISTOR:
            found.append(Part("R_pull", self.on_drawing("R_pull"), f"{self.pin} to {wanted}"))
        elif self.pull == TIE:
            found.append(Part("R_pull", "Tie", f"{self.pin} to {wanted}"))
        for state, expect in zip(
            self.states.words("state"), self.states.words("expect"), strict=True
        ):
            if expect == "override":
                way = f"in series with {self.on_drawing('R_over')}, {self.pin} to {other}"
                found.append(Part(f"override, {state}", state.capitalize(), way))
        return found

    def notes(self) -> Sequence[Finding]:
        if self.pull == INTERNAL:
            return [
                Finding(
                    self.pin,
                    "An internal pull counts only where the data sheet guarantees it during reset",
                    "Find its min and max, and whether reset changes it",
                    serious=False,
                )
            ]
        if self.pull == RESISTOR and float(self.R_pull.max()) > 100e3:
            return [
                Finding(
                    self.pin,
                    f"{show(float(self.R_pull.max()), 'Ω')} holds the level but picks up noise",
                    "Stay between 1 and 100 kΩ (common practice)",
                    serious=False,
                )
            ]
        return ()
