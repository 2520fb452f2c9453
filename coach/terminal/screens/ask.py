"""Two small questions over whatever is on screen: a line of text, or one of a few choices."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.widgets.lines import Lines
from phases.kit.text import line as one_line

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

CHOICE_KEYS = "123456789abcdefghijklmnoprstuvwxyz"


def forget_refusal(app: CoachApp) -> None:
    """What was refused before a question is of no use behind it."""
    if app.said[1] == "due":
        app.say("")


def room_of_choices(width: int) -> int:
    """Cells for the words of a choice, on a screen of so many, where the list scrolls too."""
    return min(width, 76) - 9


class AskLine(ModalScreen[str | None]):
    """Asks for one line. above: what it is about, in lines over the question. offers: earlier
    answers, chosen with the arrow keys. check: a function that returns a sentence while the line
    will not do, shown under it. replaces: typing replaces the value as a whole."""

    app: CoachApp

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", show=False),
        Binding("down", "offer(1)", "next offer", show=False, priority=True),
        Binding("up", "offer(-1)", "previous offer", show=False, priority=True),
    ]

    def __init__(
        self, prompt: str, *, value: str = "", hint: str = "", offers: Sequence[str] = (),
        check: Callable[[str], str] | None = None, above: Sequence[str] = (),
        replaces: bool = False,
    ) -> None:  # fmt: skip
        super().__init__()
        self.above, self.replaces = above, replaces
        self.prompt, self.value, self.hint = prompt, value, hint
        self.offers = list(offers)
        self._answered = False
        self.check = check
        self._offer = -1

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Input(self.value, id="ask-line", select_on_focus=False)
            yield Lines(id="ask-hint")

    def on_mount(self) -> None:
        width = min(self.size.width, 76) - 4
        forget_refusal(self.app)
        above = [part for words in self.above for part in wrapped(words, width, 2)]
        lines = [line(Span(part, "quiet")) for part in above]
        lines += [line(Span(part, "title")) for part in wrapped(self.prompt, width, 3)]
        self.query_one("#ask-prompt", Lines).show(lines)
        self.query_one("#ask-prompt", Lines).styles.height = len(lines)
        self._hint("")
        field = self.query_one(Input)
        field.cursor_position = len(self.value)
        field.focus()
        if self.replaces:
            field.action_select_all()

    def _hint(self, fault: str) -> None:
        width = min(self.size.width, 76) - 4
        lines = [line(Span(part, "due")) for part in wrapped(fault, width, 3)]
        lines += [line(Span(part, "quiet")) for part in wrapped(self.hint, width, 3)]
        lines += [line(Span(f"  {offer}", "quiet")) for offer in self.offers[:5]]
        lines.append(
            line(
                Span("↵ ", "key"),
                Span("take it   ", "quiet"),
                Span("esc ", "key"),
                Span("back", "quiet"),
            )
        )
        hint = self.query_one("#ask-hint", Lines)
        hint.show(lines)
        hint.styles.height = len(lines)

    def action_offer(self, by: int) -> None:
        if self.offers:
            self._offer = (self._offer + by) % len(self.offers)
            field = self.query_one(Input)
            field.value = self.offers[self._offer]
            field.cursor_position = len(field.value)

    def on_input_changed(self, event: Input.Changed) -> None:
        if self.check is not None and event.value.strip():
            self._hint(self.check(one_line(event.value)))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        fault = self.check(one_line(event.value)) if self.check is not None else ""
        if fault:
            self._hint(fault)
        else:
            self._answer(one_line(event.value))

    def action_back(self) -> None:
        self._answer(None)

    def _answer(self, value: str | None) -> None:
        """Answers once: a second key of a burst finds the question gone already."""
        if not self._answered:
            self._answered = True
            self.dismiss(value)


class AskChoice(ModalScreen[str | None]):
    """Asks for one of a few: a key each. choices: (value, words)."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "back", "back", show=False),
        Binding("enter", "take", "take it", show=False),
    ]

    app: CoachApp

    def __init__(self, prompt: str, choices: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self.prompt = prompt
        self.choices = list(choices)
        self._answered = False

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Lines(id="ask-prompt")
            yield Lines(id="ask-choices", cursor=True)

    def on_mount(self) -> None:
        forget_refusal(self.app)
        width = min(self.size.width, 76) - 4
        prompt = [line(Span(part, "title")) for part in wrapped(self.prompt, width, 9)]
        self.query_one("#ask-prompt", Lines).show(prompt)
        self.query_one("#ask-prompt", Lines).styles.height = len(prompt)
        found = self.query_one("#ask-choices", Lines)
        found.show([self._choice(i) for i in range(len(self.choices))])
        found.styles.height = min(len(self.choices), max(self.size.height - 6, 1))
        found.focus()

    def _choice(self, index: int) -> Line:
        value, words = self.choices[index]
        key = CHOICE_KEYS[index] if index < len(CHOICE_KEYS) else " "
        return line(Span(f" {key}  ", "key"), Span(words), key=value)

    def action_take(self) -> None:
        self._answer(self.query_one("#ask-choices", Lines).key or None)

    def action_back(self) -> None:
        self._answer(None)

    def _answer(self, value: str | None) -> None:
        """Answers once: a second key of a burst finds the question gone already."""
        if not self._answered:
            self._answered = True
            self.dismiss(value)

    def on_key(self, event: events.Key) -> None:
        index = CHOICE_KEYS.find(event.key)
        if len(event.key) == 1 and 0 <= index < len(self.choices):
            # Taken here: it must not reach the screen below, where it may mean something else.
            event.stop()
            self._answer(self.choices[index][0])
