"""Items: what a board like this one needs, phase by phase, read from the phase files.

Each phase package has a `phase.toml` with its drawing work and its items; `phases/closing.toml`
holds the closing list. Adding an item is adding a table there; no Python lists them. Facts and
changes that an item names must exist, and are checked when the files are read.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from enum import StrEnum
from functools import cache, cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from phases.kit.documents import RefusedError, read_document
from phases.kit.facts import (
    BOARD,
    FactValue,
    Given,
    Knowledge,
    Per,
    check_value,
    find_fact,
    load_facts,
    match,
    unknown_facts,
)
from phases.kit.field_types import Name
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import Line

PHASE_IDS = (
    "power-entry",
    "regulation",
    "debug-access",
    "clock-boot",
    "decoupling",
    "layout",
    "labelling",
)
"""The seven phases, in order."""

CLOSING_ID = "closing"
"""The `phase` of the items of the closing list."""

_PACKAGE = Path(__file__).resolve().parents[1]

Size = Literal["parts", "rails", "interfaces", "layers"]
"""What a brief counts, and drawing work grows with."""

REFERENCE_BOARD: Mapping[Size, float] = MappingProxyType(
    {"parts": 45.0, "rails": 2.0, "interfaces": 3.0, "layers": 2.0}
)
"""The board for which the minutes of drawing work are stated."""


class _Ordered(StrEnum):
    """Words in an order of their own: compared by where they stand, not by the alphabet."""

    @cached_property
    def rank(self) -> int:
        """Where it stands in its order, from 0."""
        return list(type(self)).index(self)

    def _rank_of(self, other: object) -> int:
        return other.rank if type(other) is type(self) else type(self)(str(other)).rank

    def __lt__(self, other: object) -> bool:
        return self.rank < self._rank_of(other)

    def __le__(self, other: object) -> bool:
        return self.rank <= self._rank_of(other)

    def __gt__(self, other: object) -> bool:
        return self.rank > self._rank_of(other)

    def __ge__(self, other: object) -> bool:
        return self.rank >= self._rank_of(other)


class Severity(_Ordered):
    """What missing an item costs, from least to most."""

    REWORK = "rework"
    DEGRADED = "degraded"
    DEAD_BOARD = "dead board"
    HAZARD = "hazard"


class Stage(_Ordered):
    """Where an item can be seen, in the order of the work."""

    SCHEMATIC = "schematic"
    PLACEMENT = "placement"
    ROUTING = "routing"
    FILES = "files"


class Evidence(StrEnum):
    """How an item can be met."""

    CALCULATED = "calculated"
    DATA_SHEET = "data sheet"
    INSPECTED = "inspected"
    MEASURED = "measured"


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Change(_Table):
    """Something that changed on the board and that no fact and no value shows."""

    id: Name
    words: Line


class Item(_Table):
    """Something a board needs. It belongs to one phase, or to the closing list.

    short_title: for lists and calls, in the words the trade scans for; statement: in a sentence.
    essential: to be closed in its phase; a hazard or a dead board always is.
    stage: where it can be seen. when: the tables of facts under which it is needed; none: always.
    asks: the fact that takes it off this board; none where it is always needed.
    cites: the limits, "calculator:limit", that prove it.
    confirm_s: seconds to confirm it. left_out_min: minutes it costs if it was left out.
    reopened_by: "fact:ID", "change:ID" or a ledger name; `{rail}` in it is the item's own rail,
    or any rail where the item does not belong to one.
    """

    id: Name
    phase: Line
    short_title: Annotated[Line, Field(max_length=38)] = ""
    statement: Annotated[Line, Field(min_length=10, max_length=90)]
    why: Annotated[Line, Field(min_length=10, max_length=90)]
    severity: Severity
    essential: bool = False
    stage: Stage
    per: Per
    when: tuple[Mapping[Name, Given], ...] = ()
    asks: Name | None = None
    met_by: tuple[Evidence, ...]
    cites: tuple[Line, ...] = ()
    confirm_s: Annotated[float, Field(gt=0, le=60)]
    left_out_min: Annotated[float, Field(gt=0, le=60)]
    reopened_by: tuple[Line, ...]
    source: Annotated[Line, Field(min_length=1)]

    @property
    def grave(self) -> bool:
        """Whether missing it can hurt somebody or kill the board."""
        return self.severity >= Severity.DEAD_BOARD

    @model_validator(mode="after")
    def _grave_is_essential(self) -> Item:
        if self.grave:
            self.__dict__["essential"] = True
        return self

    @model_validator(mode="after")
    def _consistent(self) -> Item:
        if fault := self._fault():
            raise RefusedError(Refusal(f"Item {self.id!r}: {fault}"))
        return self

    def _fault(self) -> str:
        asked = {fact for table in self.when for fact in table}
        if not self.met_by:
            return "nothing can meet it"
        if not all(self.when):
            return "a table of when has no facts"
        if (self.asks is None) != (not self.when):
            return "asks belongs to when, and when to asks"
        if self.asks is not None and self.asks not in asked:
            return f"it asks {self.asks!r}, which is in none of the tables of when"
        if (Evidence.CALCULATED in self.met_by) != bool(self.cites):
            return "what is calculated cites the limits that prove it, and nothing else does"
        if Evidence.CALCULATED in self.met_by and Evidence.INSPECTED in self.met_by:
            return "what is calculated cannot be met by looking"
        return ""

    def applies(self, knowledge: Knowledge, subject: str = BOARD) -> bool | None:
        """Whether this board needs it at `subject`; None while that is not known yet."""
        return match(self.when, knowledge, subject)

    def question(self, knowledge: Knowledge, subject: str = BOARD) -> str | None:
        """The fact to ask for while it is not known whether the item is needed, else None.

        The one it `asks`, unless only another one can take it off this board by a single answer.
        """
        missing = unknown_facts(self.when, knowledge, subject)
        ranked = sorted(missing, key=lambda fact: fact != self.asks)
        single = (fact for fact in ranked if self._answer_off(fact, knowledge, subject) is not None)
        return next(single, ranked[0] if ranked else None)

    def taken_off_by(
        self, knowledge: Knowledge, subject: str = BOARD
    ) -> tuple[str, str, FactValue] | None:
        """What "not on this board" sets: (subject or "" for the board, fact, value).

        None where the item is needed always, and where several answers would take it off: then
        its question is answered by one of the choices.
        """
        name = self.question(knowledge, subject) or self.asks
        if name is None:
            return None
        answer = self._answer_off(name, knowledge, subject)
        if answer is None:
            return None
        return (BOARD if find_fact(name).per == "board" else subject, name, answer)

    def _answer_off(self, name: str, knowledge: Knowledge, subject: str) -> FactValue | None:
        """The one value of a fact that takes the item off; None where no or several values do."""
        fact = find_fact(name)
        place = BOARD if fact.per == "board" else subject
        off = [
            value
            for value in fact.values
            if match(self.when, knowledge.with_value(name, value, place), subject) is False
        ]
        return off[0] if len(off) == 1 else None

    def depends_on(self, cause: str, subject: str = BOARD) -> bool:
        """Whether `cause` ("fact:ID", "change:ID" or a full ledger name) reopens it.

        subject: the subject the item stands at.
        """
        own = re.escape(subject) if self.per == "rail" else r"[^.]+"
        return any(
            re.fullmatch(re.escape(pattern).replace(re.escape("{rail}"), own), cause)
            for pattern in self.reopened_by
        )


class ClosingItem(Item):
    """An item of the closing list. step: its place in the order. minutes: what it takes."""

    step: Annotated[int, Field(ge=1)]
    minutes: Annotated[float, Field(gt=0, le=30)]


class Drawing(_Table):
    """The drawing work of a phase for the reference board at pace 1, minutes.

    grows_with: the share of the work that grows with each size of the board; the rest is fixed.
    """

    optimistic: Annotated[float, Field(gt=0)]
    likely: Annotated[float, Field(gt=0)]
    pessimistic: Annotated[float, Field(gt=0)]
    grows_with: Mapping[Size, Annotated[float, Field(gt=0, le=1)]] = {}

    @model_validator(mode="after")
    def _consistent(self) -> Drawing:
        if not self.optimistic < self.likely < self.pessimistic:
            raise RefusedError(Refusal("The three minutes are not in rising order"))
        if sum(self.grows_with.values()) > 1:
            raise RefusedError(Refusal("The shares of grows_with sum to more than 1"))
        return self

    def factor(self, sizes: Mapping[Size, float]) -> float:
        """By how much a board of these sizes takes longer than the reference board."""
        return 1 + sum(
            share * (sizes.get(size, REFERENCE_BOARD[size]) / REFERENCE_BOARD[size] - 1)
            for size, share in self.grows_with.items()
        )


def _with_phase(data: Any) -> Any:
    """Each item's table with the id of the phase it stands in."""
    if not isinstance(data, dict) or not isinstance(data.get("item"), list):
        return data
    rows = [
        {**row, "phase": data.get("id")} if isinstance(row, dict) else row for row in data["item"]
    ]
    return {**data, "item": rows}


