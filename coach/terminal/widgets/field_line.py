"""The line in which one input is typed: a text line that knows choices, cells and pasted rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input
from textual.widgets.input import Selection

from coach.terminal import glyphs
from coach.terminal.typed_rows import cell_at, cell_span
from phases.kit.text import clean, one_line

_TURNS = {"left": -1, "right": 1, "ctrl+left": -1, "ctrl+right": 1}
"""Keys that take the next of a few words; a bare arrow only at the end of the text."""


class FieldLine(Input):
    """typed: called with the text at every change, so that its effect is in the same frame.

    What a key means depends on the field: `turns` where it is one of a few words, `is_row` where it
    is a row of a table, `is_free` where any character may be meant.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+d", "copy_row", "copy the row", show=False),
        Binding("tab", "cell(1)", "next cell", show=False),
        Binding("shift+tab", "cell(-1)", "previous cell", show=False),
    ]

    @dataclass
    class Asked(Message):
        """Something besides typing. what: "turn", "copy", "paste", "go", "cell" or "source"."""

        what: str
        by: int = 0
        text: str = ""

    def __init__(self, typed: Callable[[str], None], *, id: str | None = None) -> None:
        super().__init__(id=id, select_on_focus=False)
        self._typed = typed
        self._putting = False
        self.turns = self.is_row = self.is_free = False

    def put(self, text: str, placeholder: str = "", cell: int = 0) -> None:
        """Another field's text, chosen: typing replaces it, an arrow key edits it.

        cell: the one that is chosen where it is a row of a table, else the last there is.
        """
        text = glyphs.shown(text)
        self._putting = True
        self.value = text
        self.placeholder = glyphs.shown(placeholder)
        begin, end = 0, len(text)
        if self.is_row and text:
            begin, end = cell_span(text, min(cell, cell_at(text, len(text))))
        self.selection = Selection(begin, end)
        self._putting = False

    def watch_value(self, value: str) -> None:
        if not self._putting:
            self._typed(value)

    def watch_selection(self) -> None:
        """Another cell may be under the text cursor, which takes something else."""
        if self.is_row and not self._putting:
            self.post_message(self.Asked("cell"))

    # ---- keys that are not for the text --------------------------------------------------------

    async def _on_key(self, event: events.Key) -> None:
        by = _TURNS.get(event.key, 0) if self.turns else 0
        if event.key == "left" and not (self.cursor_at_start or self._all_chosen):
            by = 0
        if event.key == "right" and not self.cursor_at_end:
            by = 0
        asked = self.Asked("turn", by) if by else None
        if event.character == "?" and not self.is_free:
            asked = self.Asked("source")
        if asked is not None:
            event.stop()
            event.prevent_default()
            self.post_message(asked)

    def _on_paste(self, event: events.Paste) -> None:
        text = clean(event.text)
        event.stop()
        event.prevent_default()
        if self.is_row and ("\n" in text.strip() or "\t" in text):
            self.post_message(self.Asked("paste", text=text))
        elif one_line(text):
            self.replace(one_line(text), *sorted(self.selection))

    def action_copy_row(self) -> None:
        if self.is_row:
            self.post_message(self.Asked("copy"))
        else:
            self.action_delete_right()

    def action_delete_left_all(self) -> None:
        """To the beginning of the line; of a row all, which removes it."""
        if self.is_row:
            self.value = ""
        else:
            super().action_delete_left_all()

    def action_cell(self, by: int) -> None:
        """The next cell of a row, chosen; past its end the next line."""
        if self.is_row:
            to, last = self.cell + by, cell_at(self.value, len(self.value))
            if 0 <= to <= last:
                self.selection = Selection(*cell_span(self.value, to))
                return
        self.post_message(self.Asked("go", by))

    @property
    def _all_chosen(self) -> bool:
        return bool(self.value) and sorted(self.selection) == [0, len(self.value)]

    @property
    def cell(self) -> int:
        """The cell of the row the cursor is in."""
        return cell_at(self.value, self.cursor_position)
