"""An event in its place, and as the flat table a journal keeps of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache, reduce
from math import isfinite
from operator import or_
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError

from coach.sprint.events import (
    afterwards,
    board,
    calculations,
    items,
    phases,
    run,
    thoughts,
)
from coach.sprint.events.kind import Event
from phases.kit.refusals import Refusal

KINDS: tuple[type[Event], ...] = tuple(
    kind
    for room in (run, phases, items, board, calculations, thoughts, afterwards)
    for kind in vars(room).values()
    if isinstance(kind, type) and issubclass(kind, Event) and kind is not Event
)
"""Every kind of event."""

_STAMP = ("n", "at", "t", "by")


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event in its place: number, wall time, elapsed seconds, and the command it came from.

    by: the number of the person's command, 0 for what the coach did by itself.
    """

    n: int
    at: datetime
    t: float
    by: int
    event: Event

    def to_plain(self) -> dict[str, Any]:
        """The flat table of the journal; keys at their default are left out, but for `what`."""
        fields = self.event.model_dump(mode="python", exclude_defaults=True)
        fields = {k: list(v) if isinstance(v, tuple) else v for k, v in fields.items()}
        what = {"what": self.event.what}  # type: ignore[attr-defined]  # each event has its own
        return {"n": self.n, "at": self.at, "t": round(self.t, 3), "by": self.by, **what, **fields}


@cache
def _adapter() -> TypeAdapter[Event]:
    """One tagged union of all that can happen."""
    union: Any = reduce(or_, KINDS)
    return TypeAdapter(Annotated[union, Field(discriminator="what")])


def stamped(plain: Mapping[str, Any], *, where: str = "journal") -> Stamped:
    """An event from its table in a journal. Raises Refusal where it is none of ours."""
    own = {k: v for k, v in plain.items() if k not in _STAMP}
    try:
        event = _adapter().validate_python(own)
        n, at, t, by = int(plain["n"]), plain["at"], float(plain["t"]), int(plain["by"])
        if not isinstance(at, datetime) or at.tzinfo is None or not isfinite(t):
            raise ValueError("no moment in time")
        return Stamped(n, at, t, by, event)
    except (ValidationError, KeyError, TypeError, ValueError, OverflowError):
        number = plain.get("n", "?")
        raise Refusal(
            f"Event {number} ({own.get('what', 'without a name')}) is not one this coach knows",
            where=where,
            do="Open it with the coach that wrote it, or see what is whole with coach verify",
        ) from None
