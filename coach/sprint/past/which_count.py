"""Which ended sprints count when many are told together: each once, and none that was hardly begun.

A journal is copied for safekeeping, or sent to somebody and taken back: a copy is the same sprint.
A sprint that was given up at once (a start by mistake, a look at the program) tells nothing of how
a person works. Both are left out where rates, pace, habits and claims are made, and said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import TypeVar

from coach.sprint.events.event import Stamped
from coach.sprint.setup import Setup
from coach.sprint.state import State

AT_ONCE = 0.1
"""Share of the time to the cut-off within which a sprint was given up at once. Our own choice."""

Identity = tuple[datetime, str, tuple[float, ...]]
"""What makes a sprint the same sprint."""

T = TypeVar("T")

_MOMENTS = 4  # the first is the start itself


def given_up_at_once(ended_at: float | None, deadline: float | None, *, accepted: bool) -> bool:
    """Whether a sprint ended without an order within the first tenth of its time; elapsed
    seconds, None where they cannot be right."""
    if accepted or ended_at is None or deadline is None:
        return False
    return ended_at <= AT_ONCE * deadline


def counts(state: State) -> bool:
    """Whether an ended sprint tells something."""
    at_once = given_up_at_once(state.ended_at, state.deadline, accepted=state.accepted)
    return state.ended and not at_once


def identity(setup: Setup, history: Sequence[Stamped]) -> Identity:
    """What a copy of a journal has in common with it: the instant of the start, and the title.

    Simulated engineers begin on a few fixed mornings, so that of theirs the moments of the first
    events are part of it.
    """
    if setup.rehearsed and setup.speed == 1.0:
        return began(setup.started, setup.brief.title, tuple(one.t for one in history[:_MOMENTS]))
    return began(setup.started, setup.brief.title)


def began(started: datetime, title: str, moments: tuple[float, ...] = ()) -> Identity:
    """The identity of a sprint that a person ran, by what is seen of it at a glance."""
    return started, title, moments


def each_once(
    found: Iterable[T], same: Callable[[T], Identity], length: Callable[[T], tuple[float, ...]]
) -> list[T]:
    """Of every sprint the longest journal, in the order given; of alike ones the first.

    length: what tells the longer one, compared from its first number on.
    """
    kept: dict[Identity, T] = {}
    for one in found:
        key = same(one)
        if key not in kept or length(one) > length(kept[key]):
            kept[key] = one
    return [*kept.values()]
