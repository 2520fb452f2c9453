"""Notes: thoughts put aside until the next pause."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from coach.sprint.events.event import Event
from coach.sprint.state import Thought
from phases.kit.grammar import sentence
from phases.kit.text import Text

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
    from coach.sprint.state import State


class ThoughtParked(Event):
    number: int
    text: Text

    def applied(self, state: State, t: float) -> State:
        return state.with_(thoughts=(*state.thoughts, Thought(self.number, self.text, t)))

    def told(self, names: Naming) -> str:
        return f"Parked: {sentence(' '.join(self.text.split()))}"


class ThoughtSettled(Event):
    number: Annotated[int, Field(ge=1)]

    def applied(self, state: State, t: float) -> State:
        thoughts, at = [*state.thoughts], self.number - 1  # they are numbered as they come
        if at < len(thoughts):  # else of a journal that was edited by hand
            thoughts[at] = thoughts[at].settled_now()
        return state.with_(thoughts=tuple(thoughts))

    def told(self, names: Naming) -> str:
        return f"Note {self.number} done."
