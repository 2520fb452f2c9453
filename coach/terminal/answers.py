"""Answers ahead of being asked: what the calculator of the next thing says with what is known.

Computed in a thread, because it brings numpy and must never hold up a key; shown when it is there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from coach.sprint.gates.advice import CALCULATE, Next
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.calculation_choices import proving_alone
from coach.sprint.state import Row, State
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


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
        wanted = proving_alone(state, row)
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
        from coach.sprint.ledger.ledger import Ledger
        from phases.kit.answers import what_to_draw
        from phases.kit.judging import judge

        wanted, _ = key
        try:
            opened = Ledger(state).opened(wanted.calculator, wanted.subject)
            self._found[key] = what_to_draw(judge(opened))
        except Refusal as refusal:
            self._found[key] = str(refusal)
        if self._app.is_running:
            self._app.call_from_thread(self._app.want_paint)


def _values(state: State) -> int:
    """What tells one ledger from another, cheaply."""
    marks = tuple((k, v.t) for k, v in state.calculations.items())
    declared = tuple(map(str, state.declared.items()))
    return hash((marks, declared, tuple(state.subjects), tuple(state.knowledge)))
