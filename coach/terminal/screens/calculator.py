"""A calculator over the whole screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.screen import Screen

from coach.terminal.drawing.key_line import key_line
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.widgets.calculator_pane import CalculatorPane
from coach.terminal.widgets.lines import Lines
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


class CalculatorScreen(Screen[bool]):
    """calculator: its name. subject: "" for the board. label: where there are several of one.

    Dismissed with whether the calculation was saved.
    """

    app: CoachApp

    def __init__(self, calculator: str, subject: str = "", label: str = "") -> None:
        super().__init__()
        self.calculator = calculator
        self.subject = subject
        self.label = label

    def compose(self) -> ComposeResult:
        yield CalculatorPane(id="pane")
        yield Lines(id="said")
        yield Lines(id="keys")

    @property
    def pane(self) -> CalculatorPane:
        return self.query_one(CalculatorPane)

    def on_mount(self) -> None:
        self._said_elsewhere = self.app.said
        try:
            self.pane.open(self.calculator, self.subject, self.label)
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
            self.dismiss(False)
            return
        self.repaint()

    def on_resize(self) -> None:
        self.repaint()

    def on_screen_resume(self) -> None:
        self.repaint()

    def on_calculator_pane_closed(self, event: CalculatorPane.Closed) -> None:
        self.dismiss(event.saved)

    def on_calculator_pane_moved(self, event: CalculatorPane.Moved) -> None:
        self.repaint()

    def on_calculator_pane_typed(self, event: CalculatorPane.Typed) -> None:
        self._said_elsewhere = self.app.said
        self.repaint()

    def repaint(self) -> None:
        """What was said, the keys; the values of the sprint may have changed meanwhile."""
        width = self.size.width - 2
        if not self.is_mounted or not self.display or width <= 0:
            return  # the clock may tick before it is there, and while it is taken down
        try:
            self.pane.follow()
        except Refusal as refusal:
            self.app.said = (str(refusal), "due")
        call = self.app.call
        text, role = (f"! {call.says}", "due") if call is not None else self.app.said
        if call is None and self.app.said is self._said_elsewhere:
            text = ""
        parts = wrapped(text, width, 1 if self.size.height < 20 else 2)
        self._put("#said", [line(Span(part, role)) for part in parts])
        self._put("#keys", [key_line(self.pane.actions, width)] if self.size.height >= 8 else [])

    def _put(self, where: str, lines: list[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)
        widget.display = bool(lines)
