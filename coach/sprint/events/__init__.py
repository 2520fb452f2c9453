"""Everything that happens in a sprint, as facts in the past tense.

An event carries all that is needed to retell it: the fold that makes the state from events
computes nothing. One room for each subject; together they are one union, told apart by `what`.
"""

from __future__ import annotations

from coach.sprint.events.afterwards import (
    FindingMadeItem,
    FindingNoted,
    FindingWithdrawn,
    MeasurementWithdrawn,
    PointMeasured,
)
from coach.sprint.events.board import (
    ChangeNoted,
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
    ValueDeclared,
)
from coach.sprint.events.calculations import (
    CalculationRecomputed,
    CalculationRemoved,
    CalculationSaved,
    CalculationStale,
    PartDrawn,
)
from coach.sprint.events.items import (
    ItemMet,
    ItemReopened,
    ItemSetAside,
    ItemTakenBack,
    ItemWaived,
)
from coach.sprint.events.kind import Event
from coach.sprint.events.phases import (
    PhaseDrawn,
    PhaseEntered,
    PhaseSignedOff,
    PlaceReached,
    StepByStepSet,
    Walked,
)
from coach.sprint.events.run import (
    CallMade,
    ClockStepped,
    CutOffMoved,
    EditAccepted,
    Ended,
    ForecastMade,
    HabitsRecalled,
    Interrupted,
    Left,
    Quieted,
    Resumed,
    Started,
    TailCut,
    Undone,
)
from coach.sprint.events.stamped import KINDS, Stamped, stamped
from coach.sprint.events.thoughts import (
    ThoughtParked,
    ThoughtSettled,
)

VERSION = 1
"""Of the events; a journal from a newer version is refused."""

__all__ = [
    "KINDS",
    "VERSION",
    "CalculationRecomputed",
    "CalculationRemoved",
    "CalculationSaved",
    "CalculationStale",
    "CallMade",
    "ChangeNoted",
    "ClockStepped",
    "CutOffMoved",
    "EditAccepted",
    "Ended",
    "Event",
    "FactSet",
    "FeatureDropped",
    "FeatureRestored",
    "FindingMadeItem",
    "FindingNoted",
    "FindingWithdrawn",
    "ForecastMade",
    "HabitsRecalled",
    "Interrupted",
    "ItemMet",
    "ItemReopened",
    "ItemSetAside",
    "ItemTakenBack",
    "ItemWaived",
    "Left",
    "MeasurementWithdrawn",
    "PartDrawn",
    "PhaseDrawn",
    "PhaseEntered",
    "PhaseSignedOff",
    "PlaceReached",
    "PointMeasured",
    "Quieted",
    "Resumed",
    "Stamped",
    "Started",
    "StepByStepSet",
    "SubjectAdded",
    "SubjectDropped",
    "TailCut",
    "ThoughtParked",
    "ThoughtSettled",
    "Undone",
    "ValueDeclared",
    "Walked",
    "stamped",
]
