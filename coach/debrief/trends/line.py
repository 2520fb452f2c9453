"""One ended sprint as a line of figures, for counting over many of them.

What "forgotten" means stands in coach/sprint/past/habits.py, because the next sprint asks by the
same rule. Figures that no clock can have shown (a forged journal) are left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.events.board import (
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
)
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemMet, ItemReopened
from coach.sprint.fold import taken_back
from coach.sprint.keys import Key
from coach.sprint.pace.scoring import scored
from coach.sprint.pace.work import was_drawn
from coach.sprint.past.habits import due, only_asked
from coach.sprint.past.quick_reading import Beginning, QuickRead
from coach.sprint.past.which_count import given_up_at_once
from coach.sprint.plan import CHOOSING
from coach.sprint.state import MET, OPEN, REOPENED, State
from phases.kit.items import CLOSING_ID, Item

LEAST_PHASES = 3
"""Phases that must have been drawn for a sprint to have a pace."""

_NO_DISMISSAL = (
    SubjectAdded, SubjectDropped, FeatureDropped,
    FeatureRestored, ItemMet,
)  # fmt: skip


class ItemLine(NamedTuple):
    """How one item went in one sprint; numbers count its subjects (1 for one of the board).

    here: at which it was on the board at the end. asked: at which it was only asked: nobody ever
    said whether it is on the board, so that it counts for nothing else. due: of an essential, at
    which its turn came; forgotten: of these, those still open. late: closed late. open: on the
    board and not closed, for whatever reason. waived, met: how it stands at the end. reopened: how
    often it was opened again. dismissed: at which the person said that it is not on this board.
    escapes: late findings it let through.
    """

    item: str
    here: int
    asked: int = 0
    due: int = 0
    forgotten: int = 0
    late: int = 0
    open: int = 0
    waived: int = 0
    met: int = 0
    reopened: int = 0
    dismissed: int = 0
    escapes: int = 0


_COUNTED = ItemLine._fields[1:]


class PhaseLine(NamedTuple):
    """A phase, or choosing parts (""); seconds. drawn: its work was done within the sprint."""

    phase: str
    planned: float
    used: float
    drawn: bool

    @property
    def pace(self) -> float | None:
        """Used over planned; None where it was not drawn, or nothing was planned."""
        return self.used / self.planned if self.drawn and self.planned > 0 else None


class MarkLine(NamedTuple):
    """A forecast kept at a fixed mark, against what came. covered: whether the 80 % band held the
    finish; loss: pinball loss of its two ends, seconds; None where that cannot be told."""

    mark: int
    chance: float
    happened: bool
    covered: bool | None
    loss: float | None


class FindingLine(NamedTuple):
    """A late finding. item: the id of the item that let it through, "" where none asked for it.
    minutes: what it cost, None where nobody said. made: the id of the house rule that was made of
    it, "" for none."""

    fault: str
    item: str
    minutes: float | None
    made: str = ""


class About(NamedTuple):
    """What an item is, as the journal's header has it."""

    statement: str
    phase: str
    severity: str
    essential: bool


@dataclass(frozen=True, slots=True)
class SprintLine:
    """One ended sprint. ended_at, deadline: elapsed seconds, None where they cannot be right.

    rehearsed: by the simulated engineer, or at another `speed` than that of life. given_up: at
    once, so that it tells nothing (coach/sprint/past/which_count.py). in_time: the order was
    accepted by the cut-off. items: those on the board at the end, and those that were only asked,
    dismissed or let a finding through. about: every item of its header by id; names: of the
    phases. faults: what of the journal is not whole, a sentence each.
    """

    path: Path
    title: str
    started: datetime
    rehearsed: bool
    speed: float
    deadline: float | None
    ended_at: float | None
    accepted: bool
    given_up: bool
    in_time: bool
    items: tuple[ItemLine, ...]
    phases: tuple[PhaseLine, ...]
    marks: tuple[MarkLine, ...]
    findings: tuple[FindingLine, ...]
    about: Mapping[str, About]
    names: Mapping[str, str]
    faults: tuple[str, ...]

    @property
    def forgotten(self) -> int:
        """Essentials that were forgotten, each subject for itself."""
        return sum(one.forgotten for one in self.items)

    @property
    def due(self) -> int:
        """Essentials on the board whose turn came."""
        return sum(one.due for one in self.items)

    def is_essential(self, item: str) -> bool:
        """Whether an item was an essential then."""
        return item in self.about and self.about[item].essential

    @property
    def pace(self) -> float | None:
        """Seconds used over seconds planned of the phases that were drawn; None for too few."""
        drawn = [
            one for one in self.phases
            if one.phase not in (CHOOSING, CLOSING_ID) and one.pace is not None
        ]  # fmt: skip
        if len(drawn) < LEAST_PHASES:
            return None
        return sum(one.used for one in drawn) / sum(one.planned for one in drawn)


def line_of(read: QuickRead) -> SprintLine | None:
    """The line of a sprint that has ended; None for one that goes on."""
    state, setup = read.state, read.setup
    if not state.ended or state.ended_at is None:
        return None
    ended_at = state.ended_at if sane(state.ended_at) else None
    deadline = state.deadline if sane(state.deadline) else None
    about, names = _tables(read.beginning)
    in_time = ended_at is not None and deadline is not None and ended_at <= deadline
    return SprintLine(
        path=read.path,
        title=setup.brief.title,
        started=setup.started,
        rehearsed=setup.rehearsed,
        speed=setup.speed,
        deadline=deadline,
        ended_at=ended_at,
        accepted=state.accepted,
        given_up=given_up_at_once(ended_at, deadline, accepted=state.accepted),
        in_time=state.accepted and in_time,
        items=_items(read),
        phases=tuple(_phases(read)),
        marks=tuple(_marks(state)),
        findings=tuple(_finding(state, one) for one in state.findings.values()),
        about=about,
        names=names,
        faults=read.faults,
    )


