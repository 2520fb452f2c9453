"""Events after the end: what the bench measured, and faults that were found late."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from coach.sprint.events.kind import Event
from phases.kit.text import Line

MOST_MINUTES = 60_000.0
"""Lost over one finding; a thousand hours."""


class PointMeasured(Event):
    """A point of a board was measured at power-on. board: its number, as it is written on it.

    point: its id on the bring-up sheet, title its words there; text: as typed, a bare number
    with its unit. value: read, in `unit` (SI, °C), None for a reading that is no number ("dark").
    low, high: the ends of what was expected then, None where there is none. verdict: against
    them; "noted" without any.
    """

    what: Literal["point-measured"] = "point-measured"
    board: Line
    point: Line
    title: Line
    text: Line
    value: Annotated[float | None, Field(allow_inf_nan=False)] = None
    unit: Line = ""
    low: float | None = None
    high: float | None = None
    verdict: Literal["inside", "outside", "noted"]


class MeasurementWithdrawn(Event):
    """What was measured at a point of a board was a mistake."""

    what: Literal["measurement-withdrawn"] = "measurement-withdrawn"
    board: Line
    point: Line


class FindingNoted(Event):
    """A fault was found after the sprint.

    item: the key of the item that let it through, "" where no item asks for it.
    board: its number, "" for all of them. minutes: the time it cost. bodge: what was done to the
    board so that it works.
    """

    what: Literal["finding-noted"] = "finding-noted"
    number: int
    fault: Line
    item: Line = ""
    board: Line = ""
    minutes: Annotated[float | None, Field(ge=0, le=MOST_MINUTES, allow_inf_nan=False)] = None
    bodge: Line = ""


class FindingWithdrawn(Event):
    """A finding was a mistake."""

    what: Literal["finding-withdrawn"] = "finding-withdrawn"
    number: int


class FindingMadeItem(Event):
    """A finding became an item of the team's own. kept_in: the file of the house rules."""

    what: Literal["finding-made-item"] = "finding-made-item"
    number: int
    item: Line
    kept_in: Line
