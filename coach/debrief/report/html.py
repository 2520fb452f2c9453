"""The debrief as one HTML file: it opens offline, has no script and asks for nothing.

jinja2 escapes whatever was typed; the only markup let through is the stylesheet and the charts,
which are made here and escape their own words.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from coach.debrief.account.data import Account
from coach.debrief.report import paper
from coach.debrief.report.sections import Point, Section, Table, begun, frame, sections_of
from phases.kit.text import line

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).parent / "templates"

Rows = tuple[tuple[tuple[str, ...], str], ...]
"""Rows of a table, each with its mark."""

_ROLES = {
    "hazard": "grave", "dead board": "grave", "fail": "grave", "outside": "grave",
    "not heeded": "grave", "degraded": "doubt", "late": "doubt", "marginal": "doubt",
    "reopened": "doubt",
}  # fmt: skip
"""The look of a mark; a word no look is known for is plain."""


@dataclass(frozen=True, slots=True)
class TableShown:
    """A table in two parts: what is shown at once, and what stands behind a fold. cut: for each
    row of the first whether it is printed on one line."""

    table: Table
    first: Rows
    rest: Rows
    cut: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True)
class SectionShown:
    """A section in two parts, points and tables alike."""

    section: Section
    first: tuple[Point, ...]
    rest: tuple[Point, ...]
    tables: tuple[TableShown, ...]
    names: int
    """Names of the last point shown at once that are printed."""


def html_of(account: Account) -> str:
    """The debrief as HTML."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    from coach.debrief.report.charts.curves import curves
    from coach.debrief.report.charts.forecasts import forecasts
    from coach.debrief.report.charts.margins import margins
    from coach.debrief.report.charts.timeline import timeline

    page: Environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, finalize=_on_one_line, auto_reload=False,
    )  # fmt: skip
    drawn = curves(account)
    sections = [one for one in sections_of(account) if one.id != "curves"]
    rows = sum(
        min(len(of), paper.ROWS_OF_CHART) for of in (account.calculations, account.forecasts)
    )
    held = paper.sheets(sections, rows, len(drawn))
    return page.get_template("debrief.html.j2").render(
        title=account.title, standing=account.standing, begun=begun(account),
        frame=frame(account), journal=account.path.name, number=len(account.changeable),
        faults=len(account.faults),
        sections={one.section.id: one for one in _shown(sections, held)},
        style=Markup((TEMPLATES / "debrief.css").read_text(encoding="utf-8")),
        charts={
            "timeline": Markup(timeline(account) + timeline(account, narrow=True)),
            "margins": Markup(margins(account)), "forecasts": Markup(forecasts(account)),
        },
        curves=[(one.calculation, one.title, Markup(one.svg)) for one in drawn],
        role_of=role_of, curves_shown=held.curves, short=held.tallest == paper.SHORT,
    )  # fmt: skip


def role_of(mark: str) -> str:
    """The look of a mark: "grave", "doubt" or "plain"."""
    return _ROLES.get(mark.partition(", ")[0], "plain")


def _on_one_line(value: object) -> object:
    """Typed text passes the one door for text; what is markup already was made here."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return line(value)
    return value


def _shown(sections: list[Section], held: paper.Sheets) -> list[SectionShown]:
    """Each section in two parts: what two sheets hold, and the rest."""
    found = []
    for section in sections:
        number = held.numbers.get(section.id, 0)
        if section.id == "timeline":
            tables = _timeline(section.tables, held.items, held.whole)
        else:
            tables = tuple(
                TableShown(table, table.marked[:cut], table.marked[cut:])
                for n, table in enumerate(section.tables)
                for cut in [_at_once(section, n, number)]
            )
        points = section.points
        names = held.names.get(section.id, paper.ALL)
        found.append(SectionShown(section, points[:number], points[number:], tables, names))
    return found


def _at_once(section: Section, table: int, number: int) -> int:
    """Rows of a table that are shown at once: all of one that is not printed, unless others
    before it say what counts."""
    if section.id in paper.TABLES_ON_PAPER:
        return max(number - len(section.points), 0)
    return 0 if table else len(section.tables[table].rows)


def _timeline(tables: tuple[Table, ...], number: int, whole: int) -> tuple[TableShown, ...]:
    """Phases whole, of the items what there is room for; `whole` of them are not cut."""
    phases = [table for table in tables if not table.ranks]
    items = [table for table in tables if table.ranks]
    chosen = zip(paper.picked(items, number), paper.picked(items, whole), strict=True)
    return (
        *(TableShown(t, t.marked, ()) for t in phases),
        *(
            TableShown(
                t,
                tuple(row for n, row in enumerate(t.marked) if n in wanted),
                tuple(row for n, row in enumerate(t.marked) if n not in wanted),
                tuple(n not in uncut for n in range(len(t.rows)) if n in wanted),
            )
            for t, (wanted, uncut) in zip(items, chosen, strict=True)
        ),
    )
