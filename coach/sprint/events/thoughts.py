"""Events of parked thoughts."""

from __future__ import annotations

from typing import Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Text


class ThoughtParked(Event):
    what: Literal["thought-parked"] = "thought-parked"
    number: int
    text: Text


class ThoughtSettled(Event):
    what: Literal["thought-settled"] = "thought-settled"
    number: int
