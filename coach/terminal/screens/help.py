"""Explains the screen one is on: its lines and marks, then every key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from coach.terminal.actions import SPRINT, Action, bindings
from coach.terminal.drawing.help_lines import ABOUT, About, help_lines
from coach.terminal.drawing.lines import BLANK, Line, Span, line
from coach.terminal.screens.one_list import BACK, OneList

SCROLL = Action("scroll", "space", "on", "Scroll on; so do the arrow keys", 1)


def actions_of(name: str) -> tuple[Action, ...]:
    """The actions of a screen; none where its keys are explained with its marks."""
    from coach.terminal.screens.board import BoardScreen
    from coach.terminal.screens.journal import JournalScreen
    from coach.terminal.screens.new import ACTIONS
    from coach.terminal.screens.parked import ParkedScreen
    from coach.terminal.screens.start import StartScreen
    from coach.terminal.screens.to_draw import ToDrawScreen

    lists = (StartScreen, JournalScreen, BoardScreen, ToDrawScreen, ParkedScreen)
    known = {screen.NAME: tuple(screen.ACTIONS) for screen in lists}
    return {**known, "sprint": SPRINT, "new": ACTIONS}.get(name, ())


class HelpScreen(OneList):
    """name: of the screen it explains. actions: its keys, by default those of the registry.
    numbers: for a width, what the numbers on that screen are made of; they come first."""

    NAME = "help"
    ACTIONS: ClassVar[tuple[Action, ...]] = (SCROLL, BACK)
    CURSOR = False
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings((BACK,)), Binding("question_mark,q,enter", "back", show=False),
    ]  # fmt: skip

    def __init__(
        self, name: str, actions: Sequence[Action] | None = None,
        numbers: Callable[[int], list[Line]] | None = None,
    ) -> None:  # fmt: skip
        super().__init__()
        self.numbers = numbers
        self.about = ABOUT.get(name, About(name.capitalize(), "Its keys:"))
        self.actions = actions_of(name) if actions is None else tuple(actions)

    def title_lines(self, width: int) -> list[Line]:
        return [line(Span(f" {self.about.title}", "title"))]

    def body_lines(self, width: int) -> list[Line]:
        first = [*self.numbers(width), BLANK] if self.numbers else []
        return [*first, *help_lines(self.about, self.actions, width)]