def _finding(state: State, one: FindingNoted) -> FindingLine:
    minutes = one.minutes if _sane(one.minutes) else None
    made = state.made_items.get(one.number)
    return FindingLine(one.fault, _id(one.item), minutes, made.item if made else "")


def sane(seconds: float | None) -> bool:
    """Whether it is a time that a sprint can have."""
    return seconds is not None and abs(seconds) < 3.6e6


def _sane(minutes: float | None) -> bool:
    return minutes is not None and sane(minutes * 60)


def _id(key: str) -> str:
    return Key(key).item


# ---- items -----------------------------------------------------------------------------------


def _items(read: QuickRead) -> tuple[ItemLine, ...]:
    state = read.state
    counts: dict[str, dict[str, int]] = {}

    def add(item: str, what: str) -> None:
        found = counts.setdefault(item, {})
        found[what] = found.get(what, 0) + 1

    for row in state.rows:
        if row.applies is False:
            continue
        name, status = row.item.id, row.status
        if only_asked(row):
            add(name, "asked")
            continue
        add(name, "here")
        if status in (OPEN, REOPENED):
            if not row.aside:
                add(name, "open")
        elif row.state is not None:
            add(name, "met" if status == MET else "waived")
            if row.state.late:
                add(name, "late")
    for row in due(state):
        add(row.item.id, "due")
        if row.status == OPEN:
            add(row.item.id, "forgotten")
    counted = _counted(read.history)
    for one in counted:
        if isinstance(one.event, ItemReopened):
            add(_id(one.event.item), "reopened")
    for key in _dismissed(read, counted):
        add(_id(key), "dismissed")
    for finding in state.findings.values():
        if finding.item:
            add(_id(finding.item), "escapes")
    # In the order of the header: phases first, the closing list last.
    known = [item for item in read.setup.items if item in counts]
    strange = sorted(counts.keys() - set(known))
    return tuple(ItemLine(i, *(counts[i].get(f, 0) for f in _COUNTED)) for i in [*known, *strange])


def _counted(history: Sequence[Stamped]) -> list[Stamped]:
    undone = taken_back(history)
    return [one for one in history if not one.is_void(undone)]


def _dismissed(read: QuickRead, counted: Sequence[Stamped]) -> set[str]:
    """Keys of the items that an answer of the person took off the board for good: the one that
    "not on this board" gives, its siblings included. What goes with a feature or a subject, or
    because another item was met, is no such answer."""
    begun = read.beginning.state
    gone = [
        row for row in read.state.rows
        if row.applies is False and row.key in begun.by_key
        and begun.by_key[row.key].applies is not False
    ]  # fmt: skip
    if not gone:
        return set()
    other = {one.by for one in counted if isinstance(one.event, _NO_DISMISSAL)}
    known = begun.knowledge
    found: set[str] = set()
    for one in counted:
        event: Event = one.event
        if not isinstance(event, FactSet):
            continue
        after = known.with_value(event.fact, event.value, event.subject)
        if one.by and one.by not in other:
            answer = (event.subject, event.fact, event.value)
            left = [
                row for row in gone
                if row.item.applies(known, row.subject) is not False
                and row.item.applies(after, row.subject) is False
            ]  # fmt: skip
            if any(row.item.taken_off_by(known, row.subject) == answer for row in left):
                found |= {row.key for row in left}
        known = after
    return found


# ---- phases and forecasts --------------------------------------------------------------------


def _phases(read: QuickRead) -> list[PhaseLine]:
    state = read.state
    found = []
    chosen = state.knowledge.get("parts_chosen") is True
    for box in read.beginning.plan.boxes:
        used = state.used.get(box.phase, 0.0)
        if not sane(used):
            continue
        if box.phase == CHOOSING:
            drawn = bool(state.phase) and not (chosen and not box.seconds)
        elif any(phase.id == box.phase for phase in state.setup.phases):
            drawn = box.phase not in state.drawn_before and was_drawn(state, state.t, box.phase)
            drawn = drawn and used > 0
        else:
            drawn = state.accepted and used > 0
        found.append(PhaseLine(box.phase, box.seconds, used, drawn))
    return found


def _marks(state: State) -> list[MarkLine]:
    found = []
    for one in scored(state):
        made = one.made.event
        if not 0 <= made.chance_essentials <= 1 or not all(map(sane, (made.low, made.high))):
            continue
        loss = one.loss if one.loss is None or sane(one.loss) else None
        found.append(
            MarkLine(made.mark, made.chance_essentials, one.happened, one.covered, loss)
        )  # fmt: skip
    return found


# ---- what items and phases are ---------------------------------------------------------------


@lru_cache(maxsize=32)
def _tables(beginning: Beginning) -> tuple[Mapping[str, About], Mapping[str, str]]:
    """Items and names of phases; one table for all sprints that begin alike, because that is what
    a line is mostly made of."""
    about = {one.id: _told(one) for one in beginning.state.setup.items.values()}
    return about, {box.phase: box.name for box in beginning.plan.boxes}


def _told(item: Item) -> About:
    return About(item.statement, item.phase, str(item.severity), item.essential)
