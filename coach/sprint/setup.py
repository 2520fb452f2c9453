"""The setup of a sprint: what the journal's header holds, and what never changes afterwards.

The header embeds the brief and the items as they were at the start, so that a journal can be
read without the project and an item reworded later does not change what was asked then.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from coach.sprint.brief.document import Brief
from coach.sprint.events.event import LONGEST, VERSION
from phases.kit.facts import FactValue, default_values
from phases.kit.items import Closing, Item, Phase, load_closing, load_phases
from phases.kit.refusals import Refusal


@dataclass(frozen=True)
class Setup:
    """started: wall time, aware. deadline: seconds from the start. at_an_instant: the cut-off is
    a time of day, so that a corrected wall clock moves what is left. speed: of a rehearsal;
    rehearsed: it was run faster or by the simulated engineer, and feeds nobody's pace."""

    brief: Brief
    phases: tuple[Phase, ...]
    closing: Closing
    started: datetime
    deadline: float
    at_an_instant: bool
    speed: float
    rehearsed: bool
    defaults: tuple[tuple[str, str, FactValue], ...]

    @property
    def reserve(self) -> float:
        """Seconds held back for the closing list and the order."""
        return self.brief.deadline.reserve * 60.0

    @property
    def kind(self) -> str:
        """What kind of run it is, in a sentence; empty for a person's own at the pace of life."""
        return kind_of_run(self.speed, self.rehearsed)

    @cached_property
    def items(self) -> Mapping[str, Item]:
        """Every item by id, the closing list last."""
        found: dict[str, Item] = {i.id: i for phase in self.phases for i in phase.items}
        return {**found, **{i.id: i for i in self.closing.items}}

    def phase_of(self, item: str) -> str:
        """The phase of an item by its id; "" for one that is not of this sprint."""
        return self.items[item].phase if item in self.items else ""

    def phase(self, phase_id: str) -> Phase:
        return next(phase for phase in self.phases if phase.id == phase_id)


def kind_of_run(speed: float, rehearsed: bool) -> str:
    """A person's sprint at another speed is a rehearsal; the simulated engineer's runs at 1."""
    if speed != 1.0:
        return f"{rehearsal(speed)}: it feeds nobody's pace."
    return "A simulated engineer's sprint." if rehearsed else ""


def rehearsal(speed: float) -> str:
    """ "A rehearsal, the clock 60 times faster", without its full stop."""
    fast = f"{speed:g} times faster" if speed > 1.0 else f"at {speed:g} times its speed"
    return f"A rehearsal, the clock {fast}"


def new_setup(
    brief: Brief, *, started: datetime, deadline: float, at_an_instant: bool = False,
    speed: float = 1.0, rehearsed: bool = False, house: Sequence[Item] = (),
) -> Setup:  # fmt: skip
    """The setup of a sprint that begins now, with the items of this project.

    house: a team's own items, which stand after those of their phase.
    """
    return Setup(
        brief, _with_house(load_phases(), house), load_closing(), started, deadline,
        at_an_instant, speed, rehearsed or speed != 1.0, default_values(),
    )  # fmt: skip


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
    return {
        "run": {
            "events": VERSION,
            "title": setup.brief.title,
            "started": setup.started,
            "deadline": setup.deadline,
            "at_an_instant": setup.at_an_instant,
            "speed": setup.speed,
            "rehearsed": setup.rehearsed,
        },
        "assumed": [{"subject": s, "fact": f, "value": v} for s, f, v in setup.defaults],
        "brief": setup.brief.to_plain(),
        "phases": [p.model_dump(mode="json", exclude_defaults=True) for p in setup.phases],
        "closing": setup.closing.model_dump(mode="json", exclude_defaults=True),
    }


def setup_from(header: Mapping[str, Any], *, where: str) -> Setup:
    """The setup that a header holds. Raises Refusal where something in it is not ours."""
    try:
        run = header["run"]
        if int(run["events"]) != VERSION:
            raise Refusal(
                f"Its events are of version {run['events']}, this coach reads version {VERSION}",
                where=where,
                do="Open it with the coach that wrote it",
            )
        if run["started"].tzinfo is None:
            raise ValueError("a start without an offset from UTC")
        if not (abs(run["deadline"]) <= LONGEST and 0 < run["speed"] <= LONGEST):
            raise ValueError("a cut-off or a speed that no sprint has")
        return Setup(
            brief=Brief.from_plain(header["brief"], where=where),
            phases=tuple(Phase.model_validate(p) for p in header["phases"]),
            closing=Closing.model_validate(header["closing"]),
            started=run["started"],
            deadline=float(run["deadline"]),
            at_an_instant=bool(run["at_an_instant"]),
            speed=float(run["speed"]),
            rehearsed=bool(run["rehearsed"]),
            defaults=tuple((a["subject"], a["fact"], a["value"]) for a in header["assumed"]),
        )
    except Refusal:
        raise
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise Refusal(
            f"The journal's header cannot be used ({type(fault).__name__})",
            where=where,
            do="See what is whole with coach verify",
        ) from None
