"""Lists and lines: calculators, changes, thoughts, a word to find, the cut-off, the end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from coach.sprint.commands import End, MoveCutOff, NoteChange, Park
from coach.sprint.item_names import items_with
from coach.sprint.rules.run import CUT_OFF_EXAMPLES, check_cut_off
from coach.sprint.state import REOPENED, State
from coach.terminal.answers import subjects_for
from coach.terminal.drawing.forecast_lines import OPTIONS_ARE, option_columns
from coach.terminal.drawing.lines import Line
from coach.terminal.drawing.words import status_of
from coach.terminal.screens.ask import AskChoice, AskLine, room_of_choices
from coach.terminal.screens.asking import act_on, coach_of, open_calculator
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators
from phases.kit.grammar import are, count
from phases.kit.items import CLOSING_ID, load_changes
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from textual.screen import Screen

    from coach.terminal.app import CoachApp


_ALL = "all"


def choose_calculator(screen: Screen[Any], *, everything: bool = False) -> None:
    """The calculations that items of this board cite, and those saved; all behind the last line."""
    state = coach_of(screen).sprint.state
    asked = cited_calculations(state)
    places = [
        (kind, subject)
        for kind in calculators().values()
        for subject in ([""] if kind.per == "board" else _subjects(state, kind.per))
        if everything or (kind.name, subject) in asked
    ]
    choices = [
        (f"{kind.name}@{subject}", _calculation_words(state, kind, subject))
        for kind, subject in places
    ]
    choices += [
        (
            f"{saved.calculator}@{saved.subject}#{label}",
            f"{saved.id}   saved, {saved.record.verdict}",
        )
        for saved in state.calculations.values()
        if (label := saved.id.label)
    ]
    if not everything:
        choices.append((_ALL, "all calculators, at every subject"))

    def answer(value: str | None) -> None:
        if value == _ALL:
            choose_calculator(screen, everything=True)
        else:
            open_calculator(screen, value)

    coach_of(screen).push_screen(AskChoice("Calculate what?", choices), answer)


def _subjects(state: State, per: str) -> list[str]:
    return [s.id for s in state.subjects.values() if s.kind == per]


def cited_calculations(state: State) -> set[tuple[str, str]]:
    """(calculator, subject) of what this board's items could be proved by, and of what is saved."""
    known = calculators()
    found = {(saved.calculator, saved.subject) for saved in state.calculations.values()}
    for row in state.rows:
        if row.applies is False:
            continue
        for name in {cite.partition(":")[0] for cite in row.item.cites} & set(known):
            found.update((name, s) for s in subjects_for(state, row, known[name]))
    return found


def _calculation_words(state: State, kind: type[Calculator], subject: str) -> str:
    words = f"{kind.title} {subject}".strip()
    saved = next(
        (
            s
            for s in state.calculations.values()
            if (s.calculator, s.subject, s.id.label) == (kind.name, subject, "")
        ),
        None,
    )
    if saved is None:
        return words
    return f"{words}   {'cannot be run again' if saved.stale else 'saved, ' + saved.record.verdict}"


def ask_thought(screen: Screen[Any]) -> None:
    app = coach_of(screen)

    def park(text: str | None) -> None:
        if text:
            app.do(Park(text))

    app.push_screen(AskLine("Park a thought"), park)


def ask_quick_line(screen: Screen[Any]) -> None:
    """A calculation in one line, else a thought to park."""
    app = coach_of(screen)
    hint = "indicator 3.3V 2.1V 2mA, or a thought to park"
    app.push_screen(AskLine("Quick line", hint=hint), lambda text: _quick(app, text))


def _quick(app: CoachApp, text: str | None) -> None:
    from coach.sprint.quick_line import parse_line
    from coach.terminal.drawing.calculation import short_answer
    from phases.kit.judging import judge

    if not text:
        return
    if text.split()[0] not in calculators():
        app.do(Park(text))
        return
    try:
        name, given = parse_line(text)
        judgement = judge(calculators()[name](given))
    except Refusal as refusal:
        app.say(str(refusal), "due")
        return
    app.say(short_answer(judgement), "next")


