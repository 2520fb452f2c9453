"""The saved calculations with their margins, thinnest first, and the parts never drawn.

A record is plain data. Reading the journal has left out what no calculator wrote; the figures
and texts in the rest are looked at one by one here.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.debrief.account.data import CalculationTold, LimitTold, PartTold
from coach.debrief.account.soundness import Soundness
from coach.history.read_sprint import SprintRead
from coach.sprint.events.calculations import CalculationRecomputed
from coach.sprint.naming import Naming
from coach.sprint.state import Saved, State
from coach.sprint.to_draw import to_draw
from phases.kit.bounds import FAIL, NOT_APPLICABLE
from phases.kit.items import Severity
from phases.kit.record import CurveRecord, LimitRecord

_POWER = ("power-entry", "regulation")
_HEAT = ("°C", "K", "W", "J", "A²s")

_MOST_POINTS = 400
_MOST_PARTS = 1000


def whole_records(state: State) -> State:
    """The state with what is told of the parts of its records in shape."""
    return state


def calculations_told(
    read: SprintRead, whole: State, sound: Soundness
) -> tuple[CalculationTold, ...]:
    """Thinnest margin first; those without a margin last, the failing ones before the others."""
    teller = Naming(read.setup)
    found = [_told(read, saved, teller, sound) for saved in whole.calculations.values()]
    return tuple(sorted(found, key=_thinnest_first))


def _thinnest_first(one: CalculationTold) -> tuple[bool, float, bool, str]:
    return (one.thinnest is None, one.thinnest or 0.0, one.verdict != FAIL, one.id)


def _told(read: SprintRead, saved: Saved, teller: Naming, sound: Soundness) -> CalculationTold:
    name = teller.calculation(saved.id)
    limits = tuple(_limit(name, entry) for entry in saved.record.limits)
    shares = [e.share for e in limits if e.share is not None and e.verdict != NOT_APPLICABLE]
    again = [
        s.event for s in read.events(CalculationRecomputed)
        if isinstance(s.event, CalculationRecomputed) and s.event.id == saved.id
    ]  # fmt: skip
    return CalculationTold(
        id=saved.id, name=name,
        verdict=saved.record.verdict,
        limits=limits, thinnest=min(shares, default=None), curve=_curve(saved.record.curve),
        stale=saved.stale, reruns=len(again), worse=sum(not one.held for one in again),
        harms=_harms(read, saved.id, limits),
    )  # fmt: skip


def _harms(read: SprintRead, key: str, limits: Sequence[LimitTold]) -> bool:
    """Whether something fails at the entrance, at a regulator, or by heat: where power itself
    does the harm. By the items that the calculation proves; rework harms nothing."""
    failing = [one for one in limits if one.verdict == FAIL]
    calculator, *_ = key.partition("@")
    return bool(failing) and (
        any(one.unit in _HEAT for one in failing)
        or any(
            item.phase in _POWER and item.severity != Severity.REWORK
            and any(cited.startswith(f"{calculator}:") for cited in item.cites)
            for item in read.setup.items.values()
        )
    )  # fmt: skip


def _limit(calculation: str, entry: LimitRecord) -> LimitTold:
    return LimitTold(
        calculation=calculation,
        limit=f"{entry.name}, {entry.scenario}" if entry.scenario else entry.name,
        verdict=entry.verdict,
        says=entry.says,
        margin=entry.margin,
        share=entry.share,
        unit=entry.unit,
    )


def _curve(curve: CurveRecord | None) -> dict[str, object] | None:
    return curve.model_dump(exclude_defaults=True) if curve else None


def parts_told(read: SprintRead, whole: State) -> tuple[PartTold, ...]:
    """Parts that a saved calculation implies and that were never drawn."""
    teller = Naming(read.setup)
    return tuple(
        PartTold(part.says, teller.calculation(part.calculation)) for part in to_draw(whole)
    )
