"""Answers ahead of being asked: what the calculator of the next thing says with what is known.

Computed in a thread, because it brings numpy and must never hold up a key; shown when it is there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from coach.sprint.ledger import Ledger
from coach.sprint.next_thing import CALCULATE, Next
from coach.sprint.state import Row, State
from phases.kit.bounds import FAIL, MARGINAL, VERDICTS
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators
from phases.kit.facts import match
from phases.kit.judging import Judgement, judge
from phases.kit.refusals import Refusal
from phases.kit.sentences import verdict_sentence

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


def calculator_of(state: State, row: Row) -> tuple[str, str] | None:
    """(calculator, subject) to open for a row; None where it cites none or several are meant."""
    known = calculators()
    for cite in row.item.cites:
        kind = known.get(cite.partition(":")[0])
        if kind is None:
            continue
        subjects = subjects_for(state, row, kind)
        if len(subjects) == 1:
            return kind.name, subjects[0]
    return None


def subjects_for(state: State, row: Row, kind: type[Calculator]) -> list[str]:
    """The subjects a calculator could be opened at for this row, those it is made for first."""
    if kind.per == "board":
        return [""]
    if kind.per == row.item.per:
        return [row.subject]
    there = [s.id for s in state.subjects.values() if s.kind == kind.per]
    return [subject for subject in there if suits(state, kind, subject)] or there


def suits(state: State, kind: type[Calculator], subject: str) -> bool:
    """Whether a subject's facts allow what the calculator publishes: a linear regulator does not
    suit a rail that a converter makes."""
    conditions = [o.when for o in kind.outputs.values() if o.publishes and o.when]
    return not conditions or any(
        match([when], state.knowledge, subject) is not False for when in conditions
    )


def answer_words(judgement: Judgement) -> str:
    """A judgement in one line: what to draw and whether it holds, or the thinnest limit."""
    ailing = [v for v in judgement.verdicts if v.verdict in (FAIL, MARGINAL)]
    if ailing:
        worst = max(ailing, key=lambda v: VERDICTS.index(v.verdict))
        return verdict_sentence(worst)
    if judgement.parts:
        words = ", ".join(part.words for part in judgement.parts[:2])
        more = f" and {len(judgement.parts) - 2} more" if len(judgement.parts) > 2 else ""
        return f"Holds with {words}{more}"
    numbers = [v for v in judgement.verdicts if v.margin == v.margin]
    if not numbers:
        return "All limits hold"
    return verdict_sentence(min(numbers, key=lambda v: v.share))


class Answers:
    """Keeps the answers of one state's values; another ledger, other answers."""

    def __init__(self, app: CoachApp) -> None:
        self._app = app
        self._found: dict[tuple[str, str, int], str] = {}
        self._asked: set[tuple[str, str, int]] = set()

    def of(self, thing: Next | None) -> str:
        """The answer to the next thing where it is a calculation; empty until it is computed."""
        if thing is None or thing.kind != CALCULATE or thing.row is None:
            return ""
        return self.of_row(thing.row)

    def of_row(self, row: Row) -> str:
        """The same for a row that is met by a calculation."""
        state = self._app.sprint.state
        wanted = calculator_of(state, row)
        if wanted is None:
            return ""
        key = (*wanted, _values(state))
        if key not in self._asked:
            self._asked.add(key)
            self._app.run_worker(
                lambda: self._compute(state, key), thread=True, exit_on_error=False, group="answers"
            )
        return self._found.get(key, "")

    def _compute(self, state: State, key: tuple[str, str, int]) -> None:
        try:
            self._found[key] = answer_words(judge(Ledger(state).opened(key[0], key[1])))
        except Refusal as refusal:
            self._found[key] = str(refusal)
        if self._app.is_running:
            self._app.call_from_thread(self._app._repaint)


def _values(state: State) -> int:
    """What tells one ledger from another, cheaply."""
    marks = tuple((k, v.t) for k, v in state.calculations.items())
    declared = tuple(map(str, state.declared.items()))
    return hash((marks, declared, tuple(state.subjects), tuple(state.knowledge)))
