"""The clock of the sprint: the only place that reads the time of day or a timer.

Everything else is handed a `Clock`, so that a sprint can be rehearsed faster than it runs
and tested without waiting. Seconds throughout; instants are aware datetimes.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, Literal, Protocol

from pydantic import AfterValidator, Field

from coach.sprint.cut_off import seconds_between, zone_of
from phases.kit.refusals import Refusal

LATEST = 1e11
"""The longest time, in seconds: three thousand years, since a clock may have been set wrong."""

Seconds = Annotated[float, Field(ge=-LATEST, le=LATEST, allow_inf_nan=False)]
"""A time from the start, or a span of time."""

_YEARS = range(1970, 6500)


def moment(at: object) -> datetime:
    """A wall time with its offset, of a year to which any time can be added. Raises ValueError."""
    if not isinstance(at, datetime) or at.tzinfo is None or at.year not in _YEARS:
        raise ValueError("not a moment in time")
    return at


Moment = Annotated[datetime, AfterValidator(moment)]

STEP_TOLERANCE = 2.0
"""Seconds by which wall clock and timer may differ between two checks without being said."""

FASTEST = 10_000.0
"""How many times faster than real time a rehearsal may run."""


class Clock(Protocol):
    """What a sprint needs to know of time."""

    counts_sleep: bool
    """Whether `mono` goes on while the machine sleeps."""

    def wall(self) -> datetime:
        """The time of day, aware, with the local offset."""

    def mono(self) -> float:
        """Seconds on a timer that nobody can set; only differences mean anything."""


class SystemClock:
    """The clock of this machine.

    The timer is CLOCK_BOOTTIME where the system offers it (Linux): it goes on during sleep.
    Elsewhere it is the monotonic timer, which may stand still meanwhile.
    """

    _BOOTTIME: int | None = getattr(time, "CLOCK_BOOTTIME", None)
    counts_sleep = _BOOTTIME is not None

    def wall(self) -> datetime:
        return datetime.now(UTC).astimezone()

    def mono(self) -> float:
        return time.monotonic() if self._BOOTTIME is None else time.clock_gettime(self._BOOTTIME)


def check_speed(speed: float) -> None:
    """Raises Refusal for a speed outside 0 .. `FASTEST`."""
    if not 0 < speed <= FASTEST:
        raise Refusal(
            f"A rehearsal cannot run {speed:g} times as fast",
            do=f"Give a speed above 0 and up to {FASTEST:.0f}, as in 20",
        )


class FastClock:
    """A rehearsal: from its creation on, wall clock and timer run `speed` times faster.

    begin: the wall time it starts at, by default the wall time of `inner`; a rehearsal that
    is taken up again begins where its journal ended.
    A step of the wall clock of `inner` keeps its size: it is not time that passed.
    Raises Refusal for a speed outside 0 .. `FASTEST`.
    """

    def __init__(self, inner: Clock, speed: float, *, begin: datetime | None = None) -> None:
        check_speed(speed)
        self.counts_sleep = inner.counts_sleep
        self._inner = inner
        self._speed = speed
        self._wall_at_start = inner.wall()
        self._mono_at_start = inner.mono()
        self._begin = (begin or self._wall_at_start).astimezone(UTC)

    def wall(self) -> datetime:
        now = self._inner.wall()
        passed = self._inner.mono() - self._mono_at_start
        stepped = seconds_between(self._wall_at_start, now) - passed
        instant = self._begin + timedelta(seconds=passed * self._speed + stepped)
        return instant.astimezone(zone_of(now))

    def mono(self) -> float:
        passed = self._inner.mono() - self._mono_at_start
        return self._mono_at_start + passed * self._speed


class ManualClock:
    """A clock that moves only when told to, for tests and for the simulated engineer.

    start: an aware datetime; its time zone is kept.
    counts_sleep: whether the timer goes on during `sleep`, as CLOCK_BOOTTIME does.
    """

    def __init__(self, start: datetime, *, counts_sleep: bool = True) -> None:
        if start.tzinfo is None:
            raise ValueError("a clock starts at an aware datetime")
        self._zone = start.tzinfo
        self._instant = start.astimezone(UTC)
        self._mono = 0.0
        self.counts_sleep = counts_sleep

    def wall(self) -> datetime:
        return self._instant.astimezone(self._zone)

    def mono(self) -> float:
        return self._mono

    def advance(self, seconds: float) -> None:
        """Time passes: wall clock and timer move together."""
        if seconds < 0:
            raise ValueError("time passes forwards; step() sets a clock back")
        self._instant += timedelta(seconds=seconds)
        self._mono += seconds

    def sleep(self, seconds: float) -> None:
        """The machine sleeps: the wall clock moves, and the timer if it counts sleep."""
        mono = self._mono
        self.advance(seconds)
        if not self.counts_sleep:
            self._mono = mono

    def step(self, seconds: float) -> None:
        """Somebody sets the wall clock, forwards or (negative) back; the timer does not move."""
        self._instant += timedelta(seconds=seconds)


@dataclass(frozen=True)
class Step:
    """Wall clock and timer came apart.

    seconds: by how much the wall clock went forward (positive) or back (negative).
    kind: "step", somebody or the network set the clock; "sleep", the timer stood still.
    """

    seconds: float
    kind: Literal["step", "sleep"]


@dataclass(frozen=True)
class _Look:
    """Wall clock and timer read together; `slack` is the doubt about "together", in seconds."""

    wall: datetime
    mono: float
    slack: float


class Stopwatch:
    """Elapsed seconds of the sprint.

    Policy:
    - While the program runs, the timer counts. Setting the wall clock does not change what
      has elapsed; `check` reports it as a step.
    - Where the timer stands still during sleep, a forward jump of the wall clock is taken as
      sleep and counts, because a deadline does not wait. A clock set forward by hand looks the
      same there and counts too; `check` reports it, so that it can be said.
    - While the program is closed, the wall clock counts: elapsed goes on from the last event.
      If the wall clock now stands before that event it was set back; the time between is then
      unknown, counts nothing, and the first `check` reports the step.
    - Elapsed never goes backwards.
    """

    def __init__(self, clock: Clock, elapsed: float = 0.0, unsaid: Step | None = None) -> None:
        self._clock = clock
        self._last = _look(clock)
        self._elapsed_at_last = elapsed
        self._shown = elapsed
        self._unsaid = unsaid

    @classmethod
    def resume(cls, clock: Clock, *, elapsed: float, wall: datetime) -> Stopwatch:
        """Taken up again: `elapsed` seconds stood in the last event, journalled at `wall`.

        Raises Refusal if `wall` has no offset from UTC, as after a careless edit.
        """
        if wall.tzinfo is None:
            raise Refusal("The time of the last event has no offset from UTC")
        gap = seconds_between(wall, clock.wall())
        unsaid = Step(gap, "step") if gap < -STEP_TOLERANCE else None
        return cls(clock, elapsed + max(0.0, gap), unsaid)

    def elapsed(self) -> float:
        """Seconds since the sprint began, closed and asleep included."""
        now = _look(self._clock)
        self._shown = max(self._shown, self._reached(now, self._step(now)))
        return self._shown

    def check(self) -> Step | None:
        """The step of the wall clock since the last check, if there was one."""
        if self._unsaid is not None:
            unsaid, self._unsaid = self._unsaid, None
            return unsaid
        now = _look(self._clock)
        step = self._step(now)
        self._elapsed_at_last = self._reached(now, step)
        self._last = now
        return step

    def _step(self, now: _Look) -> Step | None:
        by_timer = now.mono - self._last.mono
        apart = seconds_between(self._last.wall, now.wall) - by_timer
        if abs(apart) <= STEP_TOLERANCE + now.slack + self._last.slack:
            return None
        asleep = apart > 0 and not self._clock.counts_sleep
        return Step(apart, "sleep" if asleep else "step")

    def _reached(self, now: _Look, step: Step | None) -> float:
        passed = max(0.0, now.mono - self._last.mono)
        if step is not None and step.kind == "sleep":
            passed += step.seconds
        return self._elapsed_at_last + passed


def _look(clock: Clock) -> _Look:
    # The program may be stopped between two readings; reading the timer on both sides of the
    # wall clock keeps such a pause from looking like a step.
    before = clock.mono()
    wall = clock.wall()
    after = clock.mono()
    return _Look(wall, (before + after) / 2, (after - before) / 2)
