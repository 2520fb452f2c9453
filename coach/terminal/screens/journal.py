"""The journal in words: one event after the other, calls and what was undone marked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual.binding import BindingType

from coach.sprint.durations import elapsed
from coach.sprint.events.run import CallMade
from coach.sprint.past.retell import Told, retell
from coach.terminal.actions import BACK, HELP, Action, bindings
from coach.terminal.drawing.lines import Line, Span, line, title_line, wrapped
from coach.terminal.screens.one_list import OneList
from phases.kit.grammar import count

CALLS = Action("calls", "c", "calls only", "Only the calls, or everything again", 1)


@dataclass(frozen=True, slots=True)
class Entry:
    """One event in words. call: the coach said it unasked; rang: with the bell."""

    told: Told
    call: bool = False
    rang: bool = False

    @property
    def mark(self) -> tuple[str, str]:
        """(mark, role): ! a call that rang, * a silent one, x undone, a dot what the coach did."""
        if self.told.void:
            return "x", "quiet"
        if self.call:
            return ("!", "due") if self.rang else ("*", "due")
        return (" ", "plain") if self.told.stamped.by else ("·", "quiet")

    def lines(self, width: int) -> list[Line]:
        """Elapsed time, the mark, the sentence."""
        mark, role = self.mark
        says = f"{self.told.says} Undone later." if self.told.void else self.told.says
        first, *more = wrapped(says, max(width - 12, 20), 4) or [""]
        when = Span(f" {elapsed(self.told.stamped.t):>5}", "quiet")
        found = [line(when, Span(f"  {mark}  {first}", role))]
        return found + [line(Span(" " * 11), Span(part, role)) for part in more]


class JournalScreen(OneList):
    """The newest event is last; the screen follows it until one scrolls up."""

    NAME = "journal"
    ACTIONS: ClassVar[tuple[Action, ...]] = (CALLS, BACK, HELP)
    CURSOR = False
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(ACTIONS)]

    def __init__(self) -> None:
        super().__init__()
        self.calls_only = False
        self._entries: list[Entry] = []

    def on_mount(self) -> None:
        self.repaint()
        self._to_the_end()

    def paint(self, width: int) -> None:
        follows, before = self.rows.is_vertical_scroll_end, len(self._entries)
        super().paint(width)
        if follows and len(self._entries) != before:
            self._to_the_end()

    def _to_the_end(self) -> None:
        self.rows.scroll_end(animate=False)

    def entries(self) -> list[Entry]:
        """The history in words, told again only when it has grown."""
        history = self.app.sprint.history
        if len(self._entries) != len(history):
            told = retell(self.app.sprint.setup, history)
            self._entries = [
                Entry(one, isinstance(s.event, CallMade), getattr(s.event, "rings", False))
                for one, s in zip(told, history, strict=True)
            ]
        return self._entries

    def title_lines(self, width: int) -> list[Line]:
        calls = count(sum(entry.call for entry in self.entries()), "call")
        if self.calls_only:
            return [title_line("Calls", calls, width)]
        return [title_line("Journal", f"{len(self._entries)} events, {calls}", width)]

    def body_lines(self, width: int) -> list[Line]:
        shown = [entry for entry in self.entries() if entry.call or not self.calls_only]
        found = [one for entry in shown for one in entry.lines(width)]
        return found or [line(Span(" Nothing yet", "quiet"))]

    def action_calls(self) -> None:
        self.calls_only = not self.calls_only
        self.repaint()
        self._to_the_end()