class Phase(_Table):
    """One of the seven phases. short: for a narrow strip. name: one or two words."""

    id: Name
    title: Line
    short: Annotated[Line, Field(min_length=3, max_length=4)]
    name: Annotated[Line, Field(max_length=16)]
    drawing: Drawing
    item: tuple[Item, ...]

    _phase_of_items = model_validator(mode="before")(_with_phase)

    @property
    def items(self) -> tuple[Item, ...]:
        """Its items as the file has them, the essentials first."""
        return self.item

    @property
    def gate(self) -> tuple[Item, ...]:
        """The items of its gate: its essentials."""
        return tuple(item for item in self.item if item.essential)


class Closing(_Table):
    """The closing list, in the order of ordering."""

    id: Literal["closing"]
    title: Line
    item: tuple[ClosingItem, ...]

    _phase_of_items = model_validator(mode="before")(_with_phase)

    @property
    def items(self) -> tuple[ClosingItem, ...]:
        """Its items by step."""
        return tuple(sorted(self.item, key=lambda item: item.step))

    @property
    def minutes(self) -> float:
        """What the whole list takes; never scaled."""
        return sum(item.minutes for item in self.item)


class _ChangesFile(_Table):
    change: tuple[Change, ...]


@cache
def load_changes() -> Mapping[str, Change]:
    """The changes a person can report, by id. Raises Refusal on a faulty file."""
    path = _PACKAGE / "changes.toml"
    changes = read_document(path, _ChangesFile, kind="changes file").change
    return MappingProxyType({change.id: change for change in changes})


