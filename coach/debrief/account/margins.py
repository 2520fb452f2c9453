"""The saved calculations with their margins, thinnest first, and the parts never drawn.

A record is plain data. Reading the journal has left out what no calculator wrote; the figures
and texts in the rest are looked at one by one here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from coach.debrief.account.data import CalculationTold, LimitTold, PartTold
from coach.debrief.account.soundness import Soundness, number, table, tables, text
from coach.sprint import events as happened
from coach.sprint.past.read_sprint import SprintRead
from coach.sprint.past.retell import Teller
from coach.sprint.state import Saved, State
from coach.sprint.to_draw import to_draw
from phases.kit.bounds import FAIL, NOT_APPLICABLE, worst
from phases.kit.items import Severity

_POWER = ("power-entry", "regulation")
_HEAT = ("°C", "K", "W", "J", "A²s")

_MOST_POINTS = 400
_MOST_PARTS = 1000


def whole_records(state: State) -> State:
    """The state with what is told of the parts of its records in shape."""
    kept = {
        key: replace(saved, record=_with_sound_parts(saved.record))
        for key, saved in state.calculations.items()
    }
    return replace(state, calculations=kept)


def _with_sound_parts(record: Mapping[str, Any]) -> dict[str, Any]:
    """The record with the parts that are told from it, each in shape."""
    parts = []
    for part in tables(record.get("parts", []))[:_MOST_PARTS]:
        said = {key: text(part.get(key)) for key in ("role", "what", "where")}
        many = number(part.get("count", 1))
        if said["role"] and said["what"] and many is not None and 1 <= many <= _MOST_PARTS:
            parts.append({**said, "count": int(many)})
    return {**record, "parts": parts}


def calculations_told(
    read: SprintRead, whole: State, sound: Soundness
) -> tuple[CalculationTold, ...]:
    """Thinnest margin first; those without a margin last, the failing ones before the others."""
    teller = Teller(read.setup)
    found = [_told(read, saved, teller, sound) for saved in whole.calculations.values()]
    return tuple(sorted(found, key=_thinnest_first))


def _thinnest_first(one: CalculationTold) -> tuple[bool, float, bool, str]:
    return (one.thinnest is None, one.thinnest or 0.0, one.verdict != FAIL, one.id)


def _told(read: SprintRead, saved: Saved, teller: Teller, sound: Soundness) -> CalculationTold:
    name = teller.calculation(saved.id)
    limits = tuple(_limit(name, entry, sound) for entry in tables(saved.record["limits"]))
    shares = [e.share for e in limits if e.share is not None and e.verdict != NOT_APPLICABLE]
    again = [
        s.event for s in read.events(happened.CalculationRecomputed)
        if isinstance(s.event, happened.CalculationRecomputed) and s.event.id == saved.id
    ]  # fmt: skip
    return CalculationTold(
        id=saved.id, name=name,
        # What its limits say counts, should the record's own word be another.
        verdict=worst([e.verdict for e in limits]) if limits else str(saved.record["verdict"]),
        limits=limits, thinnest=min(shares, default=None), curve=_curve(saved.record),
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


def _limit(calculation: str, entry: Mapping[str, Any], sound: Soundness) -> LimitTold:
    name = text(entry["name"])
    for key in ("margin", "share"):
        if entry.get(key) is not None and number(entry[key]) is None:
            sound.fault(f"The {key} of {calculation}, {name}, is no number; it is left out.")
    scenario = text(entry.get("scenario"))
    return LimitTold(
        calculation=calculation, limit=f"{name}, {scenario}" if scenario else name,
        verdict=str(entry["verdict"]), says=text(entry.get("says")) or name,
        margin=number(entry.get("margin")), share=number(entry.get("share")),
        unit=text(entry.get("unit")),
    )  # fmt: skip


def _curve(record: Mapping[str, Any]) -> dict[str, object] | None:
    """The curve as the record keeps it, where it is one; its bound only where it has one at each
    point."""
    curve = table(record.get("curve"))
    x, y, bound = (_numbers(curve.get(key)) for key in ("x", "y", "bound"))
    if len(x) < 2 or len(x) != len(y):
        return None
    kept: dict[str, object] = {key: text(curve.get(key)) for key in ("title", "x_unit", "y_unit")}
    kept |= {"x": x, "y": y}
    if len(bound) == len(x):
        kept["bound"] = bound
    if curve.get("log") is True:
        kept["log"] = True
    at = number(curve.get("at"))
    return kept if at is None else {**kept, "at": at}


def _numbers(value: object) -> list[float]:
    """A list of numbers; empty where one of them is none."""
    if not isinstance(value, list) or len(value) > _MOST_POINTS:
        return []
    found = [one for entry in value if (one := number(entry)) is not None]
    return found if len(found) == len(value) else []


def parts_told(read: SprintRead, whole: State) -> tuple[PartTold, ...]:
    """Parts that a saved calculation implies and that were never drawn."""
    teller = Teller(read.setup)
    return tuple(
        PartTold(part.says, teller.calculation(part.calculation)) for part in to_draw(whole)
    )
