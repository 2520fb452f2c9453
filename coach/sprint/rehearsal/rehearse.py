"""A rehearsal: a simulated engineer works through a whole sprint, in seconds.

For trying the coach, for sample journals and for tests. The engineer gives the same commands a
person gives, so that a rehearsal goes the same road; how long things really take and what is
forgotten is the engineer's own truth (ground_truth.py) and knows nothing of any forecast.
The same brief, seed, pace and forgetfulness give the same journal, byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach.sprint.brief.document import Brief
from coach.sprint.clock import ManualClock
from coach.sprint.cut_off import after, cut_off
from coach.sprint.gates.gates import open_essentials
from coach.sprint.rehearsal.engineer import PATIENCE, Engineer
from coach.sprint.rehearsal.ground_truth import GroundTruth
from coach.sprint.session import start_sprint
from coach.sprint.state import MET, WAIVED, State
from phases.kit.refusals import Refusal

DEFAULT_PACE = 1.2
DEFAULT_FORGET = 0.05
_PACES = (0.1, 10.0)

_BEGIN = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
_BEFORE_A_CUT_OFF = 120.0  # minutes


@dataclass(frozen=True, slots=True)
class Report:
    """What came of a rehearsal.

    forgotten: keys of the items that were left out on purpose and are still open.
    late: keys of the items it closed later than it could have: passed over with their phase and
    closed when another was worked in, or closed after the cut-off. waived: reasons by key.
    open_essentials: keys of every essential still open, worst first. elapsed, deadline: seconds.
    pace: how much longer drawing really took than at pace 1. state: as the journal leaves it.
    """

    path: Path
    forgotten: tuple[str, ...]
    late: tuple[str, ...]
    waived: Mapping[str, str]
    open_essentials: tuple[str, ...]
    accepted: bool
    elapsed: float
    deadline: float
    events: int
    pace: float
    state: State


def rehearse(
    brief: Brief,
    *,
    seed: int = 1,
    pace: float = DEFAULT_PACE,
    forget: float = DEFAULT_FORGET,
    overlook: float = 0.0,
    burst: float = 3.0,
    patience: float = PATIENCE,
    path: Path,
) -> Report:
    """Works through `brief` and leaves the journal at `path`.

    pace: about how much longer drawing takes this engineer than at pace 1. forget: the chance
    that an item is simply not thought of; overlook: that it is passed over with its phase and
    found by a later walk. burst: about how many items are ticked at a time. patience: seconds
    after the cut-off when it is given up. Raises Refusal for values that mean nothing, and where
    the journal cannot be made.
    """
    if not _PACES[0] <= pace <= _PACES[1]:
        raise Refusal(f"Nobody works at a pace of {pace:g}", do="Give 0.1 to 10, as in 1.3")
    for chance in (forget, overlook):
        if not 0.0 <= chance <= 1.0:
            raise Refusal(f"{chance:g} is not a probability", do="Give 0 to 1, as in 0.1")
    clock = ManualClock(_begin(brief, seed))
    truth = GroundTruth(seed, pace, forget, overlook=overlook, burst=burst)
    with start_sprint(brief, path, clock, rehearsed=True) as session:
        engineer = Engineer(session, clock, truth, patience)
        engineer.work()
        state = session.state
        return Report(
            path=path,
            forgotten=tuple(k for k in engineer.forgotten if _still_open(state, k)),
            late=tuple(k for k in engineer.late if _is_closed(state, k)),
            waived={k: why for k, why in engineer.waived.items() if _is_closed(state, k)},
            open_essentials=tuple(row.key for row in open_essentials(state)),
            accepted=state.accepted,
            elapsed=state.ended_at or state.t,
            deadline=state.deadline,
            events=len(session.history),
            pace=truth.pace,
            state=state,
        )


def _still_open(state: State, key: str) -> bool:
    row = state.by_key.get(key)
    return row is not None and not row.closed


def _is_closed(state: State, key: str) -> bool:
    row = state.by_key.get(key)
    return row is not None and row.status in (MET, WAIVED)


def _begin(brief: Brief, seed: int) -> datetime:
    """A fixed morning, a week later for each seed, or two hours and the reserve before the brief's
    own cut-off."""
    deadline, morning = brief.deadline, _BEGIN + timedelta(weeks=(seed - 1) % 52)
    if deadline.cut_off is None:
        return morning
    try:
        instant = cut_off(deadline.cut_off, morning, deadline.zone)
    except Refusal:  # a date before that morning
        instant = cut_off(deadline.cut_off, _LONG_AGO, deadline.zone)
    return after(instant, -60 * (_BEFORE_A_CUT_OFF + deadline.reserve))
