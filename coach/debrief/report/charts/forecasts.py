"""Forecasts over time: where each put the finish, the cut-off, and what came.

One row a forecast, in the order they were made: its 80 % band as a dimension line with its middle
as a dot. The cut-off and the finish go through all rows.
"""

from __future__ import annotations

from coach.debrief.account.data import Account, ForecastTold
from coach.debrief.report.charts.drawing import Sheet, sheet, short, svg_of
from coach.debrief.report.charts.timeline import Scale
from coach.debrief.report.figures import chance, clock, sane
from coach.debrief.report.paper import ROWS_OF_CHART
from phases.kit.grammar import count

WIDTH, ROW, TOP = 340.0, 31.0, 34.0
LEFT, RIGHT = 14.0, 322.0


def forecasts(account: Account) -> str:
    """The chart; an empty text where no forecast was kept."""
    shown = account.forecasts[:ROWS_OF_CHART]
    if not shown:
        return ""
    scale = _scale(account, shown)
    bottom = TOP + ROW * len(shown)
    with sheet("forecasts", WIDTH, bottom + 24) as drawn:
        _axis(drawn, scale, account, bottom)
        for n, one in enumerate(shown):
            _row(drawn, scale, one, TOP + n * ROW)
        return svg_of(drawn, says(account))


def says(account: Account) -> str:
    """The chart in a sentence."""
    first, last = account.forecasts[0], account.forecasts[-1]
    came = f"came {clock(account.ended_at)}" if account.ended_at is not None else "not ended"
    return (
        f"{count(len(account.forecasts), 'forecast')} of the finish with their 80 % bands, "
        f"cut-off {clock(account.deadline)}, {came}: the first at {clock(first.t)} expected "
        f"{clock(first.expected)}, the last at {clock(last.t)} expected {clock(last.expected)}."
    )


def _scale(account: Account, shown: tuple[ForecastTold, ...]) -> Scale:
    times = [account.deadline, account.ended_at or account.last]
    for one in shown:
        times += [one.t, one.low, one.expected, min(one.high, 2 * account.deadline)]
    return Scale(LEFT, RIGHT, max([60.0, *(time for time in times if sane(time))]) * 1.02)


def _axis(drawn: Sheet, scale: Scale, account: Account, bottom: float) -> None:
    y = TOP - 8
    for at in scale.ticks(5):
        x = scale.x(at)
        drawn.line([x, x], [y, bottom], "rule", 0.7)
        drawn.words(x, y - 13, clock(at), "quiet", to="center", size=10)
    cut = scale.x(account.deadline)
    drawn.line([cut, cut], [y - 6, bottom + 2], "due", 2.0)
    drawn.words(cut + 4, bottom + 13, "cut-off", "due", to="right", size=10, heavy=True)
    if account.ended_at is None:
        return
    came = scale.x(account.ended_at)
    drawn.line([came, came], [y - 6, bottom + 2], "ink", 1.4, dashes=(5, 3))
    words = "came" if account.accepted else "ended"
    if came >= cut:
        drawn.words(max(came, cut + 8), bottom + 13, words, size=10)
    else:
        drawn.words(min(came, cut - 46), bottom + 13, words, size=10, to="right")


def _row(drawn: Sheet, scale: Scale, one: ForecastTold, top: float) -> None:
    because = f"{one.mark} %" if one.mark else short(one.because, 28)
    made = scale.x(one.t)
    drawn.words(
        LEFT, top + 8, f"{clock(one.t)}, {because}: {chance(one.chance_essentials)} in time",
        size=10,
    )  # fmt: skip
    y = top + 22
    drawn.line([made, made], [y - 5, y + 5], "quiet", 1.0)
    drawn.line([made, scale.x(one.low)], [y, y], "rule", 1.0)
    low, high = sorted((scale.x(one.low), scale.x(one.high)))
    role = "due" if one.covered is False else "next"
    drawn.dimension(low, high, y, role, weight=3, tall=5)
    drawn.mark(scale.x(one.expected), y, "o", role, size=6.5, filled=one.covered is not False)
