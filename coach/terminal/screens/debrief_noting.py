"""What the debrief asks: a late finding, one line after the other, and the house rule made of it.

Each question but the first may be left empty; Escape leaves them all, and what was typed is
offered again the next time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from textual.screen import Screen

from coach.sprint.brief.house_making import statement_offered
from coach.sprint.commands import NoteFinding
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.rules.after import board_number, minutes_of
from coach.sprint.state import State
from coach.terminal.screens.ask import AskChoice, AskLine
from coach.terminal.screens.debrief_item import NO_ITEM, WhichItem
from phases.kit.items import PHASE_IDS, Severity
from phases.kit.refusals import Refusal

Push = Callable[[Screen[str | None], Callable[[str | None], None]], object]
"""Puts a question over the screen and hands its answer on; None where it was left."""


@dataclass
class Noting:
    """The questions of a late finding. done: gets the command, or None where it was left. of:
    which sprint it is of, in lines above the first question."""

    push: Push
    state: State
    done: Callable[[NoteFinding | None], None]
    draft: NoteFinding = field(default_factory=lambda: NoteFinding(""))
    of: Sequence[str] = ()

    def begin(self) -> None:
        question = AskLine("What was wrong?", value=self.draft.fault, check=_said, above=self.of,
                           hint="One line, as in: R5 is 10 kΩ, not 1 kΩ")  # fmt: skip
        self._ask(question, "fault", self._item)

    def _item(self) -> None:
        def answered(item: str | None) -> None:
            if item is None:
                self.done(None)
                return
            self.draft = replace(self.draft, item="" if item == NO_ITEM else item)
            self._board()

        self.push(WhichItem(self.state, self.draft.item), answered)

    def _board(self) -> None:
        question = AskLine("On which board?", value=self.draft.board, check=_board_fault,
                           hint="The number on it, as in 2; empty: on all")  # fmt: skip
        self._ask(question, "board", self._minutes)

    def _minutes(self) -> None:
        hint = "25 min, 1.5 h; empty: not known"
        question = AskLine("What time did it cost?", value=self.draft.minutes,
                           check=_minutes_fault, hint=hint)  # fmt: skip
        self._ask(question, "minutes", self._bodge)

    def _bodge(self) -> None:
        question = AskLine("What was done to the board?", value=self.draft.bodge,
                           hint="The bodge, as in: 1 kΩ on top of R5; empty: nothing")  # fmt: skip
        self._ask(question, "bodge", lambda: self.done(self.draft))

    def _ask(self, question: AskLine, name: str, then: Callable[[], None]) -> None:
        def answered(text: str | None) -> None:
            if text is None or (name == "fault" and not text.strip()):
                self.done(None)
                return
            self.draft = replace(self.draft, **{name: text})
            then()

        self.push(question, answered)


def _said(text: str) -> str:
    return "" if text.strip() else "Say in a line what was wrong"


def _board_fault(text: str) -> str:
    return _fault(board_number, text)


def _minutes_fault(text: str) -> str:
    return _fault(minutes_of, text)


def _fault(check: Callable[[str], object], text: str) -> str:
    """Why an answer will not do; an empty one always does."""
    try:
        if text.strip():
            check(text)
    except Refusal as refusal:
        return str(refusal)
    return ""


@dataclass
class Making:
    """The questions of a house rule. defaults: of `coach.sprint.brief.house_making.defaults_of`.

    phases: names by id. done: gets what was said; None where it was left.
    """

    push: Push
    finding: FindingNoted
    defaults: Mapping[str, str]
    phases: Mapping[str, str]
    done: Callable[[Mapping[str, str] | None], None]
    given: dict[str, str] = field(default_factory=dict)

    def begin(self) -> None:
        question = AskLine(
            "What must be so on every board from now on?", check=_length_fault,
            above=[f"Finding {self.finding.number}: {self.finding.fault}"],
            hint="As in: Battery lead carries the charge current. ↓ offers:",
            offers=[statement_offered(self.finding)],
        )  # fmt: skip
        self._line(question, "statement", self._why)

    def _why(self) -> None:
        question = AskLine("What goes wrong without it?", value=self.defaults["why"],
                           check=_length_fault)  # fmt: skip
        self._line(question, "why", self._severity)

    def _severity(self) -> None:
        words = {
            Severity.DEAD_BOARD: "does not run", Severity.DEGRADED: "runs worse",
            Severity.HAZARD: "can hurt somebody", Severity.REWORK: "costs time at the bench",
        }  # fmt: skip
        first = _first([str(one) for one in words], self.defaults["severity"])
        choices = [(one, f"{one}: {words[Severity(one)]}") for one in first]
        self._choice("What does leaving it out cost?", choices, "severity", self._phase)

    def _phase(self) -> None:
        ids = _first(PHASE_IDS, self.defaults["phase"])
        choices = [(one, self.phases.get(one, one)) for one in ids]
        self._choice("In which phase is it asked?", choices, "phase", self._made)

    def _made(self) -> None:
        self.done(self.given)

    def _line(self, question: AskLine, name: str, then: Callable[[], None]) -> None:
        self.push(question, lambda text: self._took(text, name, then))

    def _choice(
        self, prompt: str, choices: Sequence[tuple[str, str]], name: str, then: Callable[[], None]
    ) -> None:
        self.push(AskChoice(prompt, choices), lambda value: self._took(value, name, then))

    def _took(self, value: str | None, name: str, then: Callable[[], None]) -> None:
        if value is None:
            self.done(None)
            return
        self.given[name] = value
        then()


def _length_fault(text: str) -> str:
    from coach.sprint.brief.house_making import LONGEST, SHORTEST

    length = len(text.strip())
    if SHORTEST <= length <= LONGEST:
        return ""
    return f"{length} characters; give {SHORTEST} to {LONGEST}"


def _first(words: Sequence[str], first: str) -> list[str]:
    """With the proposed one at the top, where it is among them."""
    return sorted(words, key=lambda word: word != first)
