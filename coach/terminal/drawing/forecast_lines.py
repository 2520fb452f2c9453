"""The forecast in words: for the head, and for whoever asks why. No Textual in it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from coach.sprint.pace.descope import Option, Proposal
from coach.sprint.pace.forecast import Forecast
from coach.terminal.drawing.lines import Line, Span, line, spread_out, wrapped
from coach.terminal.drawing.words import minutes, of_day

AtTime = Callable[[float], datetime]
"""The wall time at which so many seconds will have elapsed: `Session.wall_of`."""


def in_ten(chance: float) -> str:
    """A chance as a person would say it: "7 in 10"; never a certainty while there is work."""
    if chance < 0.05:
        return "under 1 in 20"
    if chance >= 0.95:
        return "over 19 in 20"
    return f"{min(max(round(chance * 10), 1), 9)} in 10"


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


def proposal_lines(proposal: Proposal, width: int) -> list[Line]:
    """What to drop, then every option with what it buys and what it costs; each line's key names
    its option by number."""
    wanted = f" Wanted {proposal.wanted:.0%}. {proposal.says}"
    found = [line(Span(part, "title")) for part in wrapped(wanted, width - 1, 4)]
    chosen = {option.title for option in proposal.chosen}
    for number, option in enumerate(proposal.options):
        mark = "*" if option.title in chosen else " "
        tail = Span(f"{option_words(option)} ", "plain")
        head = (Span(f" {mark} ", "next"), Span(option.title))
        found.append(spread_out(head, (tail,), width, key=str(number)))
    return found


def option_words(option: Option) -> str:
    """ "buys 8 min, then 71 %, costs 15 points"; further items cost none."""
    cost = "no points" if not option.points else f"{option.points} points"
    return f"buys {minutes(option.seconds)}, then {option.chance:.0%}, costs {cost}"
