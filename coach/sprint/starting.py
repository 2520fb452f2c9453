"""Starting a sprint from a brief: its deadline in seconds, its journal, its clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from coach.sprint.brief.document import Brief
from coach.sprint.clock import Clock, FastClock, cut_off
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
    given = brief.deadline
    left = (given.minutes or 0) * 60.0
    if given.cut_off is not None:
        instant = cut_off(given.cut_off, now, given.zone)
        left = (instant.astimezone(UTC) - now.astimezone(UTC)).total_seconds()
        if left <= given.reserve * 60.0:
            what = f"{left / 60:.0f} min to the cut-off, but {given.reserve} min are the reserve"
            do = "Give a later cut-off or a smaller reserve"
            raise Refusal(what, where="deadline", do=do)
    return new_setup(
        brief,
        started=now,
        deadline=left,
        at_an_instant=given.cut_off is not None,
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
    items. Raises Refusal where the journal cannot be made, and for a speed no clock runs at.
    """
    runs = clock if speed == 1.0 else FastClock(clock, speed)
    setup = setup_of(brief, runs.wall(), speed=speed, rehearsed=rehearsed, house=house)
    return Session.start(path, setup, runs)
