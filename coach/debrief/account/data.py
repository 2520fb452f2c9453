"""The account of one sprint: everything its debrief says, as plain data.

Made from a journal by `telling.py`; the terminal, Markdown and HTML show it, each in its way,
and decide nothing. Times are elapsed seconds unless said otherwise; every text is for a person.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import inf
from pathlib import Path

from phases.kit.items import CLOSING_ID, Severity

_RANKS = {str(one): one.rank for one in Severity}


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence for the table. evidence: the figures or events it rests on, in words. names: what
    it is about, one by one, where that is more than a sentence holds. grave: it can hurt somebody
    or kill the board."""

    text: str
    evidence: str
    names: tuple[str, ...] = ()
    grave: bool = False


@dataclass(frozen=True, slots=True)
class Reopening:
    """An item that was open again. closed_again: when, or None."""

    t: float
    because: str
    doubt: bool
    closed_again: float | None


@dataclass(frozen=True, slots=True)
class ItemTold:
    """One item at one subject, as it went. Only items that were on the board at the end, or that
    were closed before they left it.

    key: "id" or "id@subject". name: statement with its subject. outcome: "met", "waived", "open",
    "reopened", "not on this board"; asked: it is not known whether the board needs it.
    due: when the plan had its phase end. closed: when it was closed as it stands, or None.
    late: closed for the first time after its phase was left and its place passed, or after the
    cut-off. evidence: how it was met, in words with page or figure; reason: of a waiver. found:
    how an item that was closed late came up again: "a walk", "a call", "by itself"; "" elsewhere.
    habit: (missed, of) of earlier sprints. findings: numbers of the late findings it let through.
    stage: where it can be seen. confirm_s: seconds to confirm it. aside: one of the more checks,
    set aside.
    """

    key: str
    name: str
    why: str
    phase: str
    severity: str
    essential: bool
    outcome: str
    asked: bool
    due: float
    closed: float | None
    late: bool
    evidence: str
    reason: str
    found: str
    left_out_min: float
    reopenings: tuple[Reopening, ...]
    habit: tuple[int, int] | None
    findings: tuple[int, ...]
    stage: str = ""
    confirm_s: float = 0.0
    aside: bool = False

    @property
    def forgotten(self) -> bool:
        """Open at the end, and not because something reopened it."""
        return self.outcome == "open"

    @property
    def grave(self) -> bool:
        """Whether missing it hurts somebody or kills the board."""
        return self.severity in (Severity.HAZARD, Severity.DEAD_BOARD)


def worst_first(items: Sequence[ItemTold]) -> tuple[ItemTold, ...]:
    """By severity, known before asked, then the longest to make good."""
    return tuple(
        sorted(items, key=lambda e: (-_RANKS.get(e.severity, 0), e.asked, -e.left_out_min, e.key))
    )


@dataclass(frozen=True, slots=True)
class PhaseTold:
    """A phase, choosing parts ("") or the closing list, planned against actual.

    box: seconds planned. used: seconds spent in it. elsewhere: of these, into items of other
    phases. stretches: (from, to) in order, none where it was never entered. planned: (from, to)
    of the plan as it stood at the start; the closing list ends at the cut-off. why: why the two
    differ, in words, "" where they hardly do. silent: of the seconds used, those of long times
    without an entry, which nobody knows the use of. silences: (from, to) of each.
    """

    phase: str
    name: str
    box: float
    used: float
    elsewhere: float
    planned: tuple[float, float]
    stretches: tuple[tuple[float, float], ...]
    signed_off: bool
    drawn_before: bool
    why: str
    silences: tuple[tuple[float, float], ...] = ()

    @property
    def over(self) -> float:
        return self.used - self.box

    @property
    def silent(self) -> float:
        return sum(to - since for since, to in self.silences)


@dataclass(frozen=True, slots=True)
class LimitTold:
    """One limit of a saved calculation. share: margin as a part of what it is a per cent of."""

    calculation: str
    limit: str
    verdict: str
    says: str
    margin: float | None
    share: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class CalculationTold:
    """A saved calculation as it stood at the end. id: "calculator@subject". name: in words.
    thinnest: the share of its thinnest applicable limit, None where there is none.
    curve: as the record keeps it (title, x, y, x_unit, y_unit; in newer ones at, and bound where
    a limit is drawn in), None without one.
    stale: what was missing to run it again. reruns: how often it was run again, and how often
    it got worse by that. harms: what fails in it can do harm as soon as there is power."""

    id: str
    name: str
    verdict: str
    limits: tuple[LimitTold, ...]
    thinnest: float | None
    curve: Mapping[str, object] | None
    stale: str
    reruns: int
    worse: int
    harms: bool = False


