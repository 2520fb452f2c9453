"""From a key to a question and from its answer to a command. Shared by the sprint and the walk."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from coach.sprint.board import (
    find,
    further_of_phase,
    further_of_place,
    walk_of_phase,
    walk_of_place,
)
from coach.sprint.commands import (
    Affirm,
    End,
    Meet,
    MoveCutOff,
    NoteChange,
    Park,
    ReachPlace,
    Waive,
)
from coach.sprint.state import REOPENED, WAIVED, Row
from coach.terminal.answers import subjects_for
from coach.terminal.drawing.words import evidence_words, status_of
from coach.terminal.screens.ask import AskChoice, AskLine
from phases.kit.catalogue import calculators
from phases.kit.facts import Fact, find_fact
from phases.kit.items import CLOSING_ID, Place, load_changes
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from textual.screen import Screen

    from coach.terminal.app import CoachApp


def _app(screen: Screen[Any]) -> CoachApp:
    from coach.terminal.app import CoachApp

    assert isinstance(screen.app, CoachApp)
    return screen.app


# ---- items -----------------------------------------------------------------------------------


def act_on(screen: Screen[Any], row: Row) -> None:
    """What enter means on an item: answer its question, calculate it, or look at it and confirm."""
    app = _app(screen)
    if row.closed:
        word, _ = status_of(row)
        app.say(f"{word.capitalize()}: {evidence_words(row)}".rstrip(": "))
    elif row.applies is not None and row.item.cites and not (row.state and row.state.doubt):
        open_calculator_of(screen, row)
    else:
        from coach.terminal.screens.walk import WalkScreen

        app.push_screen(WalkScreen("One item", [row.key]))


def open_calculator_of(screen: Screen[Any], row: Row) -> None:
    """The calculator an item cites, at its subject; asks where several could be meant."""
    state = _app(screen).sprint.state
    known = calculators()
    choices: list[tuple[str, str]] = []
    for name in dict.fromkeys(cite.partition(":")[0] for cite in row.item.cites):
        if name in known:
            for subject in subjects_for(state, row, known[name].per):
                choices.append((f"{name}@{subject}", f"{known[name].title} {subject}".strip()))
    if not choices:
        _app(screen).say("No calculator here answers this item yet", "due")
    elif len(choices) == 1:
        open_calculator(screen, choices[0][0])
    else:
        _app(screen).push_screen(
            AskChoice("Which calculation?", choices), lambda v: open_calculator(screen, v)
        )


def open_calculator(screen: Screen[Any], choice: str | None) -> None:
    if not choice:
        return
    from coach.terminal.screens.calculator import CalculatorScreen

    name, _, subject = choice.partition("@")
    _app(screen).push_screen(CalculatorScreen(name, subject))


def choose_calculator(screen: Screen[Any]) -> None:
    """Every calculator at every subject it can be made for, the saved ones marked."""
    state = _app(screen).sprint.state
    saved = {(s.calculator, s.subject): s for s in state.calculations.values()}
    choices = []
    for kind in calculators().values():
        subjects = [""] if kind.per == "board" else [
            s.id for s in state.subjects.values() if s.kind == kind.per
        ]  # fmt: skip
        for subject in subjects:
            one = saved.get((kind.name, subject))
            words = f"{kind.title} {subject}".strip()
            if one is not None:
                words += f"   saved, {one.record['verdict']}" if not one.stale else "   stale"
            choices.append((f"{kind.name}@{subject}", words))
    _app(screen).push_screen(
        AskChoice("Calculate what?", choices), lambda v: open_calculator(screen, v)
    )


def ask_reason(screen: Screen[Any], row: Row) -> None:
    """A waiver's reason; those used before are offered."""
    app = _app(screen)
    used = [i.reason for i in app.sprint.state.items.values() if i.status == WAIVED and i.reason]
    offers = list(dict.fromkeys(reversed(used)))

    def waive(reason: str | None) -> None:
        if reason is not None:
            app.do(Waive(row.key, reason))

    prompt = f"Why may it be left out? {row.item.statement}"
    hint = "Up and down offer earlier reasons" if offers else ""
    app.push_screen(AskLine(prompt, hint=hint, offers=offers), waive)


def ask_page(screen: Screen[Any], row: Row) -> None:
    app = _app(screen)

    def meet(page: str | None) -> None:
        if page is not None:
            app.do(Meet(row.key, "data sheet", page))

    app.push_screen(
        AskLine(f"Which sheet and page? {row.item.statement}", hint="hearth-33, p. 7"), meet
    )


def answer_question(screen: Screen[Any], row: Row, *, yes: bool = False) -> None:
    """The question of an item: a key for each answer. yes: a yes was given already."""
    app = _app(screen)
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
    return [(str(value), str(value).replace("-", " ")) for value in fact.choices]


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


# ---- walks and places ------------------------------------------------------------------------


def walk_phase(screen: Screen[Any]) -> None:
    """The open rows of the phase one is in; its further items folded behind one key."""
    from coach.terminal.screens.walk import WalkScreen

    app = _app(screen)
    state = app.sprint.state
    if not state.phase:
        app.say("Enter a phase first: 1 to 7")
        return
    rows = walk_of_phase(state, state.phase)
    further = further_of_phase(state, state.phase) if state.phase != CLOSING_ID else []
    if state.phase in state.step_by_step:
        rows, further = [*rows, *further], []
    if not rows and not further:
        app.say("Nothing is open here")
        return
    first = rows or further
    name = "closing list" if state.phase == CLOSING_ID else state.setup.phase(state.phase).name
    app.push_screen(
        WalkScreen(
            f"Walk: {name}", [r.key for r in first], of=state.phase,
            further=[r.key for r in further] if rows else [],
        )
    )  # fmt: skip


