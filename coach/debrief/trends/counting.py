"""Counts over many sprints: each item, each phase, the forecasts, and whether it gets better.

Counts always, each with what it is out of and with Wilson's 95 % interval (pace/scoring.py),
because three of eight says little. Ranked by a cautious rate, (misses + 1) / (sprints + 9), in
which one miss in one sprint stays below three in eight. What a person forgot in one sprint and
again in a later one is told by counting the misses after the first.

Rehearsed sprints are counted apart from a person's own, and whether it gets better is asked of the
own ones alone: a simulated engineer learns nothing, and at another speed of the clock nobody works
as in life. A sprint given up at once is in no rate, no pace and no claim.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean, median, quantiles

from coach.debrief.trends.learning import LEAST, Curve, learning_curve
from coach.debrief.trends.line import About, FindingLine, ItemLine, MarkLine, SprintLine
from coach.sprint.pace.marks import MARKS
from coach.sprint.pace.scoring import brier, brier_of_base_rate, wilson
from coach.sprint.past.habits import LAST, is_habit
from phases.kit.items import CLOSING_ID

HALF = 0.5
"""Added to what was forgotten before its logarithm is taken, since none is a good number too.
Our own choice, common practice with counts."""


@dataclass(frozen=True, slots=True)
class ItemCount:
    """One item over many sprints, each number counting sprints but for `escapes`.

    sprints: that had it on the board, essentials only those in which its turn came. forgotten:
    of these; interval: of the true rate, None without a sprint. own: (forgotten, sprints) of the
    person's own. asked: sprints in which nobody ever said whether it is on the board; they are in
    no other number. again: misses after the first. recent: (missed, of) in the last eight sprints.
    dismissed: in which the person said that it is not on this board, and it was not at the end.
    escapes: late findings it let through. yours: a habit, which the
    next sprint names with its count.
    """

    item: str
    about: About
    sprints: int
    forgotten: int
    interval: tuple[float, float] | None
    own: tuple[int, int]
    asked: int
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

    @property
    def asked_first(self) -> bool:
        """Whether the next sprint asks it first; the closing list keeps the order of ordering."""
        return self.yours and self.about.phase != CLOSING_ID


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

    rehearsed: of these; faster: of the rehearsed ones, those of a person whose clock did not run
    as in life. given_up: sprints given up at once, which count in nothing here but `findings`.
    own: (sprints, accepted, forgotten, due) of the person's own. asked: essentials that were only
    asked, each in each sprint; forgotten: (essentials forgotten, due).
    pace, missing: learning curves of used over planned, and of the share of essentials forgotten,
    over the person's own sprints; None where there are fewer than two.
    """

    sprints: int
    rehearsed: int
    faster: int
    given_up: int
    own: tuple[int, int, int, int]
    asked: int
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
        """Whether there are sprints of the person's own enough to speak of better or worse."""
        return self.own[0] >= LEAST

    @property
    def mixed(self) -> bool:
        """Whether rehearsed sprints and the person's own are counted together."""
        return 0 < self.rehearsed < self.sprints

    @property
    def let_through(self) -> tuple[FindingLine, ...]:
        """Late findings that an item let through."""
        return tuple(one for one in self.findings if one.item)

    @property
    def strays(self) -> tuple[FindingLine, ...]:
        """Late findings that no item asks for."""
        return tuple(one for one in self.findings if not one.item and not one.made)

    @property
    def asked_now(self) -> tuple[FindingLine, ...]:
        """Late findings that no item asked for, and that a house rule asks for now."""
        return tuple(one for one in self.findings if not one.item and one.made)

    @property
    def statements(self) -> Mapping[str, str]:
        """What the items state, by id."""
        return {one.item: one.about.statement for one in self.items if one.about.statement}


