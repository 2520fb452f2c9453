"""What happened so far, in words."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from coach.history.describe import described
from coach.sprint.events.run import CallMade
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.journal_lines import Entry, journal_lines, journal_title
from coach.terminal.drawing.lines import Line
from coach.terminal.screens.one_list import BACK, HELP, OneList

CALLS = Action("calls", "c", "calls only", "Only the calls, or everything again", 1)


class JournalScreen(OneList):
    """The newest event stands last; the screen follows it until one scrolls up."""

    NAME = "journal"
    ACTIONS: ClassVar[tuple[Action, ...]] = (CALLS, BACK, HELP)
    CURSOR = False
    BINDINGS: ClassVar[list[BindingType]] = [*bindings((CALLS, BACK, HELP))]

    def __init__(self) -> None:
        super().__init__()
        self.calls_only = False
        self._entries: list[Entry] = []

    def on_mount(self) -> None:
        super().on_mount()
        self._to_the_end()

    def repaint(self) -> None:
        follows = self.is_mounted and self.rows.is_vertical_scroll_end
        before = len(self._entries)
        super().repaint()
        if follows and len(self._entries) != before:
            self._to_the_end()

    def _to_the_end(self) -> None:
        self.rows.scroll_end(animate=False)

    def entries(self) -> list[Entry]:
        """The history in words, told anew only when it has grown."""
        history = self.app.sprint.history
        if len(self._entries) != len(history):
            told = described(self.app.sprint.setup, history)
            self._entries = [
                Entry(one, isinstance(s.event, CallMade), getattr(s.event, "rings", False))
                for one, s in zip(told, history, strict=True)
            ]
        return self._entries

    def title_lines(self, width: int) -> list[Line]:
        return journal_title(self.entries(), self.calls_only, width)

    def body_lines(self, width: int) -> list[Line]:
        return journal_lines(self.entries(), self.calls_only, width)

    def action_calls(self) -> None:
        self.calls_only = not self.calls_only
        self.repaint()
        self._to_the_end()
