"""What an event is, its place in a journal, and every kind there is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Generic

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from typing_extensions import TypeVar

from coach.sprint.clock import LATEST, moment
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming
    from coach.sprint.state import State

Chance = Annotated[float, Field(ge=0, le=1)]

_STAMP = ("n", "at", "t", "by")


class Event(BaseModel):
    """Frozen, and strict about its keys."""

    # Built at first use: a sprint uses few kinds before its first frame.
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    kept: ClassVar[bool] = False
    """Whether the state keeps the event itself, as it stands in the journal."""

    stays: ClassVar[bool] = False
    """Whether undo leaves it: what the coach said, what the clock did, the end."""

    counts: ClassVar[bool] = True
    """Whether, after the end, it may change what the sprint is summed up to."""

    moves_values: ClassVar[bool] = False
    """Whether calculations may read other inputs after it, and so run again."""

    moves_items: ClassVar[bool] = False
    """Whether items may be met or in doubt after it; so they may where values moved."""

    what: ClassVar[str] = ""
    """The name of its kind in a journal: that of its class, "item-met" for ItemMet."""

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        cls.what = re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()
        if taken := {*_STAMP, "what"} & cls.model_fields.keys():
            raise TypeError(f"{cls.__name__}: {sorted(taken)[0]} is a key of the journal itself")

    def applied(self, state: State, t: float) -> State:
        """The state after it; t: elapsed seconds."""
        return state

    def told(self, names: Naming) -> str:
        """It in a sentence."""
        raise NotImplementedError(self.what)


E = TypeVar("E", bound=Event, default=Event)


@dataclass(frozen=True, slots=True)
class Stamped(Generic[E]):
    """An event in its place: number, wall time, elapsed seconds, and the command it came from.

    by: the number of the person's command, 0 for what the coach did by itself.
    """

    n: int
    at: datetime
    t: float
    by: int
    event: E

    def to_plain(self) -> dict[str, Any]:
        """The flat table of the journal; keys at their default are left out."""
        fields = self.event.model_dump(mode="python", exclude_defaults=True)
        stamp = {"n": self.n, "at": self.at, "t": round(self.t, 3), "by": self.by}
        return {**stamp, "what": self.event.what, **fields}

    def is_void(self, undone: set[int]) -> bool:
        """Whether it was taken back with its command."""
        return self.by in undone and self.by != 0 and not self.event.stays


@cache
def kinds() -> Mapping[str, type[Event]]:
    """Every kind of event by its name in a journal: the classes of the files beside this one."""
    for path in sorted(Path(__file__).parent.glob("*.py")):
        import_module(f"{__package__}.{path.stem}")
    return {kind.what: kind for kind in _last_subclasses(Event)}


def _last_subclasses(kind: type[Event]) -> Iterator[type[Event]]:
    for below in kind.__subclasses__():
        yield from _last_subclasses(below) if below.__subclasses__() else (below,)


def stamped(plain: Mapping[str, Any], *, where: str = "journal") -> Stamped:
    """An event from its table in a journal. Raises Refusal where it is none of ours."""
    try:
        kind = kinds()[plain["what"]]
        own = {k: v for k, v in plain.items() if k not in (*_STAMP, "what")}
        n, at, t, by = int(plain["n"]), moment(plain["at"]), float(plain["t"]), int(plain["by"])
        if not 0 <= t <= LATEST:
            raise ValueError("not a time")
        return Stamped(n, at, t, by, kind.model_validate(own))
    except (ValidationError, KeyError, TypeError, ValueError, OverflowError):
        number, what = plain.get("n", "?"), plain.get("what", "without a name")
        raise Refusal(
            f"Event {number} ({what}) is not one this coach knows",
            where=where,
            do="Open it with the coach that wrote it, or see what is intact with coach verify",
        ) from None


def of_kind(history: Iterable[Stamped], *wanted: type[Event]) -> list[Stamped[Any]]:
    """The events of some kinds, in order."""
    return [one for one in history if isinstance(one.event, wanted)]
