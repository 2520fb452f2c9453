"""Starting a sprint from a brief: its deadline in seconds, its journal, its clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from coach.sprint.brief.document import Brief
from coach.sprint.clock import Clock, FastClock
from coach.sprint.cut_off import cut_off, seconds_between, zone_named
from coach.sprint.session import Session
from coach.sprint.setup import Setup, new_setup
from phases.kit.items import Item
from phases.kit.refusals import Refusal


def setup_of(
    brief: Brief,
    now: datetime,
    *,
    speed: float = 1.0,
    rehearsed: bool = False,
    house: Sequence[Item] = (),
) -> Setup:
    """The setup of a sprint that begins `now`. Raises Refusal where the cut-off leaves no time.

    house: a team's own items (house_rules.py).
    """
    deadline = brief.deadline
    if deadline.zone is not None:
        now = now.astimezone(zone_named(deadline.zone))
    at_an_instant = deadline.cut_off is not None
    if deadline.cut_off is not None:
        left = seconds_between(now, cut_off(deadline.cut_off, now))
        if left <= deadline.reserve * 60:
            raise Refusal(
                f"{left / 60:.0f} min are left to the cut-off, and {deadline.reserve} of them "
                "are the reserve",
                where="deadline",
                do="Give a later cut-off or a smaller reserve",
            )
    else:
        left = (deadline.minutes or 0) * 60.0
    return new_setup(
        brief,
        started=now,
        deadline=left,
        at_an_instant=at_an_instant,
        speed=speed,
        rehearsed=rehearsed,
        house=house,
    )


def start_sprint(
    brief: Brief,
    path: Path,
    clock: Clock,
    *,
    speed: float = 1.0,
    rehearsed: bool = False,
    house: Sequence[Item] = (),
) -> Session:
    """A sprint that begins now, with a new journal at `path`.

    speed: other than 1 it is a rehearsal whose clock runs that much faster. house: a team's own
    items.
    Raises Refusal where the journal cannot be made, and for a speed no clock runs at.
    """
    runs = clock if speed == 1.0 else FastClock(clock, speed)
    setup = setup_of(brief, runs.wall(), speed=speed, rehearsed=rehearsed, house=house)
    return Session.start(path, setup, runs)
