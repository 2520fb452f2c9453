"""How a sprint ended, in words: for the end, the debrief, a journal told, a rehearsal, trends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coach.sprint.durations import between
from phases.kit.grammar import count, was

if TYPE_CHECKING:
    from coach.sprint.state import State


def how_it_ended(state: State) -> str:
    """In one sentence; while it is running, how far it has come."""
    when = from_the_cut_off(state)
    if not state.ended:
        return f"Still running, {when}: nothing here is final."
    return end_words(when, accepted=state.accepted)


def end_words(when: str = "", *, accepted: bool) -> str:
    """The end in a sentence. when: "3 min before the cut-off", or nothing."""
    end = "The order was accepted and paid" if accepted else "The sprint ended without an order"
    return f"{end} {when}".rstrip() + "."


def from_the_cut_off(state: State) -> str:
    """When it ended, or its last moment so far: "3 min before the cut-off"."""
    end = state.t if state.ended_at is None else state.ended_at
    side = "before" if end <= state.deadline else "after"
    return f"{between(end, state.deadline)} {side} the cut-off"


def forgotten_words(missed: int, due: int) -> str:
    """ "3 essentials were forgotten, of 40 that were due": what `forgotten.py` counts, in words."""
    return f"{count(missed, 'essential')} {was(missed)} forgotten, of {due} that were due"
