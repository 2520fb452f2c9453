"""The sheet as one HTML file for the bench: two sheets of paper, a column for each board.

It opens offline, has no script and asks for nothing; jinja2 escapes whatever was typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from coach.debrief.bringup.figures import expected_words, typical_words
from coach.debrief.bringup.judging import read_back
from coach.debrief.bringup.power import before_power
from coach.debrief.bringup.printing import BOARDS, how_words, verdict_words
from coach.debrief.bringup.sheet import Sheet
from coach.sprint.whole_file import write_over_own

_TEMPLATES = Path(__file__).parents[2] / "report" / "templates"
_LOOKED_AT = 16384  # bytes in which the title stands
_HEAD, _TITLE = b"<!doctype html>", b"<title>bring-up sheet: "

_DENSITIES = ((44, ""), (62, "dense"))
"""Up to how many steps a step is printed whole, or cut to its two lines."""


def html_of(sheet: Sheet, boards: Sequence[str] = BOARDS) -> str:
    """The sheet as HTML. The same sheet gives the same bytes."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    page = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip
    styles = [
        (_TEMPLATES / name).read_text(encoding="utf-8") for name in ("report.css", "sheet.css")
    ]
    count, columns = len(sheet.steps), sheet.columns(boards)
    return page.get_template("sheet.html.j2").render(
        sheet=sheet, boards=columns, style=Markup("\n".join(styles)),
        density=next((name for most, name in _DENSITIES if count <= most), "densest"),
        expected=expected_words, typical=typical_words, how=how_words, read_back=read_back,
        verdict=verdict_words, before=lambda section: before_power(sheet, section, columns),
    )  # fmt: skip


def write_page(path: Path, text: str) -> None:
    """Puts a sheet at `path`, whole or not at all; an earlier one there gives way.

    Raises Refusal, and changes nothing, where another file stands there and where it cannot be
    written.
    """
    write_over_own(
        path, text, what="The bring-up sheet", none="is no bring-up sheet", own=_is_sheet
    )


def _is_sheet(head: bytes, end: bytes) -> bool:
    begin = head.lower().lstrip()
    return begin.startswith(_HEAD) and _TITLE in begin
