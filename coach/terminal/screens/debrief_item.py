"""Which item let a fault through: one word narrows the list, the arrow keys choose."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from coach.sprint.item_names import items_with
from coach.sprint.state import State
from coach.terminal.drawing.lines import Line, Span, cut, line, wrapped
from coach.terminal.drawing.words import status_of
from coach.terminal.widgets.lines import Lines

NO_ITEM = "no item"
_SHOWN = 60


class WhichItem(ModalScreen[str | None]):
    """Answers with the key of an item, NO_ITEM where none asks for it, None where it was left.

    first: the key of an item that stands at the top as long as nothing is typed.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", show=False),
        Binding("down", "move(1)", "next", show=False, priority=True),
        Binding("up", "move(-1)", "previous", show=False, priority=True),
    ]

    def __init__(self, state: State, first: str = "") -> None:
        super().__init__()
        self.state = state
        self.first = first
        self._answered = False

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="which-prompt")
            yield Input(id="which-word", placeholder="a word of it")
            yield Lines(id="which-list", cursor=True)
            yield Lines(id="which-keys")

    def on_mount(self) -> None:
        width = self._width
        prompt = wrapped("Which item let it through?", width, 2)
        self._put("#which-prompt", [line(Span(part, "title")) for part in prompt])
        keys = (
            Span("↵ ", "key"),
            Span("take it   ", "quiet"),
            Span("esc ", "key"),
            Span("back", "quiet"),
        )
        self._put("#which-keys", [line(*keys)])
        self._list("")
        self.query_one(Input).focus()

    @property
    def _width(self) -> int:
        return min(self.size.width, 76) - 4

    @property
    def _rows(self) -> Lines:
        return self.query_one("#which-list", Lines)

    def _put(self, where: str, lines: list[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)

    def _list(self, words: str) -> None:
        """No item first while nothing is typed, last behind what was found."""
        none = line(Span(" "), Span("no item asks for it", "quiet"), key=NO_ITEM)
        if words.strip():
            rows = items_with(self.state.rows, words)[:_SHOWN]
        else:
            rows = [self.state.by_key[self.first]] if self.first in self.state.by_key else []
        lines = [*(self._row(row.key) for row in rows), none]
        self._rows.show(lines)
        self._rows.put_cursor(lines[0].key)
        self._rows.styles.height = min(len(lines), max(self.size.height - 8, 1))

    def _row(self, key: str) -> Line:
        row = self.state.by_key[key]
        word, role = status_of(row)
        return line(
            Span(f" {word:9} ", role), Span(cut(row.name, max(self._width - 12, 8))), key=key
        )

    def on_input_changed(self, event: Input.Changed) -> None:
        self._list(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._answer(self._rows.key or None)

    def action_move(self, by: int) -> None:
        self._rows.action_move(by)

    def action_back(self) -> None:
        self._answer(None)

    def _answer(self, value: str | None) -> None:
        """Answers once: a second key of a burst finds the question gone already."""
        if not self._answered:
            self._answered = True
            self.dismiss(value)
