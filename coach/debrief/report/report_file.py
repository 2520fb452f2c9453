"""A debrief written to a file: whole or not at all, and never over something that is none."""

from __future__ import annotations

from pathlib import Path

from coach.sprint.whole_file import write_whole
from phases.kit.refusals import Refusal
from phases.kit.text import line

_HTML_HEAD, _HTML_TITLE = b"<!doctype html>", b"<title>debrief: "
_MARKDOWN_HEAD, _MARKDOWN_END = b"# Debrief: ", b"\nJournal: "
_LOOKED_AT = 8192  # bytes at either end


def write_report(path: Path, text: str) -> None:
    """Puts a debrief at `path`; an earlier one there gives way.

    Raises Refusal, and changes nothing, where another file stands there (a journal, a brief) and
    where it cannot be written.
    """
    try:
        foreign = path.is_file() and not _is_debrief(path)
    except (OSError, ValueError):
        foreign = False  # what is wrong is said when it is written
    if foreign:
        raise Refusal(
            "There is a file of that name, and it is no debrief", where=line(str(path)),
            do="Choose another name, or take it away first",
        )  # fmt: skip
    write_whole(path, text.encode("utf-8", "replace"), what="The debrief")


def _is_debrief(path: Path) -> bool:
    """Told by its beginning and its end; an empty file is nobody's."""
    with path.open("rb") as file:
        head = file.read(_LOOKED_AT)
        file.seek(0, 2)
        file.seek(max(file.tell() - _LOOKED_AT, 0))
        end = file.read()
    if not head:
        return True
    if head.startswith(_MARKDOWN_HEAD):
        return b"\n" not in end.rpartition(_MARKDOWN_END)[2].rstrip() and _MARKDOWN_END in end
    lowered = head.lower()
    return lowered.startswith(_HTML_HEAD) and _HTML_TITLE in lowered
