"""The fold: events to state. It knows no kind of event and no rule, and reads no clock.

The screen, the debrief, the exercise and the tests all use this one fold.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from coach.sprint.events.event import Stamped
from coach.sprint.events.run import Resumed, Undone
from coach.sprint.setup import Setup
from coach.sprint.state import State
from phases.kit.facts import Knowledge

CONTRADICTION = (LookupError, ValueError)
"""What an event raises that does not fit what is before it: no coach wrote that."""


def begin(setup: Setup) -> State:
    """The state before anything happened."""
    brief = setup.brief
    return State(
        setup=setup,
        t=0.0,
        deadline=setup.deadline,
        at_an_instant=setup.at_an_instant,
        subjects={subject.id: subject for subject in brief.subjects()},
        knowledge=Knowledge.of([*setup.defaults, *brief.knowledge_values()]),
    )


def fold(setup: Setup, events: Iterable[Stamped]) -> State:
    """The state after all these events; commands that were taken back are left out."""
    listed = list(events)
    undone = taken_back(listed)
    state = begin(setup)
    for stamped in listed:
        state = step(state, stamped, void=stamped.is_void(undone))
    return state


def taken_back(history: Iterable[Stamped]) -> set[int]:
    """The numbers of the commands that were taken back."""
    return {one.event.command for one in history if isinstance(one.event, Undone)}


def counted(history: Sequence[Stamped]) -> list[Stamped]:
    """The events that count: without those of commands that were taken back."""
    undone = taken_back(history)
    return [one for one in history if not one.is_void(undone)]


def step(state: State, stamped: Stamped, *, void: bool = False) -> State:
    """The state after one more event. A void one still lets its time pass."""
    after = _time_passed(state, stamped)
    if not void:
        after = stamped.event.applied(after, stamped.t)
        if stamped.event.kept:
            kind = type(stamped.event)
            after = after.with_(kept={**after.kept, kind: (stamped, after.kept.get(kind))})
    _keep_rows(state, after)
    return after


def _time_passed(state: State, stamped: Stamped) -> State:
    """The seconds since the last event go to the phase that was worked in, but for a gap."""
    t = max(stamped.t, state.t)
    if state.ended:
        # What is found and measured afterwards is no part of the sprint's time.
        return state.with_(t=t)
    passed = max(stamped.t - state.t, 0.0)
    if isinstance(stamped.event, Resumed):
        passed = max(passed - stamped.event.gap, 0.0)
    used = {**state.used, state.phase: state.used.get(state.phase, 0.0) + passed}
    return state.with_(t=t, used=used)


def _keep_rows(before: State, after: State) -> None:
    """Hands on the rows that were made already, where an event changed none of them or only how
    items are: unfolding a board's items anew is most of what a step would take."""
    rows = before.__dict__.get("rows")
    if rows is None or after.knowledge is not before.knowledge:
        return
    if after.subjects is not before.subjects:
        return
    if after.items is not before.items or after.deferred is not before.deferred:
        items, deferred = after.items, after.deferred
        rows = tuple(
            row
            if items.get(row.key) is row.state and (row.key in deferred) is row.deferred
            else replace(row, state=items.get(row.key), deferred=row.key in deferred)
            for row in rows
        )
    elif "by_key" in before.__dict__:
        after.__dict__["by_key"] = before.__dict__["by_key"]
    after.__dict__["rows"] = rows
