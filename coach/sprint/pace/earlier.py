"""The pace a person brings along, from the journals of earlier sprints.

A person has a pace of their own, about which the pace of each sprint lies:

    ln K of a sprint ~ N(M, BETWEEN²),   M ~ N(µ, τ²) before the first sprint is known

so that each earlier sprint is one observation of M (reference class: one's own past work; B.
Flyvbjerg, Project Management Journal 37(3) (2006) 5-15). What nobody has measured yet starts
from the prior. Rehearsed sprints never count.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path

from coach.sprint.fold import fold
from coach.sprint.glance import glance
from coach.sprint.journal import Journal
from coach.sprint.pace.learning import observations, pace_of
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.plan import CHOOSING
from coach.sprint.session import events_of
from coach.sprint.sessions_folder import journals
from coach.sprint.setup import setup_from
from phases.kit.refusals import Refusal

BETWEEN = 0.2
"""Log-sd of a person's pace from one sprint to another. Our own estimate."""

MOST = 12
"""Journals that are read, the last written first: people change."""

LEAST_PHASES = 3
"""Phases that must have been drawn for a sprint to say something."""

_FLAT = Pace(0.0, 1e3)  # knows nothing: what a sprint says by itself


def earlier_pace(folder: Path, *, without: Path | None = None) -> Pace:
    """The pace to start a sprint with; the prior where no journal in `folder` tells one.

    without: the journal of the sprint that is going on. What cannot be read is passed over.
    """
    return pace_from(_paces(path for path in journals(folder) if path != without))


def pace_from(paces: Iterable[Pace]) -> Pace:
    """The pace of the next sprint after those of earlier ones."""
    own = Pace(PRIOR.log_mean, math.sqrt(PRIOR.log_sd**2 - BETWEEN**2))
    for pace in paces:
        own = own.after(pace.median, math.hypot(BETWEEN, pace.log_sd))
    return Pace(own.log_mean, math.hypot(own.log_sd, BETWEEN))


def _paces(paths: Iterable[Path]) -> list[Pace]:
    found: list[Pace] = []
    for path in paths:
        pace = pace_in(path)
        if pace is not None:
            found.append(pace)
        if len(found) == MOST:
            break
    return found


def pace_in(path: Path) -> Pace | None:
    """The pace one ended sprint shows by itself; None for a rehearsed one, one that goes on, one
    that shows too little, and what is no journal."""
    try:
        seen = glance(path)
        if seen.rehearsed or not seen.ended:
            return None
        reading = Journal.look(path)
        setup = setup_from(reading.header, where=str(path))
        state = fold(setup, events_of(reading.events, where=str(path)))
    except (Refusal, OSError):
        return None
    phases = [one for one in observations(state, state.t) if one.phase != CHOOSING]
    if setup.rehearsed or len(phases) < LEAST_PHASES:
        return None
    return pace_of(state, state.t, _FLAT)
