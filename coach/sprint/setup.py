"""The setup of a sprint: what the journal's header holds, and what never changes afterwards.

The header embeds the brief and the items as they were at the start, so that a journal can be
read without the project and an item reworded later does not change what was asked then.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat

from coach.sprint.brief.document import Brief, Deadline
from coach.sprint.clock import FASTEST, Moment, Seconds
from coach.sprint.cut_off import cut_off, seconds_between, zone_named
from coach.sprint.durations import duration
from phases.kit.facts import default_values
from phases.kit.items import CLOSING_ID, Closing, Item, Phase, load_closing, load_phases
from phases.kit.refusals import Refusal
from phases.kit.text import Line


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Run(_Part):
    """What a list shows of a sprint, whatever its brief and its items are."""

    title: Line
    started: Moment
    deadline: Seconds
    """From the start."""
    at_an_instant: bool
    """The cut-off is a time of day, so that a corrected wall clock moves what is left."""
    speed: Annotated[float, Field(gt=0, le=FASTEST)]
    rehearsed: bool
    """It was run at another speed, or by the simulated engineer, and feeds nobody's pace."""

    @property
    def simulated(self) -> bool:
        """Whether the simulated engineer ran it."""
        return self.rehearsed and self.speed == 1.0


class Catalogue(_Part):
    """What is asked, whatever the board is: the same in all sprints of a person until the coach or
    a house rule changes."""

    phases: tuple[Phase, ...]
    closing: Closing
    defaults: tuple[tuple[str, str, bool | FiniteFloat | Line], ...]
    """Subject, fact and value of what is taken to be so until somebody says otherwise."""

    @cached_property
    def items(self) -> Mapping[str, Item]:
        """Every item by id, the closing list last."""
        items = [item for phase in self.phases for item in phase.items]
        return {item.id: item for item in (*items, *self.closing.items)}


class Setup(Run, Catalogue):
    brief: Brief

    @property
    def reserve(self) -> float:
        """Seconds held back for the closing list and the order."""
        return self.brief.deadline.reserve * 60.0

    @property
    def kind(self) -> str:
        """What kind of run it is, in a sentence; empty for a person's own at the pace of life."""
        return kind_of_run(self.speed, self.rehearsed)

    def phase_of(self, item: str) -> str:
        """The phase of an item by its id; "" for one that is not of this sprint."""
        return self.items[item].phase if item in self.items else ""

    @cached_property
    def phase_ids(self) -> tuple[str, ...]:
        """The phases in their order, without the closing list."""
        return tuple(phase.id for phase in self.phases)

    def phase(self, phase_id: str) -> Phase:
        return next(phase for phase in self.phases if phase.id == phase_id)

    def known_phase(self, phase_id: str) -> str:
        """The id of a phase, or of the closing list. Raises LookupError for any other."""
        return self._known_ids[phase_id]

    @cached_property
    def _known_ids(self) -> Mapping[str, str]:
        return {name: name for name in (*self.phase_ids, CLOSING_ID)}


def kind_of_run(speed: float, rehearsed: bool) -> str:
    """A person's sprint at another speed is a rehearsal; the simulated engineer's runs at 1."""
    if speed != 1.0:
        return f"{rehearsal(speed)}: it feeds nobody's pace."
    return "A simulated engineer's sprint." if rehearsed else ""


def rehearsal(speed: float) -> str:
    """ "A rehearsal, the clock 60 times faster", without its full stop."""
    fast = f"{speed:g} times faster" if speed > 1.0 else f"at {speed:g} times its speed"
    return f"A rehearsal, the clock {fast}"


def setup_of(
    brief: Brief,
    now: datetime,
    *,
    speed: float = 1.0,
    rehearsed: bool = False,
    house: Sequence[Item] = (),
) -> Setup:
    """The setup of a sprint that begins `now`, with the items of this project.

    house: a team's own items, which stand after those of their phase. Raises Refusal where the
    cut-off leaves no time.
    """
    deadline = brief.deadline
    if deadline.zone is not None:
        now = now.astimezone(zone_named(deadline.zone))
    return Setup(
        title=brief.title,
        started=now,
        deadline=_seconds_to(deadline, now),
        at_an_instant=deadline.cut_off is not None,
        speed=speed,
        rehearsed=rehearsed or speed != 1.0,
        brief=brief,
        phases=_with_house(load_phases(), house),
        closing=load_closing(),
        defaults=default_values(),
    )


def _seconds_to(deadline: Deadline, now: datetime) -> float:
    if deadline.cut_off is None:
        return (deadline.minutes or 0) * 60.0
    left = seconds_between(now, cut_off(deadline.cut_off, now))
    if left <= deadline.reserve * 60:
        raise Refusal(
            f"Only {duration(left)} left to the cut-off, and the reserve is "
            f"{duration(60 * deadline.reserve)}",
            where="deadline",
            do="Give a later cut-off or a smaller reserve",
        )
    return left


def _with_house(phases: tuple[Phase, ...], house: Sequence[Item]) -> tuple[Phase, ...]:
    if not house:
        return phases
    return tuple(
        phase.model_copy(
            update={"item": (*phase.item, *(one for one in house if one.phase == phase.id))}
        )
        for phase in phases
    )


def header_of(setup: Setup) -> dict[str, Any]:
    """The journal's header as plain data."""
    asked = set(Catalogue.model_fields)
    return {
        "run": setup.model_dump(include=set(Run.model_fields)),
        "brief": setup.brief.to_plain(),
        "items": setup.model_dump(mode="json", include=asked, exclude_defaults=True),
    }


def setup_from(header: Mapping[str, Any], *, where: str) -> Setup:
    """The setup that a header holds. Raises Refusal where something in it is not ours."""
    with _usable(where):
        brief = Brief.from_plain(header["brief"], where=where)
        return Setup(**header["run"], **header["items"], brief=brief)


def run_from(header: Mapping[str, Any], *, where: str) -> Run:
    """The run that a header holds, whatever else is in it. Raises Refusal as `setup_from` does."""
    with _usable(where):
        return Run.model_validate(header["run"])


@contextmanager
def _usable(where: str) -> Iterator[None]:
    try:
        yield
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise Refusal(
            f"The journal's header cannot be used ({type(fault).__name__})",
            where=where,
            do="See what is intact with coach verify",
        ) from None
