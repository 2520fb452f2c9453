"""Forecasts over time: where each put the finish, the cut-off, and what came.

One row a forecast, in the order they were made: its 80 % range as a dimension line with its middle
as a dot. The cut-off and the finish go through all rows.
"""

from __future__ import annotations

from coach.report.calls_and_forecasts import ForecastChart
from coach.report.charts.drawing import Scale, Sheet, short
from coach.sprint.chances import in_ten
from coach.sprint.durations import elapsed
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ForecastMade
from phases.kit.grammar import count

MOST = 12
"""Forecasts that are drawn; the table has them all."""

ROW, TOP, LEFT = 31.0, 34.0, 14.0


def forecasts(chart: ForecastChart, *, narrow: bool = False) -> str:
    """narrow: for a page as wide as a telephone."""
    shown = chart.forecasts[:MOST]
    bottom = TOP + ROW * len(shown)
    drawn = Sheet(340.0 if narrow else 760.0, bottom + 24)
    times = [60.0, chart.deadline, chart.ended or 0.0]
    for made, _ in shown:
        one = made.event
        # A long tail would squeeze the rest.
        times += [made.t, one.low, one.expected, min(one.high, 2 * chart.deadline)]
    scale = Scale(LEFT, drawn.width - 20, max(times) * 1.02)
    scale.axis(drawn, TOP - 8, bottom)
    word = "finish" if chart.accepted else "ended"
    scale.cut_off_and_end(drawn, (TOP - 14, bottom + 2), chart.deadline, chart.ended, word)
    for n, (made, covered) in enumerate(shown):
        _row(drawn, scale, made, covered, TOP + n * ROW)
    return drawn.svg(_says(chart), "narrow" if narrow else "wide")


def _says(chart: ForecastChart) -> str:
    first, last = chart.forecasts[0][0], chart.forecasts[-1][0]
    finish = "not ended" if chart.ended is None else f"finish {elapsed(chart.ended)}"
    return (
        f"{count(len(chart.forecasts), 'forecast')} of the finish with their 80 % ranges, "
        f"cut-off {elapsed(chart.deadline)}, {finish}: the first at {elapsed(first.t)} expected "
        f"{elapsed(first.event.expected)}, the last at {elapsed(last.t)} expected "
        f"{elapsed(last.event.expected)}."
    )


def _row(
    drawn: Sheet, scale: Scale, made: Stamped[ForecastMade], covered: bool | None, top: float
) -> None:
    one = made.event
    because = f"{one.checkpoint} %" if one.checkpoint else one.because
    said = f"{elapsed(made.t)}, {because}: {in_ten(one.chance_essentials)} in time"
    drawn.words(LEFT, top + 8, short(said, drawn.width - LEFT - 8, 10), size=10)
    begin, y = scale.x(made.t), top + 22
    drawn.line([begin, begin], [y - 5, y + 5], "quiet")
    drawn.line([begin, scale.x(one.low)], [y, y], "rule")
    low, high = sorted((scale.x(one.low), scale.x(one.high)))
    role = "due" if covered is False else "next"
    drawn.dimension(low, high, y, role, weight=3, tall=5)
    drawn.mark(scale.x(one.expected), y, "circle", role, size=6.5, filled=covered is not False)
