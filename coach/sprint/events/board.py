"""Events of what is known of the board: facts, values, subjects, features."""

from __future__ import annotations

from typing import Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Line


class FactSet(Event):
    """A fact became known or changed; subject "" is the board."""

    what: Literal["fact-set"] = "fact-set"
    subject: Line = ""
    fact: Line
    value: bool | float | Line


class ValueDeclared(Event):
    """A value of the brief was changed: the ledger name and its new text or rows."""

    what: Literal["value-declared"] = "value-declared"
    name: Line
    value: Line | tuple[dict[str, Line], ...]


class ChangeNoted(Event):
    """Something changed that no fact and no value shows."""

    what: Literal["change-noted"] = "change-noted"
    change: Line


class SubjectAdded(Event):
    what: Literal["subject-added"] = "subject-added"
    id: Line
    kind: Literal["rail", "bus", "connector", "clock", "load"]
    parent: Line = ""
    title: Line = ""


class SubjectDropped(Event):
    what: Literal["subject-dropped"] = "subject-dropped"
    id: Line


class FeatureDropped(Event):
    what: Literal["feature-dropped"] = "feature-dropped"
    feature: Line


class FeatureRestored(Event):
    """A dropped feature came back. forgotten: facts that dropping it set and nobody knew before."""

    what: Literal["feature-restored"] = "feature-restored"
    feature: Line
    forgotten: tuple[Line, ...] = ()
