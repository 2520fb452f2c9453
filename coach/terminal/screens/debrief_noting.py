"""What the debrief asks: a late finding, one line after the other, and the house rule made of it.

Each question of a finding but the first may be left empty; Escape leaves them all, and what was
typed is offered again the next time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from textual.screen import Screen

from coach.sprint.commands import NoteFinding
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.house_making import LONGEST, SHORTEST, statement_offered
from coach.sprint.rules.afterwards import board_number, minutes_of
from coach.sprint.state import State
from coach.terminal.screens.debrief_item import NO_ITEM, WhichItem
from coach.terminal.screens.prompts import AskChoice, AskLine
from phases.kit.items import PHASE_IDS, Severity
from phases.kit.refusals import Refusal

Push = Callable[[Screen[str | None], Callable[[str | None], None]], object]
"""Puts a question over the screen and hands its answer on; None where it was left."""

Given = dict[str, str]
"""Answers by the name of what they were asked for."""

Questions = Mapping[str, Callable[[], Screen[str | None]]]
"""By the name of what they ask for, in the order they are asked."""


def _ask(
    push: Push, questions: Questions, done: Callable[[Given], None], left: Callable[[Given], None]
) -> None:
    """One question after the other; left: gets what was answered before one was left."""
    given: Given = {}
    names = list(questions)

    def ask(number: int) -> None:
        if number == len(names):
            done(given)
            return

        def answered(text: str | None) -> None:
            if text is None:
                left(given)
                return
            given[names[number]] = text
            ask(number + 1)

        push(questions[names[number]](), answered)

    ask(0)


# ---- a late finding ----------------------------------------------------------------------------


def late_finding(
    push: Push,
    state: State,
    draft: NoteFinding,
    above: Sequence[str],
    *,
    done: Callable[[NoteFinding], None],
    left: Callable[[NoteFinding], None],
) -> None:
    """draft: what is offered. above: which sprint it is of, in lines over the first question."""
    questions: Questions = {
        "fault": lambda: AskLine(
            "What was wrong?",
            value=draft.fault,
            check=_fault_fault,
            above=above,
            hint="One line, e.g. R5 is 10 kΩ, not 1 kΩ",
        ),
        "item": lambda: WhichItem(state, draft.item),
        "board": lambda: AskLine(
            "On which board?",
            value=draft.board,
            check=_checked(board_number),
            hint="The number on it, e.g. 2; empty: on all",
        ),
        "minutes": lambda: AskLine(
            "What time did it cost?",
            value=draft.minutes,
            check=_checked(minutes_of),
            hint="25 min, 1.5 h; empty: not known",
        ),
        "bodge": lambda: AskLine(
            "How was it reworked?",
            value=draft.bodge,
            hint="e.g. 1 kΩ on top of R5; empty: not at all",
        ),
    }

    def known(given: Given) -> NoteFinding:
        item = given.get("item", draft.item)
        return draft._replace(**{**given, "item": "" if item == NO_ITEM else item})

    _ask(push, questions, lambda given: done(known(given)), lambda given: left(known(given)))


def _fault_fault(text: str) -> str:
    return "" if text.strip() else "Describe the fault in one line"


def _checked(check: Callable[[str], object]) -> Callable[[str], str]:
    """Why an answer will not do; an empty one always does."""

    def fault(text: str) -> str:
        try:
            if text.strip():
                check(text)
        except Refusal as refusal:
            return str(refusal)
        return ""

    return fault


# ---- the house rule made of it -----------------------------------------------------------------

_COSTS = {
    Severity.DEAD_BOARD: "does not run",
    Severity.DEGRADED: "runs worse",
    Severity.HAZARD: "can hurt somebody",
    Severity.REWORK: "costs time at the bench",
}


def house_rule(
    push: Push,
    finding: FindingNoted,
    defaults: Mapping[str, str],
    phases: Mapping[str, str],
    *,
    done: Callable[[Given], None],
    left: Callable[[Given], None],
) -> None:
    """defaults: of `coach.sprint.house_making.defaults_of`. phases: names by id."""
    costs = {f"{one}": f"{one}: {words}" for one, words in _COSTS.items()}
    names = {one: phases.get(one, one) for one in PHASE_IDS}
    questions: Questions = {
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
    _ask(push, questions, done, left)


def _choice(prompt: str, choices: Mapping[str, str], proposed: str) -> AskChoice:
    """The proposed one at the top, where it is among them."""
    return AskChoice(prompt, sorted(choices.items(), key=lambda pair: pair[0] != proposed))


def _length_fault(text: str) -> str:
    length = len(text.strip())
    if SHORTEST <= length <= LONGEST:
        return ""
    return f"{length} characters; give {SHORTEST} to {LONGEST}"
