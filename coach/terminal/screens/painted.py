"""The screen that all others are: drawn as lines from the state, painted once for each event."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual.app import SystemCommand
from textual.screen import Screen

from coach.sprint.state import State
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.lines import Line, Span, line, paragraph, wrapped
from coach.terminal.widgets.lines import Lines

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

LOW, TALL = 20, 30
"""Rows of a screen below which less is said, and from which a call may take three lines."""

T = TypeVar("T")


class PaintedScreen(Screen[T]):
    """A subclass draws itself in `paint`. NAME: of its page of help. ACTIONS: its keys."""

    app: CoachApp
    NAME: ClassVar[str] = ""
    ACTIONS: ClassVar[Sequence[Action]] = ()

    _paint_wanted = False
    said_before: object = None
    """What had been said when the screen was opened, where that is of no use on it."""

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
            self.paint(self.size.width)

    def on_resize(self) -> None:
        self.want_paint()

    def on_screen_resume(self) -> None:
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
        parts = wrapped(self.app.call.message, width - 4, 2 if self.size.height < TALL else 3)
        marks = (" ! ", *["   "] * len(parts))
        return [line(Span(mark + part, "due")) for mark, part in zip(marks, parts, strict=False)]

    def said_lines(self, width: int, most: int = 3) -> list[Line]:
        """What was said to the person last."""
        if self.app.said is self.said_before:
            return []
        text, role = self.app.said
        return paragraph(text, width, min(most, 2) if self.is_low else most, role)

    def forget_said(self) -> None:
        """What was said here is of no use on the screen below. A screen that closes with a
        sentence for it says it and closes itself."""
        if self.app.said is not self.said_before:
            self.app.said = ("", "plain")

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
