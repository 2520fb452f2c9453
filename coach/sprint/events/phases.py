"""Events of phases, places and walks."""

from __future__ import annotations

from typing import Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Line


class PhaseEntered(Event):
    """Work moved to a phase. left: the one before; skipped: essentials it was left with."""

    what: Literal["phase-entered"] = "phase-entered"
    phase: Line
    left: Line = ""
    skipped: tuple[Line, ...] = ()


class PhaseSignedOff(Event):
    """Every row of the phase's gate whose place is reached was closed, and it was signed off."""

    what: Literal["phase-signed-off"] = "phase-signed-off"
    phase: Line


class PhaseDrawn(Event):
    """The phase had been drawn before the sprint was joined."""

    what: Literal["phase-drawn"] = "phase-drawn"
    phase: Line


class PlaceReached(Event):
    """Items of this place can be seen from now on."""

    what: Literal["place-reached"] = "place-reached"
    place: Line


class Walked(Event):
    """A walk was gone through. of: the place or phase, "last" for the last walk; asked, closed:
    how many items."""

    what: Literal["walked"] = "walked"
    of: Line
    asked: int
    closed: int


class StepByStepSet(Event):
    """A phase was switched to step by step, or back to working from the head."""

    what: Literal["step-by-step-set"] = "step-by-step-set"
    phase: Line
    on: bool
