"""A screen about one recorded sprint: it looks, and opens the journal only to write a line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from textual import work

from coach.history.read_sprint import SprintRead, read_sprint
from coach.sprint.clock import SystemClock
from coach.sprint.session import Session
from coach.terminal.glyphs import shown
from coach.terminal.screens.painted import ListScreen
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

T = TypeVar("T")


class RecordedSprintScreen(ListScreen[None]):
    """What such screens share. path: of the journal. sprint_read: as it was looked at last.
    accept_edit: an edited journal is written to as it is.

    Where the sprint of this very journal is open, nothing is read or opened a second time.
    """

    def __init__(self, path: Path, *, accept_edit: bool = False) -> None:
        super().__init__()
        self.path = path
        self.accept_edit = accept_edit
        self.sprint_read: SprintRead | None = None

    @property
    def live(self) -> Session | None:
        """The session of this very journal, where it is open."""
        session = self.app.session
        return session if session is not None and session.journal.path == self.path else None

    def look(self) -> SprintRead:
        """The sprint as it is now. Raises Refusal."""
        session = self.live
        if session is None:
            return read_sprint(self.path)
        return SprintRead(self.path, session.setup, tuple(session.history), session.state, ())

    def with_session(self, act: Callable[[Session], T]) -> T | None:
        """Does something with the journal open for writing; None where it was refused."""
        try:
            if self.live is not None:
                return act(self.live)
            clock = SystemClock()
            with Session.afterwards(self.path, clock, accept_edit=self.accept_edit) as session:
                return act(session)
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
            return None

    # ---- files ---------------------------------------------------------------------------------

    @work(thread=True, exit_on_error=False, group="file")
    def write_beside(
        self, name: str, ending: str, made: Callable[[], str], write: Callable[[Path, str], None]
    ) -> None:
        """Writes what `made` makes to a file beside the journal, and says where it is."""
        path = self.path.with_name(f"{self.path.stem}-{ending}")
        try:
            write(path, made())
        except Refusal as refusal:
            self.call_later(self.app.say, str(refusal), "due")
        else:
            self.call_later(self.app.say, shown(one_line(f"{name} is in {path}")), "done")

    # ---- leaving -------------------------------------------------------------------------------

    def action_back(self) -> None:
        """To the screen below; where this is the only one, out of the coach."""
        if self.app.session is None and len(self.app.screen_stack) <= 2:
            self.app.exit(0)
        else:
            super().action_back()

    def action_leave(self) -> None:
        self.app.exit(0)
