"""The calls of a sprint and what came of them; the forecasts that were kept."""

from __future__ import annotations

from coach.debrief.account.data import CallTold, ForecastTold
from coach.debrief.account.soundness import Soundness, number
from coach.history.call_outcomes import call_outcomes
from coach.history.read_sprint import SprintRead
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ForecastMade
from coach.sprint.pace.scoring import Scored, scored


def calls_told(read: SprintRead, sound: Soundness) -> tuple[CallTold, ...]:
    """Every call with whether it was heeded soon."""
    return tuple(
        CallTold(
            t=sound.seconds(one.t, "The moment of a call"), cause=one.call.cause,
            says=one.call.says, rang=one.call.rings, heeded=one.acted_on,
            after=None if one.after is None else sound.seconds(one.after, "The answer to a call"),
            closed=one.closed, items=len(one.call.items), keys=tuple(one.call.items),
        )
        for one in call_outcomes(read.setup, read.history)
    )  # fmt: skip


def forecasts_told(read: SprintRead, sound: Soundness) -> tuple[ForecastTold, ...]:
    """Those at the marks with their score, and those that changed a call, by time."""
    judged = {id(one.made): one for one in scored(read.state)}
    found = []
    for one in read.state.of(ForecastMade):
        if not _is_sound(one.event):
            sound.fault("A forecast has figures that are none; it is left out.")
        else:
            found.append(_told(one, judged.get(id(one)), sound))
    return tuple(found)


def _is_sound(one: ForecastMade) -> bool:
    figures = (one.expected, one.low, one.high)
    chances = (one.chance_essentials, one.chance_all)
    return all(number(v) is not None for v in figures) and all(0 <= v <= 1 for v in chances)


def _told(made: Stamped[ForecastMade], judged: Scored | None, sound: Soundness) -> ForecastTold:
    def at(seconds: float) -> float:
        return sound.seconds(seconds, "The finish of a forecast")

    one = made.event
    return ForecastTold(
        t=at(made.t), mark=one.mark, because=one.because,
        chance_essentials=one.chance_essentials, chance_all=one.chance_all,
        expected=at(one.expected), low=at(one.low), high=at(one.high),
        covered=judged.covered if judged else None,
        loss=at(judged.loss) if judged and judged.loss is not None else None,
    )  # fmt: skip