def counted(lines: Sequence[SprintLine]) -> Trends:
    """The counts over these sprints, in whatever order they come."""
    every = sorted(lines, key=lambda one: (one.started, str(one.path)))
    lines = [one for one in every if not one.given_up]
    own = [one for one in lines if not one.rehearsed]
    forgotten, due = _forgotten(lines)
    return Trends(
        sprints=len(lines),
        rehearsed=len(lines) - len(own),
        faster=sum(one.rehearsed and one.speed != 1.0 for one in lines),
        given_up=len(every) - len(lines),
        own=(len(own), sum(one.accepted for one in own), *_forgotten(own)),
        asked=sum(i.asked for one in lines for i in one.items if one.is_essential(i.item)),
        accepted=sum(one.accepted for one in lines),
        in_time=sum(one.in_time for one in lines),
        first=lines[0].started if lines else None,
        last=lines[-1].started if lines else None,
        forgotten=(forgotten, due),
        items=_items(every),
        phases=_phases(lines),
        calibration=_calibration([mark for one in lines for mark in one.marks]),
        findings=tuple(finding for one in every for finding in one.findings),
        pace=learning_curve([one.pace for one in own if one.pace]),
        missing=learning_curve([(one.forgotten + HALF) / (one.due + 1) for one in own]),
    )


def _forgotten(lines: Sequence[SprintLine]) -> tuple[int, int]:
    return sum(one.forgotten for one in lines), sum(one.due for one in lines)


# ---- items -----------------------------------------------------------------------------------


def _items(every: Sequence[SprintLine]) -> tuple[ItemCount, ...]:
    """Each item over the sprints that count; of one given up at once, only the faults it let
    through."""
    lines = [one for one in every if not one.given_up]
    mine = [one for one in lines if not one.rehearsed]
    window, own = _missed(lines)[:LAST], _missed(mine)[:LAST]
    about: dict[str, About] = {}
    told: dict[str, list[ItemLine]] = {}
    told_own: dict[str, list[ItemLine]] = {}
    escapes: dict[str, int] = {}
    for one in every:  # a later header words an item as it is now
        about |= one.about
        for item in one.items:
            if item.escapes:
                escapes[item.item] = escapes.get(item.item, 0) + item.escapes
                told.setdefault(item.item, [])
            if one.given_up:
                continue
            told.setdefault(item.item, []).append(item)
            if not one.rehearsed:
                told_own.setdefault(item.item, []).append(item)
    found = []
    for name, of in told.items():
        known = about.get(name, About(name, "", "", False))
        misses = [one.forgotten > 0 for one in _trials(known, told_own.get(name, ()))]
        found.append(
            _item(
                name, known, of, recent=[one[name] for one in window if name in one],
                own=(sum(misses), len(misses)), escapes=escapes.get(name, 0),
                yours=is_habit([one.get(name) for one in own]),
            )
        )  # fmt: skip
    return tuple(sorted(found, key=_rank))


def _trials(about: About, of: Sequence[ItemLine]) -> list[ItemLine]:
    """The sprints an item counts in: that had it, of an essential those in which its turn came."""
    return [one for one in of if (one.due if about.essential else one.here)]


def _missed(lines: Sequence[SprintLine]) -> list[dict[str, bool]]:
    """For each sprint, the newest first: the essentials whose turn came, and whether missed."""
    return [{i.item: i.forgotten > 0 for i in one.items if i.due} for one in reversed(lines)]


def _rank(one: ItemCount) -> tuple[object, ...]:
    """Forgotten ones first, by the cautious rate; then what let faults through, or was late."""
    rate = one.cautious if one.forgotten else 0.0
    return (-rate, -one.escapes, -one.late, -one.waived, -one.dismissed, one.item)


def _item(
    item: str, about: About, of: Sequence[ItemLine], *, recent: Sequence[bool],
    own: tuple[int, int], escapes: int, yours: bool,
) -> ItemCount:  # fmt: skip
    """One item's count. of: its lines, the oldest sprint first."""
    missed = [one.forgotten > 0 for one in _trials(about, of)]

    def sprints(what: Callable[[ItemLine], int]) -> int:
        return sum(what(one) > 0 for one in of)

    return ItemCount(
        item=item,
        about=about,
        sprints=len(missed),
        forgotten=sum(missed),
        interval=wilson(sum(missed), len(missed)) if missed and about.essential else None,
        own=own,
        asked=sprints(lambda one: one.asked if not one.here else 0),
        again=max(sum(missed) - 1, 0),
        recent=(sum(recent), len(recent)),
        late=sprints(lambda one: one.late),
        waived=sprints(lambda one: one.waived),
        reopened=sprints(lambda one: one.reopened),
        dismissed=sprints(lambda one: one.dismissed),
        escapes=escapes,
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
