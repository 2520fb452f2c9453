"""How a sprint ended, in words: for the end, the debrief, a journal told, and a rehearsal."""

from __future__ import annotations

from coach.sprint.durations import duration
from coach.sprint.state import State


def how_it_ended(state: State) -> str:
    """In one sentence; while it is running, how far it has come."""
    when = from_the_cut_off(state)
    if not state.ended:
        return f"Still running, {when}: nothing here is final."
    if state.accepted:
        return f"The order was accepted and paid {when}."
    return f"It ended without an order, {when}."


def from_the_cut_off(state: State) -> str:
    """When it ended, or its last moment so far: "3 min before the cut-off"."""
    spare = state.deadline - (state.t if state.ended_at is None else state.ended_at)
    return f"{duration(spare)} {'before' if spare >= 0 else 'after'} the cut-off"
