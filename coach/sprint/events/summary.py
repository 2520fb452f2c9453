"""What a sprint came to, in figures: written at its end, so that many are counted quickly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated

from pydantic import Field, FiniteFloat

from coach.sprint.clock import Seconds
from coach.sprint.events.afterwards import MOST_MINUTES
from coach.sprint.events.event import Chance, Event
from phases.kit.grammar import count, was
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming

AT_ONCE = 0.1
"""Share of the time to the cut-off within which a sprint was given up at once. Our own choice."""

Number = Annotated[int, Field(ge=0, le=1_000_000)]


@dataclass(frozen=True, slots=True)
class ItemOutcome:
    """How items went, those that went alike together; each number counts the subjects of one of
    them, 1 for an item of the board."""

    items: tuple[Line, ...]
    """By id."""
    here: Number = 0
    """At which it was on the board at the end."""
    asked: Number = 0
    """At which nobody ever said whether it is on the board, so that it counts for nothing else."""
    due: Number = 0
    """Of an essential: at which its turn came."""
    forgotten: Number = 0
    """Of these, at which it was still open."""
    late: Number = 0
    open: Number = 0
    """At which it was on the board and not closed, for whatever reason."""
    waived: Number = 0
    met: Number = 0
    reopened: Number = 0
    """How often it was opened again."""
    dismissed: Number = 0
    """At which the person said that it is not on this board."""


@dataclass(frozen=True, slots=True)
class PhaseOutcome:
    """A phase, choosing parts ("") or the closing list."""

    phase: Line
    name: Line
    planned: Seconds
    used: Seconds
    drawn: bool = False
    """Its work was done within the sprint."""

    @property
    def pace(self) -> float | None:
        """Used over planned; None where it was not drawn, or nothing was planned."""
        return self.used / self.planned if self.drawn and self.planned > 0 else None


@dataclass(frozen=True, slots=True)
class ForecastOutcome:
    """A forecast kept at a checkpoint, against what came."""

    checkpoint: Number
    chance: Chance
    """What was said of all essentials in time."""
    happened: bool
    """They were."""
    covered: bool | None = None
    """The 80 % band held the finish; None where that cannot be told."""
    loss: Seconds | None = None
    """Pinball loss of the two ends of the band together."""


@dataclass(frozen=True, slots=True)
class LateFinding:
    """A fault that was found after the sprint."""

    fault: Line
    item: Line = ""
    """The id of the item that let it through, "" where none asked for it."""
    minutes: Annotated[float, Field(ge=0, le=MOST_MINUTES)] | None = None
    """What it cost."""
    made: Line = ""
    """The id of the house rule that was made of it."""


class SummedUp(Event):
    """What the sprint came to. Written after its end, and again after whatever may change it."""

    ended_at: Seconds
    deadline: Seconds
    """Elapsed seconds of the cut-off in force."""
    accepted: bool
    pace: tuple[FiniteFloat, Annotated[FiniteFloat, Field(gt=0)]] | None = None
    """Mean and deviation of the logarithm of the pace it shows by itself."""
    items: tuple[ItemOutcome, ...] = ()
    phases: tuple[PhaseOutcome, ...] = ()
    forecasts: tuple[ForecastOutcome, ...] = ()
    findings: tuple[LateFinding, ...] = ()

    @property
    def in_time(self) -> bool:
        """The order was accepted by the cut-off."""
        return self.accepted and self.ended_at <= self.deadline

    @property
    def given_up(self) -> bool:
        """It ended without an order within the first tenth of its time: a start by mistake, a look
        at the program. That tells nothing of how a person works."""
        return not self.accepted and self.ended_at <= AT_ONCE * self.deadline

    @property
    def forgotten(self) -> int:
        """Essentials that were forgotten, each subject for itself."""
        return sum(one.forgotten * len(one.items) for one in self.items)

    @property
    def due(self) -> int:
        """Essentials on the board whose turn came."""
        return sum(one.due * len(one.items) for one in self.items)

    @cached_property
    def by_item(self) -> Mapping[str, ItemOutcome]:
        """How each item went, by id."""
        return {item: one for one in self.items for item in one.items}

    def told(self, names: Naming) -> str:
        return f"Summed up: {forgotten_words(self.forgotten, self.due)}."


def forgotten_words(missed: int, due: int) -> str:
    """ "3 essentials were forgotten, of 40 that were due": what `gates/forgotten.py` counts."""
    return f"{count(missed, 'essential')} {was(missed)} forgotten, of {due} that were due"
