"""What the list of items and a walk have in common: from a key to a question, from its answer to
a command."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from coach.sprint.commands import Affirm, Dismiss, Meet, Waive
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.calculation_choices import proving, title_of
from coach.sprint.state import WAIVED, Row
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.prompts import (
    AskChoice,
    AskLine,
    fact_question,
    fact_value,
    needed,
)
from phases.kit.facts import find_fact

T = TypeVar("T")


class ItemScreen(PaintedScreen[T]):
    """A screen on which items are closed: its keys act on the row one is at."""

    def row_for_key(self) -> Row | None:
        """The row one is at; None where there is none, which may be said."""
        raise AssertionError(f"{type(self).__name__} is at no item")

    def when_closed(self, row: Row) -> Callable[[], None]:
        """What follows once a row is met or taken off the board, as things stand before."""
        raise AssertionError(f"{type(self).__name__} closes nothing")

    # ---- keys ----------------------------------------------------------------------------------

    def action_not_here(self) -> None:
        if row := self.row_for_key():
            go_on = self.when_closed(row)
            if self.app.do(Dismiss(row.key)):
                go_on()
            elif row.question:
                self.answer_question(row)

    def action_sheet(self) -> None:
        if row := self.row_for_key():
            self.ask_page(row)

    def action_waive(self) -> None:
        """Asks for the reason; those used before are offered."""
        if row := self.row_for_key():
            key, waived = row.key, [s for s in self.state.items.values() if s.status == WAIVED]
            offers = list(dict.fromkeys(one.reason for one in reversed(waived)))
            question = AskLine(
                f"Reason for waiving: {row.name}",
                hint="Up and down offer earlier reasons" if offers else "",
                offers=offers,
                check=needed("A waiver needs a reason"),
            )
            self.ask(question, lambda reason: self.app.do(Waive(key, reason)))

    def action_calculate(self) -> None:
        if row := self.row_for_key():
            self.open_calculator_of(row)

    # ---- meeting -------------------------------------------------------------------------------

    def meet(self, row: Row) -> None:
        """Met by looking; where that takes the page of a data sheet, this is asked first."""
        from coach.sprint.rules.items import needs_page

        go_on = self.when_closed(row)
        if needs_page(row) and row.applies is not False:
            self.ask_page(row, go_on)
        elif self.app.do(Meet(row.key)):
            go_on()

    def ask_page(self, row: Row, then: Callable[[], None] = lambda: None) -> None:
        """Met by a page of a data sheet; then: what follows."""

        def given(page: str) -> None:
            if self.app.do(Meet(row.key, "data sheet", page)):
                then()

        prompt = f"Data sheet and page for: {row.item.statement}"
        check = needed("Name the data sheet and its page")
        self.ask(AskLine(prompt, hint="For example: hearth-33, p. 7", check=check), given)

    def answer_question(self, row: Row, *, yes: bool = False) -> None:
        """The question of an item. yes: a yes was given already."""
        name = row.question or row.item.asks
        fact = find_fact(name) if name else None
        if fact is None or (fact.kind == "yes/no" and yes):
            self.app.do(Affirm(row.key, True))  # refused where there is nothing to answer
        else:
            self.ask(
                fact_question(fact),
                lambda answer: self.app.do(Affirm(row.key, fact_value(fact, answer))),
            )

    # ---- its calculator ------------------------------------------------------------------------

    def open_calculator_of(self, row: Row) -> None:
        """The calculator an item cites, at its subject; asks where several could be meant."""
        found = proving(self.state, row)
        if not found:
            self.app.say("No calculator covers this item. l lists all.", "due")
        elif len(found) == 1:
            self.open_calculator(found[0])
        else:
            question = AskChoice("Which calculation?", [(key, title_of(key)) for key in found])
            self.ask(question, lambda choice: self.open_calculator(CalculationKey(choice)))

    def open_calculator(self, key: CalculationKey) -> None:
        from coach.terminal.screens.calculator import CalculatorScreen

        self.app.push_screen(CalculatorScreen(key))
