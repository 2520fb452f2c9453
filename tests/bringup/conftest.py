"""Sprints of small boards made by hand: begun, a few calculations saved, and ended."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.bringup.planning import sheet_of
from coach.bringup.sheet import Sheet, Step
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import Command, End, MeasurePoint, SaveCalculation
from coach.sprint.session import Session, start_sprint

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Bench:
    """A journal, and the sheet that is made of it as it stands."""

    path: Path

    @property
    def sheet(self) -> Sheet:
        return sheet_of(read_sprint(self.path))

    def step(self, point: str) -> Step:
        return self.sheet.by_id[point]

    def do(self, *commands: Command) -> None:
        """Writes something down after the end."""
        with Session.afterwards(self.path, ManualClock(NINE)) as session:
            for command in commands:
                session.do(command)

    def measure(self, board: str, point: str, text: str) -> None:
        from coach.bringup.readings import command_of

        command = command_of(self.step(point), board, text)
        assert isinstance(command, MeasurePoint)
        self.do(command)


Make = Callable[..., Bench]


def without_cards(name: str) -> Brief:
    """A bundled brief in which no subject names a part card: every part figure is a default."""
    brief = load_brief(name)
    tables = {
        field: tuple(one.model_copy(update={"part": None, "parts": {}}) for one in subjects)
        for field in ("rails", "buses", "connectors", "clocks", "loads")
        for subjects in [getattr(brief, field)]
    }
    return brief.model_copy(update=tables)


def maker(folder: Path) -> Make:
    """Makes sprints in a folder: of a brief in which these calculations were saved."""

    def made(
        brief: str | Brief, *calculations: str, do: Sequence[Command] = (), end: bool = True
    ) -> Bench:
        path = folder / f"sprint-{len(list(folder.iterdir()))}.toml"
        loaded = load_brief(brief) if isinstance(brief, str) else brief
        with start_sprint(loaded, path, ManualClock(NINE)) as session:
            for calculation in calculations:
                name, _, subject = calculation.partition("@")
                session.do(SaveCalculation(name, subject))
            for command in do:
                session.do(command)
            if end:
                session.do(End(accepted=False))
        return Bench(path)

    return made


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Makes sprints of this test alone."""
    return maker(tmp_path)


@pytest.fixture(scope="module")
def make_once(tmp_path_factory: pytest.TempPathFactory) -> Make:
    """Makes sprints that a module shares: only to be read."""
    return maker(tmp_path_factory.mktemp("sprints"))
