"""The Textual app: it holds the session, carries commands to it, and says what comes back.

A screen shows the state and turns keys into commands; `CoachApp.do` is the only way from a key
to the session. The clock is looked at once a second, which repaints and lets calls be made.
"""

from __future__ import annotations

import os
import shlex
import sys
import traceback
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import events
from textual.app import App, SystemCommand
from textual.command import CommandPalette
from textual.screen import ModalScreen, Screen
from textual.worker import get_current_worker

from coach.sprint.calls import SKIPPED, still_so
from coach.sprint.commands import Command
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import CallMade
from coach.sprint.session import Session
from coach.sprint.state import State
from coach.terminal import themes
from coach.terminal.actions import Action
from coach.terminal.answers import Answers
from coach.terminal.drawing.lines import Line
from coach.terminal.screens.painted import PaintedScreen
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.sprint.pace.forecast import Forecast
    from coach.sprint.pace.pace import Pace

_IDLE_TICKS = 3
"""Seconds without a key before a call may interrupt what is being typed."""

_FORECAST_EVERY = 60
"""Seconds after which another forecast is made though nothing happened."""

_CALL_STAYS = 90
"""Seconds a call is shown at the top edge; the journal keeps it."""

_CALL_STAYS_OF_SPRINT = 10 * 60.0
"""The same in seconds of the sprint, which a rehearsal runs through faster."""

_FRAME_OUT = 0.1
"""Seconds from the first refresh of the sprint screen, by which it is out in full."""

QUIET = ("", "plain")
"""Nothing said."""


