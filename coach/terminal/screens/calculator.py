"""A calculator over the whole screen: inputs as they are typed, and what they give at every key.

key -> one field read, all corners judged -> verdict, outputs and limits in the same frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input

from coach.sprint.commands import RemoveCalculation, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.terminal import glyphs
from coach.terminal.actions import Action, key_line
from coach.terminal.drawing.calculation import FORMULAS
from coach.terminal.drawing.input_lines import first_asked, hint_lines, split_key
from coach.terminal.drawing.lines import Span, cut, line, width_of, wrapped
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.prompts import AskChoice, AskLine
from coach.terminal.typed_inputs import TypedInputs, options_of
from coach.terminal.widgets.calculator_view import CalculatorView, Shown
from coach.terminal.widgets.field_line import FieldLine
from coach.terminal.widgets.line_view import Lines
from phases.kit.calculator import Calculator
from phases.kit.fields import Table, Words
from phases.kit.grammar import capital
from phases.kit.judging import Judgement
from phases.kit.refusals import Refusal

_MOST_PROPOSED = 12

CALCULATOR = (
    Action("save", "enter", "save", "Save; an unreadable value is named", 1),
    Action("close", "escape", "back", "Back without saving", 2),
    Action("step", "up/down", "field", "Another line; tab goes to the next cell of a row", 3),
    Action("proposals", "f2", "proposed", "Values to choose from; alt and down too", 4),
    Action("restore", "ctrl+r", "reset field", "The field back to its own value", 5),
    Action("scroll", "pgdn", "more", "See what is further down, and back with pgup", 6),
    Action("copy_row", "ctrl+d", "copy row", "Copy a row; ctrl+u empties one, which removes it", 7),
    Action("next_curve", "ctrl+n", "curve", "The next curve; f4 too", 8),
    Action("another", "f3", "save as another", "Save it beside the first, under a name", 8),
    Action("remove", "f8", "remove", "Remove what is saved, and its parts from the list", 0),
    Action("source", "f1", "source", "Formulas and where they are from; ? too", 9),
)
"""The keys of a calculator; anything else is typed into the field."""


class CalculatorPane(CalculatorView):
    """A calculator to type in. typed: what is typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "up", show=False),
        Binding("down", "step(1)", "down", show=False),
        Binding("pageup", "scroll(-1)", "page up", show=False),
        Binding("pagedown", "scroll(1)", "page down", show=False),
        Binding("ctrl+r", "restore", "reset field", show=False),
        Binding("ctrl+n,f4", "next_curve", "next curve", show=False),
        Binding("f1", "source", "source", show=False),
    ]

    @dataclass
    class Edited(Message):
        """Another line is being typed in, and other keys may mean something; or a key went into
        the line (`typed`), and what was said before it is over."""

        typed: bool

    def __init__(self, shown: Shown) -> None:
        """Prefilled from the sprint. Raises Refusal where it is not made for that subject."""
        super().__init__()
        self.typed = TypedInputs(shown.opened())
        self._shown = shown
        lines = self.typed.lines()
        self.cursor = first_asked(lines).key
        self._before_source = 0

    def compose_entry(self) -> Iterator[Widget]:
        with Horizontal(id="calc-entry"):
            yield Lines(id="calc-prompt")
            yield FieldLine(self._type, id="calc-line")
        yield Lines(id="calc-hint")

    def on_mount(self) -> None:
        self._lay_out()
        self.rows.has_cursor = True
        self._put_cursor(self.cursor)
        self.entry.focus()
        self._judged()

    @property
    def entry(self) -> FieldLine:
        return self.query_one(FieldLine)

    def follow(self) -> None:
        """Values of the sprint may have changed: what is typed stays, the rest follows.

        Raises Refusal where the subject is not there any more.
        """
        now = replace(self.shown, state=self.app.sprint.state)
        if not now.same(self.shown):
            self.typed.follow(now.opened(self.typed.raw))
            self._shown = now
            self._judged()

    # ---- typing --------------------------------------------------------------------------------

    def _type(self, text: str) -> None:
        """Called by the line at every change of its text."""
        self.typed.type(self.cursor, text)
        self._judged()
        self.post_message(self.Edited(typed=True))

    def _judged(self) -> None:
        """What is typed now has been judged."""
        before = self.judgement
        self.judgement, self._refusal = self.typed.judgement, self.typed.refusal
        if before is None or self.judgement is None or before.verdict != self.judgement.verdict:
            self._advice = None
        self.repaint()
        self._ask_advice()

    def _put_cursor(self, key: str) -> None:
        """The text cursor into another line."""
        cell = self.entry.cell if self.entry.is_row and self.entry.value else 0
        self.cursor = key
        field = self.typed.kind.fields[split_key(key)[0]]
        self.entry.turns = bool(options_of(field))
        self.entry.is_row = isinstance(field, Table)
        self.entry.is_free = isinstance(field, Table | Words)
        self.entry.put(self.typed.text(key), self.typed.what_counts(key), cell)
        self.post_message(self.Edited(typed=False))

    def go_to(self, key: str) -> None:
        if key != self.cursor:
            self._put_cursor(key)
            self.repaint()

    def action_step(self, by: int) -> None:
        """Up or down a line; an emptied row goes when it is left."""
        keys = [one.key for one in self.typed.lines()]
        place = keys.index(self.cursor) if self.cursor in keys else 0
        self.typed.leave(self.cursor)
        after = [one.key for one in self.typed.lines()]
        if by > 0:
            place -= len(keys) - len(after)
        self._put_cursor(after[min(max(place + by, 0), len(after) - 1)])
        self.repaint()

    def action_restore(self) -> None:
        self.typed.restore(self.cursor)
        name = split_key(self.cursor)[0]
        keys = [one.key for one in self.typed.lines() if one.field == name]
        self._rows_changed(self.cursor if self.cursor in keys else keys[0])

    def on_field_line_asked(self, event: FieldLine.Asked) -> None:
        event.stop()
        if event.what == "turn":
            option = self.typed.turned(self.cursor, event.by)
            self.typed.type(self.cursor, option)
            self.entry.put(option)
            self._judged()
        elif event.what == "copy":
            self._rows_changed(self.typed.copy_row(self.cursor))
        elif event.what == "paste":
            try:
                self._rows_changed(self.typed.paste_rows(self.cursor, event.text))
            except Refusal as refusal:
                self.app.say(str(refusal), "due")
        elif event.what == "go":
            self.action_step(event.by)
        elif event.what == "cell":
            self._draw_entry()
        elif event.what == "source":
            self.action_source()

    def take(self, values: Mapping[str, str]) -> None:
        """Values of a proposal that was chosen."""
        self.typed.take(values)
        self._rows_changed(self.cursor)

    def _rows_changed(self, key: str) -> None:
        self._put_cursor(key)
        self._judged()

    def to_propose(self) -> Calculator | None:
        return self.typed.to_propose()

    def proposed(self, judgement: Judgement) -> None:
        self.typed.proposed(judgement)
        self.entry.placeholder = glyphs.shown(self.typed.what_counts(self.cursor))

    # ---- more to see ---------------------------------------------------------------------------

    def action_next_curve(self) -> None:
        self._curve += 1
        self._ask_advice()

    def action_source(self) -> None:
        """The formulas, brought into sight; a second time back to where one was."""
        self._source = not self._source
        if self._source:
            self._before_source = self.rows.scroll_offset.y
        self.repaint()
        heads = [i for i, one in enumerate(self.rows.lines) if one.text == FORMULAS]
        to = heads[0] if self._source and heads else self._before_source
        self.rows.scroll_to(y=to, animate=False, force=True)

    def action_scroll(self, by: int) -> None:
        self.rows.scroll_relative(y=by * max(self.rows.size.height - 2, 1), animate=False)

    @property
    def actions(self) -> tuple[Action, ...]:
        """The keys that mean something in the line that is being typed in."""
        kind, name = self.typed.kind, split_key(self.cursor)[0]
        idle = {
            "proposals": not any(name in declared.free for declared in kind.proposals),
            "copy_row": not isinstance(kind.fields[name], Table),
            "next_curve": len(kind.curves) < 2,
        }
        return tuple(action for action in CALCULATOR if not idle.get(action.name))

    # ---- drawing -------------------------------------------------------------------------------

    def status(self) -> str:
        return "changed, not saved" if self.typed.changed else super().status()

    def repaint(self) -> None:
        self.inputs = self.typed.lines()
        super().repaint()
        if self.size.width and self._is_there:
            self._draw_entry()
            self.rows.put_cursor(self.cursor)

    def _draw_entry(self) -> None:
        one = next(one for one in self.typed.lines() if one.key == self.cursor)
        field, width = self.typed.kind.fields[one.field], self.size.width
        row = f", row {one.row + 1}" if one.row is not None else ""
        prompt = cut(f"{field.title}{row}", max(width * 2 // 5 - 2, 8))
        widget = self.query_one("#calc-prompt", Lines)
        widget.styles.width = width_of(prompt) + 2
        widget.show([line(Span(prompt, "title"))])
        most = 1 if self.app.size.height < 20 else 2
        hint = hint_lines(field, one, self.entry.cell, width, self._refusal)
        self.query_one("#calc-hint", Lines).fill(hint[:most])


class CalculatorScreen(PaintedScreen[bool]):
    """key: of the calculation, saved or not. Dismissed with whether the calculation was saved."""

    NAME = "calculator"
    ACTIONS = CALCULATOR
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2,alt+down", "proposals", "proposed", show=False),
        Binding("f3", "another", "save as another", show=False),
        Binding("f8", "remove", "remove what is saved", show=False),
        Binding("escape", "close", "back", show=False),
    ]

    def __init__(self, key: CalculationKey) -> None:
        super().__init__()
        self.key = key

    def compose(self) -> ComposeResult:
        self.status_before = self.app.status
        try:
            yield CalculatorPane(Shown(self.key, self.state))
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
        yield Lines(id="status")
        yield Lines(id="keys")

    @property
    def pane(self) -> CalculatorPane:
        return self.query_one(CalculatorPane)

    def on_mount(self) -> None:
        if not self.query(CalculatorPane):  # it was refused
            self.dismiss(False)

    def on_calculator_pane_edited(self, event: CalculatorPane.Edited) -> None:
        if event.typed:
            self.status_before = self.app.status
        self.want_paint()

    def paint(self, width: int) -> None:
        """What was said, the keys; the values of the sprint may have changed meanwhile."""
        if not self.query(CalculatorPane):
            return
        try:
            self.pane.follow()
        except Refusal as refusal:
            self.app.status = (str(refusal), "due")
        call, (text, role) = self.app.call, self.app.status
        if call is not None:
            text, role = f"! {call.message}", "due"
        elif self.app.status is self.status_before:
            text = ""
        parts = wrapped(text, width - 2, 1 if self.is_low else 2)
        self.put("#status", [line(Span(part, role)) for part in parts])
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