@cache
def load_phases() -> tuple[Phase, ...]:
    """The seven phases in order, with their items. Raises Refusal on a faulty file."""
    phases = []
    for phase_id in PHASE_IDS:
        path = _PACKAGE / phase_id.replace("-", "_") / "phase.toml"
        phase = read_document(path, Phase, kind="phase file")
        if phase.id != phase_id:
            raise Refusal(f"The id is {phase.id!r}, expected is {phase_id!r}", where=str(path))
        check_items(phase.items, where=str(path))
        phases.append(phase)
    counts = Counter(item.id for phase in phases for item in phase.items)
    if twice := [item for item, count in counts.items() if count > 1]:
        raise Refusal(f"The item {twice[0]!r} appears twice in the phase files")
    return tuple(phases)


@cache
def load_closing() -> Closing:
    """The closing list. Raises Refusal on a faulty file."""
    path = _PACKAGE / "closing.toml"
    closing = read_document(path, Closing, kind="closing list")
    check_items(closing.items, where=str(path))
    return closing


def all_items() -> Iterator[Item]:
    """Every item of the seven phases, then those of the closing list."""
    for phase in load_phases():
        yield from phase.items
    yield from load_closing().items


def check_items(items: tuple[Item, ...], *, where: str) -> None:
    """Refuses facts and changes that do not exist, and values a fact cannot have."""
    for item in items:
        at = f"{where}, item {item.id}"
        for table in item.when:
            for name, value in table.items():
                fact = find_fact(name, where=at)
                if fact.per not in ("board", item.per):
                    raise Refusal(
                        f"{name!r} is a fact of a {fact.per}, the item belongs to a {item.per}",
                        where=at,
                    )
                try:
                    check_value(fact, value)
                except Refusal as refusal:
                    raise refusal.at(at) from None
        for cause in item.reopened_by:
            kind, _, name = cause.partition(":")
            known: Mapping[str, object] = load_facts() if kind == "fact" else load_changes()
            if name and kind not in ("fact", "change"):
                raise Refusal(f"{cause!r} is neither a fact nor a change", where=at)
            if name and name not in known:
                raise unknown(kind, name, known, where=at)
