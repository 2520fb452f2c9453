"""A figure against its floor: both measured in turns, so that what else the machine does hits both.

The floor is what could not be done without: a bare Textual app, plain numpy, tomllib alone.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

Seconds = Callable[[], float]
"""Does something once, and says how long it took."""


def timed(work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> Seconds:
    def once() -> float:
        before = clock()
        work()
        return clock() - before

    return once


def processor(work: Callable[[], object]) -> Seconds:
    """Processor time: for what takes seconds, because others use the machine meanwhile."""
    return timed(work, time.process_time)


@dataclass(frozen=True)
class Compared:
    """A row of the table. figure, floor: medians over the rounds, in seconds; ratio: the median of
    the rounds' own, low and high its quartiles. limit: the greatest ratio that passes; None where
    the test asks for an absolute figure."""

    name: str
    figure: float
    floor_of: str
    floor: float
    ratio: float
    low: float
    high: float
    rounds: int
    limit: float | None

    @property
    def cells(self) -> tuple[str, ...]:
        limit = "" if self.limit is None else f"{self.limit:g}"
        spread = f"{self.low:.2f} to {self.high:.2f}"
        floor = f"{shown(self.floor)}, {self.floor_of}"
        return self.name, shown(self.figure), floor, f"{self.ratio:.2f}", spread, limit


def shown(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 1 else f"{seconds * 1e3:.3g} ms"


def compared(
    name: str,
    figure: Seconds,
    floor_of: str,
    floor: Seconds,
    *,
    rounds: int,
    limit: float | None = None,
    warm: bool = True,
) -> Compared:
    """So many rounds of floor and figure. warm: once before, for what is made at the first call."""
    if warm:
        floor(), figure()
    pairs = [(floor(), figure()) for _ in range(rounds)]
    ratios = [took / least for least, took in pairs]
    low, ratio, high = statistics.quantiles(ratios, n=4) if rounds > 1 else ratios * 3
    return Compared(
        name,
        statistics.median(took for _, took in pairs),
        floor_of,
        statistics.median(least for least, _ in pairs),
        ratio,
        low,
        high,
        rounds,
        limit,
    )
