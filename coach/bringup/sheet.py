"""The sheet as plain data: steps in the order of a careful first power-on, and their readings.

Text, page, terminal and JSON show it and decide nothing. Numbers are SI, temperatures °C.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from coach.sprint.events.afterwards import PointMeasured
from phases.kit.expected import Expected

CALCULATED, BRIEF, SPRINT, PRACTICE = "calculated", "brief", "this sprint", "common practice"
NOTHING = "nothing"
"""What an expectation rests on. NOTHING: none is known, and the step says what is missing."""

BOARDS = ("1", "2", "3")
"""The boards that have a column each where nobody says which."""

MOST_BOARDS = 12
"""Columns of one sheet."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to look at or to measure."""

    id: str
    """Stays the same for the same point of the same board: readings are kept under it."""
    section: str
    title: str
    do: str
    expected: Expected = field(default_factory=Expected)
    where: str = ""
    tool: str = ""
    basis: str = PRACTICE
    why: str = ""
    """From what the expectation comes, in words."""
    caution: str = ""
    missing: str = ""
    """What no calculation gave."""
    first: str = ""
    """What to look at first when a reading is outside."""
    forbids_power: bool = False
    """Until it is answered the board must not be powered."""

    @property
    def how(self) -> str:
        """What to do, and at which point."""
        do = self.do if self.do[-1:] in (".", "?") else f"{self.do}."
        return f"{do} At: {self.where}." if self.where else do

    @property
    def expects(self) -> str:
        """What is right, with the typical value where there is one."""
        typical = self.expected.typical
        return self.expected.in_words + (f" (typical {typical})" if typical else "")

    def settled(self, reading: PointMeasured) -> bool:
        """Whether a reading is an answer, so that it need not be asked again.

        Words where a number is judged are a remark, unless they say that there is none to be had.
        What forbids power is settled by saying why it no longer does.
        """
        words = reading.text.strip().casefold()
        if self.forbids_power:
            return words.startswith(_SEEN_TO)
        if reading.verdict != "noted" or reading.value is not None or not self.expected.judged:
            return True
        return words in _NOT_THERE or (self.section == "indicators" and words in _DARK)

    def verdict(self, reading: PointMeasured) -> str:
        """ "inside", "outside", "noted", or what is still wanted."""
        if self.settled(reading):
            return reading.verdict
        return "noted, unresolved" if self.forbids_power else "noted, a number is still wanted"


_SEEN_TO = ("changed", "replaced", "allowed", "its data sheet allows", "data sheet allows")
_NOT_THERE = ("not fitted", "not on this board")
_DARK = ("dark", "off", "unlit", "not lit")


@dataclass(frozen=True, slots=True)
class Section:
    """do, tool: of its steps that do not say it themselves. note: a sentence for all of them."""

    id: str
    title: str
    do: str = "Measure"
    tool: str = "voltmeter"
    note: str = ""


SECTIONS = (
    Section("look", "Look, with nothing connected", "Look", "magnifier"),
    Section(
        "resistance",
        "Resistance, unpowered",
        tool="ohmmeter",
        note="The reading rises as capacitors charge: wait until it settles.",
    ),
    Section("limit", "Set the supply, output off", "Set it", "bench supply"),
    Section("voltage", "Power on: voltages, parent before child"),
    Section("current", "Supply current", "Read it", "ammeter"),
    Section(
        "ripple",
        "Ripple",
        "Peak to peak, at full load",
        "oscilloscope, AC coupled, probe 10:1",
        "Probe with the short ground spring at the output capacitor, 20 MHz bandwidth.",
    ),
    Section(
        "heat",
        "Heat, after 5 min at full load",
        "Case temperature, not the junction's",
        "thermal camera or contact thermometer",
    ),
    Section("level", "Reset, straps and outputs"),
    Section("clock", "Clocks", tool="frequency counter"),
    Section("bus", "Buses, idle", "Bus idle"),
    Section("usb", "USB-C"),
    Section("programming", "Programming"),
    Section("indicators", "Indicators", "Look, with the rail on", "eyes, voltmeter"),
)

POWER_ON = "voltage"
"""The section with which power comes on."""

UNPOWERED = frozenset({"look", "resistance", "limit"})
"""The sections before it."""


@dataclass(frozen=True)
class Sheet:
    """The plan of one sprint's board, with what was measured by it."""

    title: str
    journal: str
    ended: bool
    """Readings can be written down."""
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    """Before everything else."""
    last_word: str
    readings: Mapping[tuple[str, str], PointMeasured]
    """By board and point."""
    faults: tuple[str, ...] = ()
    """What of the journal is damaged."""

    @cached_property
    def by_id(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}

    @property
    def sections(self) -> list[tuple[Section, list[Step]]]:
        """The sections that have steps, in order."""
        all_of = [(one, [s for s in self.steps if s.section == one.id]) for one in SECTIONS]
        return [(section, steps) for section, steps in all_of if steps]

    def columns(self, wanted: Iterable[str]) -> tuple[str, ...]:
        """The boards to have a column each: those measured before, as many as there is room for,
        then those wanted."""
        listed = tuple(dict.fromkeys(wanted))
        before = dict.fromkeys(board for board, _ in self.readings if board not in listed)
        return (*list(before)[: max(MOST_BOARDS - len(listed), 0)], *listed)

    @property
    def others(self) -> list[str]:
        """Readings at points that this sheet does not have, in words."""
        return [
            f"board {one.board}, {one.title}: {one.text}, {one.verdict}"
            for one in self.readings.values()
            if one.point not in self.by_id
        ]

    def answered(self, step: Step, board: str) -> bool:
        """Whether a board has a reading of the step, and not only a remark."""
        reading = self.readings.get((board, step.id))
        return reading is not None and step.settled(reading)

    def forbidding(self, board: str) -> list[Step]:
        """The steps that forbid power to a board and are not answered for it."""
        return [one for one in self.steps if one.forbids_power and not self.answered(one, board)]
