"""What is walked: a phase, a stage before it is left behind, one item, or the last walk.

All are gone through alike: a title, the items by key, further ones folded away, and what it is
called in the journal.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.sprint.board import (
    further_of_phase,
    further_of_stage,
    walk_of_phase,
    walk_of_stage,
)
from coach.sprint.events.phases import LAST_WALK, Walked
from coach.sprint.pace.reserve import last_walk, ordered, spare_seconds, uploaded
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID, Stage


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
