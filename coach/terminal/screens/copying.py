"""Copying out: to the clipboard, which not every terminal passes on, and to a file beside."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from coach.terminal.glyphs import shown

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


def copy_out(app: CoachApp, text: str, what: str, journal: Path | None = None) -> None:
    """Copies `text` and says where its file is: the journal's name with `what` behind it.

    An earlier copy gives way to the new one; the journal itself is never touched.
    journal: by default that of the sprint that is open.
    """
    journal = journal or app.sprint.journal.path
    path = journal.with_name(f"{journal.stem}-{what}.txt")
    app.copy_to_clipboard(text)
    try:
        path.write_text(text if text.endswith("\n") else f"{text}\n", encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        app.say(f"Copied to the clipboard only; no file beside the journal: {reason}", "due")
    else:
        app.say(shown(f"Copied to the clipboard and to {path}"), "done")
