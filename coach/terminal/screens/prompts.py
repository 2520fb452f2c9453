"""Small questions over whatever is on screen: a line of text, one of a few choices, an item."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from coach.sprint.gates.item_search import items_with
from coach.sprint.state import Row, State
from coach.terminal.drawing.item_words import status_of
from coach.terminal.drawing.lines import Line, Span, cut, line, paragraph
from coach.terminal.widgets.line_view import Lines
from phases.kit.facts import Fact, FactValue
from phases.kit.grammar import are, count, yes_or_no
from phases.kit.items import CLOSING_ID
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

CHOICE_KEYS = "123456789abcdefghijklmnoprstuvwxyz"
_WIDEST = 76
"""Cells of a question with its margin."""


def room_of_choices(width: int) -> int:
    """Cells for the words of a choice, on a screen of so many, where the list scrolls too."""
    return min(width, _WIDEST) - 9


def fault_of(read: Callable[[], object]) -> str:
    """The sentence with which something typed is refused; empty where it is not."""
    try:
        read()
    except Refusal as refusal:
        return str(refusal)
    return ""


def needed(says: str) -> Callable[[str], str]:
    """A check that an answer is not empty."""
    return lambda text: "" if text.strip() else says


class _Question(ModalScreen[str | None]):
    """Answered once: a second key of a burst finds the question gone already."""

    app: CoachApp
    _answered = False

    def __init__(self, prompt: str) -> None:
        super().__init__()
        self.prompt = prompt

    @property
    def room(self) -> int:
        return min(self.size.width, _WIDEST) - 4

    def on_mount(self) -> None:
        if self.app.status[1] == "due":
            self.app.say("")  # what was refused before a question is of no use behind it

    def put(self, where: str, lines: Sequence[Line]) -> None:
        self.query_one(where, Lines).fill(lines)

    def words(self, text: str, role: str, most: int = 3) -> list[Line]:
        return paragraph(text, self.room, most, role, indent=0)

    def answer(self, value: str | None) -> None:
        if not self._answered:
            self._answered = True
            self.dismiss(value)

    def action_back(self) -> None:
        self.answer(None)


class AskLine(_Question):
    """Asks for one line. above: what it is about, in lines over the question. offers: earlier
    answers, chosen with the arrow keys. check: a function that returns a sentence while the line
    will not do, shown under it. replaces: typing replaces all of the value."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "cancel", show=False),
        Binding("down", "offer(1)", "next offer", show=False, priority=True),
        Binding("up", "offer(-1)", "previous offer", show=False, priority=True),
    ]

    def __init__(
        self,
        prompt: str,
        *,
        value: str = "",
        hint: str = "",
        offers: Sequence[str] = (),
        check: Callable[[str], str] | None = None,
        above: Sequence[str] = (),
        replaces: bool = False,
    ) -> None:
        super().__init__(prompt)
        self.above, self.replaces = above, replaces
        self.value, self.hint = value, hint
        self.offers = list(offers)
        self.check = check or (lambda text: "")
        self._offer = -1

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Input(self.value, id="ask-line", select_on_focus=False)
            yield Lines(id="ask-hint")

    def on_mount(self) -> None:
        above = [part for words in self.above for part in self.words(words, "quiet", 2)]
        self.put("#ask-prompt", [*above, *self.words(self.prompt, "title")])
        self._hint("")
        field = self.query_one(Input)
        field.cursor_position = len(self.value)
        field.focus()
        if self.replaces:
            field.action_select_all()

    def _hint(self, fault: str) -> None:
        offers = [line(Span(f"  {offer}", "quiet")) for offer in self.offers[:5]]
        keys = line(
            Span("↵ ", "key"), Span("OK   ", "quiet"), Span("esc ", "key"), Span("cancel", "quiet")
        )
        hint = self.words(self.hint, "quiet")
        self.put("#ask-hint", [*self.words(fault, "due"), *hint, *offers, keys])

    def action_offer(self, by: int) -> None:
        if self.offers:
            self._offer = (self._offer + by) % len(self.offers)
            field = self.query_one(Input)
            field.value = self.offers[self._offer]
            field.cursor_position = len(field.value)

    def on_input_changed(self, event: Input.Changed) -> None:
        if event.value.strip():
            self._hint(self.check(one_line(event.value)))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        text = one_line(event.value)
        if fault := self.check(text):
            self._hint(fault)
        else:
            self.answer(text)


