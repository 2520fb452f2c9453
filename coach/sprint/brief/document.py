"""The brief: what the board must do and by when, from a TOML file.

It names the subjects of the board (rails, buses, connectors, clocks, loads) that items and
calculations unfold over, the facts known from the start, and the features that may be dropped.
Quantities stay the texts a person wrote; what it publishes are the first names of the ledger.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictInt

from phases.kit.cards import ROLES, PinCounts
from phases.kit.documents import (
    RefusedError,
    checked,
    validate,
)
from phases.kit.facts import FactValue
from phases.kit.field_types import (
    Amperes,
    Count,
    Degrees,
    Hertz,
    Millimetres,
    Name,
    Percent,
    Ppm,
)
from phases.kit.low_voltage import refuse_high, refuse_mains
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.text import Line, Text, one_line

_MOST = 200
"""Tables of one kind: more is not a small board, but a file gone wrong."""

SubjectKind = Literal["rail", "bus", "connector", "clock", "load"]
BRIEF_NAMES = {
    "rail.{rail}.window": "declared voltage window of the rail",
    "rail.{rail}.rating": "current rating of the rail",
    "source.current": "current rating of the source",
    "board.mcu_rail": "rail of the microcontroller",
    "board.mcu": "part card of the microcontroller",
    "board.pins": "rows kind, count: pins of a microcontroller without a part card",
    "board.capability": "capability card of the fabricator",
    "board.layers": "copper layers",
    "board.ambient": "ambient temperature",
    "board.consumers": "rows consumer, rail, typical, peak, duty, count: the loads",
    "board.rails": "rows rail, parent, kind, voltage, rating: the rails",
    "clock.{clock}.frequency": "wanted frequency of the clock",
    "clock.{clock}.tolerance": "allowed frequency error",
    "load.{load}.typical": "current of the load while it is on",
    "load.{load}.peak": "max current of the load",
    "rail.{rail}.withstands": "lowest abs. max. input of what the rail feeds, by part cards",
    "rail.{rail}.needs": "highest min input of what the rail feeds, by part cards",
    **{
        f"{kind}.{{{kind}}}.card.{role}": f"part card: {role.replace('-', ' ')}"
        for kind, roles in ROLES.items()
        for role in roles
    },
}
"""The ledger names a brief gives, each with its meaning."""


def _low_voltage(text: str) -> None:
    refuse_mains(text)
    refuse_high(text, read_quantity(text, "V").high)


def _fact_value(value: object) -> object:
    if not isinstance(value, bool | int | float | str):
        raise RefusedError(Refusal("A fact is true or false, a text or a number"))
    return one_line(value) if isinstance(value, str) else value


Title = Annotated[Line, checked(refuse_mains)]
Voltage = Annotated[Line, checked(_low_voltage)]
Facts = dict[Name, Annotated[FactValue | int, BeforeValidator(_fact_value)]]


class _Table(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, serialize_by_alias=True
    )


class Deadline(_Table):
    """When it must be done: in so many minutes, or at a cut-off."""

    minutes: Annotated[StrictInt, Field(ge=10, le=6000)] | None = None
    cut_off: Line | None = None
    zone: Line | None = None
    reserve: Annotated[StrictInt, Field(ge=0, le=600)] = 20
    """Minutes held back for the closing list and the order."""
    threshold: Annotated[float, Field(ge=0.05, le=0.99, strict=True)] = 0.8
    """The chance of being on time below which the coach offers to drop something."""


class Board(_Table):
    """What is said of the board itself."""

    parts: Annotated[StrictInt, Field(ge=1, le=5000)]
    layers: Annotated[StrictInt, Field(ge=1, le=32)]
    width: Millimetres | None = None
    height: Millimetres | None = None
    mcu: Line | None = None
    pins: PinCounts | None = None
    """Counts, for a microcontroller without a part card."""
    mcu_rail: Name
    capability: Line | None = None
    ambient: Degrees = "-10 / 25 / 50 °C"
    programming: Line = ""


class SubjectTable(_Table):
    """What the table of every subject has."""

    id: Annotated[Name, checked(refuse_mains)]
    title: Title = ""
    facts: Facts = {}
    part: Line | None = None
    """The card of the part it is made of: the first of its roles."""
    parts: dict[Name, Line] = {}
    """Its part cards, by their roles (`ROLES`)."""

    def cards(self, kind: str) -> dict[str, str]:
        """Its part cards by role, however they were named."""
        return {**({ROLES[kind][0]: self.part} if self.part else {}), **self.parts}

    @property
    def depends_on(self) -> str:
        """The rail it depends on; empty where it depends on none."""
        return ""


class _OnRail(SubjectTable):
    rail: Name

    @property
    def depends_on(self) -> str:
        return self.rail


class Rail(SubjectTable):
    """A supply rail."""

    parent: Name | None = None
    """The rail it is fed from; none for the entry."""
    voltage: Voltage
    current: Amperes | None = None
    """Its current rating."""

    @property
    def depends_on(self) -> str:
        return self.parent or ""


class Bus(_OnRail):
    """A bus or a serial line; the rail its levels belong to."""


class Connector(_OnRail):
    """A connector, a header or a button; the rail it carries or its signals belong to."""


class BoardClock(SubjectTable):
    """A clock of the board."""

    frequency: Hertz
    tolerance: Ppm | None = None
    """The frequency error its interfaces allow."""


class Load(_OnRail):
    """A load on a rail."""

    typical: Amperes
    peak: Amperes
    duty: Percent = "100 %"
    """The share of time it is on."""
    count: Annotated[StrictInt, Field(ge=1, le=1000)] = 1


class Feature(_Table):
    """What the board can do, and what goes when it is dropped."""

    id: Name
    title: Title
    required: StrictBool = True
    points: Count = 0
    subjects: tuple[Name, ...] = ()
    facts: Facts = {}
    """The board facts that dropping it sets."""
    minutes: Annotated[float, Field(ge=0, le=600, strict=True)] | None = None
    """The drawing work that goes with it."""


@dataclass(frozen=True, slots=True)
class Subject:
    """One rail, bus, connector, clock or load of this board."""

    id: str
    kind: SubjectKind
    parent: str
    """The rail it is on or fed from; empty for an entry rail and for a clock."""
    title: str


class Brief(_Table):
    """A brief. Made by `load_brief`, `parse_brief` or `Brief.from_plain`, which check it."""

    title: Title
    scenario: Text = ""
    deadline: Deadline
    board: Board
    facts: Facts = {}
    rails: Annotated[tuple[Rail, ...], Field(alias="rail", min_length=1, max_length=_MOST)]
    buses: tuple[Bus, ...] = Field((), alias="bus", max_length=_MOST)
    connectors: tuple[Connector, ...] = Field((), alias="connector", max_length=_MOST)
    clocks: tuple[BoardClock, ...] = Field((), alias="clock", max_length=_MOST)
    loads: tuple[Load, ...] = Field((), alias="load", max_length=_MOST)
    features: tuple[Feature, ...] = Field((), alias="feature", max_length=_MOST)

    @classmethod
    def from_plain(cls, data: Mapping[str, Any], where: str = "brief") -> Brief:
        """A brief from plain data, as the header of a journal keeps it. Raises Refusal.

        What it means is not checked again: a journal can be read when facts or cards have changed.
        """
        return validate(data, cls, where=where)

    def to_plain(self) -> dict[str, Any]:
        """Plain data that `from_plain` reads back."""
        return self.model_dump(mode="json", exclude_none=True)

    @property
    def entry(self) -> Rail:
        """The rail the board is supplied through; the first where there are two."""
        return next(rail for rail in self.rails if rail.parent is None)

    def tables(self) -> Mapping[SubjectKind, tuple[SubjectTable, ...]]:
        """The tables of the subjects of each kind: rails, buses, connectors, clocks, loads."""
        return {
            "rail": self.rails,
            "bus": self.buses,
            "connector": self.connectors,
            "clock": self.clocks,
            "load": self.loads,
        }

    def subjects(self) -> tuple[Subject, ...]:
        """The subjects of this board, in the order of `tables`."""
        return tuple(
            Subject(table.id, kind, table.depends_on, table.title or table.id)
            for kind, tables in self.tables().items()
            for table in tables
        )

    def knowledge_values(self) -> list[tuple[str, str, FactValue]]:
        """What is known from the start: (subject, fact, value), subject "" for the board."""
        counted = self.board.pins.facts() if self.board.pins else {}
        board: dict[str, FactValue] = {"layers": self.board.layers, **counted, **self.facts}
        of_subjects = (table for tables in self.tables().values() for table in tables)
        return [
            *(("", fact, value) for fact, value in board.items()),
            *(
                (table.id, fact, value)
                for table in of_subjects
                for fact, value in table.facts.items()
            ),
        ]
