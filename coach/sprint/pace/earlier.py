"""What a person brings along from earlier sprints: their pace, and what they keep forgetting.

A person has a pace of their own, about which the pace of each sprint lies:

    ln K of a sprint ~ N(M, BETWEEN²),   M ~ N(µ, τ²) before the first sprint is known

so that each earlier sprint is one observation of M (reference class: one's own past work; B.
Flyvbjerg, Project Management Journal 37(3) (2006) 5-15). What nobody has measured yet starts
from the prior. Rehearsed sprints never count, a copy of a journal is no other sprint, and one given
up at once tells nothing (past/which_count.py). Each journal is read once for both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from coach.sprint.pace.learning import observations, pace_of
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.past.glance import Glance, glance
from coach.sprint.past.habits import LAST, habits_from
from coach.sprint.past.quick_reading import quick_read
from coach.sprint.past.sessions_folder import journals
from coach.sprint.past.which_count import began, counts, each_once
from coach.sprint.plan import CHOOSING
from coach.sprint.state import State
from phases.kit.refusals import Refusal

BETWEEN = 0.2
"""Log-sd of a person's pace from one sprint to another. Our own estimate."""

MOST = 12
"""Sprints that tell the pace, the one begun last first: people change."""

LEAST_PHASES = 3
"""Phases that must have been drawn for a sprint to say something."""

_LOOKED_AT, _READ = 200, 24  # journals: at a glance, the last written; whole
_FLAT = Pace(0.0, 1e3)  # knows nothing: what a sprint says by itself


@dataclass(frozen=True, slots=True)
class Brought:
    """What earlier sprints tell of a person. habits: as for `State.habits`."""

    pace: Pace
    habits: Mapping[str, tuple[int, int]]


def brought_along(folder: Path, *, without: Path | None = None) -> Brought:
    """What the journals in `folder` tell: the prior and no habit where they tell nothing.

    without: the journal of the sprint that is going on. What cannot be read is passed over.
    """
    paces: list[Pace] = []
    last: list[State] = []
    for state in _earlier(folder, without):
        if len(last) < LAST:
            last.append(state)
        pace = _pace_shown(state)
        if pace is not None:
            paces.append(pace)
        if len(paces) == MOST and len(last) == LAST:
            break
    return Brought(pace_from(paces), habits_from(last))


def earlier_pace(folder: Path, *, without: Path | None = None) -> Pace:
    """The pace to start a sprint with; see `brought_along`."""
    return brought_along(folder, without=without).pace


def pace_from(paces: Iterable[Pace]) -> Pace:
    """The pace of the next sprint after those of earlier ones."""
    own = Pace(PRIOR.log_mean, math.sqrt(PRIOR.log_sd**2 - BETWEEN**2))
    for pace in paces:
        own = own.after(pace.median, math.hypot(BETWEEN, pace.log_sd))
    return Pace(own.log_mean, math.hypot(own.log_sd, BETWEEN))


def _earlier(folder: Path, without: Path | None) -> Iterator[State]:
    """Ended sprints that count and were not rehearsed, the one begun last first."""
    seen = [_glance(path) for path in journals(folder)[:_LOOKED_AT] if path != without]
    count = [one for one in seen if one is not None and one.ended and not one.rehearsed]
    count.sort(key=lambda one: (one.started, str(one.path)), reverse=True)
    once = each_once(count, lambda one: began(one.started, one.title), lambda one: (one.last_t,))
    for one in once[:_READ]:
        state = _ended(one.path)
        if state is not None and counts(state):
            yield state


def _glance(path: Path) -> Glance | None:
    try:
        seen = glance(path)
    except (Refusal, OSError):
        return None
    return seen if seen.started.tzinfo is not None else None


def _ended(path: Path) -> State | None:
    """How an ended sprint stands that was not rehearsed; None for any other."""
    try:
        read = quick_read(path)
    except (Refusal, OSError):
        return None
    return read.state if read.state.ended and not read.setup.rehearsed else None


def pace_in(path: Path) -> Pace | None:
    """The pace one ended sprint shows by itself; None for a rehearsed one, one that goes on, one
    that shows too little, and what is no journal."""
    state = _ended(path)
    return None if state is None else _pace_shown(state)


def _pace_shown(state: State) -> Pace | None:
    phases = [one for one in observations(state, state.t) if one.phase != CHOOSING]
    return pace_of(state, state.t, _FLAT) if len(phases) >= LEAST_PHASES else None
