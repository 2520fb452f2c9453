"""A debrief written to a file: complete or not at all, and never over something else."""

from __future__ import annotations

from pathlib import Path

from coach.sprint.atomic_write import overwrite_own

_HTML_HEAD, _HTML_TITLE = b"<!doctype html>", b"<title>debrief: "
_MARKDOWN_HEAD, _MARKDOWN_END = b"# Debrief: ", b"\nJournal: "


def write_report(path: Path, text: str) -> None:
    """Puts a debrief at `path`; an earlier one there gives way.

    Raises Refusal, and changes nothing, where another file is in its place (a journal, a brief) and
    where it cannot be written.
    """
    overwrite_own(path, text, what="The debrief", none="is not a debrief", own=_is_debrief)


def _is_debrief(head: bytes, end: bytes) -> bool:
    """Told by its beginning and its end."""
    if head.startswith(_MARKDOWN_HEAD):
        return b"\n" not in end.rpartition(_MARKDOWN_END)[2].rstrip() and _MARKDOWN_END in end
    lowered = head.lower()
    return lowered.startswith(_HTML_HEAD) and _HTML_TITLE in lowered
