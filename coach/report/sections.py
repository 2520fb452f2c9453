"""What a report is made of: sections of sentences and tables, the same for every show of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coach.report.calls_and_forecasts import ForecastChart
    from coach.report.margins import CurveChart, MarginChart
    from coach.report.timeline import TimeChart

FEWEST_FOLDED = 4
"""Rows that are worth a fold."""


@dataclass(frozen=True, slots=True)
class Point:
    """A sentence, and what it rests on."""

    text: str
    evidence: str = ""
    """The figures or events it rests on, in fewer words."""
    mark: str = ""
    """A word set before it."""
    below: tuple[Point, ...] = ()
    """What it is about, one by one."""
    grave: bool = False
    """It can hurt somebody or kill the board."""
    brief: str = ""
    """The same on one line, for a first look."""
    key: str = ""
    """What it is about, for who wants to go on with it: "item/boot-level", "finding/3"."""


@dataclass(frozen=True, slots=True)
class TableRow:
    cells: tuple[str, ...]
    mark: str = ""
    """The word that tells it from the others; it is in a cell too."""
    quiet: bool = False
    """It went as it should: it may be folded away."""
    key: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of words under their columns."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    names: int = 0
    """The column that names its row."""
    numbers: tuple[int, ...] = ()
    """Columns set to the right."""
    folds: str = "more"
    """What is folded away: "12 closed in time"."""

    @property
    def first(self) -> tuple[TableRow, ...]:
        """The rows that are shown at once."""
        return tuple(one for one in self.rows if not (one.quiet and self.rest))

    @property
    def rest(self) -> tuple[TableRow, ...]:
        """The quiet rows, where they are enough for a fold."""
        quiet = tuple(one for one in self.rows if one.quiet)
        return quiet if len(quiet) >= FEWEST_FOLDED else ()


@dataclass(frozen=True, slots=True)
class Section:
    id: str
    """Its place on the page."""
    title: str
    lead: str = ""
    """The section in a sentence."""
    points: tuple[Point, ...] = ()
    tables: tuple[Table, ...] = ()
    chart: TimeChart | MarginChart | CurveChart | ForecastChart | None = None
    numbered: bool = False
    """Its points are in order of weight."""

    @property
    def is_empty(self) -> bool:
        return not (self.lead or self.points or self.tables or self.chart)


@dataclass(frozen=True, slots=True)
class Report:
    """A sprint as it is told. faults: what of its journal is damaged, a sentence each."""

    title: str
    path: Path
    started: datetime
    kind: str
    """What kind of run it is, in a sentence; "" for a person's own."""
    ending: str
    """How it ended, in one sentence."""
    in_time: bool | None
    """Whether the order was made by the cut-off; None while the sprint is running."""
    frame: tuple[tuple[str, str], ...]
    """The times by which all others are read."""
    faults: tuple[str, ...]
    sections: tuple[Section, ...]

    @property
    def begun(self) -> str:
        day = f"{self.started.day} {self.started:%B %Y, %H:%M}"
        return f"Begun {day}. {self.kind}".rstrip()

    def section(self, name: str) -> Section:
        """One by its id; an empty one where there is nothing to say."""
        found = (one for one in self.sections if one.id == name)
        return next(found, Section(name, ""))
