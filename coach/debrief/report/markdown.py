"""The debrief as Markdown: CommonMark with tables, readable as it stands.

Whatever was typed stays text: characters that could give structure are escaped, those that
cannot where they stand are left alone, so that the file reads well without being rendered.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from coach.debrief.account.data import Account
from coach.debrief.report.sections import Point, Section, Table, begun, frame, sections_of
from phases.kit.text import line

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
    """Typed text on one line that no CommonMark reader finds structure in, wherever it stands."""
    said = _in_a_cell(text)
    if _OPENING.match(said):
        return f"\\{said}"
    return _NUMBER.sub(r"\1\\", said, count=1) if _NUMBER.match(said) else said


def _in_a_cell(text: str) -> str:
    """The same where the text does not begin a line."""
    said = _ALWAYS.sub(r"\\\g<0>", line(text))
    said = _UNDERSCORE.sub(r"\\_", said)
    said = _TAG.sub(r"\\<", said)
    said = _ENTITY.sub(r"\\&", said)
    return _LINK.sub(r"\\", said)


def markdown_of(account: Account) -> str:
    """The debrief as Markdown, ending in a line end."""
    blocks = [
        f"# Debrief: {escaped(account.title)}",
        escaped(account.standing),
        escaped(begun(account)),
        "\n".join(f"- {escaped(name)}: {escaped(time)}" for name, time in frame(account)),
    ]
    for section in sections_of(account):
        blocks += _section(section)
    blocks.append(f"Journal: {escaped(account.path.name)}")
    return "\n\n".join(block for block in blocks if block) + "\n"


def _section(section: Section) -> list[str]:
    blocks = [f"## {escaped(section.title)}", escaped(section.lead)]
    blocks.append("\n".join(
        _point(one, f"{n}." if section.numbered else "-")
        for n, one in enumerate(section.points, 1)
    ))  # fmt: skip
    for table in section.tables:
        blocks += [f"### {escaped(table.caption)}", _table(table)]
    return blocks


def _point(point: Point, bullet: str) -> str:
    """A list item; what it rests on stands in a line of its own below, then what it names."""
    text = escaped(f"{point.mark}: {point.text}" if point.mark else point.text)
    indent = " " * (len(bullet) + 1)
    evidence = escaped(point.evidence)
    below = f"\\\n{indent}{evidence}" if evidence else ""
    names = "".join(f"\n{indent}- {escaped(name) or '–'}" for name in point.names)
    return f"{bullet} {text or '–'}{below}{names}"


def _table(table: Table) -> str:
    rows = [[_in_a_cell(cell) for cell in row] for row in (table.columns, *table.rows)]
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
