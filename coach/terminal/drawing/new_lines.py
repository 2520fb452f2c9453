"""The way in without a brief: one question after the other, each answered by one key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coach.sprint.brief.new import QUESTIONS, Question
from coach.terminal.drawing.lines import BLANK, Line, Span, cut, line, spread_out, wrapped

_NAMES = {"deadline": "Cut-off"}
"""What a question is called on screen, where that is not its id."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Where the way in stands. at: index of the question. answers: by question id.

    ticked: the keys chosen so far of the question that takes several. title, file: of the brief.
    """

    at: int = 0
    answers: Mapping[str, str] = field(default_factory=dict)
    ticked: str = ""
    title: str = ""
    file: str = ""

    @property
    def question(self) -> Question:
        return QUESTIONS[self.at]


def untitled(asked: Asked) -> bool:
    """Whether nothing is said yet that the board could be named after."""
    return "supply" not in asked.answers


def new_title(asked: Asked, width: int) -> list[Line]:
    count = Span(f"{asked.at + 1} of {len(QUESTIONS)} ", "quiet")
    return [spread_out((Span(f" {asked.title}", "title"),), (count,), width)]


def new_lines(asked: Asked, width: int, height: int) -> list[Line]:
    """The question with its choices; where there is room, what was answered above it."""
    question = asked.question
    now = [line(Span(f" {part}", "title")) for part in wrapped(question.text, width - 2, 3)]
    now += [_choice(asked, index, width) for index in range(len(question.choices))]
    if asked.at == len(QUESTIONS) - 1:
        now += _ending(asked, width, height - len(now))
    before = _before(asked, width)
    if height >= len(before) + len(now) + 1:
        return [*before, BLANK, *now] if before else [BLANK, *now]
    return now


def _before(asked: Asked, width: int) -> list[Line]:
    """The questions that are answered, one line each."""
    return [
        line(
            Span(f" {_NAMES.get(question.id, question.id.capitalize()):13}", "quiet"),
            Span(
                cut(answer_words(question, asked.answers.get(question.id, "")), width - 15), "done"
            ),
        )
        for question in QUESTIONS[: asked.at]
    ]


def answer_words(question: Question, answer: str) -> str:
    """An answer as its choices have it."""
    if not question.choices:
        return f"in {answer} min" if answer.isdecimal() and len(answer) < 4 else answer
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
    starts = f"↵ starts the clock: {_starts(asked)}. ← the one before"
    for words in ((starts, f"The brief goes to {asked.file}"), (starts,)):
        roles = ("next", "quiet")
        found = [
            line(Span(f" {part}", role))
            for one, role in zip(words, roles, strict=False)
            for part in wrapped(one, width - 2, 3)
        ]
        if room > len(found):
            return [BLANK, *found]
        if room == len(found):
            return found
    return []


def _starts(asked: Asked) -> str:
    """The sprint that the last answer starts: its time, its supply and its interfaces."""
    answers = {**asked.answers, asked.question.id: asked.ticked}
    words = {one.id: answer_words(one, answers.get(one.id, "")) for one in QUESTIONS}
    supply = words["supply"].partition(",")[0]
    interfaces = words["interfaces"] if answers[asked.question.id] else "no interface"
    time = answers.get("deadline", "")
    time = f"{time} min" if time.isdecimal() else f"cut-off {time}" if ":" in time else time
    return f"{time}, {supply}, {interfaces}"
