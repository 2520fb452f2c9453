"""Which forecasts are kept in the journal, so that they can be judged by what came.

At a quarter, half and three quarters of the time whatever they say, because keeping only those
of worried moments would bias the score; and whenever one changes a call.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from coach.sprint.events.run import CallMade, ForecastMade
from coach.sprint.state import State

if TYPE_CHECKING:
    from coach.sprint.pace.forecast import Forecast


CHECKPOINTS = (25, 50, 75)
"""Per cent of the time from the start to the cut-off."""

FALLEN, RECOVERED = "forecast fallen", "forecast recovered"
LATEST_START, RESERVE_EATEN = "latest start passed", "reserve being eaten"
BY_FORECAST = (FALLEN, LATEST_START, RESERVE_EATEN)
"""Causes of calls that a forecast makes."""

CLEARLY = 0.03
"""By how much the chance must be over the threshold to count as recovered."""


def forecast_to_keep(
    state: State, t: float, forecast: Forecast, calls: Sequence[CallMade]
) -> ForecastMade | None:
    """The forecast as an event where it is to be kept now."""
    checkpoint = due_checkpoint(state, t)
    made = {call.cause for call in calls}
    because = next((cause for cause in BY_FORECAST if cause in made), "")
    if not because and recovered(state, forecast):
        because = RECOVERED
    return _event(forecast, checkpoint, because) if checkpoint or because else None


def due_checkpoint(state: State, t: float) -> int:
    """The checkpoint that is passed and not kept yet; 0 for none. A missed one stays missed."""
    if state.ended or state.deadline <= 0:
        return 0
    passed = [checkpoint for checkpoint in CHECKPOINTS if t >= state.deadline * checkpoint / 100]
    kept = max((one.event.checkpoint for one in state.of(ForecastMade)), default=0)
    return passed[-1] if passed and passed[-1] > kept else 0


def is_fallen(state: State) -> bool:
    """Whether the last thing said of the chance is that it is under the threshold."""
    said = [one.event.because for one in state.of(ForecastMade)]
    said = [because for because in said if because in (FALLEN, RECOVERED)]
    return bool(said) and said[-1] == FALLEN


def recovered(state: State, forecast: Forecast) -> bool:
    """Whether a chance that was called fallen is clearly over the threshold again."""
    over = min(forecast.threshold + CLEARLY, 0.99)
    return is_fallen(state) and forecast.chance_essentials >= over


def _event(forecast: Forecast, checkpoint: int, because: str) -> ForecastMade:
    return ForecastMade(
        checkpoint=checkpoint,
        because=because,
        chance_essentials=round(forecast.chance_essentials, 4),
        chance_all=round(forecast.chance_all, 4),
        expected=round(forecast.expected, 1),
        low=round(forecast.low, 1),
        high=round(forecast.high, 1),
        costliest=forecast.costliest_name,
        pace=round(forecast.pace.median, 3),
        draws=forecast.draws,
        seed=forecast.seed,
    )
