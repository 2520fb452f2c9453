"""Counts over many sprints: each item, each phase, the forecasts, and whether it gets better.

Counts always, each with what it is out of and with Wilson's 95 % interval (pace/scoring.py),
because three of eight says little. Ranked by a cautious rate, (misses + 1) / (sprints + 9), in
which one miss in one sprint stays below three in eight. What a person forgot in one sprint and
again in a later one is told by counting the misses after the first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean, median, quantiles

from coach.debrief.trends.learning import LEAST, Curve, learning_curve
from coach.debrief.trends.line import About, FindingLine, ItemLine, MarkLine, SprintLine
from coach.sprint.pace.marks import MARKS
from coach.sprint.pace.scoring import brier, brier_of_base_rate, wilson
from coach.sprint.past.habits import LAST, is_habit

HALF = 0.5
"""Added to what was forgotten before its logarithm is taken, since none is a good number too.
Our own choice, common practice with counts."""


@dataclass(frozen=True, slots=True)
class ItemCount:
    """One item over many sprints, each number counting sprints but for `escapes`.

    sprints: that had it on the board, essentials only those in which its turn came. forgotten:
    of these; interval: of the true rate, None without a sprint. again: misses after the first.
    recent: (missed, of) in the last eight sprints. dismissed: in which the person said that
    it is not on this board, and it was not at the end. escapes: late findings it let through.
    yours: what the next sprint asks first.
    """

    item: str
    about: About
    sprints: int
    forgotten: int
    interval: tuple[float, float] | None
    again: int
    recent: tuple[int, int]
    late: int
    waived: int
    reopened: int
    dismissed: int
    escapes: int
    yours: bool

    @property
    def cautious(self) -> float:
        """The rate it is ranked by."""
        return cautious(self.forgotten, self.sprints)


def cautious(misses: int, trials: int) -> float:
    """A miss rate that a single sprint cannot make high: a weak prior of one in nine."""
    return (misses + 1) / (trials + 9)


@dataclass(frozen=True, slots=True)
class PhaseCount:
    """Used over planned of one phase, over the sprints in which it was drawn. middle, low, high:
    median and quartiles. used, planned: medians, seconds."""

    phase: str
    name: str
    sprints: int
    middle: float
    low: float
    high: float
    used: float
    planned: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """The forecasts kept at one mark (0: at all marks together).

    happened: in how many all essentials were there in time; chance: what was said of it, on
    average. brier: score of the chances, base: of always saying how often it happened. covered,
    judged: how many 80 % bands held the finish, of those that can be told; interval: of the true
    share, None at all marks together, because the forecasts of one sprint are no separate trials.
    loss: mean pinball loss of the two ends of a band together, seconds.
    """

    mark: int
    forecasts: int
    happened: int
    chance: float
    brier: float
    base: float
    covered: int
    judged: int
    interval: tuple[float, float] | None
    loss: float | None


@dataclass(frozen=True, slots=True)
class Trends:
    """What the sprints say together. first, last: their starts, None without any.

    pace, missing: learning curves of used over planned, and of the share of essentials forgotten;
    None where there are fewer than two sprints. paces: how many sprints had a pace.
    """

    sprints: int
    rehearsed: int
    accepted: int
    in_time: int
    first: datetime | None
    last: datetime | None
    forgotten: tuple[int, int]
    items: tuple[ItemCount, ...]
    phases: tuple[PhaseCount, ...]
    calibration: tuple[Calibration, ...]
    findings: tuple[FindingLine, ...]
    pace: Curve | None
    missing: Curve | None

    @property
    def enough(self) -> bool:
        """Whether there are sprints enough to speak of better or worse."""
        return self.sprints >= LEAST

    @property
    def strays(self) -> tuple[FindingLine, ...]:
        """Late findings that no item asks for."""
        return tuple(one for one in self.findings if not one.item)


def counted(lines: Sequence[SprintLine]) -> Trends:
    """The counts over these sprints, in whatever order they come."""
    lines = sorted(lines, key=lambda one: (one.started, str(one.path)))
    return Trends(
        sprints=len(lines),
        rehearsed=sum(one.rehearsed for one in lines),
        accepted=sum(one.accepted for one in lines),
        in_time=sum(one.in_time for one in lines),
        first=lines[0].started if lines else None,
        last=lines[-1].started if lines else None,
        forgotten=(sum(one.forgotten for one in lines), sum(one.due for one in lines)),
        items=_items(lines),
        phases=_phases(lines),
        calibration=_calibration([mark for one in lines for mark in one.marks]),
        findings=tuple(finding for one in lines for finding in one.findings),
        pace=learning_curve([one.pace for one in lines if one.pace]),
        missing=learning_curve([(one.forgotten + HALF) / (one.due + 1) for one in lines]),
    )


# ---- items -----------------------------------------------------------------------------------


def _items(lines: Sequence[SprintLine]) -> tuple[ItemCount, ...]:
    window = _missed(lines)[:LAST]
    own = _missed([one for one in lines if not one.rehearsed])[:LAST]
    about: dict[str, About] = {}
    told: dict[str, list[ItemLine]] = {}
    for one in lines:  # a later header words an item as it is now
        about |= one.about
        for item in one.items:
            told.setdefault(item.item, []).append(item)
    found = []
    for name, of in told.items():
        recent = [one[name] for one in window if name in one]
        yours = is_habit([one.get(name) for one in own])
        known = about.get(name, About(name, "", "", False))
        found.append(_item(name, known, of, recent=recent, yours=yours))
    return tuple(sorted(found, key=_rank))


def _missed(lines: Sequence[SprintLine]) -> list[dict[str, bool]]:
    """For each sprint, the newest first: the essentials whose turn came, and whether missed."""
    return [{i.item: i.forgotten > 0 for i in one.items if i.due} for one in reversed(lines)]


def _rank(one: ItemCount) -> tuple[object, ...]:
    """Forgotten ones first, by the cautious rate; then what let faults through, or was late."""
    rate = one.cautious if one.forgotten else 0.0
    return (-rate, -one.escapes, -one.late, -one.waived, -one.dismissed, one.item)


def _item(
    item: str, about: About, of: Sequence[ItemLine], *, recent: Sequence[bool], yours: bool
) -> ItemCount:
    """One item's count. of: its lines, the oldest sprint first."""
    trials = [one for one in of if (one.due if about.essential else one.here)]
    missed = [one.forgotten > 0 for one in trials]

    def sprints(what: Callable[[ItemLine], int]) -> int:
        return sum(what(one) > 0 for one in of)

    return ItemCount(
        item=item,
        about=about,
        sprints=len(trials),
        forgotten=sum(missed),
        interval=wilson(sum(missed), len(missed)) if missed and about.essential else None,
        again=max(sum(missed) - 1, 0),
        recent=(sum(recent), len(recent)),
        late=sprints(lambda one: one.late),
        waived=sprints(lambda one: one.waived),
        reopened=sprints(lambda one: one.reopened),
        dismissed=sprints(lambda one: one.dismissed),
        escapes=sum(one.escapes for one in of),
        yours=yours,
    )


