"""How a rule is written, and what it may know besides the state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from coach.sprint.commands import Command
from coach.sprint.events import Event, Stamped
from coach.sprint.state import State

C = TypeVar("C", bound=Command)

Outcome = tuple[list[Event], str]
"""The events of a command, and what to say about them."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The moment a command is asked at: elapsed seconds, wall time, and the history so far."""

    t: float
    at: datetime
    history: tuple[Stamped, ...]


_RULES: dict[type[Command], Callable[[State, Any, Asked], Outcome]] = {}


def rule(
    kind: type[C],
) -> Callable[[Callable[[State, C, Asked], Outcome]], Callable[[State, C, Asked], Outcome]]:
    """Registers the rule of one kind of command."""

    def register(decide: Callable[[State, C, Asked], Outcome]) -> Callable[[State, C, Asked], Outcome]:
        _RULES[kind] = decide
        return decide

    return register


def rule_of(command: Command) -> Callable[[State, Any, Asked], Outcome]:
    return _RULES[type(command)]
