"""The end: what can still be changed, what was forgotten, and where the journal is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from coach.sprint.commands import End
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.end_lines import end_lines, end_text
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, wrapped
from coach.terminal.screens.ask import AskChoice
from coach.terminal.screens.copying import copy_out
from coach.terminal.screens.one_list import BACK, HELP, OneList

LEAVE = Action("leave", "q", "leave", "Leave the coach; a sprint that has not ended goes on", 5)
COPY = Action("copy", "c", "copy", "Copy all this out, to the clipboard and beside the journal", 3)
DEBRIEF = Action("debrief", "b", "debrief", "The debrief: what was planned, what happened, why", 2)
FOLD = Action("unfold", "f", "all", "Every reason and the more checks; or the short form", 4)
END = Action("end", "E", "end", "End the sprint, with the order accepted or without one", 1)
AFTER = (
    Action("leave", "enter", "leave", "Leave the coach", 1), DEBRIEF, COPY, FOLD,
    Action("back", "escape", "back", "Back to the sprint as it stood", 6), HELP,
)  # fmt: skip


class EndScreen(OneList):
    """Shown at the end, and before it to see what would be forgotten."""

    NAME = "end"
    ACTIONS: ClassVar[tuple[Action, ...]] = (END, DEBRIEF, COPY, FOLD, BACK, LEAVE, HELP)
    CURSOR = False
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings((END, DEBRIEF, COPY, FOLD, BACK, LEAVE, HELP)),
        Binding("enter", "finish", show=False),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.unfolded = False

    def shown_actions(self) -> Sequence[Action]:
        return AFTER if self.app.sprint.state.ended else self.ACTIONS

    def title_lines(self, width: int) -> list[Line]:
        state = self.app.sprint.state
        word = "ended " if state.ended else "before the end "
        title = (Span(f" {state.setup.brief.title}", "title"),)
        return [spread_out(title, (Span(word, "quiet"),), width)]

    def body_lines(self, width: int) -> list[Line]:
        sprint = self.app.sprint
        where = wrapped(f"Journal: {sprint.journal.path}", width - 2, 6)
        found = [*end_lines(sprint.state, width, unfolded=self.unfolded), BLANK]
        return found + [line(Span(f" {part}", "quiet")) for part in where]

    # ---- keys ----------------------------------------------------------------------------------

    def action_finish(self) -> None:
        if self.app.sprint.state.ended:
            self.action_leave()
        else:
            self.action_end()

    def action_end(self) -> None:
        """The same question with the same keys as on the sprint screen."""
        if self.app.sprint.state.ended:
            return
        choices = [
            ("look", "Go on looking at what is still open"),
            ("accepted", "The order is accepted and paid"),
            ("by hand", "End it without an order"),
        ]
        self.ask(AskChoice("End the sprint?", choices), self._end)

    def _end(self, how: str) -> None:
        if how != "look" and self.app.do(End(how == "accepted")):
            self.rows.scroll_home(animate=False)

    def action_unfold(self) -> None:
        self.unfolded = not self.unfolded
        self.repaint()

    def action_copy(self) -> None:
        sprint = self.app.sprint
        copy_out(self.app, end_text(sprint.state, str(sprint.journal.path)), "end")

    def action_debrief(self) -> None:
        from coach.terminal.screens.debrief import DebriefScreen

        self.app.push_screen(DebriefScreen(self.app.sprint.journal.path))

    def action_leave(self) -> None:
        self.app.exit(0)
