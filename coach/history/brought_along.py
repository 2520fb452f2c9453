"""What a person brings along from earlier sprints: their pace, and what they keep forgetting.

A person has a pace of their own, about which the pace of each sprint lies:

    ln K of a sprint ~ N(M, BETWEEN²),   M ~ N(µ, τ²) before the first sprint is known

so that each earlier sprint is one observation of M (reference class: one's own past work; B.
Flyvbjerg, Project Management Journal 37(3) (2006) 5-15). What nobody has measured yet starts
from the prior. Rehearsed sprints never count, a copy of a journal is not another sprint, and one
given up at once tells nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from coach.history.ended import ended_sprint
from coach.history.habits import habits_from
from coach.history.listing import deduplicate, list_folder
from coach.sprint.events.summary import SummedUp
from coach.sprint.pace.pace import PRIOR, Pace
from phases.kit.refusals import Refusal

BETWEEN = 0.2
"""Log-sd of a person's pace from one sprint to another. Our own estimate."""

MOST = 12
"""Sprints that tell the pace, the one begun last first: people change."""

_LISTED, _READ = 200, 24  # journals: the last written, and of these the ones begun last


@dataclass(frozen=True, slots=True)
class Brought:
    """What earlier sprints tell of a person. habits: as for `State.habits`."""

    pace: Pace
    habits: Mapping[str, tuple[int, int]]


def brought_along(folder: Path, *, without: Path | None = None) -> Brought:
    """What the journals in `folder` tell: the prior and no habit where they tell nothing.

    without: the journal of the sprint that is going on. What cannot be read is passed over.
    """
    earlier = [*_earlier(folder, without)]
    paces = [Pace(*one.pace) for one in earlier if one.pace is not None]
    return Brought(pace_from(paces[:MOST]), habits_from(earlier))


def pace_from(paces: Iterable[Pace]) -> Pace:
    """The pace of the next sprint after those of earlier ones."""
    own = Pace(PRIOR.log_mean, math.sqrt(PRIOR.log_sd**2 - BETWEEN**2))
    for pace in paces:
        own = own.after(pace.median, math.hypot(BETWEEN, pace.log_sd))
    return Pace(own.log_mean, math.hypot(own.log_sd, BETWEEN))


def _earlier(folder: Path, without: Path | None) -> Iterator[SummedUp]:
    """Ended sprints that count and were not rehearsed, the one begun last first."""
    seen = [
        one
        for one in list_folder(folder, _LISTED)
        if one.ended and not one.run.rehearsed and one.path != without
    ]
    seen.sort(key=lambda one: (one.run.started, str(one.path)), reverse=True)
    for one in deduplicate(seen)[:_READ]:
        try:
            summary = ended_sprint(one.path).summary
        except Refusal:
            continue
        if not summary.given_up:
            yield summary
