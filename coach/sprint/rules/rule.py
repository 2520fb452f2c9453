"""How a rule is written, and what it may know besides the state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, TypeVar

from coach.sprint.commands import Command
from coach.sprint.events.event import Event, Stamped
from coach.sprint.fold import step, taken_back
from coach.sprint.state import State

C = TypeVar("C", bound=Command)

Outcome = tuple[list[Event], str]
"""The events of a command, and what to say about them."""


@dataclass(frozen=True, slots=True)
class CommandContext:
    """The moment a command is asked at: elapsed seconds, wall time, and the history so far."""

    t: float
    at: datetime
    history: tuple[Stamped, ...]

    @property
    def undone(self) -> set[int]:
        """The commands that were taken back."""
        return taken_back(self.history)


Rule = Callable[[State, C, CommandContext], Outcome]

_RULES: dict[type[Command], Rule[Any]] = {}
_AFTERWARDS: set[type[Command]] = set()


def rule(kind: type[C], *, afterwards: bool = False) -> Callable[[Rule[C]], Rule[C]]:
    """Registers the rule of one kind of command. afterwards: it is asked for once the sprint has
    ended, and only then."""

    def register(decide: Rule[C]) -> Rule[C]:
        _RULES[kind] = decide
        if afterwards:
            _AFTERWARDS.add(kind)
        return decide

    return register


def rule_of(command: Command) -> Rule[Any]:
    return _RULES[type(command)]


def is_afterwards(command: Command) -> bool:
    """Whether it is asked for once the sprint has ended, as nothing else is."""
    return type(command) in _AFTERWARDS


def provisional(state: State, *events: Event) -> State:
    """The state as it would be after `events`, at no later a time."""
    for event in events:
        state = step(state, Stamped(0, datetime.fromtimestamp(0, UTC), state.t, 0, event))
    return state
