"""The way in without a brief: seven questions, and the sprint runs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Input

from coach.sprint.brief.document import Brief, load_brief, parse_brief
from coach.sprint.brief.folder import brief_path, title_of, write_brief
from coach.sprint.brief.house_rules import house_rules
from coach.sprint.brief.new import QUESTIONS, answers_to_brief_text, checked_answer
from coach.sprint.clock import SystemClock
from coach.sprint.journal.sessions_folder import journal_path
from coach.sprint.starting import setup_of, start_sprint
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.key_line import key_line
from coach.terminal.drawing.lines import Line, Span, line, width_of, wrapped
from coach.terminal.drawing.new_lines import Asked, new_lines, new_title, untitled
from coach.terminal.screens.one_list import HELP
from coach.terminal.widgets.lines import Lines
from phases.kit.refusals import Refusal
from phases.kit.text import line as one_line

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp

ACTIONS = (
    Action("take", "enter", "take it", "Take the answer marked with this key, or what is typed", 1),
    Action("before", "left", "the one before", "Back to the question before; backspace too", 2),
    Action("name", "f2", "title", "Give the board a title of its own", 4),
    Action("leave", "escape", "leave", "Back to the start; nothing is written", 3),
    HELP,
)
_KEYS = sorted({choice.key for question in QUESTIONS for choice in question.choices})
_LONGEST_TITLE = 70
"""Cells; a title of this length is whole at the top of 80 columns, the count beside it."""


class NewScreen(Screen[None]):
    """The questions one after the other; the last answer writes the brief and starts."""

    app: CoachApp
    AUTO_FOCUS = ""  # coming back from a question over it, the field takes no keys unasked
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS),
        Binding("backspace", "before", show=False),
        *(Binding(key, f"answer('{key}')", show=False) for key in _KEYS),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.clock = SystemClock()
        self.asked = Asked()
        self._title = ""
        self._fault = ("", "quiet")
        self._written: tuple[str, Path] | None = None

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        yield Lines(id="question")
        yield Input(id="answer", select_on_focus=False)
        yield Lines(id="fault")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        self._ask(0)

    def on_resize(self) -> None:
        self.repaint()

    def on_screen_resume(self) -> None:
        self._give_keys()
        self.repaint()

    # ---- what it shows -------------------------------------------------------------------------

    def repaint(self) -> None:
        width, height = self.size
        if not self.is_mounted or not width:
            return
        title = self._title or self._made_title()
        asked = replace(self.asked, title=title, file=self._shown_path(title))
        self._put("#title", new_title(asked, width))
        text, role = self._fault
        fault = [line(Span(f" {part}", role)) for part in wrapped(text, width - 2, 3)]
        self._put("#fault", fault)
        self._put("#keys", [key_line(ACTIONS, width)])
        typed = not self.asked.question.choices
        room = height - 2 - len(fault) - (1 if typed else 0)
        lines = new_lines(asked, width, room)
        question = self.query_one("#question", Lines)
        question.show(lines)
        question.styles.height = min(len(lines), max(room, 1))

    def _made_title(self) -> str:
        if untitled(self.asked):
            return "New board"
        question = self.asked.question
        now = {question.id: self.asked.ticked} if question.several else {}
        return title_of({**self.asked.answers, **now})

    def _shown_path(self, title: str) -> str:
        return from_here(brief_path(self.app.folder, title))

    def _put(self, where: str, lines: list[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)
        widget.display = bool(lines)

    def _ask(self, index: int) -> None:
        """Shows a question; a typed one with its field, holding what was answered before."""
        question = QUESTIONS[index]
        earlier = self.asked.answers.get(question.id, "")
        self.asked = replace(self.asked, at=index, ticked=earlier if question.several else "")
        self._fault = ("", "quiet")
        if not question.choices:
            field = self.query_one(Input)
            field.placeholder = question.default
            field.value = earlier
        self._give_keys()
        self.repaint()

    def _give_keys(self) -> None:
        """To the field of a question that is typed; to the screen where one key answers."""
        if not self.is_mounted:
            return
        field = self.query_one(Input)
        typed = not self.asked.question.choices
        field.display = typed
        field.disabled = not typed
        self.set_focus(field if typed else None)

    # ---- answers -------------------------------------------------------------------------------

    def action_answer(self, key: str) -> None:
        question = self.asked.question
        if key not in [choice.key for choice in question.choices]:
            return
        if question.several:
            ticked = self.asked.ticked
            ticked = ticked.replace(key, "") if key in ticked else ticked + key
            self.asked = replace(self.asked, ticked=ticked)
            self.repaint()
        else:
            self._take(key)

    def action_take(self) -> None:
        question = self.asked.question
        self._take(self.asked.ticked if question.several else question.default)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Says what is wrong while it is typed, quietly: it may only not be finished."""
        if self.asked.question.choices:
            return
        if "?" in event.value:  # no answer has one in it: it asks for help here too
            event.input.value = event.value.replace("?", "")
            self.action_help()
            return
        self._fault = ("", "quiet")
        text = one_line(event.value)
        if text:
            try:
                checked_answer(self.asked.question.id, text)
            except Refusal as refusal:
                self._fault = (str(refusal), "quiet")
        self.repaint()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if not self.asked.question.choices:
            self._take(one_line(event.value))

    def _take(self, answer: str) -> None:
        question = self.asked.question
        try:
            checked = checked_answer(question.id, answer)
            answers = {**self.asked.answers, question.id: checked}
            if not question.choices:
                self._brief_of(answers)
            self.asked = replace(self.asked, answers=answers)
            if self.asked.at + 1 < len(QUESTIONS):
                self._ask(self.asked.at + 1)
            else:
                self._start()
        except Refusal as refusal:
            self._fault = (str(refusal), "due")
            self.repaint()

    def _brief_of(self, answers: dict[str, str]) -> Brief:
        """The brief of the answers so far. Raises Refusal where they leave no time."""
        text = answers_to_brief_text(answers, self._title or title_of(answers))
        brief = parse_brief(text, "new brief")
        setup_of(brief, self.clock.wall())
        return brief

    def _start(self) -> None:
        """Writes the brief and starts the sprint. Raises Refusal."""
        answers = dict(self.asked.answers)
        title = self._brief_of(answers).title
        text = answers_to_brief_text(answers, title)
        if self._written is None or self._written[0] != text:
            self._written = (text, write_brief(text, self.app.folder, title))
        path = self._written[1]
        journal = journal_path(self.app.folder, title, self.clock.wall())
        brief = load_brief(path)
        house = house_rules(path, self.app.folder)
        self.app.take_session(start_sprint(brief, journal, self.clock, house=house.items))
        words, role = house.said
        says = f"The brief is in {from_here(path)}; change it there for the next time"
        self.app.say(f"{says}. {words}" if words else says, role)

    # ---- keys ----------------------------------------------------------------------------------

    def action_before(self) -> None:
        if self.asked.at > 0:
            self._ask(self.asked.at - 1)
        else:
            self.action_leave()

    def action_name(self) -> None:
        from coach.terminal.screens.ask import AskLine

        value = self._title or self._made_title()

        def named(title: str | None) -> None:
            if title and title != value:  # taken as it was, it goes on following the answers
                self._title = title
            self.repaint()

        question = AskLine("The title of the board", value=value, check=self._title_fault,
                           replaces=True)  # fmt: skip
        self.app.push_screen(question, named)

    def _title_fault(self, title: str) -> str:
        """Why a brief would not take this title, said while it can be changed."""
        if width_of(title) > _LONGEST_TITLE:
            return f"{width_of(title)} characters, {_LONGEST_TITLE} is the most. Shorten it."
        try:
            parse_brief(answers_to_brief_text(self.asked.answers, title), "title")
        except Refusal as refusal:
            return str(refusal)
        return ""

    def action_leave(self) -> None:
        from coach.terminal.screens.start import StartScreen

        self.app.switch_screen(StartScreen())

    def action_help(self) -> None:
        from coach.terminal.screens.help import HelpScreen

        self.app.push_screen(HelpScreen("new"))


def from_here(path: Path) -> str:
    """A path as one would type it: from the current folder where it lies below it."""
    try:
        return str(path.absolute().relative_to(Path.cwd()))
    except (OSError, ValueError):  # OSError: the current folder is gone
        return str(path)
