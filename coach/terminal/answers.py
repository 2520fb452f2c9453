"""Answers ahead of being asked: what the calculator of the next thing says with what is known.

Computed in a thread, because it brings numpy and must never hold up a key; shown when it is there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from coach.sprint.keys import CalculationKey
from coach.sprint.ledger import Ledger
from coach.sprint.next_thing import CALCULATE, Next
from coach.sprint.state import Row, State
from phases.kit.bounds import FAIL, MARGINAL, VERDICTS
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators
from phases.kit.facts import match
from phases.kit.grammar import listed
from phases.kit.judging import Judgement, judge
from phases.kit.refusals import Refusal
from phases.kit.sentences import verdict_sentence

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


def calculations_for(state: State, row: Row) -> list[CalculationKey]:
    """The calculations that could prove a row, those that suit its subject first."""
    names = dict.fromkeys(cite.partition(":")[0] for cite in row.item.cites)
    kinds = [calculators()[name] for name in names if name in calculators()]
    return [
        CalculationKey.of(kind.name, subject)
        for kind in kinds
        for subject in _subjects_for(state, row, kind)
    ]


def calculation_of(state: State, row: Row) -> CalculationKey | None:
    """The one to open for a row; None where it cites none or several subjects are meant."""
    found = calculations_for(state, row)
    names = [key.calculator for key in found]
    return next((key for key in found if names.count(key.calculator) == 1), None)


def title_of(key: CalculationKey) -> str:
    return f"{calculators()[key.calculator].title} {key.subject}".strip()


def _subjects_for(state: State, row: Row, kind: type[Calculator]) -> list[str]:
    """The subjects a calculator could be opened at for this row, those it is made for first."""
    if kind.per == "board":
        return [""]
    if kind.per == row.item.per:
        return [row.subject]
    there = [s.id for s in state.subjects.values() if s.kind == kind.per]
    return [subject for subject in there if _suits(state, kind, subject)] or there


def _suits(state: State, kind: type[Calculator], subject: str) -> bool:
    """Whether a subject's facts allow what the calculator publishes: a linear regulator does not
    suit a rail that a converter makes."""
    conditions = [o.when for o in kind.outputs.values() if o.publishes and o.when]
    return not conditions or any(
        match([when], state.knowledge, subject) is not False for when in conditions
    )


def answer_words(judgement: Judgement) -> str:
    """A judgement in one line: what to draw and whether it passes, or the tightest limit."""
    ailing = [v for v in judgement.verdicts if v.verdict in (FAIL, MARGINAL)]
    if ailing:
        return verdict_sentence(max(ailing, key=lambda v: VERDICTS.index(v.verdict)))
    if judgement.parts:
        return f"Passes with {listed([part.words for part in judgement.parts], 2)}"
    numbers = [v for v in judgement.verdicts if v.margin == v.margin]
    if not numbers:
        return "All limits pass"
    return verdict_sentence(min(numbers, key=lambda v: v.share))


class Answers:
    """Keeps the answers of one state's values; another ledger, other answers."""

    def __init__(self, app: CoachApp) -> None:
        self._app = app
        self._found: dict[tuple[CalculationKey, int], str] = {}

    def of(self, thing: Next | None) -> str:
        """The answer to the next thing where it is a calculation; empty until it is computed."""
        if thing is None or thing.kind != CALCULATE or thing.row is None:
            return ""
        return self.of_row(thing.row)

    def of_row(self, row: Row) -> str:
        """The same for a row that is met by a calculation."""
        state = self._app.sprint.state
        wanted = calculation_of(state, row)
        if wanted is None:
            return ""
        key = (wanted, _values(state))
        if key not in self._found:
            self._found[key] = ""
            self._app.run_worker(
                lambda: self._compute(state, key), thread=True, exit_on_error=False, group="answers"
            )
        return self._found[key]

    def _compute(self, state: State, key: tuple[CalculationKey, int]) -> None:
        wanted, _ = key
        try:
            opened = Ledger(state).opened(wanted.calculator, wanted.subject)
            self._found[key] = answer_words(judge(opened))
        except Refusal as refusal:
            self._found[key] = str(refusal)
        if self._app.is_running:
            self._app.call_from_thread(self._app.want_paint)


def _values(state: State) -> int:
    """What tells one ledger from another, cheaply."""
    marks = tuple((k, v.t) for k, v in state.calculations.items())
    declared = tuple(map(str, state.declared.items()))
    return hash((marks, declared, tuple(state.subjects), tuple(state.knowledge)))
