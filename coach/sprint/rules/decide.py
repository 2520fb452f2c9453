"""What follows from a command: the events of its rule, and what those bring about.

Its events are applied to a provisional state; after them saved calculations run again, items are
met by proof, items are reopened.
"""

from __future__ import annotations

from collections.abc import Sequence

from pydantic import ValidationError

from coach.sprint.commands import Command
from coach.sprint.events.calculations import CalculationRecomputed
from coach.sprint.events.event import Event
from coach.sprint.events.items import ItemReopened
from coach.sprint.rules import (
    afterwards,
    board,
    calculations,
    items,
    phases,
    run,
    values,
)
from coach.sprint.rules.consequences import consequences
from coach.sprint.rules.items import in_force
from coach.sprint.rules.rule import CommandContext, Outcome, is_afterwards, provisional, rule_of
from coach.sprint.state import State
from phases.kit.grammar import count, sentences
from phases.kit.refusals import Refusal

__all__ = ["decide", "provisional", "rule_of"]

# Importing them registers their rules.
_ROOMS = (afterwards, board, calculations, items, phases, run, values)


def decide(state: State, command: Command, context: CommandContext) -> Outcome:
    """The events of `command`, and what to say of them. Raises Refusal where it may not be done."""
    afterwards = is_afterwards(command)
    if afterwards and not state.ended:
        raise Refusal("The sprint goes on", do="End it first: coach resume JOURNAL, then E")
    if state.ended and not afterwards:
        raise Refusal("The sprint has ended", do="Start a new one with coach sprint BRIEF")
    try:
        events, says = rule_of(command)(state, command, context)
        then = provisional(state, *events)
        # Once it has ended nothing of the board is asked for any more, not even by the end itself.
        followed = [] if then.ended else consequences(state, then, events)
    except ValidationError as fault:
        raise _unkept(fault) from None
    told = _told(followed)
    made = list(in_force(state, (*events, *followed), context))
    return made, f"{says}. {told}" if says and told else says or told


def _told(followed: Sequence[Event]) -> str:
    """What a command brought about elsewhere, in a sentence; empty where that is nothing."""
    held = [event.held for event in followed if isinstance(event, CalculationRecomputed)]
    reopened = sum(isinstance(event, ItemReopened) for event in followed)
    said = [
        f"{count(held.count(False), 'calculation')} got worse" if False in held else "",
        f"{count(held.count(True), 'calculation')} no worse" if True in held else "",
        f"{count(reopened, 'item')} open again" if reopened else "",
    ]
    return sentences(", ".join(filter(None, said)))


def _unkept(fault: ValidationError) -> Refusal:
    """A text that an event cannot keep, as a rule one that is too long."""
    first = fault.errors(include_url=False)[0]
    most = first.get("ctx", {}).get("max_length")
    if most is not None:
        return Refusal(f"Too long: {most} characters at most")
    return Refusal(f"This cannot be kept in a journal: {first['msg'].lower()}")
