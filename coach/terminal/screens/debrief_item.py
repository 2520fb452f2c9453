"""Which item let a fault through: one word narrows the list, the arrow keys choose."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input

from coach.sprint.gates.item_search import items_with
from coach.sprint.state import Row, State
from coach.terminal.drawing.lines import Line, Span, cut, line
from coach.terminal.drawing.words import status_of
from coach.terminal.screens.prompts import AskLine
from coach.terminal.widgets.lines import Lines

NO_ITEM = "no item"
_SHOWN = 60


class WhichItem(AskLine):
    """Answers with the key of an item, NO_ITEM where none asks for it, None where it was left.

    first: the key of an item that is at the top as long as nothing is typed.
    """

    def __init__(self, state: State, first: str = "") -> None:
        super().__init__("Which item let it through?")
        self.state, self.first = state, first

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Input(placeholder="a word of it")
            yield Lines(id="which-list", cursor=True)
            yield Lines(id="ask-hint")

    def on_mount(self) -> None:
        self._list("")

    @property
    def _rows(self) -> Lines:
        return self.query_one("#which-list", Lines)

    def _list(self, words: str) -> None:
        """No item first while nothing is typed, last behind what was found."""
        rows = [row for row in self.state.rows if row.key == self.first]
        if words.strip():
            rows = items_with(self.state.rows, words)[:_SHOWN]
        none = line(Span(" "), Span("no item asks for it", "quiet"), key=NO_ITEM)
        lines = [*map(self._row, rows), none]
        self._rows.show(lines)
        self._rows.put_cursor(lines[0].key)
        self._rows.styles.height = min(len(lines), max(self.size.height - 8, 1))

    def _row(self, row: Row) -> Line:
        word, role = status_of(row)
        room = max(min(self.size.width, 76) - 16, 8)
        return line(Span(f" {word:9} ", role), Span(cut(row.name, room)), key=row.key)

    def on_input_changed(self, event: Input.Changed) -> None:
        self._list(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.prevent_default()  # what was typed is no answer
        self.answer(self._rows.key or None)

    def action_offer(self, by: int) -> None:
        self._rows.action_move(by)
