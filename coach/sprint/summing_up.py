"""What a sprint that has ended came to, in figures, from its state and its history alone.

The session writes it into the journal; of a journal that does not have it any more it is made when
that is read. It takes nothing from the time that passed since the end.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from coach.sprint.events.board import (
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
)
from coach.sprint.events.event import Stamped
from coach.sprint.events.items import ItemMet, ItemReopened
from coach.sprint.events.summary import ItemOutcome, LateFinding, PhaseOutcome, SummedUp
from coach.sprint.fold import begin, counted
from coach.sprint.gates.forgotten import due, only_asked
from coach.sprint.keys import Key
from coach.sprint.pace.pace import Pace, observations, pace_of
from coach.sprint.pace.plan import CHOOSING, plan_of
from coach.sprint.pace.scoring import scored
from coach.sprint.pace.work import was_drawn
from coach.sprint.state import MET, OPEN, REOPENED, Row, State

LEAST_PHASES = 3
"""Phases that must have been drawn for a sprint to show a pace."""

_UNKNOWN = Pace(0.0, 1e3)  # so that a sprint shows its own
_NO_DISMISSAL = (SubjectAdded, SubjectDropped, FeatureDropped, FeatureRestored, ItemMet)


def summed_up(state: State, history: Sequence[Stamped]) -> SummedUp:
    """What a sprint that has ended came to. history: all its events."""
    assert state.ended_at is not None
    begun = begin(state.setup)
    return SummedUp(
        ended_at=round(state.ended_at, 3),
        deadline=round(state.deadline, 3),
        accepted=state.accepted,
        pace=_pace(state, state.ended_at),
        items=_items(state, begun, counted(history)),
        phases=tuple(_phases(state, begun, state.ended_at)),
        forecasts=scored(state),
        findings=tuple(
            LateFinding(
                one.fault,
                Key(one.item).item,
                one.minutes,
                state.made_items[one.number].item if one.number in state.made_items else "",
            )
            for one in state.findings.values()
        ),
    )


def _pace(state: State, t: float) -> tuple[float, float] | None:
    drawn = [one for one in observations(state, t) if one.phase != CHOOSING]
    if len(drawn) < LEAST_PHASES:
        return None
    pace = pace_of(state, t, _UNKNOWN)
    return round(pace.log_mean, 6), round(pace.log_sd, 6)


def _phases(state: State, begun: State, t: float) -> Iterator[PhaseOutcome]:
    ids = state.setup.phase_ids
    for box in plan_of(begun).boxes:
        used = state.used.get(box.phase, 0.0)
        if box.phase == CHOOSING:
            chosen_before = state.knowledge.get("parts_chosen") is True and not box.seconds
            drawn = bool(state.phase) and not chosen_before
        elif box.phase in ids:
            drawn = box.phase not in state.drawn_before and was_drawn(state, t, box.phase)
            drawn = drawn and used > 0
        else:
            drawn = state.accepted and used > 0
        yield PhaseOutcome(box.phase, box.name, round(box.seconds, 3), round(used, 3), drawn)


def _items(state: State, begun: State, history: Sequence[Stamped]) -> tuple[ItemOutcome, ...]:
    """Every item that something is said of, in the order of the header."""
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for row in state.rows:
        for what in _went(row):
            counts[row.item.id][what] += 1
    for row in due(state):
        counts[row.item.id].update(["due", "forgotten"] if row.status == OPEN else ["due"])
    for one in history:
        if isinstance(one.event, ItemReopened):
            counts[Key(one.event.item).item]["reopened"] += 1
    for key in _dismissed(state, begun, history):
        counts[Key(key).item]["dismissed"] += 1
    order = {item: number for number, item in enumerate(state.setup.items)}
    alike: defaultdict[tuple[tuple[str, int], ...], list[str]] = defaultdict(list)
    for item in sorted(counts, key=lambda one: (order.get(one, len(order)), one)):
        alike[tuple(sorted(counts[item].items()))].append(item)
    return tuple(ItemOutcome(tuple(items), **dict(went)) for went, items in alike.items())


def _went(row: Row) -> Iterator[str]:
    """What is counted of an item at one subject."""
    if row.applies is False:
        return
    if only_asked(row):
        yield "asked"
        return
    yield "here"
    if row.status in (OPEN, REOPENED):
        if not row.deferred:
            yield "open"
    elif row.state is not None:
        yield "met" if row.status == MET else "waived"
        if row.state.late:
            yield "late"


def _dismissed(state: State, begun: State, history: Sequence[Stamped]) -> set[str]:
    """Keys of the items that an answer of the person took off the board for good: the one that
    "not on this board" gives, its siblings included. What goes with a feature or a subject, or
    because another item was met, is no such answer."""
    gone = [
        row
        for row in state.rows
        if row.applies is False
        and row.key in begun.by_key
        and begun.by_key[row.key].applies is not False
    ]
    if not gone:
        return set()
    other = {one.by for one in history if isinstance(one.event, _NO_DISMISSAL)}
    known = begun.knowledge
    found: set[str] = set()
    for one in history:
        event = one.event
        if not isinstance(event, FactSet):
            continue
        after = known.with_value(event.fact, event.value, event.subject)
        if one.by and one.by not in other:
            answer = (event.subject, event.fact, event.value)
            left = [
                row
                for row in gone
                if row.item.applies(known, row.subject) is not False
                and row.item.applies(after, row.subject) is False
            ]
            if any(row.item.taken_off_by(known, row.subject) == answer for row in left):
                found |= {row.key for row in left}
        known = after
    return found
