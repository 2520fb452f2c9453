"""A calculator over the whole screen: its keys, what was said, and what leaves it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from coach.sprint.commands import RemoveCalculation, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.terminal.actions import key_line
from coach.terminal.drawing.lines import Span, line, wrapped
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.prompts import AskChoice, AskLine
from coach.terminal.widgets.calculator_pane import CALCULATOR, CalculatorPane
from coach.terminal.widgets.calculator_view import Shown
from coach.terminal.widgets.lines import Lines
from phases.kit.grammar import capital
from phases.kit.refusals import Refusal

_MOST_PROPOSED = 12


class CalculatorScreen(PaintedScreen[bool]):
    """calculator: its name. subject: "" for the board. label: where there are several of one.

    Dismissed with whether the calculation was saved.
    """

    NAME = "calculator"
    ACTIONS = CALCULATOR
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2,alt+down", "proposals", "proposed", show=False),
        Binding("f3", "another", "save as another", show=False),
        Binding("f8", "remove", "remove what is saved", show=False),
        Binding("escape", "close", "back", show=False),
    ]

    def __init__(self, calculator: str, subject: str = "", label: str = "") -> None:
        super().__init__()
        self.key = CalculationKey.of(calculator, subject, label)

    def compose(self) -> ComposeResult:
        self.said_before = self.app.said
        try:
            yield CalculatorPane(Shown(self.key, self.state))
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
        yield Lines(id="said")
        yield Lines(id="keys")

    @property
    def pane(self) -> CalculatorPane:
        return self.query_one(CalculatorPane)

    def on_mount(self) -> None:
        if not self.query(CalculatorPane):  # it was refused
            self.dismiss(False)

    def on_calculator_pane_edited(self, event: CalculatorPane.Edited) -> None:
        if event.typed:
            self.said_before = self.app.said
        self.want_paint()

    def paint(self, width: int) -> None:
        """What was said, the keys; the values of the sprint may have changed meanwhile."""
        if not self.query(CalculatorPane):
            return
        try:
            self.pane.follow()
        except Refusal as refusal:
            self.app.said = (str(refusal), "due")
        call, (text, role) = self.app.call, self.app.said
        if call is not None:
            text, role = f"! {call.message}", "due"
        elif self.app.said is self.said_before:
            text = ""
        parts = wrapped(text, width - 2, 1 if self.is_low else 2)
        self.put("#said", [line(Span(part, role)) for part in parts])
        keys = [key_line(self.pane.actions, width - 2)] if self.size.height >= 8 else []
        self.put("#keys", keys)

    # ---- proposals -----------------------------------------------------------------------------

    def action_proposals(self) -> None:
        """What is proposed for this field, in a list to choose from."""
        typed = self.pane.typed
        try:
            found = typed.candidates(self.pane.cursor)
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
            return
        if found is None or not found[1]:
            self.app.say("Nothing is proposed for this field")
            return
        declared, offered = found
        choices = []
        for number, one in enumerate(offered[:_MOST_PROPOSED]):
            score = f"   {one.score:.3g}" if declared.rank else ""
            choices.append(
                (str(number), f"{', '.join(one.values.values())}   {one.verdict}{score}")
            )
        titles = ", ".join(typed.kind.fields[free].title for free in declared.free)
        prompt = f"{capital(titles)}. {' '.join(declared.formula.split())}"
        self.ask(
            AskChoice(prompt, choices), lambda number: self.pane.take(offered[int(number)].values)
        )

    # ---- leaving -------------------------------------------------------------------------------

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._save(self.key.label)

    def action_another(self) -> None:
        """Saved beside the first one: a second strap, another track of the same rail."""
        self.ask(AskLine("A name for another one of these", hint="boot1"), self._save)

    def _save(self, label: str) -> None:
        typed, key = self.pane.typed, self.key
        typed.propose()
        if typed.trouble is not None:
            at, says = typed.trouble
            self.pane.go_to(at or self.pane.cursor)
            self.app.say(says, "due")
        elif self.app.do(SaveCalculation(key.calculator, key.subject, label, typed.given())):
            self.dismiss(True)

    def action_remove(self) -> None:
        if self.app.do(RemoveCalculation(self.key)):
            self.app.say(f"{self.key} is removed")
            self.dismiss(True)

    def action_close(self) -> None:
        if self.pane.typed.changed:
            self.app.say("Not saved", "doubt")
        self.dismiss(False)
