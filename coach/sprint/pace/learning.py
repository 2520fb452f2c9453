"""The person's pace, learnt from what this sprint shows so far; a function of the state alone.

A phase that is drawn is an observation; the more of its gate is closed, the more it says. A phase
that was begun and is not drawn gives two bounds, whether one is in it or not: it takes longer than
it took so far, and what its closed items show took no longer than until they were closed. The
second is loose, because people close items in bursts and now and then before they draw.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.sprint.pace.pace import NOISE, PRIOR, Pace
from coach.sprint.pace.plan import CHOOSING, used_of
from coach.sprint.pace.work import choosing, drawing_seconds, is_drawn, phase_work
from coach.sprint.state import State

CHOOSING_NOISE = 0.8
"""Log-sd of choosing parts about the pace of drawing: it is another kind of work. Our own
estimate, like the next."""

TICKS_NOISE = 0.5
"""Log-sd of what closed items say about the drawing behind them."""

LEAST_SHOWN = 0.2
"""The share of a phase that has to be closed before its items say anything of the pace."""

ELSEWHERE = 0.2
"""A phase that took less than this share of its expected time was drawn elsewhere."""

NOISE_AT = 600.0
"""Expected seconds of a phase for which NOISE holds: shorter ones say less, longer ones more."""

_NOISE_BETWEEN = (0.7, 2.0)  # times NOISE

_MOST_SURPRISE = 2.0
"""Standard deviations by which one observation may differ; more is counted as this much."""

_MOST_BY_TICKS = 1.0
"""The same of closed items: they can be ticked before anything is drawn."""


@dataclass(frozen=True, slots=True)
class Observation:
    """Work of one phase that is done: seconds over expected seconds, and how loosely it counts."""

    phase: str
    ratio: float
    noise: float


def observations(state: State, t: float) -> list[Observation]:
    """What the phases that are drawn say about the pace."""
    found = []
    if state.knowledge.get("parts_chosen") is not True:
        ratio = used_of(state, t, CHOOSING) / choosing(state).expected
        found.append(Observation(CHOOSING, ratio, CHOOSING_NOISE))
    for phase in state.setup.phases:
        if phase.id in state.drawn_before or not is_drawn(state, phase.id):
            continue
        piece = phase_work(state, t, phase.id)
        # Signed off says that it is whole; else its open rows are work that was left.
        part = 1.0 if phase.id in state.signed_off else piece.shown
        expected = piece.whole.expected * piece.keep * part
        if expected > 0:
            ratio = piece.spent / expected
            found.append(Observation(phase.id, ratio, noise_of(expected)))
    return [one for one in found if one.ratio >= ELSEWHERE]


def noise_of(expected: float) -> float:
    """Log-sd of what work of so many expected seconds says about the pace."""
    least, most = _NOISE_BETWEEN
    return NOISE * min(max(math.sqrt(NOISE_AT / expected), least), most)


def pace_of(state: State, t: float, prior: Pace = PRIOR) -> Pace:
    """The pace as known at elapsed time `t`, `prior` having been known before the sprint."""
    pace = prior
    for one in observations(state, t):
        wide = _MOST_SURPRISE * math.hypot(pace.log_sd, one.noise)
        surprise = math.log(one.ratio) - pace.log_mean
        # Choosing that went quickly may go on within the phases, and says nothing.
        if one.phase == CHOOSING and surprise <= 0:
            continue
        told = pace.log_mean + min(max(surprise, -wide), wide)
        pace = pace.after(math.exp(told), one.noise)
    return _with_unfinished_work(state, t, pace)


def _with_unfinished_work(state: State, t: float, pace: Pace) -> Pace:
    """The bounds that phases give that were begun and are not drawn."""
    if state.ended:
        return pace
    for phase in state.setup.phases:
        if phase.id in {*state.used, state.phase} and not is_drawn(state, phase.id):
            pace = _with_unfinished(state, t, pace, phase.id)
    return pace


def _with_unfinished(state: State, t: float, pace: Pace, phase: str) -> Pace:
    piece = phase_work(state, t, phase)
    expected = piece.whole.expected * piece.keep
    if expected <= 0:
        return pace
    if piece.shown >= LEAST_SHOWN:
        ticked = _until_ticked(state, t, phase)
        if ticked > 0:
            least = pace.log_mean - _MOST_BY_TICKS * math.hypot(pace.log_sd, TICKS_NOISE)
            ratio = max(ticked / (expected * piece.shown), math.exp(least))
            pace = pace.below(ratio, TICKS_NOISE)
    if piece.spent > 0:
        pace = pace.above(piece.spent / expected, noise_of(expected))
    return pace


def _until_ticked(state: State, t: float, phase: str) -> float:
    """Drawing seconds in a phase until an item of it was closed last."""
    since = used_of(state, t, phase) - state.ticked.get(phase, 0.0)
    return max(drawing_seconds(state, t, phase) - max(since, 0.0), 0.0)
