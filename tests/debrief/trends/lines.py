"""Lines of sprints that never were, for counting over them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

from coach.debrief.trends.line import (
    About,
    FindingLine,
    ItemLine,
    MarkLine,
    PhaseLine,
    SprintLine,
)
from tests.debrief.trends.copies import FIRST

MISSED = {"here": 1, "due": 1, "forgotten": 1, "open": 1}
THERE = {"here": 1, "due": 1, "met": 1}
ABOUT = {
    "strap-level": About("The strap has its level", "clock-boot", "dead board", True),
    "debug-pins": About("Clock and data are not exchanged", "debug-access", "dead board", True),
    "spare-pads": About("There are pads for a second resistor", "layout", "rework", False),
}


def sprint(
    number: int,
    items: Mapping[str, Mapping[str, int]] | None = None,
    *,
    pace: float | None = None,
    marks: tuple[MarkLine, ...] = (),
    findings: tuple[FindingLine, ...] = (),
    accepted: bool = True,
    rehearsed: bool = False,
    speed: float = 1.0,
    given_up: bool = False,
    faults: tuple[str, ...] = (),
    title: str = "Lamp",
) -> SprintLine:
    """The sprint of day `number`. items: as for `ItemLine`; pace: of three phases."""
    return SprintLine(
        path=Path(f"{number:03d}.toml"),
        title=title,
        started=FIRST + timedelta(days=number),
        rehearsed=rehearsed or speed != 1.0,
        speed=speed,
        deadline=7200.0,
        ended_at=7000.0,
        accepted=accepted,
        given_up=given_up,
        in_time=accepted,
        items=tuple(ItemLine(item, **counts) for item, counts in (items or {}).items()),
        phases=tuple(
            PhaseLine(phase, 600.0, 600.0 * (pace or 0.0), pace is not None)
            for phase in ("power-entry", "regulation", "layout")
        ),
        marks=marks,
        findings=findings,
        about=ABOUT,
        names={"power-entry": "power entry", "regulation": "regulation", "layout": "layout"},
        faults=faults,
    )
