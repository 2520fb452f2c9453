"""Parked notes, looked through at a pause: those that wait, then those that are done."""

from __future__ import annotations

from coach.sprint.commands import Park, Settle
from coach.sprint.durations import elapsed
from coach.sprint.state import Note
from coach.terminal.actions import BACK, HELP, UNDO, Action
from coach.terminal.drawing.lines import BLANK, Line, Span, hanging, line, paragraph, title_line
from coach.terminal.screens.painted import ListScreen
from coach.terminal.screens.prompts import AskLine


class ParkedScreen(ListScreen):
    NAME = "parked"
    ACTIONS = (
        Action("settle", "enter", "done", "Mark the note under the cursor as done", 1),
        Action("park", "a", "park", "Park another note", 2),
        UNDO,
        BACK,
        HELP,
    )

    def title_lines(self, width: int) -> list[Line]:
        waiting = sum(not note.settled for note in self.state.notes)
        return [title_line("Parked notes", f"{waiting} waiting" if waiting else "", width)]

    def body_lines(self, width: int) -> list[Line]:
        notes = self.state.notes
        if not notes:
            words = "No notes parked. One that is parked here waits for the next pause."
            return [BLANK, *paragraph(words, width, 4)]
        waiting, done = (
            [one for note in notes if note.settled == settled for one in _lines(note, width)]
            for settled in (False, True)
        )
        found = waiting or [line(Span(" All notes done", "done"))]
        return [*found, BLANK, line(Span(" done", "quiet")), *done] if done else found

    def action_settle(self) -> None:
        if self.rows.key:
            self.app.do(Settle(int(self.rows.key)))

    def action_park(self) -> None:
        self.ask(AskLine("Park a note"), lambda text: self.app.do(Park(text)))


def _lines(note: Note, width: int) -> list[Line]:
    """A note with the time it was parked at; its number is the key of its first line."""
    role, key = ("quiet", "") if note.settled else ("plain", str(note.number))
    lead = (Span(f" {elapsed(note.t):>5}  ", "quiet"),)
    return hanging(lead, note.text, max(width - 10, 16), 4, role=role, key=key)
