"""From a journal to the sheet of its board. Every step comes from what the journal holds."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from typing import TypeVar

from coach.debrief.bringup.access import (
    cc_resistance_steps,
    indicator_steps,
    programming_steps,
    usb_steps,
)
from coach.debrief.bringup.buses import bus_steps, termination_steps
from coach.debrief.bringup.cautions import LAST_WORD, cautions_of
from coach.debrief.bringup.heat import heat_steps
from coach.debrief.bringup.levels import clock_steps, level_steps
from coach.debrief.bringup.looking import look_steps
from coach.debrief.bringup.rails import current_steps, ripple_steps, voltage_steps
from coach.debrief.bringup.recorded import Recorded
from coach.debrief.bringup.sheet import SECTIONS, Reading, Sheet, Step
from coach.debrief.bringup.supplies import (
    Feed,
    backfeed_steps,
    feeds_of,
    limit_steps,
    resistance_steps,
)
from coach.history.read_sprint import FORGED, SprintRead
from coach.sprint.state import State
from phases.kit.refusals import Refusal
from phases.kit.text import line

T = TypeVar("T")


def sheet_of(read: SprintRead) -> Sheet:
    """The sheet of the sprint as its journal leaves it; what was measured already is on it."""
    state, faults = read.state, list(read.faults)
    known = Recorded(state)
    steps = _steps(known, faults)
    return Sheet(
        title=line(state.setup.brief.title), journal=line(str(read.path)), ended=state.ended,
        steps=tuple(_ordered(steps)), cautions=_said(lambda: cautions_of(known), faults, ()),
        last_word=LAST_WORD, readings=readings_of(state), faults=tuple(faults),
    )  # fmt: skip


def readings_of(state: State) -> dict[tuple[str, str], Reading]:
    """What was measured, by board and point."""
    return {
        (one.board, one.point): Reading(
            one.board, one.point, line(one.title), line(one.text), one.value, one.unit,
            one.verdict,
        )
        for one in state.measured.values()
    }  # fmt: skip


def _steps(known: Recorded, faults: list[str]) -> list[Step]:
    none: list[Feed] = []
    feeds = _said(lambda: feeds_of(known), faults, none)
    rooms: tuple[Callable[[], Iterable[Step]], ...] = (
        lambda: look_steps(known),
        lambda: resistance_steps(known, feeds),
        lambda: cc_resistance_steps(known),
        lambda: termination_steps(known),
        lambda: limit_steps(known, feeds),
        lambda: voltage_steps(known, feeds),
        lambda: backfeed_steps(known, feeds),
        lambda: current_steps(known, feeds),
        lambda: ripple_steps(known),
        lambda: heat_steps(known),
        lambda: level_steps(known),
        lambda: clock_steps(known),
        lambda: bus_steps(known),
        lambda: usb_steps(known),
        lambda: programming_steps(known),
        lambda: indicator_steps(known),
    )
    found: list[Step] = []
    for room in rooms:
        found += _said(partial(_all, room), faults, [])
    return found


def _all(room: Callable[[], Iterable[Step]]) -> list[Step]:
    return list(room())


def _said(make: Callable[[], T], faults: list[str], otherwise: T) -> T:
    """What `make` gives; where a forged record stops it, the rest of the sheet still stands."""
    try:
        return make()
    except (*FORGED, Refusal) as fault:
        faults.append(f"A part of the sheet cannot be made from this journal: {_words(fault)}.")
        return otherwise


def _words(fault: Exception) -> str:
    return fault.what if isinstance(fault, Refusal) else type(fault).__name__


def _ordered(steps: Iterable[Step]) -> list[Step]:
    """By section; an id that comes twice is told apart by a number."""
    order = {section.id: place for place, section in enumerate(SECTIONS)}
    found: dict[str, Step] = {}
    for step in sorted(steps, key=lambda step: order[step.section]):
        name, again = step.id, 1
        while name in found:
            again += 1
            name = f"{step.id}.{again}"
        found[name] = _renamed(step, name)
    return list(found.values())


def _renamed(step: Step, name: str) -> Step:
    return step if step.id == name else replace(step, id=name)
