"""The app opened on a sprint whose clock stands still until told, and its screen read as text."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.worker import WorkerCancelled

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.session import Session, start_sprint
from coach.sprint.state import State
from coach.terminal.app import CoachApp

START = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)

SIZES: list[Any] = [
    (40, 12),
    pytest.param((60, 16), marks=pytest.mark.long),
    (80, 24),
    pytest.param((120, 36), marks=pytest.mark.long),
    (160, 48),
]
"""Columns and lines: a strip, a terminal as it opens, a whole screen, and what lies between."""

ENDS = [(40, 12), (160, 48)]

DRAWS = 400
"""Of a forecast: its words and places are looked at here, not its third digit."""

QUIET = 0.004
"""Seconds of real time. At textual's own 0.02 a key takes a tenth of a second, most of it slept."""


def begun(folder: Path, brief: str = "usb-bench-meter", name: str = "sprint.toml") -> Session:
    """A sprint that has just begun; its clock is a ManualClock."""
    return start_sprint(load_brief(brief), folder / name, ManualClock(START))


def clock_of(session: Session) -> ManualClock:
    assert isinstance(session.clock, ManualClock)
    return session.clock


@dataclass
class Driven:
    """A running app. `press` waits until the keys have had their effect."""

    app: CoachApp
    pilot: Pilot[int]

    @property
    def session(self) -> Session:
        return self.app.sprint

    @property
    def state(self) -> State:
        return self.app.sprint.state

    @property
    def screen(self) -> Screen[object]:
        return self.app.screen

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.settled()

    async def type(self, text: str) -> None:
        """Types a text; a key a character."""
        await self.press(*text)

    async def show(self, screen: Screen[object]) -> None:
        """Puts a screen on top."""
        await self.app.push_screen(screen)
        await self.settled()

    async def settled(self) -> None:
        """Every message handled, every worker done, the screen painted."""
        await self.pilot.pause()
        done = False
        while not done:
            try:
                await self.app.workers.wait_for_complete()
                done = True
            except WorkerCancelled:  # a later forecast has taken its place
                await self.pilot.pause()
        await self.pilot.pause()

    async def later(self, seconds: float) -> None:
        """Time passes, and the app looks at the clock."""
        clock_of(self.session).advance(seconds)
        self.app.tick()
        await self.settled()

    @property
    def lines(self) -> list[str]:
        """What the screen on top shows, line by line."""
        strips = self.screen._compositor.render_strips()
        return [strip.text.rstrip() for strip in strips]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    def line_with(self, words: str) -> str:
        """The first line that holds these words; empty where there is none."""
        return next((line for line in self.lines if words in line), "")


@asynccontextmanager
async def driven(
    session: Session | None = None,
    *,
    size: tuple[int, int] = (80, 24),
    folder: Path | None = None,
    new: bool = False,
) -> AsyncIterator[Driven]:
    """The app on a sprint, or on its start screen; the journal is closed afterwards."""
    app = CoachApp(session, folder=folder, new=new)
    # Time passes by `later` alone; what only waits for the first frame comes at once.
    app.set_interval = lambda *_, **__: None  # type: ignore
    app.set_timer = lambda _, then, **__: app.call_later(then)  # type: ignore
    try:
        with (
            patch("coach.sprint.pace.forecast.forecast_of", partial(forecast_of, draws=DRAWS)),
            # How long textual's pilot sleeps at a time to see whether all is quiet: a fifth.
            patch("textual._wait.SLEEP_GRANULARITY", QUIET),
            patch("textual._wait.SLEEP_IDLE", QUIET / 2),
        ):
            async with app.run_test(size=size, notifications=True) as pilot:
                drive = Driven(app, pilot)
                await drive.settled()
                yield drive
    finally:
        if app.session is not None:
            app.session.close()
