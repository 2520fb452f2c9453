"""The state of a sprint: what is so after all events so far. Made by the fold, never changed.

Everything derived from it (which items this board needs, what is open, what is to draw) is a
property here or a function in a module beside it, computed once per state.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeAlias

from coach.sprint.brief.document import Feature, Subject
from coach.sprint.keys import CalculationKey, Key
from coach.sprint.setup import Setup
from phases.kit.facts import Knowledge
from phases.kit.grammar import capital
from phases.kit.items import CLOSING_ID, Item, Stage

if TYPE_CHECKING:
    from coach.sprint.events.afterwards import FindingMadeItem, FindingNoted, PointMeasured
    from coach.sprint.events.event import E, Event, Stamped
    from phases.kit.record import Record

OPEN, ASSUMED, MET, WAIVED, REOPENED = "open", "assumed", "met", "waived", "reopened"
NOT_HERE = "not on this board"


@dataclass(frozen=True)
class ItemState:
    """How an item at a subject stands; an item without one is open.

    t: elapsed seconds of the last change. late: see `events.items.Closed.late`. because: why it
    was reopened; doubt: its earlier evidence (`was`) may still hold. depends_on: facts, values and
    noted changes as they were when it was closed. assumed: the part figures that nobody gave and
    that it rests on while it is assumed, as "calculation field", the weightiest first.
    """

    status: str
    t: float
    evidence: str = ""
    page: str = ""
    figure: str = ""
    reason: str = ""
    because: str = ""
    doubt: bool = False
    marginal: bool = False
    auto: bool = False
    late: bool = False
    assumed: tuple[str, ...] = ()
    depends_on: Mapping[str, str] = field(default_factory=dict)
    was: ItemState | None = None

    def at(self, t: float, *, late: bool) -> ItemState:
        """The same with an earlier moment."""
        return replace(self, t=t, late=late)


@dataclass(frozen=True)
class SavedCalculation:
    """A saved calculation. id: "calculator@subject" and a label where there are several.

    stale: what is missing to run it again. recomputed: how its last recomputation went.
    """

    id: CalculationKey
    record: Record
    t: float
    stale: str = ""
    recomputed: str = ""

    @property
    def calculator(self) -> str:
        return self.record.calculator

    @property
    def subject(self) -> str:
        return self.record.subject


@dataclass(frozen=True)
class Note:
    number: int
    text: str
    t: float
    settled: bool = False

    def settled_now(self) -> Note:
        return replace(self, settled=True)


@dataclass(frozen=True)
class Row:
    """An item as it stands at one subject of this board ("" for the board itself).

    applies: None while a fact it asks is not known; question: that fact. deferred: one of the
    more checks that was put off.
    """

    item: Item
    subject: str
    title: str
    applies: bool | None
    question: str | None
    state: ItemState | None
    deferred: bool = False

    @cached_property
    def key(self) -> Key:
        return Key.of(self.item.id, self.subject)

    @property
    def status(self) -> str:
        if self.applies is False:
            return NOT_HERE
        return self.state.status if self.state else OPEN

    @property
    def closed(self) -> bool:
        return self.status in (MET, WAIVED, NOT_HERE)

    @property
    def essential(self) -> bool:
        return self.item.essential

    @property
    def doubtful(self) -> bool:
        """Whether it was closed, and a change leaves open whether that still holds."""
        return self.state is not None and self.state.doubt

    @property
    def by_calculation(self) -> bool:
        """Whether a calculation meets it, and no hand; a doubt and figures that nobody gave are for
        a hand again."""
        return bool(self.item.cites) and not self.doubtful and self.status != ASSUMED

    @property
    def name(self) -> str:
        """The statement with its subject where it has one."""
        return f"{self.item.statement} ({self.title})" if self.subject else self.item.statement

    @property
    def short(self) -> str:
        """The short title with its subject; where an item has none, the words of its id."""
        words = self.item.short_title or capital(self.item.id.replace("-", " "))
        return f"{words} ({self.title})" if self.subject else words


Kept: TypeAlias = "tuple[Stamped[Any], Kept | None]"
"""The last event of a kind, and those before it: one more is a link, however many there are."""


@dataclass(frozen=True)
class State:
    """Everything that is so. t: elapsed seconds of the last event; phase: "" before the first.

    at_an_instant: the cut-off is a time of day. exited: phases that were left at least once.
    used: seconds spent in each phase ("" before the first). stretches: the phases in the order
    they were worked in, each with its beginning. drawn: words under which a part was drawn, by
    calculation and role. noted: how often each change was noted that nothing else shows.
    kept: events that are asked for as they are, by their class, for `of`. ticked: seconds
    spent in a phase when an item of it was closed last. elsewhere: of the seconds spent in a
    phase, those that went into items of other phases. deferred: keys of the more checks that were
    put off. habits: by item id, in how many of how many earlier sprints this person forgot it.
    measured: by board number and point. findings, made_items: by the number of the finding.
    """

    setup: Setup
    t: float
    deadline: float
    subjects: Mapping[str, Subject]
    knowledge: Knowledge
    at_an_instant: bool = False
    phase: str = ""
    entered: frozenset[str] = frozenset()
    exited: frozenset[str] = frozenset()
    signed_off: frozenset[str] = frozenset()
    drawn_before: frozenset[str] = frozenset()
    step_by_step: frozenset[str] = frozenset()
    stages: frozenset[str] = frozenset((Stage.SCHEMATIC,))
    items: Mapping[str, ItemState] = field(default_factory=dict)
    deferred: frozenset[str] = frozenset()
    calculations: Mapping[str, SavedCalculation] = field(default_factory=dict)
    drawn: Mapping[tuple[str, str], str] = field(default_factory=dict)
    declared: Mapping[str, Any] = field(default_factory=dict)
    noted: Mapping[str, int] = field(default_factory=dict)
    dropped: frozenset[str] = frozenset()
    notes: tuple[Note, ...] = ()
    kept: Mapping[type[Event], Kept] = field(default_factory=dict)
    quiet: bool = False
    used: Mapping[str, float] = field(default_factory=dict)
    ticked: Mapping[str, float] = field(default_factory=dict)
    elsewhere: Mapping[str, float] = field(default_factory=dict)
    stretches: tuple[tuple[str, float], ...] = (("", 0.0),)
    interrupted: float = 0.0
    habits: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    measured: Mapping[tuple[str, str], PointMeasured] = field(default_factory=dict)
    findings: Mapping[int, FindingNoted] = field(default_factory=dict)
    made_items: Mapping[int, FindingMadeItem] = field(default_factory=dict)
    ended: bool = False
    accepted: bool = False
    ended_at: float | None = None

    def with_(self, **fields: Any) -> State:
        """The state with other values in these fields, without what was derived of the old ones.

        It is made as the constructor makes it, but for its setting field after field of a frozen
        class: that takes five times as long, and the fold does it twice an event.
        """
        known, mine, after = self.__dataclass_fields__, vars(self), object.__new__(State)
        if unknown := fields.keys() - known.keys():
            raise TypeError(f"a state has no field {', '.join(unknown)}")
        vars(after).update({name: mine[name] for name in known}, **fields)
        return after

    def of(self, kind: type[E]) -> tuple[Stamped[E], ...]:
        """The events of a kind that the state keeps, in order."""
        found: list[Stamped[E]] = []
        link = self.kept.get(kind)
        while link is not None:
            last, link = link
            found.append(last)
        return tuple(reversed(found))

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every item at every subject it could belong to, phases in order, closing list last."""
        found: list[Row] = []
        for phase in self.setup.phases:
            for item in phase.items:
                found.extend(self._unfold(item))
        for item in self.setup.closing.items:
            found.extend(self._unfold(item))
        return tuple(found)

    def _unfold(self, item: Item) -> list[Row]:
        if item.per == "board":
            return [self._row(item, "", "")]
        return [
            self._row(item, subject.id, subject.title)
            for subject in self.subjects.values()
            if subject.kind == item.per
        ]

    def _row(self, item: Item, subject: str, title: str) -> Row:
        applies = item.applies(self.knowledge, subject)
        question = item.question(self.knowledge, subject) if applies is None else None
        key = Key.of(item.id, subject)
        return Row(
            item, subject, title, applies, question, self.items.get(key), key in self.deferred
        )

    @cached_property
    def by_key(self) -> Mapping[str, Row]:
        return {row.key: row for row in self.rows}

    def rows_of(self, phase: str) -> tuple[Row, ...]:
        """The rows of one phase, or of the closing list."""
        return self._rows_by_phase.get(phase, ())

    @cached_property
    def _rows_by_phase(self) -> Mapping[str, tuple[Row, ...]]:
        found: dict[str, list[Row]] = {}
        for row in self.rows:
            found.setdefault(row.item.phase, []).append(row)
        return {phase: tuple(rows) for phase, rows in found.items()}

    def reached(self, row: Row) -> bool:
        """Whether the stage where the row can be seen is reached; the closing list always is."""
        return row.item.phase == CLOSING_ID or row.item.stage in self.stages

    def entry_rail(self) -> str:
        """The id of the rail the board is supplied through."""
        for subject in self.subjects.values():
            if subject.kind == "rail" and not subject.parent:
                return subject.id
        return ""

    def mcu_rail(self) -> str:
        """The id of the rail the microcontroller hangs on."""
        return str(self.declared.get("board.mcu_rail", self.setup.brief.board.mcu_rail))

    def names_of(self, subject_id: str) -> dict[str, str]:
        """What fills the ledger templates of a calculation at this subject."""
        names = {"entry": self.entry_rail(), "mcu_rail": self.mcu_rail()}
        subject = self.subjects.get(subject_id)
        if subject is not None:
            names[subject.kind] = subject.id
            if subject.parent:
                names["parent" if subject.kind == "rail" else "rail"] = subject.parent
        return names

    def ids_of(self, kind: str) -> list[str]:
        """The subjects of one kind, in their order."""
        return [subject.id for subject in self.subjects.values() if subject.kind == kind]

    def feature(self, feature_id: str) -> Feature | None:
        return next((f for f in self.setup.brief.features if f.id == feature_id), None)
