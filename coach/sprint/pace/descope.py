"""What to drop so that all essentials are in by the cut-off with the chance that is wanted.

More checks first, then optional features with their items; never a gate item. Of all sets
that restore the chance the cheapest: fewest points of features, then the fewest and least
severe more checks. The choice is chance-constrained over the very draws of the forecast, and
exact: a set restores the chance if at least the wanted share of draws fit the time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from coach.sprint.chances import in_ten
from coach.sprint.commands import Command, Defer, DropFeature
from coach.sprint.durations import duration
from coach.sprint.pace.finishing import Draws
from coach.sprint.pace.work import Work, further_share, work_of
from coach.sprint.rules.decide import provisional, rule_of
from coach.sprint.rules.rule import CommandContext
from coach.sprint.state import Row, State
from phases.kit.arrays import Array
from phases.kit.grammar import capital, count, listed
from phases.kit.items import Severity
from phases.kit.refusals import Refusal

Cost = tuple[float, ...]
"""What dropping costs, the dearest kind first; compared in that order."""

_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that can be dropped, and what that buys by itself.

    feature: its id, "" for more checks. items: keys of the more checks. points: what a
    feature counts in the brief. seconds: expected, bought. chance: of all essentials in time with
    this alone dropped.
    """

    title: str
    feature: str
    items: tuple[str, ...]
    points: int
    seconds: float
    chance: float
    cost: Cost

    @property
    def command(self) -> Command:
        """What drops it."""
        return DropFeature(self.feature) if self.feature else Defer(self.items)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What could be dropped, and what to drop.

    options: everything that can go. chosen: the cheapest of them that restore the chance; all of
    them where nothing does. chance: with these dropped. short: seconds that are missing then for
    the chance that is wanted, 0 where it is restored.
    """

    wanted: float
    options: tuple[Option, ...]
    chosen: tuple[Option, ...]
    chance: float
    short: float

    @property
    def restores(self) -> bool:
        return self.short <= 0

    @property
    def points(self) -> int:
        return sum(option.points for option in self.chosen)

    @property
    def message(self) -> str:
        """What to drop and what comes of it, in a sentence."""
        short = duration(max(self.short, 60.0))
        if not self.options:
            return f"Nothing is left to drop: short by {short}."
        checks = sum(len(option.items) for option in self.chosen)
        parts = [f"defer {count(checks, 'more check')}"] if checks else []
        parts += [f"drop {o.title} ({count(o.points, 'point')})" for o in self.chosen if o.feature]
        what = listed(parts, len(parts))
        if self.restores:
            return f"{capital(what)}: chance {in_ten(self.chance)}."
        return f"Short by {short} even if you {what}."


def propose(
    state: State, t: float, work: Work, draws: Draws, *, wanted: float | None = None
) -> Proposal:
    """What to drop at elapsed time `t` for the chance that the brief asks, or another one."""
    import numpy as np

    threshold = state.setup.brief.deadline.threshold if wanted is None else wanted
    left = state.deadline - t
    offered = list(_offered(state, t, work, draws))
    found = cheapest(
        draws.essentials,
        [saved for _, saved in offered],
        [o.cost for o, _ in offered],
        left,
        threshold,
    )
    chosen = range(len(offered)) if found is None else found
    finish = draws.essentials - sum((offered[i][1] for i in chosen), np.zeros(1))
    short = 0.0
    if found is None:
        short = max(float(np.quantile(finish, threshold, method="higher")) - left, 1.0)
    return Proposal(
        threshold,
        tuple(o for o, _ in offered),
        tuple(offered[i][0] for i in chosen),
        float((finish <= left + _SLACK).mean()),
        short,
    )


# ---- what can go -----------------------------------------------------------------------------


def _offered(state: State, t: float, work: Work, draws: Draws) -> Iterable[tuple[Option, Array]]:
    """Each option with the seconds it saves in every draw; only those that save something."""
    left = state.deadline - t
    for option, saved in (*_further_items(state, work, draws), *_features(state, t, work, draws)):
        seconds = float(saved.mean())
        if seconds > 0:
            chance = float((draws.essentials - saved <= left + _SLACK).mean())
            yield replace(option, seconds=seconds, chance=chance), saved


def _further_items(state: State, work: Work, draws: Draws) -> Iterable[tuple[Option, Array]]:
    """The more checks of each phase that is to be drawn, those of one severity together."""
    for piece in work.drawing:
        if not piece.phase or piece.keep <= 0:
            continue
        there = [row for row in state.rows_of(piece.phase) if _can_go(row)]
        for severity in (Severity.REWORK, Severity.DEGRADED):
            rows = [row for row in there if row.item.severity == severity]
            if not rows:
                continue
            phase = state.setup.phase(piece.phase).name
            title = f"{count(len(rows), 'more check')} of {phase} ({severity})"
            cost = (0.0, 0.0, *_counts(severity, len(rows)))
            share = further_share(state, piece.phase, rows) / piece.keep
            keys = tuple(row.key for row in rows)
            yield Option(title, "", keys, 0, 0.0, 0.0, cost), draws.drawing[piece.phase] * share


def _features(state: State, t: float, work: Work, draws: Draws) -> Iterable[tuple[Option, Array]]:
    """The optional features that the rules let go, with what the board would be without them."""
    for feature in state.setup.brief.features:
        if feature.required or feature.id in state.dropped:
            continue
        after = _after(state, t, DropFeature(feature.id))
        if after is not None:
            cost = (float(feature.points), 1.0, 0.0, 0.0)
            option = Option(feature.title, feature.id, (), feature.points, 0.0, 0.0, cost)
            yield option, _saved(work, work_of(after, t), draws)


def _can_go(row: Row) -> bool:
    return not row.essential and not row.closed and not row.deferred


def _counts(severity: Severity, number: int) -> tuple[float, float]:
    return (number, 0.0) if severity == Severity.DEGRADED else (0.0, number)


def _after(state: State, t: float, command: Command) -> State | None:
    """The state as it would be; None where the rules refuse it, because something hangs on it."""
    context = CommandContext(t, datetime.fromtimestamp(0, UTC), ())
    try:
        events, _ = rule_of(command)(state, command, context)
    except Refusal:
        return None
    return provisional(state, *events)


def _saved(before: Work, after: Work, draws: Draws) -> Array:
    """Seconds that every draw is shorter by: the share of each phase's drawing that goes, that of
    what was left open in it, and the seconds of walks."""
    import numpy as np

    saved = np.full(len(draws.essentials), before.walks - after.walks)
    still = {one.phase: one.open.expected for one in after.left_open}
    for one in before.left_open:
        gone = 1 - still.pop(one.phase, 0.0) / one.open.expected
        saved += draws.left_open[one.phase] * max(gone, 0.0)
    saved -= sum(still.values())  # of a phase that is drawn, now that less of it is asked for
    for piece in before.drawing:
        now = after.piece(piece.phase)
        gone = 1 - (now.keep if now else 0.0) / piece.keep if piece.keep > 0 else 0.0
        if gone > 0:
            saved += draws.drawing[piece.phase] * gone
    return saved


# ---- the choice ------------------------------------------------------------------------------


def cheapest(
    finish: Array, saved: Sequence[Array], costs: Sequence[Cost], left: float, wanted: float
) -> tuple[int, ...] | None:
    """Indexes of the cheapest set whose dropping makes `wanted` of the draws finish within `left`.

    finish, saved: seconds, a value a draw. costs: not negative, compared as tuples of sums. None
    where no set does. Branch and bound, the dearest decided first and kept if it can be: since
    dropping more never lowers the chance, a branch is cut where dropping all that is left would
    not do, and where it costs as much as the best so far.
    """
    import numpy as np

    order = sorted(range(len(costs)), key=lambda i: costs[i], reverse=True)
    rest = [np.zeros_like(finish)]
    for index in reversed(order):
        rest.append(rest[-1] + saved[index])
    rest.reverse()
    needed = finish - left - _SLACK
    best: tuple[Cost, tuple[int, ...]] | None = None
    nothing: Cost = tuple(0.0 for _ in costs[0]) if costs else ()
    stack: list[tuple[int, Array, Cost, tuple[int, ...]]] = [(0, needed, nothing, ())]
    while stack:
        at, needed, cost, chosen = stack.pop()
        if best is not None and cost >= best[0]:
            continue
        if _fits(needed, 0.0) >= wanted:
            best = (cost, chosen)
            continue
        if at == len(order) or _fits(needed, rest[at]) < wanted:
            continue
        index = order[at]
        with_it = tuple(a + b for a, b in zip(cost, costs[index], strict=True))
        stack.append((at + 1, needed - saved[index], with_it, (*chosen, index)))
        stack.append((at + 1, needed, cost, chosen))
    return None if best is None else tuple(sorted(best[1]))


def _fits(needed: Array, saved: Array | float) -> float:
    """The share of draws in which what is saved makes up for what is needed."""
    return float((needed <= saved).mean())
