"""A screen that is one list: a title above it, what was said and the keys below it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from coach.terminal.actions import Action
from coach.terminal.drawing.key_line import key_line
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.widgets.lines import Lines

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

BACK = Action("back", "escape", "back", "Back to where you came from", 20)
HELP = Action("help", "question_mark", "help", "Explain this screen", 30)
UNDO = Action("undo", "u", "undo", "Take back the last command", 19)


class OneList(Screen[None]):
    """What such screens share. A subclass says what stands in the title and in the list.

    NAME: under which help explains it. ACTIONS: its keys. CURSOR: whether a line is chosen with
    the arrow keys; where there is none they scroll.
    """

    app: CoachApp
    NAME: ClassVar[str] = ""
    ACTIONS: ClassVar[tuple[Action, ...]] = (BACK, HELP)
    CURSOR: ClassVar[bool] = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_list(-1)", "up", show=False),
        Binding("down", "scroll_list(1)", "down", show=False),
        Binding("pageup", "scroll_list(-10)", "page up", show=False),
        Binding("pagedown,space", "scroll_list(10)", "page down", show=False),
        Binding("home", "scroll_list(-100000)", "first", show=False),
        Binding("end", "scroll_list(100000)", "last", show=False),
    ]

    def compose(self) -> ComposeResult:
        yield Lines(id="call")
        yield Lines(id="title")
        yield Lines(id="list", cursor=self.CURSOR)
        yield Lines(id="said")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        self._said_elsewhere = self.app.said
        if self.CURSOR:
            self.rows.focus()
        self.repaint()

    def on_resize(self) -> None:
        self.repaint()

    def on_screen_resume(self) -> None:
        self.repaint()

    # ---- what it shows -------------------------------------------------------------------------

    @property
    def rows(self) -> Lines:
        return self.query_one("#list", Lines)

    def title_lines(self, width: int) -> list[Line]:
        raise AssertionError(f"{type(self).__name__} has no title")

    def body_lines(self, width: int) -> list[Line]:
        raise AssertionError(f"{type(self).__name__} has no list")

    def shown_actions(self) -> Sequence[Action]:
        """The actions in the key line, where not all of them apply."""
        return self.ACTIONS

    def repaint(self) -> None:
        """Everything anew; cheap, because lists are lines and not widgets."""
        width = self.size.width
        if not self.is_mounted or not width:
            return
        call = self.app.call
        says = wrapped(call.says, width - 4, 2) if call else []
        self._put("#call", [line(Span(" ! ", "due"), Span(part, "due")) for part in says])
        self._put("#title", self.title_lines(width))
        self.rows.show(self.body_lines(width))
        self._put("#said", self._said_lines(width))
        self._put("#keys", [key_line(self.shown_actions(), width)])

    def _said_lines(self, width: int) -> list[Line]:
        """What was said since this screen was opened."""
        if self.app.said is self._said_elsewhere:
            return []
        text, role = self.app.said
        parts = wrapped(text, width - 2, 2 if self.size.height < 20 else 6)
        return [line(Span(f" {part}", role)) for part in parts]

    def _put(self, where: str, lines: Sequence[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)
        widget.display = bool(lines)

    # ---- keys ----------------------------------------------------------------------------------

    def action_scroll_list(self, by: int) -> None:
        self.rows.action_move(by)

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """At the first line that can be chosen, what stands above it is shown too."""
        if event.key == next((one.key for one in self.rows.lines if one.key), ""):
            self.rows.scroll_home(animate=False)

    def action_back(self) -> None:
        self.forget_said()
        self.app.pop_screen()

    def forget_said(self) -> None:
        """What was said here is of no use on the screen below. A screen that closes with a
        sentence for it says it and closes itself."""
        if self.app.said is not self._said_elsewhere:
            self.app.said = ("", "plain")

    def action_help(self) -> None:
        from coach.terminal.screens.help import HelpScreen

        self.app.push_screen(HelpScreen(self.NAME))

    def action_undo(self) -> None:
        from coach.sprint.commands import Undo

        self.app.do(Undo())

    def ask(self, question: Screen[str | None], answered: Callable[[str], None]) -> None:
        """Puts a question over the screen; `answered` gets the answer, if there was one."""
        self.app.push_screen(question, lambda answer: answered(answer) if answer else None)