class CoachApp(App[int]):
    """The coach in a terminal. session: the sprint, or None on the start screen. first: a screen
    that is shown alone, without a sprint that runs."""

    CSS_PATH: ClassVar[list[str | Path]] = [
        "look.tcss",
        *sorted((Path(__file__).parent / "screens").glob("*.tcss")),
    ]  # type: ignore[assignment]
    TITLE = "coach"
    ENABLE_COMMAND_PALETTE = True
    # Textual declares these two as instance variables.
    HORIZONTAL_BREAKPOINTS = [(0, "-strip"), (60, "-plain"), (116, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (20, "-tall")]  # noqa: RUF012

    def __init__(
        self,
        session: Session | None = None,
        *,
        folder: Path | None = None,
        new: bool = False,
        first: Screen[None] | None = None,
        status: tuple[str, str] = QUIET,
    ) -> None:
        # Decided before Textual chooses how to leave colours out: with the theme alone it would
        # paint black on black.
        super().__init__(ansi_color=themes.chosen() == themes.NO_COLOUR or None)
        self.session = session
        self.folder = folder or Path()
        self.status = status
        self.call: CallMade | None = None
        self.answers = Answers(self)
        self._begins_new, self._first = new, first
        self._waiting_calls: list[CallMade] = []
        self._call_age, self._call_t = 0, 0.0
        self._idle = _IDLE_TICKS
        self._pace: Pace | None = None
        self._forecast_age = 0
        for theme in (themes.DARK, themes.LIGHT):
            self.register_theme(theme)
        self.theme = themes.chosen()

    @property
    def sprint(self) -> Session:
        """The session of the sprint that is open."""
        assert self.session is not None
        return self.session

    # ---- which screen --------------------------------------------------------------------------

    def on_mount(self) -> None:
        self.set_interval(1.0, self.tick)
        if self.session is not None:
            self._show_sprint(self.session)
        elif self._first is not None:
            self.push_screen(self._first)
        else:
            self.push_screen(self._start(self._begins_new))

    def take_session(self, session: Session) -> None:
        """A sprint begins or is resumed from the start screen."""
        self.session = session
        self.pop_screen()
        self._show_sprint(session)

    def _show_sprint(self, session: Session) -> None:
        from coach.terminal.screens.sprint import SprintScreen

        session.listeners.append(self._happened)
        self.push_screen(SprintScreen())

    def show_start(self) -> None:
        """Back to the start, where the questions of a new board are left."""
        self.switch_screen(self._start())

    def _start(self, begins_new: bool = False) -> Screen[None]:
        from coach.terminal.screens.start import StartScreen

        return StartScreen(begins_new)

    def explain(
        self,
        name: str,
        actions: Sequence[Action] = (),
        numbers: Callable[[int], list[Line]] | None = None,
    ) -> None:
        """The help of a screen."""
        from coach.terminal.screens.help import HelpScreen

        self.push_screen(HelpScreen(name, actions, numbers))

    def on_unmount(self) -> None:
        if self.session is not None:
            self.session.close()

    def leave(self) -> None:
        """Closes the coach; the sprint goes on."""
        if self._tried(self.sprint.leave):
            self.exit(0)

    # ---- the road of a command -----------------------------------------------------------------

    def do(self, command: Command) -> bool:
        """Carries a command to the session; says what it says. False where it was refused."""
        return self._tried(lambda: self.say(self.sprint.do(command)))

    def _tried(self, act: Callable[[], object]) -> bool:
        """Does it; a refusal is said."""
        try:
            act()
        except Refusal as refusal:
            self.say(str(refusal), "due")
            return False
        return True

    def say(self, text: str, role: str = "plain") -> None:
        """One line for the person; it stays until the next one."""
        self.status = (text, role)
        self.want_paint()

    def _happened(self, events: Sequence[Stamped]) -> None:
        self.want_paint()
        self.ask_forecast()

    def want_paint(self) -> None:
        """What is in sight is painted once whatever is going on is done."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, PaintedScreen):
                screen.want_paint()
            if not isinstance(screen, ModalScreen):
                break  # what is below is covered

    # ---- what takes longer ---------------------------------------------------------------------

    def warm_up(self) -> None:
        """Brings in what computing needs, after the first frame and off the event loop."""
        self.set_timer(_FRAME_OUT, self._warm_up)

    def _warm_up(self) -> None:
        self.run_worker(_bring_in, thread=True, exit_on_error=False, group="warm-up")
        self.ask_forecast()

    def ask_forecast(self) -> None:
        """Another forecast, in a thread; the screen goes on with the last one meanwhile."""
        if self.session is None or not self.is_running:
            return
        self._forecast_age = 0
        work = partial(self._forecast, self.session.state, self.session.t)
        self.run_worker(work, thread=True, exclusive=True, exit_on_error=False, group="forecast")

    def _forecast(self, state: State, t: float) -> None:
        from coach.history.brought_along import brought_along
        from coach.sprint.pace.forecast import forecast_of

        worker = get_current_worker()
        if self._pace is None:
            path = self.sprint.journal.path
            brought = brought_along(path.parent, without=path)
            self._pace = brought.pace
            if brought.habits and not worker.is_cancelled and self.is_running:
                recall = partial(self.sprint.recall, brought.habits)
                self.call_from_thread(self._tried, recall)
        if worker.is_cancelled:  # a later one has begun
            return
        made = forecast_of(state, t, pace=self._pace)
        if not worker.is_cancelled and self.is_running:
            self.call_from_thread(self._forecast_made, made)

    def _forecast_made(self, made: Forecast) -> None:
        if self.session is not None:
            self.session.take_forecast(made)
            self.want_paint()

    # ---- time and calls ------------------------------------------------------------------------

    def tick(self) -> None:
        """Once a second: a hint to look at the clock, never a count of it."""
        self._idle += 1
        self._call_age += 1
        self._forecast_age += 1
        if self.session is None:
            return
        if self._forecast_age >= _FORECAST_EVERY:
            self.ask_forecast()
        if self.call is not None and not self._call_stays(self.session, self.call):
            self.call = None
        self._tried(lambda: self._waiting_calls.extend(self.sprint.tick()))
        self._announce()
        self.want_paint()

    async def on_event(self, event: events.Event) -> None:
        """Sees a key before a field takes it: while somebody types, no call interrupts."""
        if isinstance(event, events.Key):
            self._idle = 0
        await super().on_event(event)

    def on_key(self, event: events.Key) -> None:
        if self.call is not None and event.key == "escape":
            self.call = None

    def _announce(self) -> None:
        """Says the calls that wait, once nothing is being typed; alike ones in one ring.

        What was skipped is in the history only: the SKIPPED line says it silently. One that has no
        ring left is shown at the top edge all the same.
        """
        if not self._waiting_calls or self._idle < _IDLE_TICKS:
            return
        calls = [call for call in self._waiting_calls if call.cause != SKIPPED]
        self._waiting_calls = []
        ringing = [call for call in calls if call.rings]
        if not calls:
            return
        self.call, self._call_age = (ringing or calls)[-1], 0
        self._call_t = self.sprint.t
        if ringing:
            self.bell()
            self.raise_notification(self.call.message)

    def _call_stays(self, session: Session, call: CallMade) -> bool:
        """Whether a call is still news and still so; the header says how things are now."""
        fresh = session.t - self._call_t <= _CALL_STAYS_OF_SPRINT and self._call_age <= _CALL_STAYS
        return fresh and still_so(session.state, session.t, call, session.forecast)

    def raise_notification(self, text: str) -> None:
        """Asks the terminal to notify (OSC 9), because the person is looking at another window."""
        plain = "".join(c for c in text if c.isprintable())[:200]
        driver = self._driver
        if driver is not None and not self.is_headless:
            driver.write(f"\x1b]9;{plain}\x07")

    def _fatal_error(self) -> None:
        """An error of the coach's own: one sentence for the person, the traceback in a file.

        Textual would print hundreds of lines with everything that was on the stack.
        """
        told, folder = traceback.format_exc(), self.folder
        if self.session is not None:
            folder = self.session.journal.path.parent
        try:
            (folder / "coach-fault.txt").write_text(told, encoding="utf-8")
            kept = f"What happened is in {folder / 'coach-fault.txt'}."
        except OSError:
            kept = f"It was: {told.strip().splitlines()[-1]}."
        self._exit_renderables.append(
            Text(f"The coach met an error of its own and stopped; the journal is intact. {kept}")
        )
        self._close_messages_no_wait()

    # ---- the palette ---------------------------------------------------------------------------

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What can be done on the screen one is on, found by any of its words."""
        if isinstance(screen, PaintedScreen):
            yield from screen.commands()
        yield SystemCommand("light or dark", "Change between the two palettes", self.other_theme)

    def action_command_palette(self) -> None:
        """The palette, in the coach's own words."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder="Command:"))

    def action_help_quit(self) -> None:
        """Ctrl+C is no way out of a sprint by mistake."""
        self.say("q quits; the sprint goes on" if self.session is not None else "q quits")

    def other_theme(self) -> None:
        if not os.environ.get("NO_COLOR"):
            dark = self.theme == themes.DARK.name
            self.theme = themes.LIGHT.name if dark else themes.DARK.name


def _bring_in() -> None:
    import numpy  # noqa: F401  # the import is the work

    import coach.sprint.rules.decide  # noqa: F401
    from phases.kit.catalogue import calculators
    from phases.kit.units import factor

    calculators()
    factor("mil", "mm")


# ---- from the command line ---------------------------------------------------------------------


def run_sprint(session: Session, *, status: tuple[str, str] = QUIET, command: str = "coach") -> int:
    """The sprint screen on a session, until the person leaves. Returns the exit code.

    status: what it says as it opens, with its role. command: how the coach is called again.
    """
    return _run(CoachApp(session, status=status), command)


def run_start(*, new: bool = False, folder: Path, command: str = "coach") -> int:
    """The start screen: a bundled brief, a new one, or a sprint to resume."""
    return _run(CoachApp(folder=folder, new=new), command)


def run_debrief(
    path: Path,
    *,
    note: bool = False,
    as_item: int = 0,
    accept_edit: bool = False,
    passed_over: int = 0,
) -> int:
    """The debrief of the journal at `path`, until the person leaves. Returns the exit code."""
    from coach.terminal.screens.debrief import DebriefScreen

    screen = DebriefScreen(
        path, note=note, as_item=as_item, accept_edit=accept_edit, passed_over=passed_over
    )
    return _run(CoachApp(folder=path.parent, first=screen))


def run_bringup(path: Path, boards: Sequence[str]) -> int:
    """The bring-up sheet of the journal at `path`, until the person leaves."""
    from coach.terminal.screens.bringup import BringupScreen

    return _run(CoachApp(folder=path.parent, first=BringupScreen(path, boards)))


def _run(app: CoachApp, command: str = "coach") -> int:
    result = app.run()
    _report(app, command)
    return result if result is not None else app.return_code or 0


def _report(app: CoachApp, command: str) -> None:
    """Where the journal is, said when the screen is gone."""
    if app.session is not None:
        path = app.session.journal.path
        ended = app.session.state.ended
        then, verb = ("Tell it", "debrief") if ended else ("Go on", "resume")
        # Each on a line of its own and without a full stop, to be copied.
        print(f"Journal: {path}", file=sys.stderr)
        print(f"{then} with: {command} {verb} {shlex.quote(str(path))}", file=sys.stderr)
