"""The forecast in words: for the head, and for whoever asks why. No Textual in it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from coach.sprint.chances import in_ten
from coach.sprint.pace.descope import Option
from coach.sprint.pace.forecast import Forecast
from coach.terminal.drawing.lines import Line, Span, fit, line, right, wrapped
from coach.terminal.drawing.words import minutes, of_day

AtTime = Callable[[float], datetime]
"""The wall time at which so many seconds will have elapsed: `Session.wall_of`."""


def chance_words(forecast: Forecast) -> str:
    return f"on time {in_ten(forecast.chance_essentials)}"


def band_words(forecast: Forecast, at: AtTime) -> str:
    """When it will be done, as the 80 % band: "ends 15:18 .. 15:49"."""
    low, high = of_day(at(forecast.low)), of_day(at(forecast.high))
    return f"ends {low}" if low == high else f"ends {low} .. {high}"


def forecast_spans(forecast: Forecast, at: AtTime) -> tuple[Span, ...]:
    """Chance and band for the head: the chance is due where it is under the threshold."""
    role = "due" if forecast.fallen else "done"
    return (Span(chance_words(forecast), role), Span(f", {band_words(forecast, at)}", "plain"))


def why_lines(forecast: Forecast, width: int) -> list[Line]:
    """What the forecast rests on, wrapped."""
    return [line(Span(f" {part}")) for part in wrapped(forecast.why(), width - 2, 8)]


OPTIONS_ARE = "Each with the minutes it buys, the chance then, and what it costs."
"""What the columns of `option_columns` are."""


def option_columns(option: Option, width: int, *, chosen: bool = False) -> str:
    """What to drop, the minutes it buys, the chance then and its points, in columns that every
    option of a list shares; words are cut before numbers. chosen: it is of those to drop."""
    mark = "* " if chosen else "  "
    bought, then = minutes(option.seconds), f"{option.chance:.0%}"
    if width < 56:
        points = f"{option.points}p" if option.points else "0p"
        tail = f"{right(bought, 7)}{right(then, 5)}{right(points, 5)}"
    else:
        points = "no points" if not option.points else f"{option.points} points"
        tail = f"{right(bought, 8)}{right(then, 5)}{right(points, 11)}"
    return f"{mark}{fit(option.title, max(width - 2 - len(tail), 1))}{tail}"
