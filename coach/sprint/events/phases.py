"""Phases, stages and walks."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from coach.sprint.events.event import Event
from phases.kit.grammar import count
from phases.kit.items import Stage
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
    from coach.sprint.state import State

LAST_WALK = "last"
"""The name of the last walk; other walks are named by their stage or phase."""


class PhaseEntered(Event):
    """Work moved to a phase."""

    phase: Line
    previous: Line = ""
    """The phase before."""
    skipped: tuple[Line, ...] = ()
    """Keys of the essentials it was left with."""

    def applied(self, state: State, t: float) -> State:
        phase, previous = state.setup.known_phase(self.phase), self.previous
        return state.with_(
            phase=phase,
            entered=state.entered | {phase},
            exited=state.exited | ({state.setup.known_phase(previous)} if previous else set()),
            stretches=(*state.stretches, (phase, t)),
        )

    def told(self, names: Naming) -> str:
        left = ""
        if self.skipped:
            essentials = count(len(self.skipped), "essential")
            left = f" Left {names.phase(self.previous)} with {essentials} open."
        return f"Entered {names.phase(self.phase)}.{left}"


class PhaseSignedOff(Event):
    """Every essential of the phase whose stage is reached was closed, and it was signed off."""

    phase: Line

    def applied(self, state: State, t: float) -> State:
        return state.with_(signed_off=state.signed_off | {state.setup.known_phase(self.phase)})

    def told(self, names: Naming) -> str:
        return f"Signed off: {names.phase(self.phase)}."


class PhaseDrawn(Event):
    """The phase had been drawn before the sprint was joined."""

    phase: Line

    def applied(self, state: State, t: float) -> State:
        return state.with_(drawn_before=state.drawn_before | {state.setup.known_phase(self.phase)})

    def told(self, names: Naming) -> str:
        return f"Marked as drawn before the sprint: {names.phase(self.phase)}."


class StageReached(Event):
    """Items of this stage can be seen from now on."""

    stage: Stage

    def applied(self, state: State, t: float) -> State:
        return state.with_(stages=state.stages | {self.stage})

    def told(self, names: Naming) -> str:
        return f"Stage reached: {self.stage}."


class Walked(Event):
    """A walk was gone through. That it was is no doing of its own: what it confirmed is."""

    of: Line
    """The stage, the phase, or "last" for the last walk."""
    asked: int
    closed: int

    kept: ClassVar[bool] = True
    stays: ClassVar[bool] = True

    def told(self, names: Naming) -> str:
        walk = "Last walk" if self.of == LAST_WALK else f"Walk of {names.phase(self.of)}"
        return f"{walk}: {self.closed} of {self.asked} closed."


class StepByStepSet(Event):
    """A phase was switched to step by step, or back to working from the head."""

    phase: Line
    on: bool

    def applied(self, state: State, t: float) -> State:
        kept = state.step_by_step - {self.phase}
        return state.with_(step_by_step=kept | {self.phase} if self.on else kept)

    def told(self, names: Naming) -> str:
        return f"Step by step {'on' if self.on else 'off'} for {names.phase(self.phase)}."