@dataclass(frozen=True, slots=True)
class PartTold:
    """A part that a calculation implies and that was never drawn."""

    says: str
    calculation: str


@dataclass(frozen=True, slots=True)
class CallTold:
    """heeded: None where it asked for nothing. after: seconds until it was heeded. keys: of the
    items it named; another call may have named them too."""

    t: float
    cause: str
    says: str
    rang: bool
    heeded: bool | None
    after: float | None
    closed: int
    items: int
    keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ForecastTold:
    """A forecast that was kept. mark: per cent of the sprint, 0 where it changed a call.
    covered: whether the 80 % band held the finish; None where that cannot be told."""

    t: float
    mark: int
    because: str
    chance_essentials: float
    chance_all: float
    expected: float
    low: float
    high: float
    covered: bool | None
    loss: float | None


@dataclass(frozen=True, slots=True)
class Honesty:
    """How good the forecasts at the marks were. brier: None before the end. says: in words, with
    how little one sprint says."""

    brier: float | None
    covered: int
    judged: int
    pinball: float | None
    says: str


@dataclass(frozen=True, slots=True)
class FindingTold:
    """A late finding. let_through: name of the item, "" where none asks for it. would_catch:
    what would have caught it, in words."""

    number: int
    fault: str
    board: str
    minutes: float | None
    bodge: str
    item: str
    let_through: str
    would_catch: str
    made_item: str


@dataclass(frozen=True, slots=True)
class MeasuredTold:
    board: str
    title: str
    text: str
    expected: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Account:
    """standing: how it ended, in one sentence. kind: a rehearsal or a simulated engineer's, in a
    sentence; "" for a person's own. faults: what of the journal is not whole.

    changeable: what can still be changed before production, in words, worst first. planned,
    happened: what was planned and what happened, in a few sentences. differences: why they
    differ. differently: what to do differently, each with its evidence. sentences: three for the
    table. items: all, phases in order. calculations: thinnest margin first.
    """

    title: str
    path: Path
    started: datetime
    deadline: float
    reserve: float
    ended_at: float | None
    last: float
    accepted: bool
    in_time: bool
    kind: str
    standing: str
    faults: tuple[str, ...]
    changeable: tuple[Said, ...]
    sentences: tuple[Said, ...]
    planned: tuple[str, ...]
    happened: tuple[str, ...]
    differences: tuple[str, ...]
    differently: tuple[Said, ...]
    phases: tuple[PhaseTold, ...]
    items: tuple[ItemTold, ...]
    calculations: tuple[CalculationTold, ...]
    undrawn: tuple[PartTold, ...]
    calls: tuple[CallTold, ...]
    forecasts: tuple[ForecastTold, ...]
    honesty: Honesty
    findings: tuple[FindingTold, ...]
    measured: tuple[MeasuredTold, ...]
    dropped: tuple[str, ...]
    thoughts: tuple[str, ...]
    interrupted: float

    @property
    def forgotten(self) -> tuple[ItemTold, ...]:
        """Essentials of the board that nobody closed, worst first; without the closing list."""
        return worst_first([
            one for one in self.items
            if one.essential and one.forgotten and one.phase != CLOSING_ID
        ])  # fmt: skip

    @property
    def closing_open(self) -> tuple[ItemTold, ...]:
        """Lines of the closing list that nobody closed, in the order of ordering."""
        return tuple(
            one for one in self.items
            if one.phase == CLOSING_ID and one.outcome in ("open", "reopened")
        )  # fmt: skip

    @property
    def boards_are_here(self) -> bool:
        """Boards were measured, or faults found on them: production is behind."""
        return bool(self.findings or self.measured)

    @property
    def late(self) -> tuple[ItemTold, ...]:
        return worst_first([one for one in self.items if one.late])

    @property
    def waived(self) -> tuple[ItemTold, ...]:
        return worst_first([one for one in self.items if one.outcome == "waived"])

    @property
    def reopened(self) -> tuple[ItemTold, ...]:
        """Items that were open again at least once, whether closed since or not."""
        return worst_first([one for one in self.items if one.reopenings])

    @property
    def margins(self) -> tuple[LimitTold, ...]:
        """The thinnest applicable limit of each calculation, thinnest first. A plain yes or no has
        no share: it stands first where it fails, and last where it holds."""
        found = [
            min(limits, key=_share)
            for one in self.calculations
            if (limits := [e for e in one.limits if e.verdict != "not applicable"])
        ]
        return tuple(sorted(found, key=_share))


def _share(limit: LimitTold) -> float:
    if limit.share is not None:
        return limit.share
    return -inf if limit.verdict == "fail" else inf
