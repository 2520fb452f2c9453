"""Clamp: does the clamp protect what is behind it?

Sources: stand-off and choice, Littelfuse, suppressor selection; clamp voltage below the rated
pulse, and max breakdown from the min, Vishay document 88446; dynamic resistance, temperature
and pulse length, TI SLVAE37; surge current, and the series MOSFET behind a reversed surge, TI
SNOSDE6C; levels and waveform of a discharge, IEC 61000-4-2; surge, IEC 61000-4-5.
The figures, each with its source, stand in shared/tables/esd-levels.toml.
"""

from __future__ import annotations

from collections.abc import Sequence

from phases.kit import (
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
    above,
    below,
    limit,
    not_applicable,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.spec_tables import spec_table

GIVEN, NARROW, WIDE = "as given", "min given, 1.11 times", "min given, 1.22 times"
SHEET, DYNAMIC = "rated pulse", "dynamic resistance"
SHORT, LONG = "8/20 µs", "10/1000 µs"
NO_SURGE = "No surge reaches this connector"


def _figure(group: str, name: str) -> float:
    figure: float = spec_table("esd-levels")[group][name]
    return figure


class Clamp(
    Calculator,
    name="clamp",
    title="Input clamp (TVS)",
    per="connector",
    source="Vishay document 88446; TI SLVAE37 and SNOSDE6C; IEC 61000-4-2 and 61000-4-5",
):
    """Does the clamp protect what is behind it?

    A reversed surge of 150 V through 10 Ω is 15 A (published, SNOSDE6C):

    >>> judge(Clamp(V_surge="150 V", R_surge="10 Ω", V_work="16 V")).output("I_P").typ
    15.0
    """

    clamp = Card(
        "part card of the clamp", of="board", default="", ledger="connector.{connector}.card.clamp"
    )
    series = Card(
        "part card of the series MOSFET",
        of="board",
        default="",
        ledger="connector.{connector}.card.series",
    )
    V_work = SupplyVoltage(
        "max working voltage",
        of="board",
        default="4.75 .. 5.25 V",
        ledger="rail.{rail}.window",
        fixed=True,
    )
    V_RWM = Quantity("V", "stand-off", card="clamp.stand_off", default="5.5 V", span=(1.0, 100.0))
    V_BR = Quantity(
        "V", "breakdown", card="clamp.breakdown", default="6.4 .. 7.2 V", inside=True, fixed=True
    )
    breakdown = Choice(
        "breakdown voltage given as", (GIVEN, NARROW, WIDE), of="practice", default=GIVEN
    )
    V_C = Quantity(
        "V",
        "clamp voltage at the rated pulse",
        card="clamp.clamp_voltage",
        default="9.2 V",
        fixed=True,
    )
    I_PP = Quantity(
        "A", "rated pulse", card="clamp.pulse_current", default="43.5 A", least=1e-3, fixed=True
    )
    method = Choice("clamp voltage from", (SHEET, DYNAMIC), of="practice", default=SHEET)
    R_dyn = Quantity(
        "Ω", "dynamic resistance", card="clamp.dynamic_resistance", default="50 mΩ", fixed=True
    )
    T_A = Quantity("°C", "ambient", of="board", default="25 °C", ledger="board.ambient", fixed=True)
    alpha_T = Quantity(
        "%",
        "rise of the clamp voltage per kelvin",
        card="clamp.temperature_rise",
        default="0.1 %",
        fixed=True,
        note="0.057 % for 6.8 V to 0.1 % for 33 V (SLVAE37)",
    )
    V_abs = Quantity(
        "V",
        "abs. max. of the protected part",
        of="part",
        ledger="rail.{rail}.withstands",
        default="16 V",
        span=(2.0, 200.0),
    )
    V_DS = Quantity(
        "V", "V_DS rating of the series MOSFET", card="series.voltage_max", span=(5.0, 200.0)
    )
    surge = Flag(
        "can a surge come in (long or field wiring)?",
        of="board",
        default="no",
        note="No for a desk device: only people discharge into it",
    )
    V_surge = Quantity(
        "V", "surge voltage, open circuit", of="board", default="500 V", most=6e3, span=(10.0, 6e3)
    )
    R_surge = Quantity(
        "Ω",
        "source resistance of the surge",
        of="board",
        default="42 Ω",
        least=1e-3,
        fixed=True,
        note="IEC 61000-4-5: 2 Ω between supply lines, 42 Ω to signal lines, level 1 0.5 kV",
    )
    less_clamp = Flag(
        "subtract the clamp voltage from the surge?",
        of="practice",
        default="no",
        note="No is the worse case: V_surge / R_surge",
    )
    I_test = Quantity("A", "test current, instead of a surge", of="board", fixed=True)
    wave = Choice("wave of the surge", (SHORT, LONG), of="board", default=SHORT)
    P_PP = Quantity(
        "W", "rated pulse power", card="clamp.pulse_power", default="400 W", span=(10.0, 1e5)
    )
    T_Pmax = Quantity(
        "°C",
        "temperature without any pulse power left",
        card="clamp.junction",
        default="150 °C",
        fixed=True,
        note="Derating runs straight down to it from 25 °C",
    )
    rated = Choice("wave of the rated power", (SHORT, LONG), of="part", default=LONG)
    discharge = Choice(
        "ESD discharge (contact or air)", ("contact", "air"), of="board", default="contact"
    )
    level = Choice("ESD test level", ("1", "2", "3", "4"), of="board", default="4")
    V_ESD = Quantity(
        "V",
        "ESD rating of the clamp",
        card="clamp.discharge",
        default="30 kV",
        most=1e5,
        span=(500.0, 5e4),
        note="IEC 61000-4-2, same method; an IC's human body model rating is another test",
    )
    C_T = Quantity(
        "F",
        "capacitance of the clamp",
        card="clamp.capacitance",
        default="2.5 nF",
        span=(1e-13, 1e-8),
    )
    R_line = Quantity(
        "Ω", "source resistance of a data line", of="practice", default="45 Ω", fixed=True
    )

    def _surges(self) -> bool:
        return self.surge or bool(self.text("I_test"))

    # ---- the clamp ---------------------------------------------------------------------------

    @output("V", "max breakdown voltage")
    def V_BRmax(self) -> Array:
        """V_BRmax = V_BR; 1.11 (suffix A) or 1.22 times its min where only that is known"""
        if self.breakdown == GIVEN:
            return self.V_BR
        V_BRmin: float = self.inputs.reading(
            "V_BR"
        ).value.low  # of a typed range the lower end alone
        ratio = _figure("breakdown", "narrow" if self.breakdown == NARROW else "wide")
        return 0 * self.V_BR + V_BRmin * ratio

    @output("Ω", "dynamic resistance")
    def R_d(self) -> Array:
        """R_d = R_dyn; by the rated pulse (V_C - V_BRmax) / I_PP"""
        if self.method == DYNAMIC:
            return self.R_dyn
        return (self.V_C - self.V_BRmax) / self.I_PP

    @output("1", "clamp voltage, hot / 25 °C")
    def k_T(self) -> Array:
        """k_T = 1 + alpha_T (T_A - 25 °C)"""
        return 1 + self.alpha_T * (self.T_A - 25)

    @output("V", "breakdown at this ambient")
    def V_BRT(self) -> Array:
        """V_BRT = V_BR k_T: less in the cold"""
        return self.V_BR * self.k_T

    @output("A", "clamp current")
    def I_P(self) -> Array:
        """I_P = V_surge / R_surge, or (V_surge - V_BRmax) / (R_surge + R_d), or I_test"""
        if self.text("I_test"):
            return self.I_test
        if self.less_clamp:
            return np.maximum(self.V_surge - self.V_BRmax, 0.0) / (self.R_surge + self.R_d)
        return self.V_surge / self.R_surge

    @output("V", "clamp voltage at 25 °C")
    def V_C25(self) -> Array:
        """V_C25 = V_BRmax + I_P R_d, by the rated pulse I_P / I_PP (V_C - V_BRmax) + V_BRmax"""
        return self.V_BRmax + self.I_P * self.R_d

    @output("V", "clamp voltage at the rated pulse", publishes="connector.{connector}.clamped")
    def V_full(self) -> Array:
        """V_full = (V_BRmax + I_PP R_d) k_T"""
        return (self.V_BRmax + self.I_PP * self.R_d) * self.k_T

    @output("V", "clamp voltage")
    def V_CT(self) -> Array:
        """V_CT = V_C25 k_T"""
        return self.V_C25 * self.k_T

    @output("W", "pulse power")
    def P(self) -> Array:
        """P = V_C25 I_P"""
        return self.V_C25 * self.I_P

    @output("%", "pulse power left at this ambient")
    def k_P(self) -> Array:
        """k_P = (T_Pmax - T_A) / (T_Pmax - 25 °C), from 1 down to 0"""
        left = (self.T_Pmax - self.T_A) / (self.T_Pmax - 25)
        return np.minimum(np.maximum(left, 0.0), 1.0)

    def _for_this_wave(self, rated: Array) -> Array:
        ratio = _figure("pulse", "short_over_long")
        if self.wave == self.rated:
            return rated * self.k_P
        return rated * self.k_P * ratio if self.wave == SHORT else rated * self.k_P / ratio

    @output("W", "pulse power rating for this wave")
    def P_wave(self) -> Array:
        """P_wave = P_PP k_P; 8/20 µs 5.75 times 10/1000 µs"""
        return self._for_this_wave(self.P_PP)

    @output("A", "pulse current rating for this wave")
    def I_wave(self) -> Array:
        """I_wave = I_PP k_P; 8/20 µs 5.75 times 10/1000 µs"""
        return self._for_this_wave(self.I_PP)

    @output("V", "series MOSFET voltage, reversed surge")
    def V_rev(self) -> Array:
        """V_rev = V_CT + V_work"""
        return self.V_CT + self.V_work

    @output("V", "max clamp voltage for the series MOSFET")
    def V_left(self) -> Array:
        """V_left = V_DS - V_work"""
        return self.V_DS - self.V_work

    # ---- the ESD discharge -------------------------------------------------------------------

    @output("V", "ESD test voltage")
    def V_test(self) -> Array:
        """Level of IEC 61000-4-2: contact 2, 4, 6, 8 kV; air 2, 4, 8, 15 kV"""
        return np.asarray(spec_table("esd-levels")["level"][self.discharge][self.level])

    def _per_volt(self, figure: str) -> Array:
        """A current of the waveform, which is that of a contact discharge only."""
        return self.V_test * (
            _figure("generator", figure) if self.discharge == "contact" else np.nan
        )

    @output("A", "ESD current, first peak")
    def I_first(self) -> Array:
        """I_first = 3.75 A/kV V_test"""
        return self._per_volt("first_peak")

    @output("A", "ESD current at 30 ns")
    def I_30(self) -> Array:
        """I_30 = 2 A/kV V_test"""
        return self._per_volt("at_30_ns")

    @output("A", "ESD current at 60 ns")
    def I_60(self) -> Array:
        """I_60 = 1 A/kV V_test"""
        return self._per_volt("at_60_ns")

    @output("J", "ESD energy")
    def E(self) -> Array:
        """E = C V_test² / 2, C 150 pF"""
        return _figure("generator", "C") * self.V_test**2 / 2

    @output("s", "ESD time constant")
    def tau(self) -> Array:
        """tau = R C, 330 Ω and 150 pF"""
        return np.asarray(_figure("generator", "R") * _figure("generator", "C"))

    # ---- on a data line ----------------------------------------------------------------------

    @output("s", "rise time on the data line")
    def t_edge(self) -> Array:
        """t_edge = 2.2 R_line C_T"""
        return 2.2 * self.R_line * self.C_T

    @output("Hz", "bandwidth on the data line")
    def f_c(self) -> Array:
        """f_c = 1 / (2 π R_line C_T)"""
        return np.where(self.C_T > 0, 1 / (2 * np.pi * self.R_line * self.C_T), np.inf)

    # ---- limits ------------------------------------------------------------------------------

    @limit("Stand-off", unit="V", asked=0.0)
    def stand_off(self) -> Bound:
        """V_RWM, and V_BRT where that is less, above V_work"""
        return above(np.minimum(self.V_RWM, self.V_BRT), self.V_work)

    @limit("Breakdown", unit="V", asked=0.0)
    def breakdown_(self) -> Bound:
        """V_BR at 25 °C above V_RWM, V_BRT above V_work: below these it conducts"""
        spare = np.minimum(self.V_BR - self.V_RWM, self.V_BRT - self.V_work)
        highest = np.maximum(self.V_RWM, self.V_work)
        return above(highest + spare, highest)

    @limit("ESD rating", unit="V", asked=0.0)
    def discharge_rating(self) -> Bound:
        """V_ESD above V_test. Clamping is not judged: a DC maximum tells nothing of ns"""
        return above(self.V_ESD, self.V_test)

    @limit("Clamp voltage", unit="V")
    def clamping(self) -> Bound | NotApplicable:
        if not self._surges():
            return not_applicable(NO_SURGE)
        return below(self.V_CT, self.V_abs)

    @limit("Reversed surge", unit="V")
    def series_mosfet(self) -> Bound | NotApplicable:
        if not self._surges():
            return not_applicable(NO_SURGE)
        if not self.text("V_DS"):
            return not_applicable("No series MOSFET is given")
        return below(self.V_rev, self.V_DS)

    @limit("Pulse power", unit="W")
    def pulse_rating(self) -> Bound | NotApplicable:
        if not self._surges():
            return not_applicable(NO_SURGE)
        return below(self.P, self.P_wave)

    @limit("Pulse current", unit="A")
    def pulse_current(self) -> Bound | NotApplicable:
        if not self._surges():
            return not_applicable(NO_SURGE)
        return below(self.I_P, self.I_wave)

    curves = (
        Curve(
            "Clamp voltage against surge",
            x="V_surge",
            y="V_CT",
            span=(10.0, 500.0),
            limit="clamping",
        ),
    )

    def parts(self) -> Sequence[Part]:
        connector = self.inputs.names.get("connector", "the connector")
        what = f"TVS, stand-off {show(float(self.V_RWM.min()), 'V')}"
        power = f", {show(float(self.P_PP.min()), 'W')}" if self._surges() else ""
        return (Part("D", what + power, f"to GND, first after {connector}"),)

    def notes(self) -> Sequence[Finding]:
        said = [
            (
                True,
                "For ESD the test level is compared with the clamp's rating; the pulse left after "
                "it lasts nanoseconds, and no DC maximum judges that",
                "Put it first after the connector, with the shortest path to GND",
            ),
            (
                self._surges(),
                "A surge from the mains side or from outdoor wiring can injure people",
                "Leave surge tests to an equipped lab; local codes apply",
            ),
            (
                self._surges() and not self.text("V_DS"),
                "A series MOSFET sees the clamp voltage and the supply together when the surge is "
                "reversed",
                "Enter its V_DS rating if there is one",
            ),
        ]
        return [Finding("clamp", what, cure, serious=False) for says, what, cure in said if says]
