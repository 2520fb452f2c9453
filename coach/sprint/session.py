"""A running sprint: the one road from a command to the state.

    command -> rules say which events -> journal -> fold -> state

There is no second road: the terminal, the command line, the simulated engineer and the tests
all call `Session.do`. An event is written before its effect can be seen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coach.sprint.brief.document import Brief
from coach.sprint.calls import due_calls
from coach.sprint.clock import LATEST, Clock, FastClock, Step, Stopwatch
from coach.sprint.commands import Command
from coach.sprint.cut_off import after, zone_named
from coach.sprint.events.event import Event, Stamped, stamped
from coach.sprint.events.run import (
    CallMade,
    ClockStepped,
    CoachClosed,
    EditAccepted,
    HabitsRecalled,
    Resumed,
    Started,
    TailCut,
    Undone,
)
from coach.sprint.fold import CONTRADICTION, fold, step
from coach.sprint.journal.file import Journal
from coach.sprint.pace.checkpoints import forecast_to_keep
from coach.sprint.setup import Setup, header_of, setup_from, setup_of
from coach.sprint.state import State
from phases.kit.items import Item
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.sprint.pace.forecast import Forecast


_FRESH = 120.0
"""Seconds after which a forecast is too old to call anything by it."""


class Session:
    """One sprint that is open for writing.

    listeners are called with the events of each step after the state has changed. forecast: the
    last one that was handed in; it is made elsewhere, because it takes longer than a keystroke.
    """

    def __init__(
        self,
        setup: Setup,
        journal: Journal,
        clock: Clock,
        watch: Stopwatch,
        past: Sequence[Stamped],
    ) -> None:
        self.setup = setup
        self.journal = journal
        self.clock = clock
        self.watch = watch
        self.history: list[Stamped] = list(past)
        self.state: State = fold(setup, self.history)
        self.listeners: list[Callable[[Sequence[Stamped]], None]] = []
        self.forecast: Forecast | None = None
        self._commands = max((s.by for s in self.history), default=0)
        self._last_command_t = max((s.t for s in self.history if s.by), default=0.0)

    # ---- opening -----------------------------------------------------------------------------

    @classmethod
    def start(cls, path: Path, setup: Setup, clock: Clock) -> Session:
        """A new sprint with a new journal. Raises Refusal where it cannot be written."""
        journal = Journal.create(path, header_of(setup))
        try:
            session = cls(setup, journal, clock, Stopwatch(clock), ())
            session._record([Started()], by=0)
        except BaseException:
            journal.close()
            raise
        return session

    @classmethod
    def resume(cls, path: Path, clock: Clock, *, accept_edit: bool = False) -> Session:
        """A sprint taken up again, time having gone on meanwhile. Raises Refusal."""
        session = cls._reopened(path, clock, accept_edit=accept_edit)
        try:
            session._record(session._opening(), by=0)
        except BaseException:
            session.close()
            raise
        return session

    @classmethod
    def afterwards(cls, path: Path, clock: Clock, *, accept_edit: bool = False) -> Session:
        """The journal of a sprint that has ended, to write down what was found later.

        Raises Refusal, also where the sprint goes on.
        """
        session = cls._reopened(path, clock, accept_edit=accept_edit)
        try:
            # What was mended is journalled first: the torn end is cut off whoever is refused.
            session._record(session._mended(), by=0)
            if not session.state.ended:
                raise Refusal(
                    "The sprint goes on",
                    where=str(path),
                    do=f"End it first: coach resume {path}, E",
                )
        except BaseException:
            session.close()
            raise
        return session

    @classmethod
    def _reopened(cls, path: Path, clock: Clock, *, accept_edit: bool) -> Session:
        journal = Journal.open(path, accept_edit=accept_edit)
        try:
            setup = setup_from(journal.header, where=str(path))
            past = events_of(journal.events, where=str(path))
            last_t, last_at = (past[-1].t, past[-1].at) if past else (0.0, setup.started)
            if setup.speed != 1.0:
                # A rehearsal goes on where its own clock stood, not at today's date.
                clock = FastClock(clock, setup.speed, begin=last_at)
            watch = Stopwatch.resume(clock, elapsed=last_t, wall=last_at)
            return cls(setup, journal, clock, watch, past)
        except BaseException as fault:
            journal.close()
            if isinstance(fault, CONTRADICTION):
                raise Refusal(
                    "Its events contradict each other",
                    where=str(path),
                    do=f"See which with: coach verify {path}",
                ) from fault
            raise

    def _opening(self) -> list[Event]:
        last_t = self.history[-1].t if self.history else 0.0
        gap = round(max(self.t - last_t, 0.0), 3)
        return [*self._mended(), Resumed(gap=gap)]

    def _mended(self) -> list[Event]:
        """What opening the journal found wrong with it."""
        found: list[Event] = []
        cut = self.journal.cut
        if cut is not None:
            found.append(TailCut(size=cut.bytes, kept_in=str(cut.kept_in.name)))
        if self.journal.edited:
            found.append(EditAccepted(blocks=tuple(self.journal.edited)))
        return found

    # ---- the road ----------------------------------------------------------------------------

    @property
    def t(self) -> float:
        """Elapsed seconds now."""
        return min(self.watch.elapsed(), LATEST)

    def do(self, command: Command) -> str:
        """Carries out a command; returns what to say. Raises Refusal and changes nothing then."""
        from coach.sprint.rules.decide import decide
        from coach.sprint.rules.rule import CommandContext

        context = CommandContext(self.t, self.now, tuple(self.history))
        events, message = decide(self.state, command, context)
        self._record(events, by=self._commands + 1)
        return message

    def tick(self) -> list[CallMade]:
        """Looks at the clock: says steps of the wall clock, makes the calls that are due."""
        noticed = self.watch.check()
        if noticed is not None:
            self._record([self._stepped(noticed)], by=0)
        forecast = self._fresh_forecast()
        calls = due_calls(self.state, self.t, forecast)
        kept = forecast_to_keep(self.state, self.t, forecast, calls) if forecast else None
        if calls or kept:
            self._record([*([kept] if kept else ()), *calls], by=0)
        return calls

    def recall(self, habits: Mapping[str, tuple[int, int]]) -> None:
        """What this person keeps forgetting, by item id: (missed, of); asked first from now on.

        A sprint that was taken up again keeps what it began with.
        """
        if self.state.ended or any(isinstance(s.event, Resumed) for s in self.history):
            return
        items = {item: pair for item, pair in habits.items() if item in self.setup.items}
        if items and items != self.state.habits:
            self._record([HabitsRecalled(items=items)], by=0)

    def take_forecast(self, forecast: Forecast) -> None:
        """A new forecast; the next look at the clock makes its calls and keeps what is due."""
        self.forecast = forecast

    def _fresh_forecast(self) -> Forecast | None:
        """The last forecast, if it knows the person's last command and the cut-off as it is."""
        made = self.forecast
        if made is None or made.t < self._last_command_t or self.t - made.t > _FRESH:
            return None
        return made if made.deadline == self.state.deadline else None

    def _stepped(self, noticed: Step) -> Event:
        """When the wall clock is set, a time of day stays; a cut-off in minutes stays minutes."""
        seconds = round(max(min(noticed.seconds, LATEST), -LATEST), 3)
        stays = self.state.at_an_instant and noticed.kind == "step"
        shift = -seconds if stays else 0.0
        return ClockStepped(
            seconds=seconds, kind=noticed.kind, deadline=self.state.deadline + shift, shift=shift
        )

    def _record(self, events: Sequence[Event], *, by: int) -> None:
        """Writes events to the journal before their effect can be seen; after the end with what
        the sprint comes to by them. Raises Refusal, and changes nothing, if they cannot be written.
        """
        # To the millisecond, as the journal keeps it: read again, the same state comes out.
        t, at = round(self.t, 3), self.now
        number = len(self.history)
        made = [Stamped(number + i, at, t, by, event) for i, event in enumerate(events, start=1)]
        state = self._after(made)
        if state.ended and any(event.counts for event in events):
            from coach.sprint.summing_up import summed_up

            summary = summed_up(state, [*self.history, *made])
            made.append(Stamped(number + len(made) + 1, at, t, 0, summary))
            state = step(state, made[-1])
        self.journal.append([one.to_plain() for one in made])
        self.history.extend(made)
        self.state = state
        self._commands = max(self._commands, by)
        if by:
            self._last_command_t = t
        for listener in self.listeners:
            listener(made)

    def _after(self, made: Sequence[Stamped]) -> State:
        """The state after these events; one that takes others back lets all be folded again."""
        if any(isinstance(one.event, Undone) for one in made):
            return fold(self.setup, [*self.history, *made])
        state = self.state
        for one in made:
            state = step(state, one)
        return state

    def leave(self) -> None:
        """The coach is closed on purpose: a rehearsal's clock goes on from this moment."""
        if not self.state.ended:
            self._record([CoachClosed()], by=0)

    # ---- what the screen asks ----------------------------------------------------------------

    @property
    def saved(self) -> bool:
        """Whether everything so far is known to be on the disk."""
        return self.journal.synced >= len(self.history)

    @property
    def trouble(self) -> str | None:
        """What is wrong with the disk, in a sentence; None where all is well."""
        return self.journal.trouble

    @property
    def now(self) -> datetime:
        """The wall time. All times of a sprint whose brief names the zone of its cut-off are of
        that zone, wherever the machine is."""
        now, zone = self.clock.wall(), self.setup.brief.deadline.zone
        return now.astimezone(zone_named(zone)) if zone else now

    def wall_of(self, t: float) -> datetime:
        """The wall time at which `t` seconds will have elapsed."""
        return after(self.now, t - self.t)

    def close(self) -> None:
        self.journal.close()

    def __enter__(self) -> Session:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def events_of(events: Sequence[Mapping[str, Any]], *, where: str) -> list[Stamped]:
    """Events read from a journal that is only looked at."""
    return [stamped(event, where=where) for event in events]


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
