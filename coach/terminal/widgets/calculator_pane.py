"""The calculator: its inputs as they are typed, and at every key what they give.

key -> one field read, all corners judged -> verdict, outputs and limits in the same frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input

from coach.sprint.commands import RemoveCalculation, SaveCalculation
from coach.terminal import glyphs
from coach.terminal.actions import Action
from coach.terminal.drawing.calculation import FORMULAS
from coach.terminal.drawing.input_lines import InputLine, hint_lines, split_key
from coach.terminal.drawing.lines import Span, cut, line, width_of
from coach.terminal.screens.ask import AskChoice, AskLine
from coach.terminal.typed_inputs import TypedInputs, opened_for, options_of
from coach.terminal.widgets.calculator_view import CalculatorView, Shown
from coach.terminal.widgets.field_line import FieldLine
from coach.terminal.widgets.lines import Lines
from phases.kit.calculator import Calculator
from phases.kit.fields import Table, Words
from phases.kit.judging import Judgement
from phases.kit.refusals import Refusal

CALCULATOR = (
    Action("save", "enter", "save", "Save it; where a value is not read it says which", 1),
    Action("close", "escape", "back", "Back without saving", 2),
    Action("step", "up/down", "field", "Another line; tab goes to the next cell of a row", 3),
    Action("proposals", "f2", "proposed", "Values to choose from; alt and down too", 4),
    Action("restore", "ctrl+r", "as it was", "The field back to ledger, default or proposal", 5),
    Action("scroll", "pgdn", "more", "See what stands further down, and back with pgup", 6),
    Action(
        "copy_row",
        "ctrl+d",
        "copy row",
        "Copy the row of a table; ctrl+u empties one, which removes it",
        7,
    ),
    Action("next_curve", "ctrl+n", "curve", "The next curve; f4 too", 8),
    Action("another", "f3", "save as another", "Save it beside the first, under a name", 8),
    Action("remove", "f8", "remove", "Remove what is saved, and its parts from the list", 0),
    Action("source", "f1", "source", "Formulas and where they are from; ? too", 9),
)
"""The keys of a calculator; anything else is typed into the field."""

_MOST_PROPOSED = 12


class CalculatorPane(CalculatorView):
    """A calculator to type in (`open`), or only to look at (`preview`)."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "up", show=False),
        Binding("down", "step(1)", "down", show=False),
        Binding("pageup", "scroll(-1)", "page up", show=False),
        Binding("pagedown", "scroll(1)", "page down", show=False),
        Binding("f2,alt+down", "proposals", "proposed", show=False),
        Binding("ctrl+r", "restore", "as it was", show=False),
        Binding("ctrl+n,f4", "next_curve", "next curve", show=False),
        Binding("f1", "source", "source", show=False),
        Binding("f3", "another", "save as another", show=False),
        Binding("f8", "remove", "remove what is saved", show=False),
        Binding("escape", "close", "back", show=False),
    ]

    class Closed(Message):
        """The person is done with it."""

        def __init__(self, saved: bool) -> None:
            super().__init__()
            self.saved = saved

    class Moved(Message):
        """Another line is being typed in, and other keys may mean something."""

    class Typed(Message):
        """A key went into the line: what was said before it is over."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._typed: TypedInputs | None = None
        self._at = ""
        self._before_source = 0

    def compose_entry(self) -> Iterator[Widget]:
        with Horizontal(id="calc-entry"):
            yield Lines(id="calc-prompt")
            entry = FieldLine(self._type, id="calc-line")
            entry.can_focus = False
            yield entry
        yield Lines(id="calc-hint")

    @property
    def entry(self) -> FieldLine:
        return self.query_one(FieldLine)

    # ---- opening -------------------------------------------------------------------------------

    def open(
        self, calculator: str, subject: str = "", label: str = "",
        given: Mapping[str, Any] | None = None,
    ) -> None:  # fmt: skip
        """A calculator to type in, prefilled. given: instead of what was saved. Raises Refusal."""
        state = self.app.sprint.state
        self._typed = TypedInputs(opened_for(state, calculator, subject, label, given))
        self._shown = Shown(calculator, subject, label, state)
        self._advice, self._curve = None, 0
        self.add_class("-typing")
        self._lay_out()
        self.rows.has_cursor = True
        self.entry.can_focus = True
        lines = self._typed.lines()
        own = [one for one in lines if one.origin not in ("brief", "ledger")]
        self._put_cursor((own or lines)[0].key)
        self.entry.focus()
        self._judged_anew()

    def follow(self) -> None:
        """Values of the sprint may have changed: what is typed stays, the rest follows.

        Raises Refusal where the subject is not there any more.
        """
        if self._shown is None or self._typed is None:
            return
        shown, state = self._shown, self.app.sprint.state
        now = Shown(shown.name, shown.subject, shown.label, state)
        if not now.same(shown):
            opened = opened_for(state, shown.name, shown.subject, shown.label, self._typed.raw)
            self._shown = now
            self._typed.follow(opened)
            self._judged_anew()

    # ---- typing --------------------------------------------------------------------------------

    def _type(self, text: str) -> None:
        """Called by the line at every change of its text."""
        if self._typed is not None:
            self._typed.type(self._at, text)
            self._judged_anew()
            self.post_message(self.Typed())

    def _judged_anew(self) -> None:
        assert self._typed is not None
        before = self.judgement
        self.judgement, self._refusal = self._typed.judgement, self._typed.refusal
        if before is None or self.judgement is None or before.verdict != self.judgement.verdict:
            self._advice = None
        self.repaint()
        self._ask_advice()

    def _put_cursor(self, key: str) -> None:
        """The text cursor into another line."""
        assert self._typed is not None
        cell = self.entry.cell if self.entry.is_row and self.entry.value else 0
        self._at = key
        field = self._typed.kind.fields[split_key(key)[0]]
        self.entry.turns = bool(options_of(field))
        self.entry.is_row = isinstance(field, Table)
        self.entry.is_free = isinstance(field, Table | Words)
        self.entry.put(self._typed.text(key), self._typed.stands(key), cell)
        self.post_message(self.Moved())

    def action_step(self, by: int) -> None:
        """Up or down a line; an emptied row goes when it is left."""
        if self._typed is None:
            return
        keys = [one.key for one in self._typed.lines()]
        place = keys.index(self._at) if self._at in keys else 0
        self._typed.leave(self._at)
        after = [one.key for one in self._typed.lines()]
        if by > 0:
            place -= len(keys) - len(after)
        self._put_cursor(after[min(max(place + by, 0), len(after) - 1)])
        self.repaint()

    def action_restore(self) -> None:
        if self._typed is None:
            return
        self._typed.restore(self._at)
        name = split_key(self._at)[0]
        keys = [one.key for one in self._typed.lines() if one.field == name]
        self._put_cursor(self._at if self._at in keys else keys[0])
        self._judged_anew()

    def on_field_line_asked(self, event: FieldLine.Asked) -> None:
        event.stop()
        if self._typed is None:
            return
        if event.what == "turn":
            self._turn(event.by)
        elif event.what == "copy":
            self._rows_changed(self._typed.copy_row(self._at))
        elif event.what == "paste":
            self._paste(event.text)
        elif event.what == "go":
            self.action_step(event.by)
        elif event.what == "cell":
            self._draw_entry(self._typed, self.size.width)
        elif event.what == "source":
            self.action_source()

    def _turn(self, by: int) -> None:
        assert self._typed is not None
        option = self._typed.turned(self._at, by)
        self._typed.type(self._at, option)
        self.entry.put(option)
        self._judged_anew()

    def _paste(self, text: str) -> None:
        assert self._typed is not None
        try:
            self._rows_changed(self._typed.paste_rows(self._at, text))
        except Refusal as refusal:
            self.app.say(str(refusal), "due")

    def _rows_changed(self, key: str) -> None:
        self._put_cursor(key)
        self._judged_anew()

    def to_propose(self) -> Calculator | None:
        return self._typed.to_propose() if self._typed is not None else None

    def proposed(self, judgement: Judgement) -> None:
        if self._typed is not None:
            self._typed.proposed(judgement)
            self.entry.placeholder = glyphs.shown(self._typed.stands(self._at))

    # ---- proposals -----------------------------------------------------------------------------

    def action_proposals(self) -> None:
        """What is proposed for this field, in a list to choose from."""
        if self._typed is None:
            return
        try:
            found = self._typed.candidates(self._at)
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
            words = f"{', '.join(one.values.values())}   {one.verdict}{score}"
            choices.append((str(number), words))
        titles = ", ".join(self._typed.kind.fields[free].title for free in declared.free)
        prompt = f"{titles[:1].upper()}{titles[1:]}. {' '.join(declared.formula.split())}"

        def take(number: str | None) -> None:
            if number is not None and self._typed is not None:
                self._typed.take(offered[int(number)].values)
                self._rows_changed(self._at)

        self.app.push_screen(AskChoice(prompt, choices), take)

    # ---- leaving -------------------------------------------------------------------------------

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        if self._shown is not None:
            self._save(self._shown.label)

    def action_another(self) -> None:
        """Saved beside the first one: a second strap, another track of the same rail."""

        def save(label: str | None) -> None:
            if label:
                self._save(label)

        self.app.push_screen(AskLine("A name for another one of these", hint="boot1"), save)

    def action_remove(self) -> None:
        shown = self._shown
        if shown is not None and self.app.do(RemoveCalculation(shown.id)):
            self.app.say(f"{shown.id} is removed")
            self.post_message(self.Closed(True))

    def _save(self, label: str) -> None:
        if self._typed is None or self._shown is None:
            return
        self._typed.propose()
        if self._typed.trouble is not None:
            key, sentence = self._typed.trouble
            if key and key != self._at:
                self._put_cursor(key)
                self.repaint()
            self.app.say(sentence, "due")
            return
        shown, given = self._shown, self._typed.given()
        if self.app.do(SaveCalculation(shown.name, shown.subject, label, given)):
            self.post_message(self.Closed(True))

    def action_close(self) -> None:
        if self._typed is not None:
            if self._typed.changed:
                self.app.say("Not saved", "doubt")
            self.post_message(self.Closed(False))

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
        if self._typed is None:
            return ()
        kind, name = self._typed.kind, split_key(self._at)[0]
        idle = set()
        if not any(name in declared.free for declared in kind.proposals):
            idle.add("proposals")
        if not isinstance(kind.fields[name], Table):
            idle.add("copy_row")
        if len(kind.curves) < 2:
            idle.add("next_curve")
        return tuple(action for action in CALCULATOR if action.name not in idle)

    # ---- drawing -------------------------------------------------------------------------------

    @property
    def inputs(self) -> list[InputLine] | None:
        return self._typed.lines() if self._typed is not None else None

    @property
    def cursor(self) -> str:
        return self._at

    def stands(self) -> str:
        changed = self._typed is not None and self._typed.changed
        return "changed, not saved" if changed else super().stands()

    def repaint(self) -> None:
        super().repaint()
        if self._typed is not None and self.size.width and self._is_there:
            self._draw_entry(self._typed, self.size.width)
            self.rows.put_cursor(self._at)

    def _draw_entry(self, typed: TypedInputs, width: int) -> None:
        one = next(one for one in typed.lines() if one.key == self._at)
        field = typed.kind.fields[one.field]
        row = f", row {one.row + 1}" if one.row is not None else ""
        prompt = cut(f"{field.title}{row}", max(width * 2 // 5 - 2, 8))
        widget = self.query_one("#calc-prompt", Lines)
        widget.styles.width = width_of(prompt) + 2
        widget.show([line(Span(prompt, "title"))])
        most = 1 if self.app.size.height < 20 else 2
        hint = hint_lines(field, one, self.entry.cell, width, self._refusal)
        self._put("#calc-hint", hint[:most])
