"""What is walked: a phase, a stage before it is left behind, one item, or the last walk.

All are gone through alike: a title, the items by key, further ones folded away, and what it is
called in the journal.

The last walk comes in the reserve. After a first complete upload, each open essential is closed in
the quickest honest way, as long as the rest of the closing list keeps its time. Nothing is ticked
that was not looked at: what is not there is made good, or waived with a reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from coach.sprint.durations import duration
from coach.sprint.events.phases import LAST_WALK, Walked
from coach.sprint.gates.advice import ASK, CALCULATE, CURE, DRAW, about
from coach.sprint.gates.gates import closing_seconds, open_essentials, skipped
from coach.sprint.state import MET, Row, State
from phases.kit.items import CLOSING_ID, Evidence, Item, Severity, Stage


@dataclass(frozen=True, slots=True)
class Walk:
    """title: of its screen. keys: of its items, in their order; further: of those folded
    away. of: the stage, the phase or "last" it is a walk of; "" for one that is not journalled."""

    title: str
    keys: tuple[str, ...]
    of: str = ""
    further: tuple[str, ...] = ()

    @property
    def is_last(self) -> bool:
        return self.of == LAST_WALK


def of_item(row: Row) -> Walk:
    return Walk("One item", (row.key,))


def of_phase(state: State) -> Walk | None:
    """The open rows of the phase one is in; None where nothing is open there."""
    rows = walk_of_phase(state, state.phase)
    further = further_of_phase(state, state.phase) if state.phase != CLOSING_ID else []
    if state.phase in state.step_by_step or not rows:
        rows, further = [*rows, *further], []
    name = "closing list" if state.phase == CLOSING_ID else state.setup.phase(state.phase).name
    return _walk(f"Walk: {name}", rows, state.phase, further) if rows else None


def before(state: State, passed: Stage, reached: Stage) -> Walk:
    """What is asked before `reached` begins and `passed` is left behind."""
    rows, further = walk_of_stage(state, passed), further_of_stage(state, passed)
    return _walk(f"Walk before {reached}", rows, passed, further)


def last(state: State, t: float) -> Walk | None:
    """The last walk: open essentials, the worst first, once the first upload is made and the
    closing list or the reserve has begun; None before that, where none is open, and once the order
    is accepted."""
    begun = state.phase == CLOSING_ID or state.deadline - t <= state.setup.reserve
    if state.ended or ordered(state) or not begun or not uploaded(state):
        return None
    rows = [step.row for step in last_walk(state)]
    return _walk("Last walk", rows, LAST_WALK, []) if rows else None


def why_no_last(state: State) -> str:
    """Why there is no last walk now."""
    if not uploaded(state):
        return "The last walk comes in the reserve, once the first upload is made (8)"
    if last_walk(state) and not ordered(state):
        return "The last walk comes in the reserve or in the closing list (8)"
    return "The order is accepted" if ordered(state) else "Every essential is closed"


def last_to_offer(state: State, t: float) -> Walk | None:
    """The last walk in the closing list, as long as the list leaves time and nobody went through
    it."""
    gone = any(one.event.of == LAST_WALK for one in state.of(Walked))
    if state.phase != CLOSING_ID or gone or spare_seconds(state, t) <= 0:
        return None
    return last(state, t)


def at_hand(state: State, t: float) -> Walk | None:
    """The walk that one key opens: the last walk where there is one, else that of the phase. What
    was just gone through gives way to the other, so that the key goes on."""
    own = of_phase(state) if state.phase else None
    late = last(state, t)
    just_gone = any(one.event.of == LAST_WALK for one in state.of(Walked)[-1:])
    return own if late is None or (own is not None and just_gone) else late


def _walk(title: str, rows: list[Row], of: str, further: list[Row]) -> Walk:
    return Walk(title, tuple(r.key for r in rows), of, tuple(r.key for r in further))


# ---- what a walk asks for --------------------------------------------------------------------


def walked(state: State, item: Item) -> bool:
    """Whether the walk of its phase asks for an item: an essential, or what this person keeps
    forgetting, which joins the walk and never the signature."""
    return item.essential or item.id in state.habits


def habit_rank(state: State, item: Item) -> tuple[int, int, int, int]:
    """What sorts the items that are asked first: habits before others; of these the worst first,
    then the most often forgotten, then in the fewest sprints. All others are alike."""
    habit = state.habits.get(item.id)
    return (0, -item.severity.rank, -habit[0], habit[1]) if habit else (1, 0, 0, 0)


def habits_first(state: State, rows: list[Row]) -> list[Row]:
    """Rows to be asked: what this person keeps forgetting first, else as they stand.

    Only a hazard that was skipped stays before it: nothing goes before what may hurt somebody.
    """
    if not any(row.item.id in state.habits for row in rows):
        return rows
    behind = {row.key for row in skipped(state) if row.item.severity == Severity.HAZARD}
    return sorted(rows, key=lambda r: (r.key not in behind, *habit_rank(state, r.item)))


def walk_of_stage(state: State, stage: str) -> list[Row]:
    """What is asked before `stage` is left behind: its open essentials and those before it, what
    this person keeps forgetting first, of this the worst first.

    Confirmed ones are closed and do not come again; more checks are folded behind one key.
    """
    return habits_first(state, _to_ask(state, _seen_by(state, stage)))


def further_of_stage(state: State, stage: str) -> list[Row]:
    """The more checks that a walk of that stage folds away."""
    return _to_ask(state, _seen_by(state, stage), further=True)


_PAUSES = {
    "layout": (Stage.SCHEMATIC, Stage.PLACEMENT),
    "labelling": (Stage.ROUTING, Stage.FILES),
    CLOSING_ID: (Stage.ROUTING, Stage.FILES),
}
"""Phases before which people really pause: the stage that is left behind then, and the next."""


def pause_before(state: State, phase: str) -> tuple[Stage, Stage] | None:
    """The stage that is left behind on entering a phase and the one that begins; None where none
    does, or where it has begun already."""
    pause = _PAUSES.get(phase)
    return pause if pause and pause[1] not in state.stages else None


def next_pause(state: State) -> tuple[Stage, Stage] | None:
    """The stage to leave behind next and the one after it; None where every stage is reached."""
    order = list(Stage)
    coming = [pair for pair in pairwise(order) if pair[1] not in state.stages]
    return coming[0] if coming else None


def walk_of_phase(state: State, phase: str) -> list[Row]:
    """The open rows of a phase's gate whose stage is reached, and what of the phase this person
    keeps forgetting. That comes first, of it the worst first, then
    rows as they stand in the phase's file. The closing list keeps the order of ordering."""
    if phase == CLOSING_ID:
        return [row for row in state.rows_of(CLOSING_ID) if not row.closed]
    return habits_first(state, _to_ask(state, filter(state.reached, state.rows_of(phase))))


