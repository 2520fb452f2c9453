"""A sprint in a folder of its own, on a clock that moves only when told to.

Whatever a test does with it, at its end the journal is read again, by the fold and as plain TOML,
and has to give the very state the session has.
"""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from coach.sprint.brief.document import Brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import Command, Draw, SaveCalculation
from coach.sprint.events.event import E, Event, Stamped
from coach.sprint.events.run import CallMade
from coach.sprint.events.summary import SummedUp
from coach.sprint.fold import fold
from coach.sprint.journal.file import Journal
from coach.sprint.ledger.to_draw import undrawn
from coach.sprint.session import Session, events_of
from coach.sprint.setup import Setup, setup_from, setup_of
from coach.sprint.state import Row, State
from phases.kit.catalogue import calculators
from phases.kit.refusals import Refusal
from tests.sprint.lamp import CALCULATORS, CLOSING, PHASES, lamp_brief

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


@dataclass
class Bench:
    """A running sprint and the clock it runs on."""

    session: Session
    clock: ManualClock
    path: Path

    @property
    def state(self) -> State:
        return self.session.state

    def row(self, key: str) -> Row:
        return self.state.by_key[key]

    def status(self, key: str) -> str:
        return self.row(key).status

    def do(self, command: Command) -> str:
        """Carries it out five seconds later; returns what is said."""
        self.clock.advance(5)
        return self.session.do(command)

    def events(self, command: Command) -> list[Event]:
        """The events that a command led to, without what the sprint comes to by them."""
        before = len(self.session.history)
        self.do(command)
        found = [stamped.event for stamped in self.session.history[before:]]
        return [event for event in found if not isinstance(event, SummedUp)]

    def refused(self, command: Command) -> str:
        """The sentence a command is refused with; nothing may have happened then."""
        state, size = self.state, self.path.stat().st_size
        with pytest.raises(Refusal) as refused:
            self.do(command)
        assert self.state is state
        assert self.path.stat().st_size == size
        return str(refused.value)

    def save(self, calculator: str, subject: str = "", label: str = "", **given: str) -> str:
        return self.do(SaveCalculation(calculator, subject, label, given))

    def draw_all(self) -> None:
        self.do(Draw(tuple((part.calculation, part.role) for part in undrawn(self.state))))

    def at(self, minutes: float) -> None:
        """Lets the time come when so many minutes have elapsed."""
        self.clock.advance(minutes * 60 - self.session.t)

    def reopen(self, *, after: float = 0.0, step: float = 0.0) -> None:
        """Closes the coach and opens it again; after: seconds passed, step: the clock was set."""
        self.session.close()
        self.clock.advance(after)
        self.clock.step(step)
        self.session = Session.resume(self.path, self.clock)


def rung(state: State, number: int) -> State:
    """The state after so many calls that rang."""
    calls = (CallMade(cause=f"call {n}", message="") for n in range(number))
    return with_kept(state, *calls)


def told_again(path: Path) -> State:
    """The state that the journal gives, read by the coach's own reader."""
    reading = Journal.look(path)
    assert reading.whole
    return fold(setup_from(reading.header, where="j"), events_of(reading.events, where="j"))


def told_plainly(path: Path) -> State:
    """The same, read as nothing but TOML."""
    plain: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    header = plain["journal"]
    return fold(setup_from(header, where="j"), events_of(plain["event"], where="j"))


Begin = Callable[..., Bench]


def kept(state: State, kind: type[E]) -> list[E]:
    """The events of a kind that a state keeps."""
    return [one.event for one in state.of(kind)]


def with_kept(state: State, *events: Event, t: float = 60.0) -> State:
    """A state that keeps these events besides, made at `t`."""
    for event in events:
        one = Stamped(0, NINE, t, 0, event)
        found = {**state.kept, type(event): (one, state.kept.get(type(event)))}
        state = state.with_(kept=found)
    return state


def bench_setup(brief: Brief, **kept: Any) -> Setup:
    made = setup_of(brief, NINE)
    return changed(made, **kept)


def changed(setup: Setup, **kept: Any) -> Setup:
    """The setup with other values in these fields, nothing derived left over."""
    return Setup(**{**{name: getattr(setup, name) for name in Setup.model_fields}, **kept})


@pytest.fixture
def begin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Begin]:
    """Begins sprints: on the bench lamp with its own items, or on a `brief` with the real ones."""
    for kind in CALCULATORS:
        monkeypatch.setitem(calculators(), kind.name, kind)
    benches: list[Bench] = []

    def make(brief: Brief | None = None, *, counts_sleep: bool = True, **kept: Any) -> Bench:
        if brief is None:
            brief, kept = lamp_brief(), {"phases": PHASES, "closing": CLOSING, **kept}
        clock = ManualClock(NINE, counts_sleep=counts_sleep)
        path = tmp_path / f"sprint-{len(benches)}.toml"
        benches.append(Bench(Session.start(path, bench_setup(brief, **kept), clock), clock, path))
        return benches[-1]

    yield make
    for bench in benches:
        session = bench.session
        assert fold(session.setup, session.history) == session.state
        session.close()
        assert told_again(bench.path) == session.state
        assert told_plainly(bench.path) == session.state


@pytest.fixture
def bench(begin: Begin) -> Bench:
    """The bench lamp, at the first second."""
    return begin()


@pytest.fixture
def machine_in_berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The machine keeps the time of Berlin."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "Europe/Berlin")
        time.tzset()
        yield
    time.tzset()
