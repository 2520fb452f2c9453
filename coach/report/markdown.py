"""The debrief as Markdown: CommonMark with tables, readable as it is.

Whatever was typed stays text: characters that could give structure are escaped, those that
cannot where they are are left alone, so that the file reads well without being rendered.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from coach.report.sections import Point, Report, Section, Table
from phases.kit.text import one_line

_ALWAYS = re.compile(r"[\\`*\[\]|~$]")
_UNDERSCORE = re.compile(r"(?<![A-Za-z0-9])_|_(?![A-Za-z0-9])")
_TAG = re.compile(r"<(?=[A-Za-z/!?])")
_ENTITY = re.compile(r"&(?=#?[A-Za-z0-9]+;)")
_LINK = re.compile(r"(?<=[A-Za-z])(?=://)|(?<=www)(?=\.)", re.IGNORECASE)
_OPENING = re.compile(r"(?:#{1,6}|[+-])(?=\s|$)|>|[-=:]+\s*$|:-|-[-\s]+$")
_NUMBER = re.compile(r"(\d{1,9})(?=[.)](?:\s|$))")

_WIDEST = 44
"""Characters up to which a column is filled with blanks."""


def escaped(text: str) -> str:
    """Typed text on one line that no CommonMark reader finds structure in, wherever it is."""
    said = _in_a_cell(text)
    if _OPENING.match(said):
        return f"\\{said}"
    return _NUMBER.sub(r"\1\\", said, count=1) if _NUMBER.match(said) else said


def _in_a_cell(text: str) -> str:
    """The same where the text does not begin a line."""
    said = _ALWAYS.sub(r"\\\g<0>", one_line(text))
    said = _UNDERSCORE.sub(r"\\_", said)
    said = _TAG.sub(r"\\<", said)
    said = _ENTITY.sub(r"\\&", said)
    return _LINK.sub(r"\\", said)


def markdown_of(report: Report) -> str:
    """The debrief as Markdown, ending in a line end."""
    blocks = [
        f"# Debrief: {escaped(report.title)}",
        escaped(report.ending),
        escaped(report.begun),
        "\n".join(f"- {escaped(name)}: {escaped(time)}" for name, time in report.frame),
    ]
    if report.faults:
        blocks += ["This journal is damaged; the rest is told.", _points(map(Point, report.faults))]
    blocks += [block for section in report.sections for block in _section(section)]
    blocks.append(f"Journal: {escaped(report.path.name)}")
    return "\n\n".join(block for block in blocks if block) + "\n"


def _section(section: Section) -> Iterator[str]:
    yield f"## {escaped(section.title)}"
    yield escaped(section.lead)
    yield _points(section.points, numbered=section.numbered)
    for table in section.tables:
        yield f"### {escaped(table.caption)}"
        yield _table(table) if table.rows else ""


def _points(points: Iterable[Point], *, numbered: bool = False) -> str:
    return "\n".join(_point(one, f"{n}." if numbered else "-") for n, one in enumerate(points, 1))


def _point(point: Point, bullet: str) -> str:
    """A list item; what it rests on is in a line of its own below, then what it is about."""
    text = escaped(f"{point.mark}: {point.text}" if point.mark else point.text)
    indent = " " * (len(bullet) + 1)
    evidence = escaped(point.evidence)
    told = [f"{bullet} {text or '–'}" + (f"\\\n{indent}{evidence}" if evidence else "")]
    told += [f"{indent}{one}" for below in point.below for one in _point(below, "-").split("\n")]
    return "\n".join(told)


def _table(table: Table) -> str:
    rows = [
        [_in_a_cell(cell) for cell in cells]
        for cells in (
            table.columns,
            *(row.cells for row in table.rows),
        )
    ]
    widths = [
        min(max(len(row[column]) for row in rows), _WIDEST) for column in range(len(table.columns))
    ]
    widths[-1] = 3
    rule = [
        "-" * (width - 1) + ":" if n in table.numbers else "-" * width
        for n, width in enumerate(max(width, 3) for width in widths)
    ]
    return "\n".join(_row(row, widths, table.numbers) for row in (rows[0], rule, *rows[1:]))


def _row(cells: Sequence[str], widths: Sequence[int], numbers: Sequence[int]) -> str:
    filled = (
        cell.rjust(width) if n in numbers else cell.ljust(width)
        for n, (cell, width) in enumerate(zip(cells, widths, strict=True))
    )
    return f"| {' | '.join(filled)} |"
