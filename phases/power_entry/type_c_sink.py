"""USB Type-C sink: will a source turn on, and how much may be taken?

Sources: USB Type-C specification, release 2.4 (October 2024), tables 4-20, 4-27, 4-28, 4-36, and
release 2.0 (August 2019), tables 4-24, 4-25, 4-35, 4-36, as engineering notes quote them; USB 2.0
for the current of a data device; Leung and Scorpia on a resistor shared by both contacts.
The figures, each with its source, stand in shared/tables/usb-type-c.toml.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from typing import Any

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Choice,
    Column,
    Finding,
    Findings,
    Flag,
    NotApplicable,
    Part,
    Quantity,
    SupplyColumn,
    Table,
    below,
    found,
    inside,
    limit,
    not_applicable,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.spec_tables import spec_table

ADVERTISED = ("default", "1.5 A", "3 A")
SEPARATE, SHARED, ONE = "separate", "shared", "one pin only"
DATA, POWER = "data device", "power only"


def usual_sources() -> list[Mapping[str, Any]]:
    """The sources a board may meet, from the specification."""
    return [row["cells"] for row in spec_table("usb-type-c")["scenario"]]


class TypeCSink(
    Calculator,
    name="type-c-sink",
    title="USB Type-C sink",
    per="connector",
    source="USB Type-C specification, releases 2.4 and 2.0, tables 4-20 to 4-36; USB 2.0",
):
    """Will a source turn on, how much may I take?

    The highest voltage that 22 kΩ to 5.5 V makes (published, release 2.4, table 4-36, 1.164 V):

    >>> round(judge(TypeCSink()).rows("V_CC")["1.5 A, resistor"].high, 3)
    1.164
    """

    R_d = Quantity(
        "Ω", "pull-down", of="board", default="5.1 kΩ ± 10 %", least=1.0, span=(100.0, 100e3)
    )
    pulls = Choice(
        "pull-downs of the two CC pins",
        (SEPARATE, SHARED, ONE),
        of="board",
        default=SEPARATE,
        way=True,
    )
    reads = Flag("does the sink read the advertisement?", of="board", default="no")
    use = Choice("what the connector is for", (DATA, POWER), of="board", default=DATA)
    I_load = Quantity(
        "A",
        "planned load",
        of="board",
        default="150 mA",
        ledger="rail.{entry}.peak",
        span=(1e-3, 5.0),
    )
    I_start = Quantity(
        "A",
        "load before USB configuration",
        of="board",
        default="60 mA",
        span=(1e-3, 5.0),
        note="Counts for a data device only",
    )
    I_suspend = Quantity(
        "A",
        "load while the bus is suspended",
        of="board",
        span=(1e-5, 0.1),
        note="Blank: not judged; with the current of the pull-up of D+ in it",
    )
    edition = Choice("release of the specification", ("2.4", "2.0"), of="practice", default="2.4")
    sources = Table(
        "sources",
        (
            Column("name", "text", "source"),
            Column("advertised", "choice", "advertisement", choices=ADVERTISED),
            Column("I", "A", "current source, 0 for none", default="0 A"),
            SupplyColumn("V", "supply of the source's resistor", default="0 V"),
            Column("R_p", "Ω", "the source's resistor", default="0 Ω"),
            Column("R_a", "Ω", "cable's termination, 0 for none", default="0 Ω"),
            Column("must", "yes/no", "must carry the planned load", default="yes"),
        ),
        of="practice",
        default=usual_sources,
        scenarios=True,
    )

    def _by_advertisement(self, figures: Mapping[str, float]) -> Array:
        return self.sources.constant([figures[w] for w in self.sources.words("advertised")])

    def _R_seen(self) -> Array:
        """What the source sees: R_d; with an e-marked cable on shared pins R_a in parallel."""
        R_a = self.sources["R_a"]
        if self.pulls != SHARED:
            return self.R_d * self.sources[""]
        return np.where(R_a > 0, self.R_d * R_a / (self.R_d + R_a), self.R_d)

    @output(
        "Ω",
        "each CC pin to GND",
        bench=Bench(
            "resistance",
            title="CC1 and CC2 of {connector} to GND",
            do="Each pin separately; CC1 to CC2 reads twice as much",
            where="CC1 and CC2 of the receptacle",
            first="One resistor for both pins, a bridge between them, or none fitted",
            point="connector.{connector}.cc-resistance",
            when={"connector_kind": "usb-c", "cc_in_part": False},
        ),
    )
    def R_CC(self) -> Array:
        """R_CC = R_d"""
        return self.R_d

    @output("V", "CC voltage", along="sources")
    def V_CC(self) -> Array:
        """I R from a current source, V R / (R + R_p) from a resistor; R is what the source sees"""
        I_p, V_p, R_p = self.sources["I"], self.sources["V"], self.sources["R_p"]
        R = self._R_seen()
        return np.where(I_p > 0, I_p * R, V_p * R / (R + R_p))

    @output("A", "current recognised", along="sources")
    def I_recognised(self) -> Array:
        """What V_CC means at the nominal thresholds; the USB default where it is not read"""
        table, seen = spec_table("usb-type-c"), self.V_CC
        recognised = np.where(
            seen > table["threshold"]["default"], table["current"]["default"], 0.0
        )
        for step in ADVERTISED[1:] if self.reads else ():
            above_it = seen > table["threshold"][step]
            recognised = np.where(above_it, table["current"][step], recognised)
        return recognised

    @output("A", "current allowed", along="sources")
    def I_allowed(self) -> Array:
        """The lesser of what is advertised and what is recognised"""
        advertised = self._by_advertisement(spec_table("usb-type-c")["current"])
        return np.minimum(advertised, self.I_recognised)

    @output("A", "current the load may take", publishes="source.allowed")
    def I_may_take(self) -> Array:
        """Min I_allowed of the sources that must carry the planned load"""
        must = np.where(self.sources["must"] > 0, self.I_allowed, np.inf)
        rows = (self.sources.pick(must, row) for row in range(len(self.sources)))
        return reduce(np.minimum, rows, np.asarray(np.inf))

    @output("W", "power in the pull-down", along="sources")
    def P_d(self) -> Array:
        """P_d = V_CC² / R_d"""
        return self.V_CC**2 / self.R_d

    @limit("CC voltage", unit="V", asked=0.0, along="sources")
    def cc_window(self) -> Bound:
        """No extra margin: the windows include every allowed tolerance"""
        table = spec_table("usb-type-c")
        if not self.reads:
            low, high = table["unread"]["window"]
            return inside(self.V_CC, low, high, digit=table["unread"]["digit"])
        windows = table["edition"][self.edition]
        low = self._by_advertisement({a: windows[a][0] for a in ADVERTISED})
        high = self._by_advertisement({a: windows[a][1] for a in ADVERTISED})
        return inside(self.V_CC, low, high, digit=windows["digit"])

    @limit("Works in both orientations")
    def both_ways_up(self) -> Findings:
        if self.pulls == SHARED:
            return found(
                Finding(
                    "CC1 and CC2",
                    "They share one pull-down: with an e-marked cable the source takes the board "
                    "for an audio accessory and gives no power",
                    "Fit a separate resistor on each pin",
                )
            )
        if self.pulls == ONE:
            return found(
                Finding(
                    "CC2",
                    "It has no pull-down: the plug works one way up only",
                    "Fit a separate resistor",
                )
            )
        return found()

    @limit("Load", unit="A", along="sources")
    def load_allowed(self) -> Bound:
        """I_load within I_allowed; a data device at the USB default also I_start within 100 mA"""
        table = spec_table("usb-type-c")
        first = table["data_device"]["unconfigured"]
        enumerates = (self.I_allowed <= table["current"]["default"]) & (self.use == DATA)
        tighter = enumerates & (self.I_start / first > self.I_load / self.I_allowed)
        return below(
            np.where(tighter, self.I_start, self.I_load),
            np.where(tighter, first, self.I_allowed),
            where=self.sources["must"],
            otherwise="The planned load need not run from this source",
        )

    @limit("Load in suspend", unit="A")
    def suspend(self) -> Bound | NotApplicable:
        """I_suspend within 2.5 mA"""
        if self.use != DATA:
            return not_applicable("Without data no bus can suspend it")
        if not self.text("I_suspend"):
            return not_applicable("No load in suspend is given")
        return below(self.I_suspend, spec_table("usb-type-c")["suspend"]["current"])

    @limit("Tolerance of the pull-down", unit="Ω", asked=0.0)
    def tolerance(self) -> Bound:
        """5.1 kΩ ± 10 % where the advertisement is read, else ± 20 %"""
        table = spec_table("usb-type-c")["pull_down"]
        reach = table["tolerance_read" if self.reads else "tolerance_unread"]
        return inside(self.R_d, table["nominal"] * (1 - reach), table["nominal"] * (1 + reach))

    def parts(self) -> Sequence[Part]:
        what = self.on_drawing("R_d")
        if self.pulls == SHARED:
            return [Part("Rd1", what, "CC1 with CC2 to GND")]
        first, second = Part("Rd1", what, "CC1 to GND"), Part("Rd2", what, "CC2 to GND")
        return [first] if self.pulls == ONE else [first, second]

    def notes(self) -> Sequence[Finding]:
        table = spec_table("usb-type-c")
        windows = table["edition"][self.edition] if self.reads else table["unread"]
        said = [
            Finding("CC voltage", f"Judged by {windows['source']}", serious=False),
            Finding(
                "CC1, CC2",
                "Some port controllers include the pull-downs; a second pair halves them",
                "See the data sheet of the part behind the connector",
                serious=False,
            ),
        ]
        first = spec_table("usb-type-c")["data_device"]["unconfigured"]
        if self.use == POWER and not self.reads and float(self.I_load.max()) > first:
            said.append(
                Finding(
                    "load",
                    f"A port at the USB default owes {show(first, 'A')} to a device that is not "
                    "configured; many give more, none has to",
                    "Read the advertisement, or configure it as a USB device",
                    serious=False,
                )
            )
        if self.use == DATA:
            said.append(
                Finding(
                    "suspend",
                    "A data device may take 2.5 mA while the bus is suspended",
                    "Let the firmware put the board to sleep",
                    serious=False,
                )
            )
        return said
