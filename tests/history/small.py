"""A small journal of the bench lamp, to be copied a thousand times."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from coach.sprint import commands as asked
from coach.sprint.clock import ManualClock
from coach.sprint.session import Session
from tests.sprint.conftest import NINE, bench_setup, changed
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief


def small_journal(
    path: Path,
    *,
    day: int = 0,
    ended: bool = True,
    missed: bool = True,
    accepted: bool = True,
    speed: float = 1.0,
) -> bytes:
    """A few minutes of a sprint whose order was accepted. missed: the debug pins were forgotten;
    day: of its start; speed: of a rehearsal."""
    clock = ManualClock(NINE + timedelta(days=day))
    setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
    setup = changed(setup, started=clock.wall(), speed=speed, rehearsed=speed != 1.0)
    with Session.start(path, setup, clock) as session:
        session.do(asked.EnterPhase("debug-access"))
        clock.advance(240)
        if not missed:
            session.do(asked.Meet("debug-pins"))
        session.do(asked.EnterPhase("closing"))
        if ended:
            session.do(asked.End(accepted))
    return path.read_bytes()
