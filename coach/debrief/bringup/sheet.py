"""The sheet as plain data: steps in the order of a careful first power-on.

Made by `planning.sheet_of`; text, page, terminal and JSON show it and decide nothing. Numbers are
SI, temperatures °C.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

CALCULATED, BRIEF, SPRINT, DATA_SHEET, STANDARD, PRACTICE, MEMORY, NOTHING = (
    "calculated", "brief", "this sprint", "data sheet", "standard", "common practice",
    "from memory", "nothing",
)  # fmt: skip
"""What an expectation rests on. NOTHING: none is known, and the step says what is missing."""


MOST_BOARDS = 12
"""Columns of one sheet."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What to find: low and high the ends of what is right, None where there is no end.

    The ends are those that are shown: rounded outwards, so that a reading of what is printed is
    inside. typ: what is likeliest. unit: "" where the answer is words alone. words: what to find
    where it is no number, or what else to find. digits: how many are shown.
    """

    low: float | None = None
    typ: float | None = None
    high: float | None = None
    unit: str = ""
    words: str = ""
    digits: int = 3

    @property
    def judged(self) -> bool:
        """Whether a reading can be inside or outside."""
        return self.low is not None or self.high is not None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to look at or to measure.

    id: stays the same for the same point of the same board ("rail.3v3.voltage"). section: the id
    of its section. do, where, tool: what to do, at which point, with what. basis: what the
    expectation rests on; why: from what it comes, in words. missing: what no calculation gave.
    first: what to look at first where a reading is outside. forbids_power: until it is answered
    the board is not to be powered.
    """

    id: str
    section: str
    title: str
    do: str
    expected: Expected = Expected()
    where: str = ""
    tool: str = ""
    basis: str = PRACTICE
    why: str = ""
    caution: str = ""
    missing: str = ""
    first: str = ""
    forbids_power: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """note: one sentence for all of its steps, empty where none is needed."""

    id: str
    title: str
    note: str = ""


SECTIONS = (
    Section("look", "Look, with nothing connected"),
    Section("resistance", "Resistance to ground, unpowered",
            "Charging capacitors make it climb: wait until it stands."),
    Section("limit", "Set the supply, output off"),
    Section("voltage", "Power on: voltages, parent before child"),
    Section("current", "Supply current"),
    Section("ripple", "Ripple",
            "Probe with the short ground spring at the output capacitor, 20 MHz bandwidth."),
    Section("heat", "Heat, after five minutes"),
    Section("level", "Reset, straps and outputs"),
    Section("clock", "Clocks"),
    Section("bus", "Buses, idle"),
    Section("usb", "USB-C"),
    Section("programming", "Programming"),
    Section("indicator", "Indicators"),
)  # fmt: skip


POWER_ON = "voltage"
"""The section with which power comes on."""

UNPOWERED = frozenset({"look", "resistance", "limit"})
"""The sections before it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one board was measured at. verdict: "inside", "outside" or "noted"."""

    board: str
    point: str
    title: str
    text: str
    value: float | None
    unit: str
    verdict: str


@dataclass(frozen=True)
class Sheet:
    """The whole plan of one sprint's board.

    ended: the sprint has ended, so that readings can be written down. readings: by board and
    point, what was measured already. cautions: before everything else. last_word: after it.
    faults: what of the journal is not whole.
    """

    title: str
    journal: str
    ended: bool
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    last_word: str
    readings: dict[tuple[str, str], Reading] = field(default_factory=dict)
    faults: tuple[str, ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}

    @property
    def sections(self) -> list[tuple[Section, list[Step]]]:
        """The sections that have steps, in order."""
        found = []
        for section in SECTIONS:
            steps = [step for step in self.steps if step.section == section.id]
            if steps:
                found.append((section, steps))
        return found

    @property
    def boards(self) -> tuple[str, ...]:
        """The numbers of the boards that were measured, in the order they were begun."""
        return tuple(dict.fromkeys(board for board, _ in self.readings))

    def columns(self, wanted: Iterable[str]) -> tuple[str, ...]:
        """The boards to have a column each: those measured before, then those wanted.

        Of those before as many as there is room for, the first ones.
        """
        listed = tuple(dict.fromkeys(wanted))
        before = [board for board in self.boards if board not in listed]
        return (*before[: max(MOST_BOARDS - len(listed), 0)], *listed)

    @property
    def others(self) -> list[Reading]:
        """Readings at points that this sheet does not have."""
        return [one for one in self.readings.values() if one.point not in self.by_id]
