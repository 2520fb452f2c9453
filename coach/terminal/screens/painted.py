"""The screens that all others are: drawn as lines from the state, painted once for each event."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import suppress
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Concatenate, ParamSpec, TypeVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from coach.sprint.commands import Undo
from coach.sprint.state import State
from coach.terminal.actions import BACK, HELP, Action, bindings, key_line
from coach.terminal.drawing.lines import Line, Span, hanging, paragraph
from coach.terminal.glyphs import shown
from coach.terminal.widgets.line_view import Lines

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

LOW, TALL = 20, 30
"""Rows of a screen below which less is said, and from which a call may take three lines."""

T = TypeVar("T")
S = TypeVar("S", bound=Screen[Any])
P = ParamSpec("P")

Dialog = Generator[Screen[Any], Any, None]
"""Questions one after the other: each is put over the screen, and its answer comes back; None
where it was left."""


def dialog(questions: Callable[Concatenate[S, P], Dialog]) -> Callable[Concatenate[S, P], None]:
    """Makes a method that yields questions one that asks them."""

    @wraps(questions)
    def begin(screen: S, *args: P.args, **options: P.kwargs) -> None:
        asked = questions(screen, *args, **options)

        def go_on(answer: Any = None) -> None:
            with suppress(StopIteration):
                screen.app.push_screen(asked.send(answer), go_on)

        go_on()

    return begin


class PaintedScreen(Screen[T]):
    """A subclass draws itself in `paint`. NAME: of its page of help. ACTIONS: its keys."""

    app: CoachApp
    NAME: ClassVar[str] = ""
    ACTIONS: ClassVar[Sequence[Action]] = ()

    _paint_wanted = False
    _painted_since_covered = False
    status_before: object = None
    """The status when the screen was opened, where it is of no use on it."""

    def __init_subclass__(cls, **options: bool) -> None:
        """The keys of its actions are bound by themselves."""
        if "ACTIONS" in cls.__dict__ and "BINDINGS" not in cls.__dict__:
            cls.BINDINGS = [*bindings(cls.ACTIONS)]
        super().__init_subclass__(**options)

    @property
    def state(self) -> State:
        """Of the sprint that is open."""
        return self.app.sprint.state

    # ---- painting ------------------------------------------------------------------------------

    def paint(self, width: int) -> None:
        """Draws everything from the state; cheap, because lists are lines and not widgets."""
        raise AssertionError(f"{type(self).__name__} draws nothing")

    def want_paint(self) -> None:
        """Paints when what is going on is done, however often it is wanted until then."""
        if not self._paint_wanted:
            self._paint_wanted = True
            self.call_later(self.catch_up)

    def catch_up(self) -> None:
        """Paints now what is wanted, for what follows to read the lines or to move the cursor."""
        if self._paint_wanted:
            self.repaint()

    def repaint(self) -> None:
        self._paint_wanted = False
        # The clock may tick before its parts are there, and while it is taken down.
        if self.is_mounted and self.display and self.children and self.size.width:
            self._painted_since_covered = True
            self.paint(self.size.width)

    def on_resize(self) -> None:
        self.want_paint()

    def on_screen_suspend(self) -> None:
        self._painted_since_covered = False

    def on_screen_resume(self) -> None:
        """What an answer changed may have been painted before this is told."""
        if not self._painted_since_covered:
            self.want_paint()

    def put(self, where: str, lines: Sequence[Line]) -> None:
        """Lines into a part of the screen that is as high as they are."""
        self.query_one(where, Lines).fill(lines)

    # ---- what every screen has -----------------------------------------------------------------

    @property
    def is_low(self) -> bool:
        return self.size.height < LOW

    def call_lines(self, width: int) -> list[Line]:
        """A call at the top edge, in full where there is room."""
        if self.app.call is None:
            return []
        most = 2 if self.size.height < TALL else 3
        return hanging((Span(" ! ", "due"),), self.app.call.message, width - 4, most, role="due")

    def status_lines(self, width: int, most: int = 3) -> list[Line]:
        """What was said to the person last."""
        if self.app.status is self.status_before:
            return []
        text, role = self.app.status
        return paragraph(text, width, min(most, 2) if self.is_low else most, role)

    def forget_status(self) -> None:
        """What was said here is of no use on the screen below. A screen that closes with a
        sentence for it says it and closes itself."""
        if self.app.status is not self.status_before:
            self.app.status = ("", "plain")

    # ---- keys ----------------------------------------------------------------------------------

    def ask(self, question: Screen[str | None], answered: Callable[[str], object]) -> None:
        """Puts a question over the screen; `answered` gets the answer, if there was one."""

        def given(answer: str | None) -> None:
            if answer:
                answered(answer)

        self.app.push_screen(question, given)

    def commands(self) -> Iterator[SystemCommand]:
        """What the palette offers here: the actions of the screen."""
        for action in self.ACTIONS:
            method = getattr(self, f"action_{action.name}", None)
            if method is not None:
                yield SystemCommand(f"{action.label} ({action.shown_key})", action.help, method)

    def action_help(self) -> None:
        self.app.explain(self.NAME, self.ACTIONS)

    def action_undo(self) -> None:
        self.app.do(Undo())


class ListScreen(PaintedScreen[T]):
    """One list: a title above it, what was said and the keys below it. A subclass says what is in
    the title and in the list. CURSOR: whether a line is chosen with the arrow keys; where there is
    none they scroll."""

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
        for part in ("call", "title", "list", "status", "keys"):
            yield Lines(id=part, cursor=self.CURSOR and part == "list")

    def on_mount(self) -> None:
        self.status_before = self.app.status
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

    def key_lines(self, width: int) -> list[Line]:
        return [key_line(self.shown_actions(), width)]

    def paint(self, width: int) -> None:
        self.put("#call", self.call_lines(width))
        self.put("#title", self.title_lines(width))
        self.rows.show(self.body_lines(width))
        self.put("#status", self.status_lines(width, 6))
        self.put("#keys", self.key_lines(width))

    # ---- keys ----------------------------------------------------------------------------------

    def action_scroll_list(self, by: int) -> None:
        self.rows.action_move(by)

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """At the first line that can be chosen, what is above it is shown too."""
        if [event.key] == self.rows.keys[:1]:
            self.rows.scroll_home(animate=False)

    def action_back(self) -> None:
        self.forget_status()
        self.app.pop_screen()


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
