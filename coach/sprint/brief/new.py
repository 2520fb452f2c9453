"""The way in without a brief: seven questions, one key each, make one.

The clock is asked first, because it runs already. What the answers say is filled in, typical
figures of a small board stand where a number is needed, and the rest is left unknown: the
items ask for it when they need it. The text is made to be edited afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from coach.sprint.brief.new_text import Answers, brief_text
from coach.sprint.cut_off import cut_off
from coach.sprint.durations import duration, minutes_of
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: its key, and the words beside it."""

    key: str
    label: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question. default: what a bare Enter means.

    No choices: the answer is typed and ended with Enter. several: any number of the keys, ended
    with Enter; being the last one, that Enter also confirms the whole.
    """

    id: str
    text: str
    choices: tuple[Choice, ...]
    default: str
    several: bool = False


def _choices(**labels: str) -> tuple[Choice, ...]:
    return tuple(Choice(key.removeprefix("_"), label) for key, label in labels.items())


QUESTIONS = (
    Question(
        "deadline", "How long have you got, or when is the cut-off? (120 or 15:36)", (), "120"
    ),
    Question(
        "supply",
        "Where does the power come from?",
        _choices(
            u="USB-C, 5 V",
            d="DC input, 9 to 28 V",
            l="lithium-ion cell",
            c="coin cell",
            a="alkaline cells, 2 in series",
            h="host board",
        ),
        "u",
    ),
    Question(
        "regulator",
        "What makes the main rail?",
        _choices(l="linear regulator", s="switching converter", n="none, straight from the supply"),
        "l",
    ),
    Question(
        "programming",
        "How is it programmed?",
        _choices(
            d="10-way debug connector",
            t="20-way debug connector",
            h="plain header",
            p="pads",
        ),
        "d",
    ),
    Question(
        "clock",
        "What is its clock?",
        _choices(
            c="crystal",
            w="crystal, and a watch crystal",
            o="oscillator",
            i="internal only",
        ),
        "c",
    ),
    Question(
        "fabricator",
        "Who makes it?",
        _choices(_2="two layers, quick turn", _4="four layers", e="etched by hand, two layers"),
        "2",
    ),
    Question(
        "interfaces",
        "Which interfaces? Any of these, then Enter",
        _choices(
            u="USB data",
            i="I2C",
            s="SPI",
            t="serial console",
            c="CAN",
            r="RS-485",
            m="radio module",
            a="analogue inputs",
        ),
        "",
        several=True,
    ),
)
"""The questions in the order they are asked."""

_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
_LEAST_MINUTES, _MOST_MINUTES = 10, 6000


def answers_to_brief_text(answers: Mapping[str, str], title: str) -> str:
    """A commented brief in TOML from the answers by question id; a missing one is its default.

    Raises Refusal for an unknown question, for a key that is none of its choices, and for a
    deadline that cannot be read.
    """
    if strange := [name for name in answers if name not in _BY_ID]:
        raise unknown("question", strange[0], _BY_ID)
    read = {one.id: checked_answer(one.id, answers.get(one.id, "")) for one in QUESTIONS}
    minutes, instant = _deadline(read.pop("deadline"))
    return brief_text(
        Answers(title=one_line(title) or "New board", minutes=minutes, cut_off=instant, **read)
    )


def checked_answer(question_id: str, answer: str) -> str:
    """`answer` as it counts: trimmed, the default for an empty one. Raises Refusal."""
    question = _BY_ID[question_id]
    text = one_line(answer) or question.default
    if not question.choices:
        _deadline(text)
        return text
    text = text.lower().replace(" ", "")
    keys = [choice.key for choice in question.choices]
    given = list(text) if question.several else [text]
    if strange := [key for key in given if key not in keys]:
        what = f"{strange[0]!r} is not one of the keys"
        raise Refusal(what, where=question.id, do=f"One of: {' '.join(keys)}")
    return "".join(key for key in keys if key in given)


def _deadline(text: str) -> tuple[int | None, str | None]:
    """(minutes, None), or (None, the cut-off as a text that a brief takes)."""
    if re.fullmatch(r"\d{4}", text):
        text = f"{text[:2]}:{text[2:]}"
    instant = cut_off(text, _LONG_AGO)
    if ":" in text:
        return None, text
    minutes = minutes_of((instant - _LONG_AGO).total_seconds())
    if not _LEAST_MINUTES <= minutes <= _MOST_MINUTES:
        do = f"Give {duration(60 * _LEAST_MINUTES)} to {duration(60 * _MOST_MINUTES)}"
        raise Refusal(
            f"{duration(60 * minutes)} is out of range for a sprint", where="cut-off", do=do
        )
    return minutes, None


_BY_ID = {question.id: question for question in QUESTIONS}
