"""The debrief as one HTML file; its charts are markup made here, which escapes its own words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from coach.pages.page import page
from coach.report.calls_and_forecasts import ForecastChart
from coach.report.charts.curves import curve
from coach.report.charts.forecasts import forecasts
from coach.report.charts.margins import margins
from coach.report.charts.timeline import timeline
from coach.report.margins import CurveChart, MarginChart
from coach.report.sections import Report, Section
from coach.report.timeline import TimeChart

_DRAWN: Mapping[type, Callable[..., str]] = {
    TimeChart: timeline,
    MarginChart: margins,
    ForecastChart: forecasts,
}

_ROLES = {
    "hazard": "grave",
    "dead board": "grave",
    "fail": "grave",
    "outside": "grave",
    "not acted on": "grave",
    "degraded": "doubt",
    "late": "doubt",
    "marginal": "doubt",
}
"""The look of a mark; a word no look is known for is plain."""


def html_of(report: Report) -> str:
    """The same report gives the same bytes, wherever its journal lies."""
    return page(
        Path(__file__).with_name("report.html.j2"),
        report=report,
        role_of=role_of,
        figures={one.id: _figures(one) for one in report.sections},
    )


def role_of(mark: str) -> str:
    """The look of a mark: "grave", "doubt" or "plain"."""
    return _ROLES.get(mark, "plain")


def _figures(section: Section) -> list[tuple[str, str]]:
    """The charts of a section as SVG, each with its caption: for a desk and for a telephone."""
    chart = section.chart
    if isinstance(chart, CurveChart):
        drawn = [(f"{name}: {kept.title}", curve(name, kept)) for name, kept in chart.curves]
        return [(caption, svg) for caption, svg in drawn if svg]
    draw = _DRAWN.get(type(chart))
    return [("", draw(chart) + draw(chart, narrow=True))] if draw else []
