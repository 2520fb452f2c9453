"""The timeline: each phase planned against actual, as a table and as what its chart shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.report.account import Account, closed_at, is_late
from coach.report.phase_times import Away, PhaseActual, Span
from coach.report.sections import Section, Table, TableRow
from coach.sprint.durations import duration, elapsed, minutes_of
from coach.sprint.state import WAIVED, Row
from phases.kit.grammar import sentences, times
from phases.kit.items import CLOSING_ID

_MOST_SPANS = 4
"""Stretches of a phase that are told each."""

LATE, AS_WAIVED, IN_TIME = "late", "waived", "closed"


@dataclass(frozen=True, slots=True)
class TimeChart:
    """The sprint in time."""

    phases: tuple[PhaseActual, ...]
    away: tuple[Away, ...]
    closed: Mapping[str, tuple[tuple[float, str], ...]]
    """By phase: when each item was closed, and whether late or waived."""
    left: Mapping[str, tuple[int, int]]
    """By phase: how many essentials, and how many more checks, are open."""
    deadline: float
    end: float
    """When it ended, else its last moment so far."""
    ended: bool
    accepted: bool

    @property
    def last(self) -> float:
        """The last second a time axis must hold."""
        times = [60.0, self.deadline, self.end]
        for one in self.phases:
            times += [one.planned[1], *(to for _, to in one.stretches)]
        return max(times)


def timeline(account: Account) -> Section:
    rows = tuple(TableRow(_cells(one)) for one in account.phases)
    table = Table(
        "Phases, planned against actual",
        ("phase", "planned", "actual", "box", "used", "difference", "why"),
        rows,
        numbers=(3, 4, 5),
    )
    lead = sentences(
        *(
            f"{one.why} from {elapsed(one.since)} to {elapsed(one.to)}, not counted"
            for one in account.away
            if one.seconds >= 60
        )
    )
    return Section("timeline", "Timeline", lead, tables=(table,), chart=_chart(account))


def _cells(one: PhaseActual) -> tuple[str, ...]:
    return (
        one.name,
        f"{elapsed(one.planned[0])} to {elapsed(one.planned[1])}",
        _actual(one),
        duration(one.box.seconds),
        duration(one.used or None),
        one.against_box if one.stretches else "–",
        sentences(one.why, "signed off" if one.signed_off else ""),
    )


def _actual(phase: PhaseActual) -> str:
    spans = [f"{elapsed(since)} to {elapsed(to)}" for since, to in _shown(phase.stretches)]
    if len(spans) > _MOST_SPANS:
        since, to = phase.stretches[0][0], phase.stretches[-1][1]
        return f"{elapsed(since)} to {elapsed(to)}, entered {times(phase.entered)}"
    return ", ".join(spans) or "–"


def _shown(stretches: Sequence[Span]) -> list[Span]:
    """Stretches that a reader sees: two that touch as they are shown are one, and of those that are
    shorter than what is shown only one that is the only one."""
    found: list[Span] = []
    for since, to in stretches:
        if found and minutes_of(found[-1][1]) == minutes_of(since):
            found[-1] = (found[-1][0], to)
        else:
            found.append((since, to))
    seen = [one for one in found if minutes_of(one[0]) != minutes_of(one[1])]
    return seen or found[:1]


def _chart(account: Account) -> TimeChart:
    closed: dict[str, tuple[tuple[float, str], ...]] = {}
    left: dict[str, tuple[int, int]] = {}
    for one in account.phases:
        rows = [row for row in account.rows if row.item.phase == one.phase]
        moments = [(t, _how(row)) for row in rows if (t := closed_at(row)) is not None]
        closed[one.phase] = tuple(moments)
        still = [row for row in rows if not row.closed]
        # Each line of the closing list is needed: it counts as in the text.
        essential = sum(row.essential or one.phase == CLOSING_ID for row in still)
        left[one.phase] = (essential, len(still) - essential)
    state = account.state
    return TimeChart(
        account.phases,
        account.away,
        closed,
        left,
        state.deadline,
        account.end,
        state.ended,
        state.accepted,
    )


def _how(row: Row) -> str:
    if is_late(row):
        return LATE
    return AS_WAIVED if row.status == WAIVED else IN_TIME
