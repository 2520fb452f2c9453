"""The walk: one open item after the other, one key each."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from coach.sprint.commands import Dismiss, FinishWalk, Undo
from coach.sprint.state import Row
from coach.terminal.drawing.head import call_lines
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.drawing.walk_lines import key_lines, walk_keys, walk_lines, walk_title
from coach.terminal.screens import asking
from coach.terminal.walks import Walk
from coach.terminal.widgets.lines import Lines

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


class WalkScreen(Screen[bool]):
    """Goes through a walk, whichever it is. Dismissed with whether its end was reached."""

    app: CoachApp
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y,m,enter", "yes", "yes", show=False),
        Binding("n", "not_here", "not here", show=False),
        Binding("space,right", "later", "not yet", show=False),
        Binding("left", "back", "the one before", show=False),
        Binding("w", "waive", "waive", show=False),
        Binding("r", "sheet", "data sheet", show=False),
        Binding("c", "calculate", "calculate", show=False),
        Binding("u", "undo", "undo", show=False),
        Binding("f", "further", "more checks", show=False),
        Binding("question_mark", "help", "help", show=False),
        Binding("escape,q", "leave", "leave", show=False),
    ]

    def __init__(self, walk: Walk) -> None:
        super().__init__()
        self.walk = walk
        self.keys = list(walk.keys)
        self.folded = list(walk.further)
        self.at = 0

    def compose(self) -> ComposeResult:
        yield Lines(id="walk-call")
        yield Lines(id="walk-title")
        yield Lines(id="walk-item")
        yield Lines(id="walk-said")
        yield Lines(id="walk-keys")

    def on_mount(self) -> None:
        self.app.said = ("", "plain")  # what was said before the walk is of no use in it
        self._skip_closed()
        self.repaint()

    def on_screen_resume(self) -> None:
        self._skip_closed()
        self.repaint()

    def on_resize(self) -> None:
        self.repaint()

    @property
    def row(self) -> Row | None:
        if self.at < len(self.keys):
            return self.app.sprint.state.by_key.get(self.keys[self.at])
        return None

    def repaint(self) -> None:
        row = self.row
        if not self.is_mounted or row is None or not self.size.width:
            return
        width = self.size.width
        self._put("#walk-call", call_lines(self.app.call, width, self.size.height))
        sprint, state = self.app.sprint, self.app.sprint.state
        self._put("#walk-title", [walk_title(self.walk, state, sprint.t, width)])
        count = (self.at + 1, len(self.keys))
        answer = self.app.answers.of_row(row)
        lines = walk_lines(self.walk, state, row, count, width=width, answer=answer)
        self.query_one("#walk-item", Lines).show(lines)
        text, role = self.app.said
        said = wrapped(text, width - 2, 2 if self.size.height < 20 else 3)
        self._put("#walk-said", [line(Span(f" {part}", role)) for part in said])
        keys = [*walk_keys(row), *([("f", f"{len(self.folded)} further")] if self.folded else [])]
        self._put("#walk-keys", key_lines(keys, width))

    def _put(self, where: str, lines: list[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)

    # ---- keys ----------------------------------------------------------------------------------

    def action_yes(self) -> None:
        row = self.row
        if row is None:
            return
        if row.applies is None:
            asking.answer_question(self, row, yes=True)
            return
        doubt = row.state is not None and row.state.doubt
        if row.item.cites and not doubt:
            self.app.say("This is met by a calculation: c opens it", "due")
            return
        asking.meet(self, row, self._met(row))

    def _met(self, row: Row) -> Callable[[], None]:
        """On to the next one; where the page was asked, coming back has gone on already."""

        def go_on() -> None:
            if self.row is not None and self.row.key == row.key:
                self._go_on()

        return go_on

    def action_not_here(self) -> None:
        row = self.row
        if row is None:
            return
        if self.app.do(Dismiss(row.key)):
            self._go_on()
        elif row.question:
            asking.answer_question(self, row)

    def action_later(self) -> None:
        self.at += 1
        self._skip_closed()
        self._end_or_show()

    def action_back(self) -> None:
        self.at = max(self.at - 1, 0)
        self.repaint()

    def action_waive(self) -> None:
        if self.row is not None:
            asking.ask_reason(self, self.row)

    def action_sheet(self) -> None:
        if self.row is not None:
            asking.ask_page(self, self.row)

    def action_calculate(self) -> None:
        if self.row is not None and self.row.item.cites:
            asking.open_calculator_of(self, self.row)

    def action_undo(self) -> None:
        self.app.do(Undo())
        self.repaint()

    def action_further(self) -> None:
        if not self.folded:
            self.app.say("This walk has no more checks folded away", "quiet")
            return
        self.keys += self.folded
        self.folded = []
        self.repaint()

    def action_help(self) -> None:
        from coach.terminal.screens.help import HelpScreen

        self.app.push_screen(HelpScreen("walk"))

    def action_leave(self) -> None:
        self._finish(False)

    # ---- going on ------------------------------------------------------------------------------

    def _go_on(self) -> None:
        self.at += 1
        self._skip_closed()
        self._end_or_show()

    def _skip_closed(self) -> None:
        """Items that were closed meanwhile, by a sibling's fact or a calculation, are not asked."""
        while self.at < len(self.keys):
            row = self.row
            if row is not None and not row.closed:
                return
            self.at += 1
        if self.is_mounted and self.keys:
            self._end_or_show()

    def _end_or_show(self) -> None:
        if self.at >= len(self.keys):
            self._finish(True)
        else:
            self.repaint()

    def _finish(self, reached_end: bool) -> None:
        if self._finished:
            return
        self._finished = True
        if self.walk.of and self.at:
            state = self.app.sprint.state
            asked = self.keys[: self.at]
            closed = sum(1 for key in asked if key in state.by_key and state.by_key[key].closed)
            self.app.do(FinishWalk(self.walk.of, len(asked), closed))
        self.dismiss(reached_end)

    _finished = False
