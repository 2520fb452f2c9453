"""Sprints that never were, for counting over them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

from coach.history.ended import EndedSprint
from coach.sprint.events.summary import (
    ForecastOutcome,
    ItemOutcome,
    LateFinding,
    PhaseOutcome,
    SummedUp,
)
from coach.sprint.setup import Run
from phases.kit.items import Item, Severity
from tests.history.copies import FIRST

MISSED = {"here": 1, "due": 1, "forgotten": 1, "open": 1}
THERE = {"here": 1, "due": 1, "met": 1}


def item(statement: str, phase: str, severity: str, *, essential: bool) -> Item:
    """An item, of which counting knows no more than this."""
    return Item.model_construct(
        statement=statement, phase=phase, severity=Severity(severity), essential=essential
    )


ITEMS = {
    "strap-level": item("The strap has its level", "clock-boot", "dead board", essential=True),
    "debug-pins": item(
        "Clock and data are not swapped", "debug-access", "dead board", essential=True
    ),
    "spare-pads": item("Pads for a second resistor", "layout", "rework", essential=False),
}


def sprint(
    number: int,
    items: Mapping[str, Mapping[str, int]] | None = None,
    *,
    pace: float | None = None,
    forecasts: tuple[ForecastOutcome, ...] = (),
    findings: tuple[LateFinding, ...] = (),
    accepted: bool = True,
    rehearsed: bool = False,
    speed: float = 1.0,
    given_up: bool = False,
    faults: tuple[str, ...] = (),
    title: str = "Lamp",
) -> EndedSprint:
    """The sprint of day `number`. items: as for `ItemsWent`; pace: of three phases."""
    run = Run(
        title=title,
        started=FIRST + timedelta(days=number),
        deadline=7200.0,
        at_an_instant=False,
        speed=speed,
        rehearsed=rehearsed or speed != 1.0,
    )
    summary = SummedUp.model_construct(
        ended_at=600.0 if given_up else 7000.0,
        deadline=7200.0,
        accepted=accepted and not given_up,
        items=tuple(ItemOutcome((name,), **counts) for name, counts in (items or {}).items()),
        phases=tuple(
            PhaseOutcome(
                phase, phase.replace("-", " "), 600.0, 600.0 * (pace or 0), pace is not None
            )
            for phase in ("power-entry", "regulation", "layout")
        ),
        forecasts=forecasts,
        findings=findings,
    )
    return EndedSprint(Path(f"{number:03d}.toml"), run, summary, dict(ITEMS), faults)
