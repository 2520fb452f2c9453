"""A small journal of the bench lamp, to be copied a thousand times."""

from __future__ import annotations

from pathlib import Path

from coach.sprint import commands as asked
from coach.sprint.clock import ManualClock
from coach.sprint.session import Session
from tests.sprint.conftest import NINE, bench_setup
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief


def small_journal(path: Path, *, ended: bool = True, missed: bool = True) -> bytes:
    """A few minutes of a sprint whose order was accepted. missed: the debug pins were forgotten."""
    clock = ManualClock(NINE)
    setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
    with Session.start(path, setup, clock) as session:
        session.do(asked.EnterPhase("debug-access"))
        clock.advance(240)
        if not missed:
            session.do(asked.Meet("debug-pins"))
        session.do(asked.EnterPhase("closing"))
        if ended:
            session.do(asked.End(True))
    return path.read_bytes()
