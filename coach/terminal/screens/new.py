"""The way in without a brief: seven questions, each answered by one key, and the sprint runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from coach.sprint.brief.document import Brief
from coach.sprint.brief.folder import brief_path, title_of, write_brief
from coach.sprint.brief.house_rules import house_rules
from coach.sprint.brief.loading import load_brief, parse_brief
from coach.sprint.brief.new import QUESTIONS, Question, answers_to_brief_text, checked_answer
from coach.sprint.clock import SystemClock
from coach.sprint.durations import duration
from coach.sprint.journal.sessions_folder import journal_path
from coach.sprint.session import start_sprint
from coach.sprint.setup import setup_of
from coach.terminal.actions import HELP, Action, bindings, key_line
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    line,
    paragraph,
    spread_out,
    title_line,
    width_of,
)
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.prompts import AskLine, fault_of
from coach.terminal.widgets.line_view import Lines
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

TAKE = (
    Action("take", "enter", "OK", "Take the answer marked with this key, or what is typed", 1),
    Action(
        "before",
        "left,backspace",
        "the one before",
        "The question before; backspace too",
        2,
    ),
    Action("name", "f2", "title", "Give the board a title of its own", 4),
    Action("leave", "escape", "back", "Back to the start; nothing is written", 3),
    HELP,
)
_KEYS = sorted({choice.key for question in QUESTIONS for choice in question.choices})
_LONGEST_TITLE = 70
"""Cells; a title of this length is all there at the top of 80 columns, the count beside it."""
_NAMES = {"deadline": "Cut-off"}
"""What a question is called on screen, where that is not its id."""


# ---- what it shows -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Asked:
    """How far the questions are. at: index of the question. answers: by question id.

    ticked: the keys chosen so far of the question that takes several. file: of the brief.
    """

    at: int = 0
    answers: Mapping[str, str] = field(default_factory=dict)
    ticked: str = ""
    file: str = ""

    @property
    def question(self) -> Question:
        return QUESTIONS[self.at]

    @property
    def said(self) -> dict[str, str]:
        """Every answer so far, what is ticked now too."""
        now = {self.question.id: self.ticked} if self.question.several else {}
        return {**self.answers, **now}


def new_lines(asked: Asked, width: int, height: int) -> list[Line]:
    """The question with its choices; where there is room, what was answered above it."""
    now = paragraph(asked.question.text, width, 3, "title")
    now += [_choice(asked, index, width) for index in range(len(asked.question.choices))]
    if asked.at == len(QUESTIONS) - 1:
        now += _ending(asked, width, height - len(now))
    before = [_before(asked, question, width) for question in QUESTIONS[: asked.at]]
    if height >= len(before) + len(now) + 1:
        return [*before, BLANK, *now]
    return now


def _before(asked: Asked, question: Question, width: int) -> Line:
    """A question that is answered."""
    name = _NAMES.get(question.id, question.id.capitalize())
    words = answer_words(question, asked.answers.get(question.id, ""))
    return line(Span(f" {name:13}", "quiet"), Span(cut(words, width - 15), "done"))


def answer_words(question: Question, answer: str) -> str:
    """An answer as its choices have it."""
    if not question.choices:
        return (
            f"in {duration(60 * int(answer))}" if answer.isdecimal() and len(answer) < 4 else answer
        )
    return ", ".join(choice.label for choice in question.choices if choice.key in answer) or "none"


def _choice(asked: Asked, index: int, width: int) -> Line:
    question = asked.question
    choice = question.choices[index]
    left = [Span(f"  {choice.key}  ", "key")]
    if question.several:
        chosen = choice.key in asked.ticked
        left += [Span("[x] " if chosen else "[ ] ", "done" if chosen else "quiet")]
    left.append(Span(choice.label))
    default = not question.several and choice.key == question.default
    return spread_out(left, (Span("↵ ", "key"),) if default else (), width)


def _ending(asked: Asked, width: int, room: int) -> list[Line]:
    """What the last Enter starts, and where it writes; shorter where there is less room."""
    starts = paragraph(f"↵ starts the clock: {_starts(asked)}. ← the one before", width, 3, "next")
    file = paragraph(f"The brief goes to {asked.file}", width, 3, "quiet")
    for found in ([*starts, *file], starts):
        if room >= len(found):
            return [*([BLANK] if room > len(found) else ()), *found]
    return []


def _starts(asked: Asked) -> str:
    """The sprint that the last answer starts: its time, its supply and its interfaces."""
    words = {one.id: answer_words(one, asked.said.get(one.id, "")) for one in QUESTIONS}
    supply = words["supply"].partition(",")[0]
    interfaces = words["interfaces"] if asked.ticked else "no interface"
    time = asked.answers.get("deadline", "")
    time = (
        duration(60 * int(time)) if time.isdecimal() else f"cut-off {time}" if ":" in time else time
    )
    return f"{time}, {supply}, {interfaces}"


# ---- the screen --------------------------------------------------------------------------------


class NewScreen(PaintedScreen[None]):
    """The questions one after the other; the last answer writes the brief and starts."""

    NAME = "new"
    ACTIONS = TAKE
    AUTO_FOCUS = ""  # coming back from a question over it, the field takes no keys unasked
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(TAKE),
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

    def on_screen_resume(self) -> None:
        self._give_keys()

    def paint(self, width: int) -> None:
        title = self.shown_title
        asked = replace(self.asked, file=from_here(brief_path(self.app.folder, title)))
        self.put("#title", [title_line(title, f"{asked.at + 1} of {len(QUESTIONS)}", width)])
        text, role = self._fault
        fault = paragraph(text, width, 3, role)
        self.put("#fault", fault)
        self.put("#keys", [key_line(TAKE, width)])
        room = self.size.height - 2 - len(fault) - (0 if asked.question.choices else 1)
        lines = new_lines(asked, width, room)
        question = self.query_one("#question", Lines)
        question.show(lines)
        question.styles.height = min(len(lines), max(room, 1))

    @property
    def shown_title(self) -> str:
        """The title given; else one made of the answers, once there is something to make it of."""
        made = title_of(self.asked.said) if "supply" in self.asked.answers else "New board"
        return self._title or made

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
        self.want_paint()

    def _give_keys(self) -> None:
        """To the field of a question that is typed; to the screen where one key answers."""
        if self.is_mounted:
            field = self.query_one(Input)
            field.display = not self.asked.question.choices
            field.disabled = not field.display
            self.set_focus(field if field.display else None)

    # ---- answers -------------------------------------------------------------------------------

    def action_answer(self, key: str) -> None:
        question, ticked = self.asked.question, self.asked.ticked
        if key not in [choice.key for choice in question.choices]:
            return
        if question.several:
            ticked = ticked.replace(key, "") if key in ticked else ticked + key
            self.asked = replace(self.asked, ticked=ticked)
            self.want_paint()
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
        text, question = one_line(event.value), self.asked.question.id
        fault = fault_of(lambda: checked_answer(question, text)) if text else ""
        self._fault = (fault, "quiet")
        self.want_paint()

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
            self.want_paint()

    def _brief_of(self, answers: Mapping[str, str]) -> tuple[str, Brief]:
        """The brief of the answers so far. Raises Refusal where they leave no time."""
        text = answers_to_brief_text(answers, self._title or title_of(answers))
        brief = parse_brief(text, "new brief")
        setup_of(brief, self.clock.wall())
        return text, brief

    def _start(self) -> None:
        """Writes the brief and starts the sprint. Raises Refusal."""
        text, made = self._brief_of(self.asked.answers)
        if self._written is None or self._written[0] != text:
            self._written = (text, write_brief(text, self.app.folder, made.title))
        path = self._written[1]
        journal = journal_path(self.app.folder, made.title, self.clock.wall())
        brief, house = load_brief(path), house_rules(path, self.app.folder)
        self.app.take_session(start_sprint(brief, journal, self.clock, house=house.items))
        words, role = house.status_line
        says = f"The brief is in {from_here(path)}; change it there for the next time"
        self.app.say(f"{says}. {words}" if words else says, role)

    # ---- keys ----------------------------------------------------------------------------------

    def action_before(self) -> None:
        if self.asked.at > 0:
            self._ask(self.asked.at - 1)
        else:
            self.action_leave()

    def action_name(self) -> None:
        value = self.shown_title

        def named(title: str) -> None:
            if title != value:  # taken as it was, it goes on following the answers
                self._title = title

        question = AskLine(
            "The title of the board", value=value, check=self._title_fault, replaces=True
        )
        self.ask(question, named)

    def _title_fault(self, title: str) -> str:
        """Why a brief would not take this title, said while it can be changed."""
        if width_of(title) > _LONGEST_TITLE:
            return f"{width_of(title)} characters, {_LONGEST_TITLE} is the most. Shorten it."
        text = answers_to_brief_text(self.asked.answers, title)
        return fault_of(lambda: parse_brief(text, "title"))

    def action_leave(self) -> None:
        self.app.show_start()


def from_here(path: Path) -> str:
    """A path as one would type it: from the current folder where it lies below it."""
    try:
        return str(path.absolute().relative_to(Path.cwd()))
    except (OSError, ValueError):  # OSError: the current folder is gone
        return str(path)
