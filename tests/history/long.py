"""A journal of very many events, of every sort that a person and the coach write most."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import islice, repeat
from pathlib import Path

from coach.sprint.brief.loading import load_brief
from coach.sprint.events.board import FactSet
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.events.phases import PhaseEntered
from coach.sprint.events.run import (
    CallMade,
    Ended,
    ForecastMade,
    NoteParked,
    NoteSettled,
    Quieted,
    Started,
    Undone,
)
from coach.sprint.fold import begin
from coach.sprint.journal.file import Journal
from coach.sprint.setup import Setup, header_of, setup_of

START = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
SECONDS = 7000.0
_FORECAST = ForecastMade(
    because="forecast fallen",
    chance_essentials=0.4,
    chance_all=0.1,
    expected=7000.0,
    low=6000.0,
    high=8000.0,
    pace=1.3,
    draws=2000,
    seed=1,
)
_CALL = CallMade(cause="half", message="Half of the time is gone")


def long_journal(path: Path, events: int, *, alike: bool = False) -> Path:
    """So many events within a sprint that ended in time. alike: calls and nothing else, which a
    state keeps, every one."""
    setup = setup_of(load_brief("usb-bench-meter"), START)
    made = [
        Started(),
        *islice(repeat(_CALL) if alike else _events(setup), events - 2),
        Ended(accepted=True),
    ]
    with Journal.create(path, header_of(setup)) as journal:
        journal.append([_stamped(n, events, event).to_plain() for n, event in enumerate(made, 1)])
    return path


def _stamped(number: int, of: int, event: Event) -> Stamped:
    t = round(SECONDS * number / of, 3)
    by = 0 if isinstance(event, Started | CallMade | ForecastMade) else number
    return Stamped(number, START + timedelta(seconds=t), t, by, event)


def _events(setup: Setup) -> Iterator[Event]:
    keys = [row.key for row in begin(setup).rows if row.essential]
    phases = [phase.id for phase in setup.phases]
    number = 0
    while True:
        number += 1
        key, phase = keys[number % len(keys)], phases[number % len(phases)]
        yield ItemMet(item=key, evidence="inspected", depends_on={"x": "y"}, deadline=7200.0)
        yield ItemReopened(item=key, because="by hand")
        yield ItemWaived(item=key, reason="only a prototype", deadline=7200.0)
        yield ItemReopened(item=key, because="a part was moved", doubt=True)
        yield PhaseEntered(phase=phase, previous=phases[(number - 1) % len(phases)], skipped=(key,))
        yield CallMade(cause="skipped essential", message=f"{key} is still open", items=(key,))
        yield _FORECAST
        yield Quieted(quiet=bool(number % 2))
        yield FactSet(fact="usb_data", value=bool(number % 2))
        yield Undone(command=12 * number - 2, message="the fact before it")
        yield NoteParked(number=number, text="look at this when there is time")
        yield NoteSettled(number=number)
