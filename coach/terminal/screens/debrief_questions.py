"""What the debrief asks: a late finding, one line after the other, and the house rule made of it.

Each question of a finding but the first may be left empty; Escape leaves them all, and what was
typed is offered again the next time.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence

from textual.screen import Screen

from coach.sprint.commands import NoteFinding
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.house_making import LONGEST, SHORTEST, statement_offered
from coach.sprint.rules.afterwards import board_number, minutes_of
from coach.sprint.state import State
from coach.terminal.screens.prompts import (
    NO_ITEM,
    AskChoice,
    AskLine,
    WhichItem,
    fault_of,
    needed,
)
from phases.kit.items import PHASE_IDS, Severity

Questions = Mapping[str, Callable[[], Screen[str | None]]]
"""By the name of what they ask for, in the order they are asked."""

Answers = Generator[Screen[str | None], str | None, tuple[dict[str, str], bool]]
"""Asks, and ends with the answers by their names, and whether all of them were given."""


def answers_to(questions: Questions) -> Answers:
    """One question after the other, until one is left."""
    given: dict[str, str] = {}
    for name, question in questions.items():
        answer = yield question()
        if answer is None:
            return given, False
        given[name] = answer
    return given, True


# ---- a late finding ----------------------------------------------------------------------------


def about_finding(state: State, draft: NoteFinding, above: Sequence[str]) -> Questions:
    """draft: what is offered. above: which sprint it is of, in lines over the first question."""
    return {
        "fault": lambda: AskLine(
            "What was wrong?",
            value=draft.fault,
            check=needed("Describe the fault in one line"),
            above=above,
            hint="One line, e.g. R5 is 10 kΩ, not 1 kΩ",
        ),
        "item": lambda: WhichItem(state, draft.item),
        "board": lambda: AskLine(
            "On which board?",
            value=draft.board,
            check=lambda text: fault_of(lambda: text.strip() and board_number(text)),
            hint="The number on it, e.g. 2; empty: on all",
        ),
        "minutes": lambda: AskLine(
            "What time did it cost?",
            value=draft.minutes,
            check=lambda text: fault_of(lambda: text.strip() and minutes_of(text)),
            hint="25 min, 1.5 h; empty: not known",
        ),
        "bodge": lambda: AskLine(
            "How was it reworked?",
            value=draft.bodge,
            hint="e.g. 1 kΩ on top of R5; empty: not at all",
        ),
    }


def finding_of(draft: NoteFinding, answers: Mapping[str, str]) -> NoteFinding:
    """The draft with what was answered."""
    item = answers.get("item", draft.item)
    return draft._replace(**{**answers, "item": "" if item == NO_ITEM else item})


# ---- the house rule made of it -----------------------------------------------------------------

_COSTS = {
    Severity.DEAD_BOARD: "does not run",
    Severity.DEGRADED: "runs worse",
    Severity.HAZARD: "can hurt somebody",
    Severity.REWORK: "costs time at the bench",
}


def about_house_rule(
    finding: FindingNoted, defaults: Mapping[str, str], phases: Mapping[str, str]
) -> Questions:
    """defaults: of `coach.sprint.house_making.defaults_of`. phases: names by id."""
    costs = {f"{one}": f"{one}: {words}" for one, words in _COSTS.items()}
    names = {one: phases.get(one, one) for one in PHASE_IDS}
    return {
        "statement": lambda: AskLine(
            "What must be true on every board from now on?",
            check=_length_fault,
            above=[f"Finding {finding.number}: {finding.fault}"],
            hint="e.g. Battery lead carries the charge current. ↓ offers:",
            offers=[statement_offered(finding)],
        ),
        "why": lambda: AskLine(
            "What goes wrong without it?", value=defaults["why"], check=_length_fault
        ),
        "severity": lambda: _choice("What does missing it cost?", costs, defaults["severity"]),
        "phase": lambda: _choice("In which phase is it asked?", names, defaults["phase"]),
    }


def _choice(prompt: str, choices: Mapping[str, str], proposed: str) -> AskChoice:
    """The proposed one at the top, where it is among them."""
    return AskChoice(prompt, sorted(choices.items(), key=lambda pair: pair[0] != proposed))


def _length_fault(text: str) -> str:
    length = len(text.strip())
    if SHORTEST <= length <= LONGEST:
        return ""
    return f"{length} characters; give {SHORTEST} to {LONGEST}"
