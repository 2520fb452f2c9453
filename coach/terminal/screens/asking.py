"""From a key to a question and from its answer to a command. Shared by the sprint and the walk."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from coach.sprint.commands import (
    Affirm,
    Meet,
    Waive,
)
from coach.sprint.rules.items import needs_page
from coach.sprint.state import WAIVED, Row
from coach.terminal import walks
from coach.terminal.answers import subjects_for
from coach.terminal.drawing.words import evidence_words, status_of
from coach.terminal.screens.ask import AskChoice, AskLine
from phases.kit.catalogue import calculators
from phases.kit.facts import Fact, find_fact

if TYPE_CHECKING:
    from textual.screen import Screen

    from coach.terminal.app import CoachApp


def coach_of(screen: Screen[Any]) -> CoachApp:
    from coach.terminal.app import CoachApp

    assert isinstance(screen.app, CoachApp)
    return screen.app


# ---- items -----------------------------------------------------------------------------------


def act_on(screen: Screen[Any], row: Row) -> None:
    """What enter means on an item: answer its question, calculate it, or look at it and confirm."""
    app = coach_of(screen)
    if row.closed:
        word, _ = status_of(row)
        app.say(f"{word.capitalize()}: {evidence_words(row)}".rstrip(": "))
    elif row.applies is not None and row.item.cites and not (row.state and row.state.doubt):
        open_calculator_of(screen, row)
    else:
        from coach.terminal.screens.walk import WalkScreen

        app.push_screen(WalkScreen(walks.of_item(row)))


def open_calculator_of(screen: Screen[Any], row: Row) -> None:
    """The calculator an item cites, at its subject; asks where several could be meant."""
    state = coach_of(screen).sprint.state
    known = calculators()
    choices: list[tuple[str, str]] = []
    for name in dict.fromkeys(cite.partition(":")[0] for cite in row.item.cites):
        if name in known:
            for subject in subjects_for(state, row, known[name]):
                choices.append((f"{name}@{subject}", f"{known[name].title} {subject}".strip()))
    if not choices:
        coach_of(screen).say("No calculator here answers this item yet", "due")
    elif len(choices) == 1:
        open_calculator(screen, choices[0][0])
    else:
        coach_of(screen).push_screen(
            AskChoice("Which calculation?", choices), lambda v: open_calculator(screen, v)
        )


def open_calculator(screen: Screen[Any], choice: str | None) -> None:
    if not choice:
        return
    from coach.terminal.screens.calculator import CalculatorScreen

    place, _, label = choice.partition("#")
    name, _, subject = place.partition("@")
    coach_of(screen).push_screen(CalculatorScreen(name, subject, label))


def ask_reason(screen: Screen[Any], row: Row) -> None:
    """A waiver's reason; those used before are offered."""
    app = coach_of(screen)
    used = [i.reason for i in app.sprint.state.items.values() if i.status == WAIVED and i.reason]
    offers = list(dict.fromkeys(reversed(used)))

    def waive(reason: str | None) -> None:
        if reason is not None:
            app.do(Waive(row.key, reason))

    prompt = f"Why may it be left out? {row.name}"
    hint = "Up and down offer earlier reasons" if offers else ""
    app.push_screen(AskLine(prompt, hint=hint, offers=offers), waive)


def meet(screen: Screen[Any], row: Row, then: Callable[[], None]) -> None:
    """It is so: met by looking; where that takes the page of a data sheet, this is asked first.
    then: what follows once it is met."""
    if needs_page(row) and row.applies is not False:
        ask_page(screen, row, then)
    elif coach_of(screen).do(Meet(row.key)):
        then()


def ask_page(screen: Screen[Any], row: Row, then: Callable[[], None] | None = None) -> None:
    app = coach_of(screen)

    def given(page: str | None) -> None:
        if page is not None and app.do(Meet(row.key, "data sheet", page)) and then is not None:
            then()

    app.push_screen(
        AskLine(f"Which sheet and page? {row.item.statement}", hint="For example: hearth-33, p. 7"),
        given,
    )


def answer_question(screen: Screen[Any], row: Row, *, yes: bool = False) -> None:
    """The question of an item: a key for each answer. yes: a yes was given already."""
    app = coach_of(screen)
    name = row.question or row.item.asks
    if name is None:
        app.say("This item asks nothing: it is needed on every board", "due")
        return
    fact = find_fact(name)
    if fact.kind == "yes/no" and yes:
        app.do(Affirm(row.key, True))
    elif fact.kind == "number":
        app.push_screen(AskLine(fact.question), lambda text: _number(app, row, text))
    else:
        app.push_screen(
            AskChoice(fact.question, choices_of(fact)), lambda v: _affirm(app, row, fact, v)
        )


def choices_of(fact: Fact) -> list[tuple[str, str]]:
    if fact.kind == "yes/no":
        return [("yes", "yes"), ("no", "no")]
    return [(str(value), str(value)) for value in fact.choices]


def _affirm(app: CoachApp, row: Row, fact: Fact, value: str | None) -> None:
    if value is not None:
        app.do(Affirm(row.key, value == "yes" if fact.kind == "yes/no" else value))


def _number(app: CoachApp, row: Row, text: str | None) -> None:
    if text is None:
        return
    try:
        app.do(Affirm(row.key, float(text)))
    except ValueError:
        app.say(f"{text!r} is no number", "due")
