"""The journal in words: one event after the other, calls and what was undone marked."""

from __future__ import annotations

from coach.history.describe import Described, described
from coach.sprint.durations import elapsed
from coach.sprint.events.run import CallMade
from coach.terminal.actions import BACK, HELP, Action
from coach.terminal.drawing.lines import Line, Span, hanging, line, title_line
from coach.terminal.screens.painted import ListScreen
from phases.kit.grammar import count


def told_lines(told: Described, width: int) -> list[Line]:
    """An event: elapsed time, its mark, the sentence."""
    mark, role = _mark(told)
    says = f"{told.message} Undone later." if told.void else told.message
    lead = (Span(f" {elapsed(told.stamped.t):>5}", "quiet"), Span(f"  {mark}  ", role))
    return hanging(lead, says, max(width - 12, 20), 4, role=role)


def _mark(told: Described) -> tuple[str, str]:
    """(mark, role): ! a call that rang, * a silent one, x undone, a dot what the coach did."""
    event = told.stamped.event
    if told.void:
        return "x", "quiet"
    if isinstance(event, CallMade):
        return ("!", "due") if event.rings else ("*", "due")
    return (" ", "plain") if told.stamped.by else ("·", "quiet")


def _is_call(told: Described) -> bool:
    return isinstance(told.stamped.event, CallMade)


class JournalScreen(ListScreen):
    """The newest event is last; the screen follows it until one scrolls up."""

    NAME = "journal"
    ACTIONS = (
        Action("calls", "c", "calls only", "Only the calls, or everything again", 1),
        BACK,
        HELP,
    )
    CURSOR = False

    def __init__(self) -> None:
        super().__init__()
        self.calls_only = False
        self._told: list[Described] = []

    def paint(self, width: int) -> None:
        follows, before = self.rows.is_vertical_scroll_end, len(self._told)
        super().paint(width)
        if follows and len(self._told) != before:
            self._to_the_end()

    def _to_the_end(self) -> None:
        self.rows.scroll_end(animate=False)

    def told(self) -> list[Described]:
        """The history in words, told again only when it has grown."""
        sprint = self.app.sprint
        if len(self._told) != len(sprint.history):
            self._told = described(sprint.setup, sprint.history)
        return self._told

    def title_lines(self, width: int) -> list[Line]:
        calls = count(sum(map(_is_call, self.told())), "call")
        if self.calls_only:
            return [title_line("Calls", calls, width)]
        return [title_line("Journal", f"{count(len(self._told), 'event')}, {calls}", width)]

    def body_lines(self, width: int) -> list[Line]:
        shown = [one for one in self.told() if _is_call(one) or not self.calls_only]
        found = [row for one in shown for row in told_lines(one, width)]
        return found or [line(Span(" Nothing yet", "quiet"))]

    def action_calls(self) -> None:
        self.calls_only = not self.calls_only
        self.repaint()
        self._to_the_end()
