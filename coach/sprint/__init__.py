"""One running sprint: brief, commands, rules, events, journal, state, gates, pace, calls.

Session.do is the only road: command -> rules -> events -> journal -> state, a fold over the events.
Knows no screen, no network and no sprint that is over; may import `phases`. clock.py is the one
reader of clocks in the whole program; the layers of its rooms stand in pyproject.toml.
Public: the names below, with the commands of commands.py and the clocks of clock.py.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coach.sprint.brief.loading import load_brief
    from coach.sprint.pace.forecast import Forecast, forecast_of
    from coach.sprint.session import Session, start_sprint
    from coach.sprint.state import State

__all__ = ["Forecast", "Session", "State", "forecast_of", "load_brief", "start_sprint"]

_PLACES = {
    "load_brief": "brief.loading",
    "Forecast": "pace.forecast",
    "forecast_of": "pace.forecast",
    "Session": "session",
    "start_sprint": "session",
    "State": "state",
}


def __getattr__(name: str) -> Any:
    """A public name, imported when it is first asked for: the first frame needs few of them."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PLACES[name]}"), name)