class AskChoice(_Question):
    """Asks for one of a few: a key each. choices: (value, words)."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "back", "cancel", show=False),
        Binding("enter", "take", "OK", show=False),
    ]

    def __init__(self, prompt: str, choices: Sequence[tuple[str, str]]) -> None:
        super().__init__(prompt)
        self.choices = list(choices)

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Lines(id="ask-choices", cursor=True)

    def on_mount(self) -> None:
        self.put("#ask-prompt", self.words(self.prompt, "title", 9))
        self.put("#ask-choices", [self._choice(i) for i in range(len(self.choices))])
        found = self.query_one("#ask-choices", Lines)
        found.styles.height = min(len(self.choices), max(self.size.height - 6, 1))
        found.focus()

    def _choice(self, index: int) -> Line:
        value, words = self.choices[index]
        key = CHOICE_KEYS[index] if index < len(CHOICE_KEYS) else " "
        return line(Span(f" {key}  ", "key"), Span(words), key=value)

    def action_take(self) -> None:
        self.answer(self.query_one("#ask-choices", Lines).key or None)

    def on_key(self, event: events.Key) -> None:
        index = CHOICE_KEYS.find(event.key)
        if len(event.key) == 1 and 0 <= index < len(self.choices):
            # Taken here: it must not reach the screen below, where it may mean something else.
            event.stop()
            self.answer(self.choices[index][0])


NO_ITEM = "no item"
_ITEMS_SHOWN = 60


class WhichItem(AskLine):
    """Which item let a fault through: one word narrows the list, the arrow keys choose. Answers
    with its key, NO_ITEM where none asks for it, None where it was left.

    first: the key of an item that is at the top as long as nothing is typed.
    """

    def __init__(self, state: State, first: str = "") -> None:
        super().__init__("Which item let it through?")
        self.state, self.first = state, first

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Input(placeholder="a word of it")
            yield Lines(id="which-list", cursor=True)
            yield Lines(id="ask-hint")

    def on_mount(self) -> None:
        self._list("")

    @property
    def _rows(self) -> Lines:
        return self.query_one("#which-list", Lines)

    def _list(self, words: str) -> None:
        """No item first while nothing is typed, last behind what was found."""
        rows = [row for row in self.state.rows if row.key == self.first]
        if words.strip():
            rows = items_with(self.state.rows, words)[:_ITEMS_SHOWN]
        none = line(Span(" "), Span("no item asks for it", "quiet"), key=NO_ITEM)
        lines = [*map(self._row, rows), none]
        self._rows.show(lines)
        self._rows.put_cursor(lines[0].key)
        self._rows.styles.height = min(len(lines), max(self.size.height - 8, 1))

    def _row(self, row: Row) -> Line:
        word, role = status_of(row)
        room = max(min(self.size.width, _WIDEST) - 16, 8)
        return line(Span(f" {word:9} ", role), Span(cut(row.name, room)), key=row.key)

    def on_input_changed(self, event: Input.Changed) -> None:
        self._list(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.prevent_default()  # what was typed is no answer
        self.answer(self._rows.key or None)

    def action_offer(self, by: int) -> None:
        self._rows.action_move(by)


# ---- facts -------------------------------------------------------------------------------------


def fact_question(fact: Fact) -> AskLine | AskChoice:
    """What asks for a fact: a line for a number, else a key for each answer."""
    if fact.values:
        return AskChoice(fact.question, [(yes_or_no(v), yes_or_no(v)) for v in fact.values])

    def fault(text: str) -> str:
        return fault_of(lambda: fact_value(fact, text))

    return AskLine(fact.question, hint=fact.unit, check=fault)


def fact_value(fact: Fact, answer: str) -> FactValue:
    """The value that such an answer means. Raises Refusal."""
    if fact.values:
        return answer == "yes" if fact.kind == "yes/no" else answer
    try:
        return float(answer)
    except ValueError:
        raise Refusal(f"{answer!r} is not a number") from None


# ---- the end -----------------------------------------------------------------------------------

LOOK, ACCEPTED, BY_HAND = "look", "accepted", "by hand"


def end_question(state: State) -> AskChoice:
    """Whether it is the end, with an order or without."""
    still = sum(not row.closed for row in state.rows_of(CLOSING_ID))
    lines = f" {count(still, 'line')} of the closing list {are(still)} open." if still else ""
    choices = [
        (LOOK, "Show what is still open first"),
        (ACCEPTED, "The order is accepted and paid"),
        (BY_HAND, "End without ordering"),
    ]
    return AskChoice(f"End the sprint?{lines}", choices)
