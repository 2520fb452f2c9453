"""The debrief as one HTML file: it opens offline, has no script and asks for nothing.

jinja2 escapes whatever was typed; the only markup let through is the stylesheet and the charts,
which are made here and escape their own words. How it is paged is the stylesheet's business.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from coach.report.calculations import CurveChart, MarginChart
from coach.report.calls import ForecastChart
from coach.report.charts.curves import curve
from coach.report.charts.forecasts import forecasts
from coach.report.charts.margins import margins
from coach.report.charts.timeline import timeline
from coach.report.sections import Report, Section
from coach.report.timeline import TimeChart
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

if TYPE_CHECKING:
    from jinja2 import Template

TEMPLATES = Path(__file__).parent / "templates"

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
    template = page(TEMPLATES / "report.html.j2", finalize=_on_one_line)
    from markupsafe import Markup  # comes with jinja2

    return template.render(
        report=report,
        role_of=role_of,
        style=Markup((TEMPLATES / "report.css").read_text(encoding="utf-8")),
        figures={
            one.id: [(caption, Markup(svg)) for caption, svg in _figures(one)]
            for one in report.sections
        },
    )


def page(
    path: Path,
    *,
    filters: Mapping[str, Callable[..., str]] | None = None,
    finalize: Callable[[object], object] | None = None,
) -> Template:
    """The template of a page; whatever it is filled in with is escaped, unless it is markup.

    Raises Refusal where jinja2 is not installed: only pages need it.
    """
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined
    except ImportError:
        what, do = "Writing HTML needs jinja2", "Install it: pip install 'board-coach[report]'"
        raise Refusal(what, do=do) from None
    environment = Environment(
        loader=FileSystemLoader(path.parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=finalize,
        auto_reload=False,
    )
    environment.filters |= filters or {}
    return environment.get_template(path.name)


def role_of(mark: str) -> str:
    """The look of a mark: "grave", "doubt" or "plain"."""
    return _ROLES.get(mark, "plain")


def _on_one_line(value: object) -> object:
    """Typed text passes the one door for text; what is markup already was made here."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return one_line(value)
    return value


def _figures(section: Section) -> list[tuple[str, str]]:
    """The charts of a section as SVG, each with its caption: for a desk and for a telephone."""
    chart = section.chart
    if isinstance(chart, CurveChart):
        drawn = [(f"{name}: {kept.title}", curve(name, kept)) for name, kept in chart.curves]
        return [(caption, svg) for caption, svg in drawn if svg]
    draw = _DRAWN.get(type(chart))
    return [("", draw(chart) + draw(chart, narrow=True))] if draw else []
