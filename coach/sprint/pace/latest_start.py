"""Latest starts: a backward pass from the cut-off over what is left.

One person works, so that the work is a chain. Its order is that of dependence: phases as they
come, a skipped essential before the first stage that builds on it, else before the closing list;
where several stand together the worst is first. From the end of the chain each piece is taken
off: the moment that leaves is the last at which it can be begun, all else still being done.
Latest start = latest finish - time it takes (the backward pass of the critical path method;
Anderson, Sweeney, Williams, An Introduction to Management Science, chapter 9).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coach.sprint.gates.gates import by_severity
from coach.sprint.pace.plan import CHOOSING
from coach.sprint.pace.work import Work, work_of
from coach.sprint.state import Row, State
from phases.kit.items import CLOSING_ID, Stage

_PLACING = "layout"
_LABELLING = "labelling"


@dataclass(frozen=True, slots=True)
class LatestStart:
    """When an open essential must be begun at the latest. row: as it stood. at: elapsed seconds.
    takes: seconds of what has to be begun: the item itself, or what is left to draw of its phase.
    with_phase: it is begun with its phase, which is still to come."""

    row: Row
    at: float
    takes: float
    with_phase: bool


@dataclass(frozen=True, slots=True)
class _Link:
    """One piece of the chain: a phase with its essentials, or one skipped essential. ahead:
    the phase was not begun yet, and its essentials are begun with it."""

    takes: float
    rows: tuple[Row, ...]
    phase: str = ""
    ahead: bool = False


def latest_starts(
    state: State, t: float, pace: float, work: Work | None = None
) -> tuple[LatestStart, ...]:
    """The latest start of every open essential that is not being worked on, the first one first.

    pace: at which drawing goes on. The reserve is held: work ends where it begins.
    """
    if state.ended:
        return ()
    work = work or work_of(state, t)
    finish = work_ends(state, t, work)
    found: list[LatestStart] = []
    for link in reversed(_chain(state, work, pace)):
        finish -= link.takes
        if link.phase != state.phase or not link.phase:
            found += [
                LatestStart(row, finish, link.takes, link.ahead) for row in reversed(link.rows)
            ]
    return tuple(reversed(found))


def work_ends(state: State, t: float, work: Work) -> float:
    """Elapsed time by which all but the closing list has to be done."""
    reserve = state.setup.reserve
    held = reserve if t < state.deadline - reserve else 0.0
    return state.deadline - max(held, work.closing_seconds)


def _chain(state: State, work: Work, pace: float) -> list[_Link]:
    """What is left in the order of work, without the closing list."""
    skipped = _skipped(state, work, pace)
    on_schematic = [link for link in skipped if link.rows[0].item.stage == Stage.SCHEMATIC]
    chain: list[_Link] = []
    if work.piece(CHOOSING):
        chain.append(_phase(state, work, CHOOSING, pace))
    order = [*state.setup.phase_ids]
    if state.phase in order:
        order = [state.phase, *(phase for phase in order if phase != state.phase)]
    for phase in order:
        before = {_PLACING: (Stage.PLACEMENT, on_schematic), _LABELLING: (Stage.FILES, skipped)}
        stage, links = before.get(phase, (Stage.SCHEMATIC, []))
        if phase != state.phase and stage not in state.stages:
            chain += _without(links, chain)
        chain.append(_phase(state, work, phase, pace))
    return [*chain, *_without(skipped, chain)]


def _skipped(state: State, work: Work, pace: float) -> list[_Link]:
    """What was left open in phases that are drawn, worst first. Together those of a phase take no
    longer than the forecast counts for them."""
    takes: dict[str, float] = {}
    for one in work.left_open:
        share = one.expected(pace) / one.open.expected if one.open.expected else 0.0
        takes |= {key: 60 * state.by_key[key].item.left_out_min * share for key in one.keys}
    rows = by_severity([state.by_key[key] for key in takes])
    return [_Link(takes[row.key], (row,)) for row in rows]


def _without(links: Iterable[_Link], chain: Iterable[_Link]) -> list[_Link]:
    placed = {row.key for link in chain for row in link.rows}
    return [link for link in links if link.rows[0].key not in placed]


def _phase(state: State, work: Work, phase: str, pace: float) -> _Link:
    """The drawing of a phase with its walk; without drawing, what is confirmed in a walk."""
    piece = work.piece(phase)
    behind_it = {key for one in work.left_open for key in one.keys}
    rows = [
        row
        for row in (state.rows_of(phase) if phase else ())
        if row.essential
        and not row.closed
        and row.key not in behind_it
        and row.item.phase != CLOSING_ID
    ]
    walk = sum(row.item.confirm_s for row in rows)
    drawing = piece.expected(pace) if piece else 0.0
    ahead = piece is not None and not piece.spent
    return _Link(drawing + walk, tuple(by_severity(rows)), phase, ahead)
