"""How a sprint ended, in words: for the end, the debrief, a journal told, and a rehearsal."""

from __future__ import annotations

from coach.sprint.durations import between
from coach.sprint.events.run import end_words
from coach.sprint.state import State


def how_it_ended(state: State) -> str:
    """In one sentence; while it is running, how far it has come."""
    when = from_the_cut_off(state)
    if not state.ended:
        return f"Still running, {when}: nothing here is final."
    return end_words(when, accepted=state.accepted)


def from_the_cut_off(state: State) -> str:
    """When it ended, or its last moment so far: "3 min before the cut-off"."""
    end = state.t if state.ended_at is None else state.ended_at
    side = "before" if end <= state.deadline else "after"
    return f"{between(end, state.deadline)} {side} the cut-off"
