"""A screen that is one list: a title above it, what was said and the keys below it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from coach.sprint.commands import Undo
from coach.terminal.actions import BACK, HELP, Action, key_line
from coach.terminal.actions import UNDO as UNDO
from coach.terminal.drawing.lines import Line
from coach.terminal.glyphs import shown
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.widgets.lines import Lines

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


class OneList(PaintedScreen[None]):
    """A subclass says what is in the title and in the list. CURSOR: whether a line is chosen with
    the arrow keys; where there is none they scroll."""

    ACTIONS: ClassVar[Sequence[Action]] = (BACK, HELP)
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
        self.said_before = self.app.said
        if self.CURSOR:
            self.rows.focus()

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

    def paint(self, width: int) -> None:
        self.put("#call", self.call_lines(width))
        self.put("#title", self.title_lines(width))
        self.rows.show(self.body_lines(width))
        self.put("#said", self.said_lines(width, 6))
        self.put("#keys", [key_line(self.shown_actions(), width)])

    # ---- keys ----------------------------------------------------------------------------------

    def action_scroll_list(self, by: int) -> None:
        self.rows.action_move(by)

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """At the first line that can be chosen, what is above it is shown too."""
        if [event.key] == self.rows.keys[:1]:
            self.rows.scroll_home(animate=False)

    def action_back(self) -> None:
        self.forget_said()
        self.app.pop_screen()

    def action_undo(self) -> None:
        self.app.do(Undo())


def copy_out(app: CoachApp, text: str, what: str, journal: Path | None = None) -> None:
    """Copies `text` to the clipboard, which not every terminal passes on, and to a file: the
    journal's name with `what` behind it, where an earlier copy gives way.

    journal: by default that of the sprint that is open.
    """
    journal = journal or app.sprint.journal.path
    path = journal.with_name(f"{journal.stem}-{what}.txt")
    app.copy_to_clipboard(text)
    try:
        path.write_text(text if text.endswith("\n") else f"{text}\n", encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        app.say(f"Copied to the clipboard only; no file beside the journal: {reason}", "due")
    else:
        app.say(shown(f"Copied to the clipboard and to {path}"), "done")