def further_of_phase(state: State, phase: str) -> list[Row]:
    """The more checks that a walk of that phase folds away."""
    return _to_ask(state, filter(state.reached, state.rows_of(phase)), further=True)


def _to_ask(state: State, rows: Iterable[Row], *, further: bool = False) -> list[Row]:
    """Of these rows the open ones that a walk asks for; further: those that it folds away."""
    return [
        row
        for row in rows
        if not row.closed and not row.deferred and walked(state, row.item) is not further
    ]


def _seen_by(state: State, stage: str) -> Iterator[Row]:
    """The rows that can be checked once `stage` is reached; the closing list comes later."""
    wanted = Stage(stage)
    return (r for r in state.rows if r.item.stage <= wanted and r.item.phase != CLOSING_ID)


# ---- the last walk, in the reserve -----------------------------------------------------------

_ANSWERING = 5.0  # seconds


@dataclass(frozen=True, slots=True)
class LastStep:
    """One open essential of the last walk. seconds: what its way takes where all is well."""

    row: Row
    way: str
    seconds: float


def uploaded(state: State) -> bool:
    """Whether the first complete upload is made, or none is asked for."""
    return all(row.closed for row in state.rows_of(CLOSING_ID) if "upload" in row.item.id)


def ordered(state: State) -> bool:
    """Whether the order is accepted and paid, though the sprint may not be ended yet."""
    last = state.rows_of(CLOSING_ID)[-1:]
    return state.accepted or any(row.status == MET for row in last)


def last_walk(state: State) -> tuple[LastStep, ...]:
    """Every open essential that can be seen, worst first, each with its quickest honest way."""
    return tuple(last_step(state, row) for row in open_essentials(state) if state.reached(row))


def spare_seconds(state: State, t: float) -> float:
    """What the closing list leaves for a last walk; negative where it has not enough itself."""
    return state.deadline - t - sum(closing_seconds(state))


def next_of_last_walk(state: State, t: float) -> Row | None:
    """The open essential to see to now; None before the first upload, once the order is accepted,
    and where only the closing list fits the time that is left."""
    if not uploaded(state) or ordered(state):
        return None
    spare = spare_seconds(state, t)
    return next((step.row for step in last_walk(state) if step.seconds <= spare), None)


def last_step(state: State, row: Row) -> LastStep:
    """One open essential with its quickest honest way, as it stands now."""
    way, seconds = _quickest(state, row)
    return LastStep(row, way, seconds)


def _quickest(state: State, row: Row) -> tuple[str, float]:
    """(what to do, in words; seconds)."""
    item, made_good = row.item, row.item.left_out_min * 60
    otherwise = f"if not, {duration(made_good)} or a waiver with its reason"
    if row.doubtful:
        return f"Check that it still holds; {otherwise}", item.confirm_s
    found = about(state, row)
    if found.kind == ASK:
        return f"Answer: {found.message}", _ANSWERING
    if found.kind == DRAW:
        return f"It is calculated: draw {found.answer}", made_good
    if found.kind == CURE:
        return f"Its calculation fails: fix it, or waive it with a reason. {found.answer}", (
            made_good
        )
    if Evidence.DATA_SHEET in item.met_by and Evidence.INSPECTED not in item.met_by:
        return f"Find its page in the data sheet; {otherwise}", item.confirm_s
    if found.kind == CALCULATE:
        return "Calculate it and draw its parts, or waive it with a reason", made_good
    return f"Look: met if it is there; {otherwise}", item.confirm_s
