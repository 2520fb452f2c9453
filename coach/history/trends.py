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

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median, quantiles

from coach.history.ended import EndedSprint
from coach.history.habits import LAST, is_habit, missed
from coach.history.learning_curve import LEAST, Curve, learning_curve
from coach.sprint.events.summary import ItemOutcome, LateFinding, PhaseOutcome, SummedUp
from coach.sprint.pace.plan import CHOOSING
from coach.sprint.pace.scoring import Calibration, calibration_of, wilson
from phases.kit.items import CLOSING_ID, Item

LEAST_PHASES = 3
"""Phases that must have been drawn for a sprint to have a pace."""

HALF = 0.5
"""Added to what was forgotten before its logarithm is taken, since none is a good number too.
Our own choice, common practice with counts."""


@dataclass(frozen=True, slots=True)
class About:
    """What an item is, as the last header that has it says."""

    statement: str
    phase: str = ""
    severity: str = ""
    essential: bool = False


@dataclass(frozen=True, slots=True)
class ItemCount:
    """One item over many sprints; each number counts sprints, but for `escapes`."""

    item: str
    about: About
    sprints: int
    """That had it on the board; of an essential, those in which its turn came."""
    forgotten: int
    """Of these."""
    interval: tuple[float, float] | None
    """Of the true rate; None without a sprint, and for one of the more checks."""
    own: tuple[int, int]
    """Forgotten, and sprints, of the person's own."""
    asked: int
    """In which nobody ever said whether it is on the board; they are in no other number."""
    again: int
    """Misses after the first."""
    recent: tuple[int, int]
    """Missed, and of how many, in the last eight sprints."""
    late: int
    waived: int
    reopened: int
    dismissed: int
    """In which the person said that it is not on this board, and it was not at the end."""
    escapes: int
    """Late findings it let through."""
    yours: bool
    """A habit, which the next sprint names with its count."""

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
    """Used over planned of one phase, over the sprints in which it was drawn."""

    phase: str
    name: str
    sprints: int
    middle: float
    """The median, between the quartiles."""
    low: float
    high: float
    used: float
    """Median, in seconds."""
    planned: float


@dataclass(frozen=True, slots=True)
class Trends:
    """What the sprints say together. Those given up at once count in nothing but `findings`."""

    sprints: int
    rehearsed: int
    """Of these."""
    faster: int
    """Of the rehearsed ones, those of a person whose clock did not run as in life."""
    given_up: int
    own: tuple[int, int, int, int]
    """Of the person's own: sprints, accepted, forgotten, due."""
    asked: int
    """Essentials that were only asked, each in each sprint."""
    accepted: int
    in_time: int
    first: datetime | None
    last: datetime | None
    """Starts of the first and the last one."""
    forgotten: tuple[int, int]
    """Essentials forgotten, and due."""
    items: tuple[ItemCount, ...]
    phases: tuple[PhaseCount, ...]
    calibration: tuple[Calibration, ...]
    findings: tuple[LateFinding, ...]
    pace: Curve | None
    """The learning curve of used over planned of the person's own; None for fewer than two."""
    missing: Curve | None
    """The same of the share of essentials forgotten."""

    @property
    def enough_for_a_trend(self) -> bool:
        """Whether there are sprints of the person's own enough to speak of better or worse."""
        return self.own[0] >= LEAST

    @property
    def mixed(self) -> bool:
        """Whether rehearsed sprints and the person's own are counted together."""
        return 0 < self.rehearsed < self.sprints


def trends_of(sprints: Iterable[EndedSprint]) -> Trends:
    """The counts over these sprints, in whatever order they come."""
    every = sorted(sprints, key=lambda one: (one.run.started, str(one.path)))
    counting = [one for one in every if not one.summary.given_up]
    own = [one for one in counting if one.own]
    figures, of_own = [one.summary for one in counting], [one.summary for one in own]
    paces = [pace for pace in map(pace_drawn, of_own) if pace]
    return Trends(
        sprints=len(counting),
        rehearsed=len(counting) - len(own),
        faster=sum(one.run.speed != 1.0 for one in counting),
        given_up=len(every) - len(counting),
        own=(len(own), sum(one.accepted for one in of_own), *_forgotten(of_own)),
        asked=sum(_only_asked(one) for one in counting),
        accepted=sum(one.accepted for one in figures),
        in_time=sum(one.in_time for one in figures),
        first=counting[0].run.started if counting else None,
        last=counting[-1].run.started if counting else None,
        forgotten=_forgotten(figures),
        items=_items(every, counting, own),
        phases=_phases(figures),
        calibration=calibration_of([one for summary in figures for one in summary.forecasts]),
        findings=tuple(found for one in every for found in one.summary.findings),
        pace=learning_curve(paces),
        missing=learning_curve([(one.forgotten + HALF) / (one.due + 1) for one in of_own]),
    )


