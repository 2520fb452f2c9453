"""The rules: from a state and a command to events. Every rule of the sprint lives here.

`decide` finds the rule of a command, applies its events to a provisional state and adds what
follows from them: calculations run again, items met by proof, items reopened. It reads no clock
and writes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from coach.sprint.commands import Command
from coach.sprint.events import Event, Stamped
from coach.sprint.fold import step
from coach.sprint.rules import board, calculations, items, phases, run
from coach.sprint.rules.asked import Asked, rule_of
from coach.sprint.rules.consequences import consequences
from coach.sprint.state import State
from phases.kit.refusals import Refusal

__all__ = ["Decision", "decide"]

_ROOMS = (board, calculations, items, phases, run)  # importing them registers their rules


@dataclass(frozen=True, slots=True)
class Decision:
    """The events of a command. says: what happened, for the person, in a sentence or none."""

    events: tuple[Event, ...]
    says: str


def decide(state: State, command: Command, asked: Asked) -> Decision:
    """What happens when `command` is asked for. Raises Refusal where it may not."""
    if state.ended:
        raise Refusal("The sprint has ended", do="Start a new one with coach sprint BRIEF")
    events, says = rule_of(command)(state, command, asked)
    after = state
    for event in events:
        after = provisional(after, event)
    followed = consequences(state, after, events)
    return Decision((*events, *followed), says)


def provisional(state: State, event: Event) -> State:
    """The state as it would be after `event`, at no later a time."""
    return step(state, Stamped(0, datetime.fromtimestamp(0, UTC), state.t, 0, event))
