"""The debrief on a terminal: one page first, then its parts, each by a digit.

The sections are those of the written debrief (`coach.report`). The page says the most in the fewest
lines: what is still changeable, what was forgotten, three sentences.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from coach.report.sections import Point, Report, Section, Table, TableRow
from coach.report.timeline import TimeChart
from coach.terminal.drawing.item_words import severity_role
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    hanging,
    line,
    right,
    spread_out,
    width_of,
    wrapped,
)
from coach.terminal.drawing.time_line import planned_and_actual
from phases.kit.grammar import count

WIDE = 60
"""Cells from which numbers have columns of their own."""

ALL = "all"
"""Shown instead of one part: every part, and nothing folded."""

_LONG = 20
"""Lines a text may take before it is cut."""

_FEWEST = 4
"""Lines of what is still changeable, however low the screen is."""

_ROLES = {
    "fail": "hazard",
    "outside": "due",
    "not acted on": "due",
    "late": "doubt",
    "marginal": "doubt",
}


@dataclass(frozen=True, slots=True)
class Part:
    """What one digit shows."""

    key: str
    sections: tuple[str, ...]
    title: str = ""
    """Where it has several sections; else it is that of the section."""

    def of(self, report: Report) -> list[Section]:
        return [one for name in self.sections if not (one := report.section(name)).is_empty]


PARTS = (
    Part("1", ("to-change",)),
    Part("2", ("forgotten",)),
    Part("3", ("sentences",)),
    Part("4", ("planned", "happened", "variance", "timeline"), "Plan against actual"),
    Part("5", ("recommendations",), "What to do differently"),
    Part("6", ("late", "waived", "reopened", "items"), "Late, waived, reopened, every item"),
    Part("7", ("margins",), "Margins"),
    Part("8", ("calls", "forecasts"), "Calls and forecasts"),
    Part("9", ("findings", "measured", "aside"), "Late findings and measurements"),
)
FIRST = PARTS[:3]
"""Those of the page; the others are a digit away."""

FINDINGS = PARTS[-1].key


# ---- what a line is about ----------------------------------------------------------------------


def part_of(key: str) -> str:
    """The digit of the part a line belongs to: "1/to-change/0/item/boot-level"."""
    return key.partition("/")[0]


def about(key: str, kind: str) -> str:
    """What a line is about, where that is of a kind: an item by its key, a finding by its number,
    a fold by its table; "" otherwise."""
    found = key.split("/", 4)
    return found[4] if found[3:4] == [kind] else ""


# ---- the first page ----------------------------------------------------------------------------


def debrief_title(report: Report, width: int) -> list[Line]:
    title = (Span(f" {report.title}", "title"),)
    found = [spread_out(title, (Span(f"{report.started:%Y-%m-%d} ", "quiet"),), width)]
    role = {True: "done", False: "due", None: "next"}[report.in_time]
    found += _text(report.ending, width, role, indent=1)
    return [*found, *_text(report.kind, width, "quiet", indent=1)]


def page_lines(report: Report, width: int, rows: int) -> list[Line]:
    """What is still changeable, as much of it as fits so many rows; what was forgotten; three
    sentences; the way to the rest."""
    below = [
        *_short("2", report.section("forgotten"), width, "due"),
        *_short("3", report.section("sentences"), width, "title"),
        *_contents(report, width),
    ]
    above = list(_faults(report, width))
    room = max(rows - len(above) - len(below), _FEWEST)
    return [*above, *_to_change(report.section("to-change"), width, room), *below]


def _faults(report: Report, width: int) -> Iterator[Line]:
    """What of the journal is damaged comes before everything that rests on it."""
    if report.faults:
        number = count(len(report.faults), "fault")
        yield from _text(
            f"This journal is damaged, {number}; the rest is told", width, "doubt", indent=1
        )
        for fault in report.faults[:3]:
            yield from _text(fault, width, "quiet", most=2)


def _to_change(section: Section, width: int, room: int) -> list[Line]:
    found = [_heading("1", section.title, "next", width, f"{len(section.points) or ''}")]
    if section.lead:
        return [*found, *_text(section.lead, width, "done")]
    for n, point in enumerate(section.points):
        left = len(section.points) - n
        role = "hazard" if point.grave else "plain"
        most = 2 if room - len(found) > 2 * left else 1
        entry = _text(
            point.brief, width, role, lead=f"{n + 1}  ", most=most, key=_key("1", section, n, point)
        )
        if len(found) + len(entry) > room - (left > 1):
            return [*found, line(Span(f"   and {left} more: ", "quiet"), Span("1", "key"))]
        found += entry
    return found


def _short(part: str, section: Section, width: int, role: str) -> Iterator[Line]:
    """A section on the page: its lead and its first points, without what they rest on."""
    yield _heading(part, section.title, role, width)
    yield from _text(section.lead, width, most=3)
    for n, point in enumerate(section.points[:3]):
        lead = f"{n + 1}  " if section.numbered else ""
        key = _key(part, section, n, point)
        yield from _text(point.brief or point.text, width, lead=lead, key=key, most=4)


def _contents(report: Report, width: int) -> Iterator[Line]:
    """The parts that are a digit away, in as few lines as they take."""
    spans, used = [Span(" ")], 1
    named = [(part.key, cut(part.title, width - 5)) for part in PARTS[3:] if part.of(report)]
    for key, title in (*named, ("a", "all of it")):
        size = width_of(title) + 5
        if used + size > width and used > 1:
            yield line(*spans)
            spans, used = [Span(" ")], 1
        spans += [Span(key, "key"), Span(f" {title}   ", "quiet")]
        used += size
    yield line(*spans)


# ---- a part ------------------------------------------------------------------------------------


def part_lines(report: Report, shown: str, width: int, opened: Collection[str] = ()) -> list[Line]:
    """A part by its digit, or ALL. opened: the tables whose folded rows are shown."""
    found: list[Line] = []
    for part in PARTS:
        sections = part.of(report)
        if shown not in (part.key, ALL) or (shown == ALL and not sections):
            continue
        title = part.title or report.section(part.sections[0]).title
        found += [BLANK] if found else list(_faults(report, width))
        found.append(_heading(part.key, title, "title", width))
        if not sections:
            found += _text("Nothing to tell here.", width, "quiet")
        for one in sections:
            if one.title != title:
                found.append(line(Span(f"  {one.title}", "quiet")))
            found += _section(part.key, one, width, None if shown == ALL else opened)
    return found


def debrief_text(report: Report, width: int = 80) -> str:
    """All of it as plain text."""
    lines = [*debrief_title(report, width), BLANK, *part_lines(report, ALL, width)]
    text = "\n".join(one.text.rstrip() for one in lines)
    return f"{text}\n\n Journal: {report.path}\n"


def _section(
    part: str, section: Section, width: int, opened: Collection[str] | None
) -> Iterator[Line]:
    """opened: None where nothing is folded."""
    yield from _text(section.lead, width, "done" if section.id == "to-change" else "plain")
    if isinstance(section.chart, TimeChart):
        yield from planned_and_actual(section.chart, width)
    for n, point in enumerate(section.points):
        number = f"{n + 1}" if section.numbered else ""
        yield from _point(point, _key(part, section, n, point), width, number)
    for n, table in enumerate(section.tables):
        fold = f"{section.id}-{n}"
        folded = bool(table.rest) and opened is not None and fold not in opened
        yield from _rows(table, table.first, f"{part}/{fold}", width, headed=True)
        if folded:
            words = f"   {len(table.rest)} {table.folds}: "
            key = f"{part}/{section.id}/{n}/fold/{fold}"
            yield line(Span(words, "quiet"), Span("↵", "key"), key=key)
        elif table.rest:
            yield from _rows(table, table.rest, f"{part}/{fold}-rest", width)


def _point(point: Point, key: str, width: int, number: str = "", indent: int = 3) -> Iterator[Line]:
    mark = point.mark or number
    lead = f"{mark}  " if mark else "- " if indent > 3 else ""
    role = "hazard" if severity_role(point.mark) == "hazard" else "plain"
    yield from _text(point.text, width, role, indent=indent, lead=lead, key=key)
    deeper = indent + min(len(lead), 4)
    yield from _text(point.evidence, width, "quiet", indent=deeper + 1)
    place = "/".join(key.split("/")[:3])
    for n, below in enumerate(point.below):
        yield from _point(below, f"{place}.{n}/{below.key}", width, "", deeper + 1)


def _rows(
    table: Table, rows: Sequence[TableRow], prefix: str, width: int, *, headed: bool = False
) -> Iterator[Line]:
    """Each row by its name; its numbers before and behind it as they are in the table, the other
    cells below. headed: under the caption of the table."""
    numbers = table.numbers if width >= WIDE else ()
    sizes = {
        at: max(
            width_of(cells[at]) for cells in (table.columns, *(row.cells for row in table.rows))
        )
        for at in numbers
    }

    def columns(cells: Sequence[str], *, before: bool) -> tuple[Span, ...]:
        places = [at for at in numbers if (at < table.names) is before]
        return tuple(Span(f"  {right(cells[at], sizes[at])}", "quiet") for at in places)

    if headed:
        head = columns(table.columns, before=False)
        yield spread_out((Span(f"  {table.caption}", "quiet"),), head, width)
    for n, row in enumerate(rows):
        left = (*columns(row.cells, before=True), Span("   "))
        cells = columns(row.cells, before=False)
        hang = sum(width_of(one.text) for one in left)
        room = width - hang - sum(width_of(one.text) for one in cells) - 1
        first, *more = wrapped(row.cells[table.names], max(room, 12), _LONG) or [""]
        yield spread_out((*left, Span(first)), cells, width, f"{prefix}/{n}/{row.key}")
        yield from (line(Span(" " * hang + part)) for part in more)
        rest = [at for at in range(len(row.cells)) if at not in (table.names, *numbers)]
        said = [
            row.cells[at] if at == rest[-1] else f"{table.columns[at]} {row.cells[at]}"
            for at in rest
            if row.cells[at] not in ("", "–")
        ]
        yield from _text("; ".join(said), width, _ROLES.get(row.mark, "quiet"), indent=hang + 2)


def _heading(key: str, title: str, role: str, width: int, tail: str = "") -> Line:
    left = (Span(f" {key} ", "key"), Span(title, role))
    return spread_out(left, (Span(f"{tail} ", "quiet"),), width, f"{key}/heading")


def _text(
    words: str,
    width: int,
    role: str = "plain",
    *,
    indent: int = 3,
    lead: str = "",
    key: str = "",
    most: int = _LONG,
) -> list[Line]:
    """A text in as many lines as it takes, hung behind its lead; its first one can be under the
    cursor."""
    ahead = (Span(" " * indent + lead, role),)
    return hanging(ahead, words, max(width - indent - len(lead) - 1, 12), most, role=role, key=key)


def _key(part: str, section: Section, n: int, point: Point) -> str:
    return f"{part}/{section.id}/{n}/{point.key}"
