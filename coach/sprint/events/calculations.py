"""Events of calculations and of the parts they imply."""

from __future__ import annotations

from typing import Any, Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Line


class CalculationSaved(Event):
    """A calculation was saved. id: calculator, subject and label; record: all it answered."""

    what: Literal["calculation-saved"] = "calculation-saved"
    id: Line
    record: dict[str, Any]


class CalculationRecomputed(Event):
    """A saved calculation was run again because `because`. held: no verdict got worse."""

    what: Literal["calculation-recomputed"] = "calculation-recomputed"
    id: Line
    because: Line
    held: bool
    says: Line
    record: dict[str, Any]


class CalculationStale(Event):
    """A saved calculation could not be run again: what is missing."""

    what: Literal["calculation-stale"] = "calculation-stale"
    id: Line
    missing: Line


class CalculationRemoved(Event):
    what: Literal["calculation-removed"] = "calculation-removed"
    id: Line


class PartDrawn(Event):
    """A part that a calculation implies was drawn, as these words said it."""

    what: Literal["part-drawn"] = "part-drawn"
    id: Line
    role: Line
    words: Line