def ask_word(screen: Screen[Any]) -> None:
    """Finds items by a word and opens the one chosen."""
    app = coach_of(screen)

    def search(word: str | None) -> None:
        if not word:
            return
        rows = items_with(app.sprint.state.rows, word)[:30]
        if not rows:
            app.say(f"No item has {word!r}", "due")
            return
        choices = [(row.key, f"{status_of(row)[0]:9} {row.name}") for row in rows]
        app.push_screen(AskChoice(f"Items with {word!r}", choices), open_row)

    def open_row(key: str | None) -> None:
        if key:
            act_on(screen, app.sprint.state.by_key[key])

    app.push_screen(AskLine("Find an item by a word"), search)


def choose_change(screen: Screen[Any]) -> None:
    app = coach_of(screen)
    choices = [(change.id, change.words) for change in load_changes().values()]

    def note(change: str | None) -> None:
        if change and app.do(NoteChange(change)):
            count = sum(row.status == REOPENED for row in app.sprint.state.rows)
            app.say(f"{count} items are open again" if count else "Nothing hung on it", "doubt")

    app.push_screen(AskChoice("What changed?", choices), note)


def ask_cut_off(screen: Screen[Any]) -> None:
    app = coach_of(screen)

    def reason(to: str | None) -> None:
        if to:
            app.push_screen(AskLine("Why?"), lambda why: move(to, why))

    def move(to: str, why: str | None) -> None:
        if why is not None:
            app.do(MoveCutOff(to, why))

    def check(text: str) -> str:
        try:
            check_cut_off(text, app.sprint.now)
        except Refusal as refusal:
            return str(refusal)
        return ""

    hint = ", ".join(CUT_OFF_EXAMPLES)
    app.push_screen(AskLine("New cut-off", hint=hint, check=check), reason)


def show_forecast(screen: Screen[Any]) -> None:
    """What the forecast is made of; where it has fallen, what each thing dropped would buy."""
    app = coach_of(screen)
    made = app.sprint.forecast
    if made is None:
        app.say("The first forecast is not made yet")
        return
    proposal = made.proposal
    options = proposal.options if proposal is not None else ()
    chosen = proposal.chosen if proposal is not None else ()
    width = room_of_choices(screen.size.width)
    choices = [
        (str(number), option_columns(option, width, chosen=option in chosen))
        for number, option in enumerate(options)
    ]
    says = f"{proposal.says} " if proposal is not None else ""
    columns = f" {OPTIONS_ARE}" if options else ""

    def drop(number: str | None) -> None:
        if number is not None and number.isdecimal():
            app.do(options[int(number)].command)

    choices.append(("leave", "leave it as it is"))
    app.push_screen(AskChoice(f"{says}{made.why()}{columns}", choices), drop)


def end(screen: Screen[Any]) -> None:
    """Asks whether it is the end, with an order or without; then the debrief. The only place that
    asks, on the sprint screen and on the debrief of a sprint that is running."""
    from coach.terminal.screens.debrief import DebriefScreen

    app = coach_of(screen)
    state = app.sprint.state

    def show() -> None:
        if not isinstance(screen, DebriefScreen):
            app.push_screen(DebriefScreen(app.sprint.journal.path))

    if state.ended:
        show()
        return
    still = sum(not r.closed for r in state.rows_of(CLOSING_ID))
    prompt = "End the sprint?"
    if still:
        prompt += f" {count(still, 'line')} of the closing list {are(still)} open."
    choices = [
        ("look", "First look at what is still open"),
        ("accepted", "The order is accepted and paid"),
        ("by hand", "End it without an order"),
    ]

    def answer(value: str | None) -> None:
        if value == "look" or (value and app.do(End(value == "accepted"))):
            show()

    app.push_screen(AskChoice(prompt, choices), answer)


def show_to_draw(screen: Screen[Any]) -> None:
    from coach.terminal.screens.to_draw import ToDrawScreen

    coach_of(screen).push_screen(ToDrawScreen())


def show_parked(screen: Screen[Any]) -> None:
    from coach.terminal.screens.parked import ParkedScreen

    coach_of(screen).push_screen(ParkedScreen())


def show_board(screen: Screen[Any]) -> None:
    from coach.terminal.screens.board import BoardScreen

    coach_of(screen).push_screen(BoardScreen())


def show_journal(screen: Screen[Any]) -> None:
    from coach.terminal.screens.journal import JournalScreen

    coach_of(screen).push_screen(JournalScreen())


def show_help(screen: Screen[Any], numbers: Callable[[int], list[Line]]) -> None:
    from coach.terminal.screens.help import HelpScreen

    coach_of(screen).push_screen(HelpScreen("sprint", numbers=numbers))
