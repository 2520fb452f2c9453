"""Many rehearsals, to see how good the forecasts are: a thousand engineers, each with a truth of
their own, and every forecast kept at a checkpoint judged by how that sprint really went.

The engineers differ in pace, in how much they pass over at first, and in how they tick. They
work on after the cut-off, so that it is known when the late ones would have been done. What is
known of them before a sprint is the prior: their paces lie about where it says people's do, but
come from another family.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from coach.sprint.brief.document import Brief
from coach.sprint.chances import per_cent, per_cents
from coach.sprint.events.run import CallMade
from coach.sprint.events.summary import ForecastOutcome
from coach.sprint.pace.scoring import (
    Calibration,
    all_essentials_in_time,
    calibration_of,
    scored,
    wilson,
)
from coach.sprint.rehearsal.rehearse import rehearse

_MEAN_PACE = 1.18
_PACE_SHAPE = 11.0  # of a gamma variate: three tenths of the mean as its standard deviation
_PACES = (0.45, 3.0)
_PATIENCE = 6 * 3600.0


@dataclass(frozen=True, slots=True)
class Kind:
    """One engineer. pace, overlook, burst: as for a rehearsal."""

    seed: int
    pace: float
    overlook: float
    burst: float


@dataclass(frozen=True, slots=True)
class Sprint:
    """How one rehearsed sprint went. in_time: with all essentials by the cut-off. finish,
    deadline: elapsed seconds. rung: calls that rang."""

    kind: Kind
    in_time: bool
    finish: float
    deadline: float
    rung: int
    forecasts: tuple[ForecastOutcome, ...]


def engineers(seed: int) -> Iterator[Kind]:
    """Engineers without end, the same for the same seed."""
    number = seed
    while True:
        dice = random.Random(f"engineer:{number}")
        least, most = _PACES
        pace = _MEAN_PACE * dice.gammavariate(_PACE_SHAPE, 1 / _PACE_SHAPE)
        yield Kind(
            number, min(max(pace, least), most), dice.uniform(0.0, 0.12), dice.uniform(1.0, 8.0)
        )
        number += 1


def rehearse_many(briefs: Sequence[Brief], count: int, *, seed: int = 1) -> Iterator[Sprint]:
    """`count` sprints, the briefs in turn; their journals are not kept."""
    kinds = engineers(seed)
    with TemporaryDirectory(prefix="rehearsed-") as folder:
        for number in range(count):
            yield _one(briefs[number % len(briefs)], next(kinds), Path(folder) / f"{number}.toml")


def _one(brief: Brief, kind: Kind, path: Path) -> Sprint:
    report = rehearse(
        brief,
        seed=kind.seed,
        pace=kind.pace,
        forget=0.0,
        overlook=kind.overlook,
        burst=kind.burst,
        patience=_PATIENCE,
        path=path,
    )
    for made in path.parent.glob(f"{path.name}*"):
        made.unlink()
    state = report.state
    return Sprint(
        kind,
        all_essentials_in_time(state),
        report.elapsed,
        report.deadline,
        sum(one.event.rings for one in state.of(CallMade)),
        scored(state),
    )


def calibration(sprints: Iterable[Sprint]) -> tuple[Calibration, ...]:
    """The forecasts of many sprints at each checkpoint, then all together."""
    return calibration_of([one for sprint in sprints for one in sprint.forecasts])


def in_words(one: Calibration) -> str:
    """How good the forecasts at a checkpoint were, for a table."""
    when = f"at {one.checkpoint} %" if one.checkpoint else "in all"
    low, high = wilson(one.covered, one.judged) if one.judged else (0.0, 1.0)
    return (
        f"{when:>7}  {one.forecasts:5d} forecasts   80 % band held "
        f"{per_cent(one.share, 1)} (true share {per_cents(low, high)})   "
        f"Brier score {one.brier:.3f}, base rate's {one.base:.3f}"
    )
