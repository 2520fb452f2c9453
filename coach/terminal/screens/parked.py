"""Parked thoughts, looked through at a pause."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from coach.sprint.commands import Park, Settle
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.lines import Line
from coach.terminal.drawing.parked_lines import parked_lines, parked_title
from coach.terminal.screens.ask import AskLine
from coach.terminal.screens.one_list import BACK, HELP, UNDO, OneList

ACTIONS = (
    Action("settle", "enter", "settled", "The thought under the cursor is settled", 1),
    Action("park", "a", "park", "Park another thought", 2),
    UNDO, BACK, HELP,
)  # fmt: skip


class ParkedScreen(OneList):
    """Thoughts put aside; settling one takes one key."""

    NAME = "parked"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(ACTIONS)]

    def title_lines(self, width: int) -> list[Line]:
        return parked_title(self.app.sprint.state, width)

    def body_lines(self, width: int) -> list[Line]:
        return parked_lines(self.app.sprint.state, width)

    def action_settle(self) -> None:
        if self.rows.key:
            self.app.do(Settle(int(self.rows.key)))

    def action_park(self) -> None:
        self.ask(AskLine("Park a thought"), self._park)

    def _park(self, text: str) -> None:
        self.app.do(Park(text))
