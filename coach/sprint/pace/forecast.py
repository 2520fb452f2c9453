"""The forecast: will all essentials be in by the cut-off, and when will it be done.

It draws finishing times of the work that is left, at the pace that this sprint has shown. A
forecast is a value: made from a state and a moment off the event loop, looked at by the screen,
handed to the session, which keeps some of them in the journal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coach.sprint.durations import duration
from coach.sprint.pace.descope import Proposal, propose
from coach.sprint.pace.finishing import DRAWS, SEED, draw_finishing
from coach.sprint.pace.latest_start import LatestStart, latest_starts
from coach.sprint.pace.pace import PRIOR, Pace, observations, pace_of
from coach.sprint.pace.plan import CHOOSING
from coach.sprint.pace.work import Work, work_of
from coach.sprint.state import State
from phases.kit.grammar import capital, count

BAND = 0.8
"""The share of finishing times that lies between `low` and `high`."""

MOST_UNFINISHED = 2
"""How many of the phases that were begun and are not drawn are named, the longest first."""


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A phase that was begun and is not drawn. open: its open essentials. seconds: expected, left
    of its drawing."""

    name: str
    open: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is to be expected at elapsed time `t`, in seconds.

    chance_essentials, chance_all: of having all essentials, or everything, by the cut-off.
    expected, low, high: elapsed time at the finish with all essentials; its mean and 80 % band.
    costliest: the phase whose drawing takes most of what is left, with its seconds; "" for
    choosing parts, None where nothing is to draw. pace: as known now. seen: phases that told it.
    unfinished: phases begun and not drawn. drawing, walks, skipped, closing:
    expected seconds that are left of each; skipped: of `skipped_count` essentials left open in
    phases that are drawn. latest: latest starts of open essentials. proposal: what to drop,
    where the chance is under the threshold.
    """

    t: float
    deadline: float
    threshold: float
    chance_essentials: float
    chance_all: float
    expected: float
    low: float
    high: float
    costliest: str | None
    costliest_seconds: float
    costliest_name: str
    unfinished: tuple[Unfinished, ...]
    pace: Pace
    seen: int
    drawing: float
    walks: float
    skipped: float
    skipped_count: int
    closing: float
    latest: tuple[LatestStart, ...]
    proposal: Proposal | None
    draws: int
    seed: int

    @property
    def fallen(self) -> bool:
        """Whether the chance of having all essentials is under the brief's threshold."""
        return self.chance_essentials < self.threshold

    def why(self) -> str:
        """What the forecast rests on, in a few sentences."""
        return " ".join(self.reasons())

    def reasons(self) -> tuple[str, ...]:
        """The same, sentence by sentence."""
        said = []
        if self.costliest is not None and self.costliest_seconds >= 30:
            most = duration(self.costliest_seconds)
            said.append(f"Biggest part left: {self.costliest_name}, {most}.")
        known = f"pace {self.pace.median:.1f} ({self.known()})"
        said.append(f"Drawing in all {duration(self.drawing)}, {known}.")
        for one in sorted(self.unfinished, key=lambda one: -one.seconds)[:MOST_UNFINISHED]:
            left, still = duration(one.seconds), count(one.open, "essential")
            said.append(f"{capital(one.name)}: {left} of that, {still} open.")
        if self.skipped_count:
            still = count(self.skipped_count, "essential")
            said.append(f"{still} left open in drawn phases: {duration(self.skipped)}.")
        said.append(f"Walks {duration(self.walks)}, closing list {duration(self.closing)}.")
        return tuple(said)

    def known(self) -> str:
        """Where the pace is known from."""
        if not self.seen:
            return "default until seen"
        return f"seen in {count(self.seen, 'phase')}"


def forecast_of(
    state: State, t: float, *, pace: Pace = PRIOR, draws: int = DRAWS, seed: int = SEED
) -> Forecast:
    """The forecast at elapsed time `t`. pace: as it was known before this sprint. The same state,
    time, pace and seed give the same forecast."""
    import numpy as np

    work, known = work_of(state, t), pace_of(state, t, pace)
    drawn = draw_finishing(work, known.ahead(), draws, seed)
    left = state.deadline - t
    if state.ended:
        drawn.essentials[:] = drawn.everything[:] = (state.ended_at or t) - t
        left = left if state.accepted else -np.inf
    chance = float((drawn.essentials <= left).mean())
    low, high = np.quantile(drawn.essentials, [(1 - BAND) / 2, (1 + BAND) / 2])
    parts = {phase: float(values.mean()) for phase, values in drawn.drawing.items()}
    costliest = max(parts, key=lambda phase: parts[phase], default=None)
    threshold = state.setup.brief.deadline.threshold
    fallen = chance < threshold and not state.ended
    return Forecast(
        t=t,
        deadline=state.deadline,
        threshold=threshold,
        chance_essentials=chance,
        chance_all=float((drawn.everything <= left).mean()),
        expected=t + float(drawn.essentials.mean()),
        low=t + float(low),
        high=t + float(high),
        costliest=costliest,
        costliest_seconds=parts.get(costliest or "", 0.0),
        costliest_name=_name(state, costliest),
        unfinished=_unfinished(state, work, parts),
        pace=known,
        seen=sum(one.phase != CHOOSING for one in observations(state, t)),
        drawing=sum(parts.values()),
        walks=work.walks,
        skipped=sum(float(values.mean()) for values in drawn.left_open.values()),
        skipped_count=work.left_open_count,
        closing=work.closing_seconds,
        latest=latest_starts(state, t, known.median, work),
        proposal=propose(state, t, work, drawn) if fallen else None,
        draws=draws,
        seed=seed,
    )


def _unfinished(state: State, work: Work, parts: Mapping[str, float]) -> tuple[Unfinished, ...]:
    return tuple(
        Unfinished(_name(state, piece.phase), len(piece.open.own), parts[piece.phase])
        for piece in work.drawing
        if piece.open.own and parts[piece.phase] >= 30
    )


def _name(state: State, phase: str | None) -> str:
    if phase is None:
        return ""
    return state.setup.phase(phase).name if phase else "choosing parts"
