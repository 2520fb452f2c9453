"""The list of what is to draw: one key a part, or one for all; it can be copied out."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from coach.sprint.commands import Draw
from coach.sprint.to_draw import ToDraw, as_text, to_draw
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.lines import Line
from coach.terminal.drawing.to_draw_lines import part_key, to_draw_lines, to_draw_title
from coach.terminal.screens.copying import copy_out
from coach.terminal.screens.one_list import BACK, HELP, UNDO, OneList

ACTIONS = (
    Action("draw", "d", "drawn", "The part under the cursor is drawn; Enter too", 1),
    Action("draw_all", "D", "all drawn", "Everything shown here is drawn", 2),
    Action("copy", "c", "copy", "Copy the list out, to the clipboard and beside the journal", 3),
    UNDO, BACK, HELP,
)  # fmt: skip


class ToDrawScreen(OneList):
    """What saved calculations imply, until it is drawn."""

    NAME = "to draw"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS), Binding("enter", "draw", show=False),
    ]  # fmt: skip

    @property
    def parts(self) -> list[ToDraw]:
        return to_draw(self.app.sprint.state)

    def title_lines(self, width: int) -> list[Line]:
        return to_draw_title(self.parts, width)

    def body_lines(self, width: int) -> list[Line]:
        return to_draw_lines(self.app.sprint.state, self.parts, width)

    # ---- keys ----------------------------------------------------------------------------------

    def action_draw(self) -> None:
        part = next((p for p in self.parts if part_key(p) == self.rows.key), None)
        if part is not None:
            self.app.do(Draw(((part.calculation, part.role),)))

    def action_draw_all(self) -> None:
        self.app.do(Draw(tuple((part.calculation, part.role) for part in self.parts)))

    def action_copy(self) -> None:
        parts = self.parts
        if parts:
            copy_out(self.app, as_text(parts), "to-draw")
        else:
            self.app.say("Nothing is waiting to be drawn")
