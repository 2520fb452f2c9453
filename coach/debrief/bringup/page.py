"""The sheet as one HTML file for the bench: two sheets of paper, a column for each board.

It opens offline, has no script and asks for nothing; jinja2 escapes whatever was typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from coach.debrief.bringup.figures import expected_words, typical_words
from coach.debrief.bringup.judging import read_back
from coach.debrief.bringup.printing import BOARDS, how_words
from coach.debrief.bringup.sheet import Sheet
from coach.sprint.whole_file import write_whole
from phases.kit.refusals import Refusal
from phases.kit.text import line

_TEMPLATES = Path(__file__).parents[1] / "report" / "templates"
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
        (_TEMPLATES / name).read_text(encoding="utf-8") for name in ("debrief.css", "sheet.css")
    ]
    count = len(sheet.steps)
    return page.get_template("sheet.html.j2").render(
        sheet=sheet, boards=sheet.columns(boards), style=Markup("\n".join(styles)),
        density=next((name for most, name in _DENSITIES if count <= most), "densest"),
        expected=expected_words, typical=typical_words, how=how_words, read_back=read_back,
    )  # fmt: skip


def write_page(path: Path, text: str) -> None:
    """Puts a sheet at `path`, whole or not at all; an earlier one there gives way.

    Raises Refusal, and changes nothing, where another file stands there and where it cannot be
    written.
    """
    try:
        foreign = path.is_file() and not _is_sheet(path)
    except (OSError, ValueError):
        foreign = False  # what is wrong is said when it is written
    if foreign:
        raise Refusal(
            "There is a file of that name, and it is no bring-up sheet", where=line(str(path)),
            do="Choose another name, or take it away first",
        )  # fmt: skip
    write_whole(path, text.encode("utf-8", "replace"), what="The bring-up sheet")


def _is_sheet(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(_LOOKED_AT).lower().lstrip()
    return not head or (head.startswith(_HEAD) and _TITLE in head)
