"""Events of items: met, waived, reopened, set aside."""

from __future__ import annotations

from typing import Literal

from coach.sprint.events.kind import Event
from phases.kit.text import Line

Rests = dict[str, Line]
"""The facts, values and noted changes a closed item hangs on, as they stood then."""


class ItemMet(Event):
    """An item was met. auto: by a calculation that passed and its parts drawn.

    rests: the facts, values and noted changes it hangs on, as they stood then.
    restored: it stands again as before it was reopened, because a value was put back.
    """

    what: Literal["item-met"] = "item-met"
    item: Line
    evidence: Literal["calculated", "data sheet", "inspected", "measured"]
    page: Line = ""
    figure: Line = ""
    marginal: bool = False
    auto: bool = False
    rests: Rests = {}  # noqa: RUF012  # pydantic copies it
    restored: bool = False


class ItemWaived(Event):
    """An item was waived. rests, restored: as for one that was met."""

    what: Literal["item-waived"] = "item-waived"
    item: Line
    reason: Line
    rests: Rests = {}  # noqa: RUF012  # pydantic copies it
    restored: bool = False


class ItemReopened(Event):
    """A met or waived item was opened again.

    doubt: what it rests on changed, and its evidence may still hold.
    """

    what: Literal["item-reopened"] = "item-reopened"
    item: Line
    because: Line
    doubt: bool = False


class ItemSetAside(Event):
    """A further item was set aside: nothing asks for it until it is taken back."""

    what: Literal["item-set-aside"] = "item-set-aside"
    item: Line


class ItemTakenBack(Event):
    """A further item that was set aside is asked for again."""

    what: Literal["item-taken-back"] = "item-taken-back"
    item: Line