# ---- phases ----------------------------------------------------------------------------------


def _phases(lines: Sequence[SprintLine]) -> tuple[PhaseCount, ...]:
    names: dict[str, str] = {}
    order: dict[str, None] = {}
    for one in lines:
        names |= one.names
        order |= {phase.phase: None for phase in one.phases}
    found = []
    for phase in order:
        drawn = [
            p for one in lines for p in one.phases if p.phase == phase and p.pace is not None
        ]  # fmt: skip
        if not drawn:
            continue
        paces = [p.pace for p in drawn if p.pace is not None]
        low, high = _quartiles(paces)
        found.append(
            PhaseCount(
                phase, names.get(phase, phase), len(paces), median(paces), low, high,
                median(p.used for p in drawn), median(p.planned for p in drawn),
            )
        )  # fmt: skip
    return tuple(found)


def _quartiles(values: Sequence[float]) -> tuple[float, float]:
    if len(values) == 1:
        return values[0], values[0]
    low, _, high = quantiles(values, n=4, method="inclusive")
    return low, high


# ---- forecasts -------------------------------------------------------------------------------


def _calibration(marks: Iterable[MarkLine]) -> tuple[Calibration, ...]:
    every = list(marks)
    found = [_judged(mark, [one for one in every if one.mark == mark]) for mark in MARKS]
    return tuple(one for one in (*found, _judged(0, every)) if one is not None)


def _judged(mark: int, ones: Sequence[MarkLine]) -> Calibration | None:
    if not ones:
        return None
    told = [one.covered for one in ones if one.covered is not None]
    losses = [one.loss for one in ones if one.loss is not None]
    return Calibration(
        mark=mark,
        forecasts=len(ones),
        happened=sum(one.happened for one in ones),
        chance=fmean(one.chance for one in ones),
        brier=brier((one.chance, one.happened) for one in ones),
        base=brier_of_base_rate([one.happened for one in ones]),
        covered=sum(told),
        judged=len(told),
        interval=wilson(sum(told), len(told)) if told and mark else None,
        loss=fmean(losses) if losses else None,
    )
