"""What the list of items and a walk have in common: from a key to a question, from its answer to
a command."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from coach.sprint.commands import Affirm, Meet, Waive
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.calculation_choices import proving, title_of
from coach.sprint.state import WAIVED, Row
from coach.terminal.screens.painted import PaintedScreen
from coach.terminal.screens.prompts import AskChoice, AskLine, fact_question, fact_value
from phases.kit.facts import find_fact

T = TypeVar("T")


class ItemScreen(PaintedScreen[T]):
    """A screen on which items are closed."""

    def meet(self, row: Row, then: Callable[[], None]) -> None:
        """Met by looking; where that takes the page of a data sheet, this is asked first. then:
        what follows once it is met."""
        from coach.sprint.rules.items import needs_page

        if needs_page(row) and row.applies is not False:
            self.ask_page(row, then)
        elif self.app.do(Meet(row.key)):
            then()

    def ask_page(self, row: Row, then: Callable[[], None] = lambda: None) -> None:
        """Met by a page of a data sheet."""

        def given(page: str) -> None:
            if self.app.do(Meet(row.key, "data sheet", page)):
                then()

        prompt = f"Data sheet and page for: {row.item.statement}"
        check = _needed("Name the data sheet and its page")
        self.ask(AskLine(prompt, hint="For example: hearth-33, p. 7", check=check), given)

    def ask_reason(self, row: Row) -> None:
        """A waiver's reason; those used before are offered."""
        waived = [one for one in self.state.items.values() if one.status == WAIVED]
        offers = list(dict.fromkeys(one.reason for one in reversed(waived)))
        hint = "Up and down offer earlier reasons" if offers else ""
        check = _needed("A waiver needs a reason")
        question = AskLine(f"Reason for waiving: {row.name}", hint=hint, offers=offers, check=check)
        self.ask(question, lambda reason: self.app.do(Waive(row.key, reason)))

    def answer_question(self, row: Row, *, yes: bool = False) -> None:
        """The question of an item. yes: a yes was given already."""
        name = row.question or row.item.asks
        if name is None:
            self.app.say("Nothing to answer: every board needs this item", "due")
            return
        fact = find_fact(name)
        if fact.kind == "yes/no" and yes:
            self.app.do(Affirm(row.key, True))
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

        self.app.push_screen(CalculatorScreen(key.calculator, key.subject, key.label))


def _needed(says: str) -> Callable[[str], str]:
    return lambda text: "" if text.strip() else says
