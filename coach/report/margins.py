"""The saved calculations with their margins, thinnest first, and the curves they keep."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from coach.report.account import Account
from coach.report.sections import Point, Section, Table, TableRow
from coach.sprint.chances import per_cent
from coach.sprint.events.calculations import CalculationRecomputed
from coach.sprint.state import SavedCalculation
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE
from phases.kit.grammar import clause, count, sentences, times
from phases.kit.items import Severity
from phases.kit.record import CurveRecord, LimitRecord
from phases.kit.say import show
from phases.kit.units import UNITS

_POWER = ("power-entry", "regulation")
_WORSE = ((FAIL, "failing"), (MARGINAL, "marginal"))
_HEAT = ("°C", "K", "W", "J", "A²s")


@dataclass(frozen=True, slots=True)
class MarginChart:
    """Calculations by name, each with the limit that has least left; thinnest first."""

    limits: tuple[tuple[str, LimitRecord], ...]


@dataclass(frozen=True, slots=True)
class CurveChart:
    """The kept curves, each with the name of its calculation."""

    curves: tuple[tuple[str, CurveRecord], ...]


def thinnest(saved: SavedCalculation) -> LimitRecord | None:
    """The limit that has least left, of those that apply. A plain yes or no has no share: it comes
    first where it fails, and last where it holds."""
    there = [one for one in saved.record.limits if one.verdict != NOT_APPLICABLE]
    return min(there, key=_share, default=None)


def _share(limit: LimitRecord) -> float:
    if limit.share is not None:
        return limit.share
    return -inf if limit.verdict == FAIL else inf


def by_margin(account: Account) -> list[tuple[SavedCalculation, LimitRecord]]:
    """Each calculation with its thinnest limit, thinnest first."""
    pairs = [(saved, thinnest(saved)) for saved in account.state.calculations.values()]
    found = [(saved, limit) for saved, limit in pairs if limit is not None]
    return sorted(found, key=lambda pair: (_share(pair[1]), pair[0].id))


def fails_by(saved: SavedCalculation) -> str:
    """Why it does not hold, in a sentence."""
    fails = saved.record.verdict == FAIL
    if saved.stale:
        how = "It failed as it was saved, and" if fails else "It"
        return f"{how} cannot be run again: {clause(saved.stale)}."
    return next((one.message for one in saved.record.limits if one.verdict == FAIL), "")


def harms(account: Account, saved: SavedCalculation) -> bool:
    """Whether something fails at the power entry, at a regulator, or by heat: where power itself
    does the harm. By the items that the calculation proves; rework harms nothing."""
    failing = [one for one in saved.record.limits if one.verdict == FAIL]
    if any(one.unit in _HEAT for one in failing):
        return True
    return bool(failing) and any(
        item.phase in _POWER
        and item.severity != Severity.REWORK
        and any(cited.startswith(f"{saved.calculator}:") for cited in item.cites)
        for item in account.setup.items.values()
    )


# ---- sections --------------------------------------------------------------------------------


def margins(account: Account) -> Section:
    """Where each calculation has least left; its other limits are folded."""
    found = by_margin(account)
    first = [_limit(account, saved, limit) for saved, limit in found]
    others = [
        _limit(account, saved, limit, quiet=True)
        for saved in account.state.calculations.values()
        for limit in saved.record.limits
        if limit is not thinnest(saved)
    ]
    table = Table(
        "Tightest margin of each saved calculation",
        ("calculation", "limit", "verdict", "margin", "share", "in words"),
        (*first, *others),
        numbers=(3, 4),
        folds="other limits",
    )
    bars = tuple((account.names.calculation(saved.id), limit) for saved, limit in found)
    return Section(
        "margins",
        "Margins",
        _lead(account),
        tuple(_rerun(account)),
        (table,) if table.rows else (),
        MarginChart(bars) if bars else None,
    )


def _lead(account: Account) -> str:
    verdicts = [saved.record.verdict for saved in account.state.calculations.values()]
    worse = [f"{verdicts.count(one)} {word}" for one, word in _WORSE if one in verdicts]
    saved = f"{count(len(verdicts), 'calculation')} saved"
    return f"{', '.join((saved, *worse))}." if verdicts else ""


def _limit(
    account: Account, saved: SavedCalculation, one: LimitRecord, *, quiet: bool = False
) -> TableRow:
    margin = value(one.margin, "K" if one.unit == "°C" else one.unit)  # it is a difference
    mark = one.verdict if one.verdict in (FAIL, MARGINAL) else ""
    cells = (
        account.names.calculation(saved.id),
        title_of(one),
        one.verdict,
        margin,
        per_cent(one.share),
        one.message,
    )
    return TableRow(cells, mark, quiet=quiet)


def value(number: float | None, unit: str) -> str:
    """A value in SI with its unit."""
    if number is None:
        return "–"
    said = show(number, unit) if unit in UNITS else f"{number:.3g} {unit}".strip()
    return said.replace("-", "−")


def title_of(limit: LimitRecord) -> str:
    return f"{limit.name}, {limit.scenario}" if limit.scenario else limit.name


def _rerun(account: Account) -> Iterator[Point]:
    """What became of a calculation after it was saved."""
    again = [one.event for one in account.state.of(CalculationRecomputed)]
    for saved in account.state.calculations.values():
        runs = [one for one in again if one.id == saved.id]
        worse = sum(not one.held for one in runs)
        got = f"{worse} for the worse" if worse else "never for the worse"
        said = sentences(
            f"run again {times(len(runs))} after a change, {got}" if runs else "",
            f"not run again: {saved.stale}" if saved.stale else "",
        )
        if said:
            yield Point(account.names.calculation(saved.id), said)


def curves(account: Account) -> Section:
    """Named only; drawn where there is paper for it."""
    found = tuple(
        (account.names.calculation(saved.id), saved.record.curve)
        for saved in account.state.calculations.values()
        if saved.record.curve
    )
    points = tuple(Point(f"{name}: {curve.title}") for name, curve in found)
    return Section("curves", "Curves", points=points, chart=CurveChart(found) if found else None)