def pace_drawn(summary: SummedUp) -> float | None:
    """Seconds used over seconds planned of the phases that were drawn; None for too few."""
    drawn = [
        one
        for one in summary.phases
        if one.phase not in (CHOOSING, CLOSING_ID) and one.pace is not None
    ]
    if len(drawn) < LEAST_PHASES:
        return None
    return sum(one.used for one in drawn) / sum(one.planned for one in drawn)


def _forgotten(figures: Sequence[SummedUp]) -> tuple[int, int]:
    return sum(one.forgotten for one in figures), sum(one.due for one in figures)


def _only_asked(one: EndedSprint) -> int:
    """Essentials of a sprint of which nobody said whether they are on the board."""
    asked = ((item, went.asked) for item, went in one.summary.by_item.items() if went.asked)
    return sum(number for item, number in asked if item in one.items and one.items[item].essential)


# ---- items -----------------------------------------------------------------------------------


def _items(
    every: Sequence[EndedSprint], counting: Sequence[EndedSprint], own: Sequence[EndedSprint]
) -> tuple[ItemCount, ...]:
    """Each item over the sprints that count; of one given up at once, only the faults it let
    through."""
    known: dict[str, Item] = {}
    for one in every:  # a later header words an item as it is now
        known |= one.items
    escapes = Counter(found.item for one in every for found in one.summary.findings if found.item)
    went: dict[str, list[ItemOutcome]] = {item: [] for item in escapes}
    own_went: dict[str, list[ItemOutcome]] = {}
    for one in counting:
        for item, how in one.summary.by_item.items():
            went.setdefault(item, []).append(how)
            if one.own:
                own_went.setdefault(item, []).append(how)
    window, own_window = _last(counting), _last(own)
    found = [
        _item(
            _about(item, known),
            item,
            of,
            own_went.get(item, ()),
            recent=[one[item] for one in window if item in one],
            escapes=escapes[item],
            yours=is_habit([one.get(item) for one in own_window]),
        )
        for item, of in went.items()
    ]
    return tuple(sorted(found, key=_rank))


def _about(item: str, known: Mapping[str, Item]) -> About:
    if item not in known:
        return About(item)
    one = known[item]
    return About(one.statement, one.phase, str(one.severity), one.essential)


def _last(sprints: Sequence[EndedSprint]) -> list[Mapping[str, bool]]:
    """Of the last sprints, the newest first: the essentials whose turn came, and whether missed."""
    return [missed(one.summary) for one in reversed(sprints[-LAST:])]


def _rank(one: ItemCount) -> tuple[object, ...]:
    """Forgotten ones first, by the cautious rate; then what let faults through, or was late."""
    rate = one.cautious if one.forgotten else 0.0
    return (-rate, -one.escapes, -one.late, -one.waived, -one.dismissed, one.item)


def _item(
    about: About,
    item: str,
    went: Sequence[ItemOutcome],
    own: Sequence[ItemOutcome],
    *,
    recent: Sequence[bool],
    escapes: int,
    yours: bool,
) -> ItemCount:
    def misses(ones: Sequence[ItemOutcome]) -> list[bool]:
        """Of the sprints that had it; of an essential, of those in which its turn came."""
        return [one.forgotten > 0 for one in ones if (one.due if about.essential else one.here)]

    def sprints(what: Callable[[ItemOutcome], int]) -> int:
        return sum(what(one) > 0 for one in went)

    all_misses, own_misses = misses(went), misses(own)
    forgotten, trials = sum(all_misses), len(all_misses)
    return ItemCount(
        item=item,
        about=about,
        sprints=trials,
        forgotten=forgotten,
        interval=wilson(forgotten, trials) if trials and about.essential else None,
        own=(sum(own_misses), len(own_misses)),
        asked=sprints(lambda one: one.asked if not one.here else 0),
        again=max(forgotten - 1, 0),
        recent=(sum(recent), len(recent)),
        late=sprints(lambda one: one.late),
        waived=sprints(lambda one: one.waived),
        reopened=sprints(lambda one: one.reopened),
        dismissed=sprints(lambda one: one.dismissed),
        escapes=escapes,
        yours=yours,
    )


# ---- phases ----------------------------------------------------------------------------------


def _phases(figures: Sequence[SummedUp]) -> tuple[PhaseCount, ...]:
    drawn: dict[str, list[PhaseOutcome]] = {}
    for summary in figures:
        for one in summary.phases:
            drawn.setdefault(one.phase, []).extend([one] if one.pace is not None else [])
    return tuple(_phase(phase, went) for phase, went in drawn.items() if went)


def _phase(phase: str, went: Sequence[PhaseOutcome]) -> PhaseCount:
    paces = [one.pace for one in went if one.pace is not None]
    quarters = quantiles(paces, n=4, method="inclusive") if len(paces) > 1 else paces * 3
    low, middle, high = quarters
    return PhaseCount(
        phase,
        went[-1].name,
        len(paces),
        middle,
        low,
        high,
        median(one.used for one in went),
        median(one.planned for one in went),
    )
