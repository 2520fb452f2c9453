"""After the end: what the bench measured, and faults that were found late."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from coach.sprint.durations import duration
from coach.sprint.events.event import Event
from phases.kit.grammar import sentence
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
    from coach.sprint.state import State

MOST_MINUTES = 60_000.0
"""Lost over one finding; a thousand hours."""

Number = Annotated[float, Field(ge=-1e18, le=1e18, allow_inf_nan=False)]

Verdict = Literal["inside", "outside", "noted"]


AS_EXPECTED = "as expected"
"""What one key writes down at a point whose answer is words."""


class PointMeasured(Event):
    """A point of a board was measured at power-on."""

    board: Line
    """The number written on the board."""
    point: Line
    """Its id on the bring-up sheet."""
    title: Line
    """Its words there."""
    text: Line
    """As typed, a bare number with its unit."""
    value: Number | None = None
    """As read, in `unit` (SI, °C); None for a reading that is not a number ("dark")."""
    unit: Line = ""
    low: Number | None = None
    """The ends of what was expected then, None where there is none."""
    high: Number | None = None
    verdict: Verdict
    """Against them; "noted" without any."""

    counts: ClassVar[bool] = False

    def applied(self, state: State, t: float) -> State:
        return state.with_(measured={**state.measured, (self.board, self.point): self})

    def told(self, names: Naming) -> str:
        how = "" if self.verdict == "noted" else f", {self.verdict} what was expected"
        return f"Board {self.board}, {self.title}: {self.text}{how}."


class MeasurementWithdrawn(Event):
    """What was measured at a point of a board was a mistake."""

    board: Line
    point: Line

    counts: ClassVar[bool] = False

    def applied(self, state: State, t: float) -> State:
        gone = (self.board, self.point)
        return state.with_(measured={k: v for k, v in state.measured.items() if k != gone})

    def told(self, names: Naming) -> str:
        return f"Board {self.board}, reading at {self.point.replace('-', ' ')}: undone."


class FindingNoted(Event):
    """A fault was found after the sprint."""

    number: int
    fault: Line
    item: Line = ""
    """The key of the item that let it through, "" where no item asks for it."""
    board: Line = ""
    """Its number, "" for all of them."""
    minutes: Annotated[float | None, Field(ge=0, le=MOST_MINUTES, allow_inf_nan=False)] = None
    """The time it cost."""
    bodge: Line = ""
    """What was done to the board so that it works."""

    def applied(self, state: State, t: float) -> State:
        return state.with_(findings={**state.findings, self.number: self})

    def told(self, names: Naming) -> str:
        board = f" on board {self.board}" if self.board else ""
        by = "No item asks for it."
        if self.item:
            by = f"Let through by: {sentence(names.item(self.item))}"
        cost = f" It cost {duration(self.minutes * 60)}." if self.minutes else ""
        bodge = f" Bodge: {sentence(self.bodge)}" if self.bodge else ""
        return f"Found late{board}: {sentence(self.fault)} {by}{cost}{bodge}"


class FindingWithdrawn(Event):
    """A finding was a mistake."""

    number: int

    def applied(self, state: State, t: float) -> State:
        kept = {number: one for number, one in state.findings.items() if number != self.number}
        return state.with_(findings=kept)

    def told(self, names: Naming) -> str:
        return f"Finding {self.number} undone."


class FindingMadeItem(Event):
    """A finding became an item of the team's own."""

    number: int
    item: Line
    kept_in: Line
    """The file of the house rules."""

    def applied(self, state: State, t: float) -> State:
        return state.with_(made_items={**state.made_items, self.number: self})

    def told(self, names: Naming) -> str:
        return f"Finding {self.number} became the item {self.item}, kept in {self.kept_in}."