_PAUSES = {"sheet": "the sheet", "placement": "placement", "routing": "routing"}


def offer_walk(screen: Screen[Any], passed: str, reached: str, count: int) -> None:
    """Before `reached` begins: a walk through what is open of `passed`, or on without one."""
    app = _app(screen)
    if not count:
        app.do(ReachPlace(reached))
        return
    items = "1 essential is" if count == 1 else f"{count} essentials are"
    seconds = sum(r.item.confirm_s for r in walk_of_place(app.sprint.state, passed))
    choices = [
        ("walk", f"Walk through them, about {max(round(seconds / 60), 1)} min"),
        ("reach", f"Go on: {reached} begins"),
        ("stay", f"Not yet: {_PAUSES[passed]} goes on"),
    ]
    prompt = f"Before {reached}: {items} open on {_PAUSES[passed]}."

    def answer(value: str | None) -> None:
        if value == "walk":
            walk_place(screen, passed, reached)
        elif value == "reach":
            app.do(ReachPlace(reached))

    app.push_screen(AskChoice(prompt, choices), answer)


def walk_place(screen: Screen[Any], passed: str, reached: str) -> None:
    from coach.terminal.screens.walk import WalkScreen

    app = _app(screen)
    rows = walk_of_place(app.sprint.state, passed)
    further = further_of_place(app.sprint.state, passed)

    def then(_: bool | None) -> None:
        app.do(ReachPlace(reached))

    app.push_screen(
        WalkScreen(
            f"Walk before {reached}", [r.key for r in rows], of=passed,
            further=[r.key for r in further],
        ),
        then,
    )  # fmt: skip


def next_place(screen: Screen[Any]) -> None:
    """The next place that is not reached yet, with its walk before it."""
    app = _app(screen)
    order = list(Place)
    coming = [place for place in order if place not in app.sprint.state.places]
    if not coming:
        app.say("Every place is reached")
        return
    passed = order[order.index(coming[0]) - 1]
    offer_walk(screen, passed, coming[0], len(walk_of_place(app.sprint.state, passed)))


# ---- lines and lists -------------------------------------------------------------------------


def ask_thought(screen: Screen[Any]) -> None:
    app = _app(screen)

    def park(text: str | None) -> None:
        if text:
            app.do(Park(text))

    app.push_screen(AskLine("Park a thought"), park)


def ask_quick_line(screen: Screen[Any]) -> None:
    """A calculation in one line, else a thought to park."""
    app = _app(screen)
    hint = "indicator 3.3V 2.1V 2mA, or a thought to park"
    app.push_screen(AskLine("Quick line", hint=hint), lambda text: _quick(app, text))


def _quick(app: CoachApp, text: str | None) -> None:
    from coach.sprint.quick_line import parse_line
    from coach.terminal.answers import answer_words
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
    picks = ", ".join(judgement.picks.values())
    app.say(f"{picks}: {answer_words(judgement)}" if picks else answer_words(judgement), "next")


def ask_word(screen: Screen[Any]) -> None:
    """Finds items by a word and opens the one chosen."""
    app = _app(screen)

    def search(word: str | None) -> None:
        if not word:
            return
        rows = find(app.sprint.state, word)[:30]
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
    app = _app(screen)
    choices = [(change.id, change.words) for change in load_changes().values()]

    def note(change: str | None) -> None:
        if change and app.do(NoteChange(change)):
            count = sum(row.status == REOPENED for row in app.sprint.state.rows)
            app.say(f"{count} items are open again" if count else "Nothing hung on it", "doubt")

    app.push_screen(AskChoice("What changed?", choices), note)


def ask_cut_off(screen: Screen[Any]) -> None:
    app = _app(screen)

    def reason(to: str | None) -> None:
        if to:
            app.push_screen(AskLine("Why?"), lambda why: app.do(MoveCutOff(to, why or "")))

    hint = "+20 min, -10 min, 15:50, or 45 min from now"
    app.push_screen(AskLine("The new cut-off", hint=hint), reason)


def end(screen: Screen[Any]) -> None:
    """The end: accepted and paid, or by hand; then what was forgotten."""
    from coach.terminal.screens.end import EndScreen

    app = _app(screen)
    state = app.sprint.state
    if state.ended:
        app.push_screen(EndScreen())
        return
    still = sum(not r.closed for r in state.rows_of(CLOSING_ID))
    prompt = "End the sprint?" + (f" {still} lines of the closing list are open." if still else "")
    choices = [
        ("look", "First look at what is still open"),
        ("accepted", "The order is accepted and paid"),
        ("by hand", "End it without an order"),
    ]

    def answer(value: str | None) -> None:
        if value == "look" or (value and app.do(End(value == "accepted"))):
            app.push_screen(EndScreen())

    app.push_screen(AskChoice(prompt, choices), answer)


def show_to_draw(screen: Screen[Any]) -> None:
    from coach.terminal.screens.to_draw import ToDrawScreen

    _app(screen).push_screen(ToDrawScreen())


def show_parked(screen: Screen[Any]) -> None:
    from coach.terminal.screens.parked import ParkedScreen

    _app(screen).push_screen(ParkedScreen())


def show_board(screen: Screen[Any]) -> None:
    from coach.terminal.screens.board import BoardScreen

    _app(screen).push_screen(BoardScreen())


def show_journal(screen: Screen[Any]) -> None:
    from coach.terminal.screens.journal import JournalScreen

    _app(screen).push_screen(JournalScreen())


def show_help(screen: Screen[Any]) -> None:
    from coach.terminal.screens.help import HelpScreen

    _app(screen).push_screen(HelpScreen("sprint"))
