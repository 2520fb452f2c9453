"""Every item of the board, as it went: when it was due and closed, how, how often again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from coach.debrief.account.data import ItemTold, Reopening
from coach.debrief.account.soundness import Soundness
from coach.history.call_outcomes import SOON
from coach.history.read_sprint import SprintRead
from coach.sprint.events.board import SubjectAdded
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.events.phases import LAST_WALK, PhaseEntered, PhaseSignedOff, StageReached, Walked
from coach.sprint.events.run import CallMade, Ended, Resumed
from coach.sprint.state import MET, NOT_HERE, OPEN, WAIVED, ItemState, Row, State
from phases.kit.items import CLOSING_ID, Item, Stage

A_WALK, A_CALL, BY_ITSELF = "a walk", "a call", "by itself"
"""How an item that was closed late came up again."""

_CLOSES = (ItemMet, ItemWaived)
_ENDS_A_WALK = (
    Walked, PhaseEntered, PhaseSignedOff, StageReached,
    Resumed, Ended,
)  # fmt: skip


def items_told(
    read: SprintRead, due: Mapping[str, float], sound: Soundness
) -> tuple[ItemTold, ...]:
    """The items, phases in order, the closing list last. due: by phase, when it was to end."""
    counted = read.counted
    rows = [*read.state.rows, *_rows_gone(read)]
    order = {phase.id: n for n, phase in enumerate(read.setup.phases)}
    order[CLOSING_ID] = len(order)
    rows.sort(key=lambda row: order.get(row.item.phase, len(order)))
    return tuple(_told(read, counted, row, due, sound) for row in rows if _was_here(row))


def _was_here(row: Row) -> bool:
    """On the board at the end, or closed before it left."""
    return row.status != NOT_HERE or (row.state is not None and row.state.status in (MET, WAIVED))


def _rows_gone(read: SprintRead) -> list[Row]:
    """Closed items of subjects that were taken off the board."""
    state = read.state
    titles = {s.id: s.title for s in read.setup.brief.subjects()}
    for one in read.events(SubjectAdded):
        assert isinstance(one.event, SubjectAdded)
        titles[one.event.id] = one.event.title or one.event.id
    found = []
    for key, closed in state.items.items():
        name, _, subject = key.partition("@")
        item = read.setup.items.get(name)
        if key not in state.by_key and item is not None:
            title = titles.get(subject, subject)
            found.append(Row(item, subject, title, applies=False, question=None, state=closed))
    return found


def _told(
    read: SprintRead, counted: Sequence[Stamped], row: Row, due: Mapping[str, float],
    sound: Soundness,
) -> ItemTold:  # fmt: skip
    item, state = row.item, row.state
    is_closed = row.status in (MET, WAIVED)
    late = is_closed and state is not None and state.late
    own = [s for s in counted if _is_about(s.event, row.key)]
    closed = sound.seconds(state.t, "The moment an item was closed") if state else 0.0
    return ItemTold(
        key=row.key,
        name=row.name,
        why=item.why,
        phase=item.phase,
        severity=str(item.severity),
        essential=item.essential,
        outcome=row.status,
        asked=row.applies is None and row.status == OPEN,
        due=due.get(item.phase, 0.0),
        closed=closed if is_closed else None,
        late=late,
        evidence=evidence_words(state) if row.status == MET else "",
        reason=state.reason if state and row.status == WAIVED else "",
        found=_found(read.state, counted, item, own) if late else "",
        left_out_min=item.left_out_min,
        reopenings=_reopenings(own, sound),
        habit=_habit(read.state, item.id),
        findings=tuple(one.number for one in read.state.findings.values() if one.item == row.key),
        stage=str(item.stage),
        confirm_s=item.confirm_s,
        aside=row.aside,
    )


def evidence_words(state: ItemState | None) -> str:
    """How an item was met: "data sheet, page 12", "calculated, 12.4 K to spare"."""
    if state is None:
        return ""
    marginal = "marginal" if state.marginal else ""
    said = (state.evidence, marginal, state.page, state.figure)
    return ", ".join(part for part in said if part)


def _habit(state: State, item: str) -> tuple[int, int] | None:
    missed, of = state.habits.get(item, (0, 0))
    return (missed, of) if 0 < missed <= of else None


def _is_about(event: Event, key: str) -> bool:
    kinds = ItemMet | ItemWaived | ItemReopened
    return isinstance(event, kinds) and event.item == key


# ---- reopened --------------------------------------------------------------------------------


def _reopenings(own: Sequence[Stamped], sound: Soundness) -> tuple[Reopening, ...]:
    """The times an item was open again; a second reason while it is open joins the first."""
    found: list[Reopening] = []
    for stamped in own:
        event, t = stamped.event, sound.seconds(stamped.t, "The moment of a reopening")
        is_open = bool(found) and found[-1].closed_again is None
        if not isinstance(event, ItemReopened):
            if is_open:
                found[-1] = replace(found[-1], closed_again=t)
        elif not is_open:
            found.append(Reopening(t, event.because, event.doubt, None))
        elif event.because != found[-1].because:
            because = f"{found[-1].because}; {event.because}"
            found[-1] = replace(found[-1], because=because, doubt=found[-1].doubt and event.doubt)
    return tuple(found)


# ---- how a late one came up again --------------------------------------------------------------


def _found(state: State, counted: Sequence[Stamped], item: Item, own: Sequence[Stamped]) -> str:
    """Within a walk that asked it, after a call that named it, or neither."""
    closings = [s for s in own if isinstance(s.event, _CLOSES)]
    if not closings:
        return BY_ITSELF
    # It counts as closed since the first closing after which it was not opened again.
    last_open = max((s.n for s in own if isinstance(s.event, ItemReopened)), default=0)
    closed = next((s for s in closings if s.n > last_open), closings[-1])
    at = counted.index(closed)
    if _within_a_walk(counted, at, item):
        return A_WALK
    named = (
        s for s in counted[:at]
        if isinstance(s.event, CallMade) and closed.t - s.t <= SOON
        and own[0].event.item in s.event.items  # type: ignore[attr-defined]
    )  # fmt: skip
    return A_CALL if next(named, None) else BY_ITSELF


def _within_a_walk(counted: Sequence[Stamped], at: int, item: Item) -> bool:
    """Whether the next walk to end asked it, and it is one of those closed last before that.

    A walk is journalled when it ends, with how many of its items were closed by then.
    """
    closed_after = 0
    for stamped in counted[at + 1 :]:
        event = stamped.event
        if isinstance(event, Walked):
            return _asks(event.of, item) and closed_after < max(event.closed, 0)
        if isinstance(event, _ENDS_A_WALK):
            return False
        closed_after += isinstance(event, _CLOSES)
    return False


def _asks(walk: str, item: Item) -> bool:
    """Whether a walk of that name could have asked an item."""
    if walk == LAST_WALK:
        return item.essential and item.phase != CLOSING_ID
    if walk in [str(stage) for stage in Stage]:
        return item.phase != CLOSING_ID and item.stage <= Stage(walk)
    return item.phase == walk
