"""What the sprint screen asks by its keys: calculators, notes, changes, walks and the pauses people
really make, the cut-off, the end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.screen import Screen

from coach.sprint.chances import in_ten
from coach.sprint.commands import End, MoveCutOff, NoteChange, Park, ReachStage
from coach.sprint.durations import duration
from coach.sprint.gates import walks
from coach.sprint.gates.gates import skipped
from coach.sprint.gates.item_search import items_with
from coach.sprint.gates.walks import last_walk, next_pause, pause_before, spare_seconds
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.calculation_choices import on_this_board, title_of
from coach.sprint.state import REOPENED, Row, State
from coach.terminal.drawing.item_words import evidence_words, short_name, status_of
from coach.terminal.drawing.lines import fit, right
from coach.terminal.screens.item_screen import ItemScreen
from coach.terminal.screens.painted import Dialog, dialog
from coach.terminal.screens.prompts import (
    ACCEPTED,
    LOOK,
    AskChoice,
    AskLine,
    end_question,
    fault_of,
    room_of_choices,
)
from phases.kit.catalogue import calculators
from phases.kit.grammar import are, capital, count
from phases.kit.items import Stage, load_changes
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.sprint.pace.descope import Option

_ALL = "all"
_OPTIONS_ARE = "Columns: time saved, new chance, points lost."
"""What the columns of `option_columns` are."""


class SprintDialogs(ItemScreen[None]):
    """A question for each key, a command for its answer."""

    # ---- calculations --------------------------------------------------------------------------

    def action_calculations(self) -> None:
        """The calculations that this board's items cite, and those saved; behind the last line
        all."""
        state = self.state
        choices = calculation_choices(state, every=False)
        choices.append((_ALL, "all calculators, for every rail, bus and connector"))
        self.ask(AskChoice("Which calculator?", choices), self._calculate)

    def _calculate(self, choice: str) -> None:
        if choice == _ALL:
            choices = calculation_choices(self.state, every=True)
            self.ask(AskChoice("Which calculator?", choices), self._calculate)
        else:
            self.open_calculator(CalculationKey(choice))

    def action_line(self) -> None:
        """A calculation in one line, else a note to park."""
        hint = "e.g. indicator 3.3V 2.1V 2mA, or any note"
        self.ask(AskLine("Quick line", hint=hint), self._quick)

    def _quick(self, text: str) -> None:
        from phases.kit.answers import short_answer
        from phases.kit.judging import judge
        from phases.kit.quick_line import parse_line

        if text.split(maxsplit=1)[0] not in calculators():
            self.app.do(Park(text))
            return
        try:
            name, given = parse_line(text)
            self.app.say(short_answer(judge(calculators()[name](given))), "next")
        except Refusal as refusal:
            self.app.say(str(refusal), "due")

    # ---- items and notes -----------------------------------------------------------------------

    def act_on(self, row: Row) -> None:
        """What enter means on an item: answer its question, calculate it, or look at it and
        confirm."""
        if row.closed:
            word, _ = status_of(row)
            self.app.say(f"{capital(word)}: {evidence_words(row)}".rstrip(": "))
        elif row.applies is not None and row.by_calculation:
            self.open_calculator_of(row)
        else:
            self._go_through(walks.of_item(row))

    def action_find(self) -> None:
        self.ask(AskLine("Find an item by a word"), self._found)

    def _found(self, word: str) -> None:
        by_key = self.state.by_key
        rows = items_with(self.state.rows, word)[:30]
        if not rows:
            self.app.say(f"No item has {word!r}", "due")
            return
        choices = [(row.key, f"{status_of(row)[0]:9} {short_name(row)}") for row in rows]
        question = AskChoice(f"Items with {word!r}", choices)
        self.ask(question, lambda key: self.act_on(by_key[key]))

    def action_park(self) -> None:
        self.ask(AskLine("Park a note"), lambda text: self.app.do(Park(text)))

    def action_change(self) -> None:
        choices = [(change.id, change.words) for change in load_changes().values()]
        self.ask(AskChoice("What changed?", choices), self._changed)

    def _changed(self, change: str) -> None:
        if self.app.do(NoteChange(change)):
            again = sum(row.status == REOPENED for row in self.state.rows)
            says = f"{count(again, 'item')} {are(again)} open again"
            self.app.say(says if again else "Nothing depends on it", "doubt")

    # ---- walks ---------------------------------------------------------------------------------

    def action_walk(self) -> None:
        """The open rows of the phase one is in; in the reserve the last walk."""
        state = self.state
        walk = walks.at_hand(state, self.app.sprint.t)
        if walk is None:
            first = "Enter a phase first: 1 to 7, 8 is the closing list"
            self.app.say("Nothing is open here" if state.phase else first)
        else:
            self._go_through(walk)

    def action_last_walk(self) -> None:
        """The last walk by its name; where there is none, why."""
        state = self.state
        walk = walks.last(state, self.app.sprint.t)
        if walk is None:
            self.app.say(walks.why_no_last(state))
        else:
            self._go_through(walk)

    @dialog
    def _go_through(self, walk: walks.Walk) -> Dialog:
        """A walk; after the last one, how things stand then."""
        yield walk_screen(walk)
        if walk.is_last:
            still = len(last_walk(self.state))
            words = (
                f"{count(still, 'essential')} still open" if still else "Every essential is closed"
            )
            self.app.say(f"{words}; on with the closing list")

    def offer_last_walk(self) -> bool:
        """After the first upload: the last walk, or on with the list. False where there is none to
        offer."""
        state, t = self.state, self.app.sprint.t
        walk = walks.last_to_offer(state, t)
        if walk is None:
            return False
        steps = last_walk(state)
        items = open_words(state, [step.row for step in steps])
        takes = duration(sum(step.seconds for step in steps))
        choices = [
            ("walk", f"Last walk, worst first: {takes}"),
            ("list", "Go on with the closing list"),
        ]

        def answer(value: str) -> None:
            if value == "walk":
                self.action_last_walk()

        spare = duration(spare_seconds(state, t))
        prompt = f"The first upload is made. {items}; {spare} left for them."
        self.ask(AskChoice(prompt, choices), answer)
        return True

    # ---- the next stage ------------------------------------------------------------------------

    def action_stage(self) -> None:
        """The next stage that is not reached yet, with its walk before it."""
        pause = next_pause(self.state)
        if pause is None:
            self.app.say("Every stage is reached")
        else:
            self._offer_stage(*pause)

    def offer_stage_of(self, phase: str) -> bool:
        """Where a phase begins a stage, the walk before it; False where it begins none."""
        pause = pause_before(self.state, phase)
        if pause is not None:
            self._offer_stage(*pause)
        return pause is not None

    @dialog
    def _offer_stage(self, passed: Stage, reached: Stage) -> Dialog:
        """A walk through what is open of `passed`, or on without one."""
        state = self.state
        walk = walks.before(state, passed, reached)
        if not walk.keys:
            self.app.do(ReachStage(reached))
            return
        rows = [state.by_key[key] for key in walk.keys]
        takes = duration(max(sum(row.item.confirm_s for row in rows), 60.0))
        choices = [
            ("walk", f"Walk through them (about {takes})"),
            ("reach", f"Start {_named(reached)}"),
            ("stay", f"Stay on {_named(passed)}"),
        ]
        prompt = f"Before {_named(reached)}: {open_words(state, rows)}."
        answer = yield AskChoice(prompt, choices)
        to_its_end = (yield walk_screen(walk)) if answer == "walk" else None
        if answer == "reach" or to_its_end:
            self.app.do(ReachStage(reached))
        elif answer == "walk":
            self.app.say(f"Walk stopped, {_named(reached)} not started (P resumes)")

    # ---- time ----------------------------------------------------------------------------------

    @dialog
    def action_cut_off(self) -> Dialog:
        from coach.sprint.rules.run import CUT_OFF_EXAMPLES, check_cut_off

        def check(text: str) -> str:
            return fault_of(lambda: check_cut_off(text, self.app.sprint.now))

        to = yield AskLine("New cut-off", hint=", ".join(CUT_OFF_EXAMPLES), check=check)
        # Enter alone gives no reason, and the cut-off is moved all the same.
        why = (yield AskLine("Why?")) if to else None
        if why is not None:
            self.app.do(MoveCutOff(to, why))

    def action_forecast(self) -> None:
        """What the forecast is made of; where it has fallen, what each thing dropped would buy."""
        made = self.app.sprint.forecast
        if made is None:
            self.app.say("The first forecast is not made yet")
            return
        says, choices, options = [made.why()], [("leave", "drop nothing")], {}
        if made.proposal is not None:
            chosen = made.proposal.chosen
            options = {str(n): option for n, option in enumerate(made.proposal.options)}
            says = [made.proposal.message, *says, *([_OPTIONS_ARE] if options else [])]
            room = room_of_choices(self.size.width)
            choices[:0] = [
                (number, option_columns(option, room, chosen=option in chosen))
                for number, option in options.items()
            ]

        def drop(number: str) -> None:
            if number in options:
                self.app.do(options[number].command)

        self.ask(AskChoice(" ".join(says), choices), drop)

    def action_end(self) -> None:
        """The end, with an order or without; then the debrief."""

        def answer(value: str) -> None:
            if value == LOOK or self.app.do(End(value == ACCEPTED)):
                self._show_debrief()

        if self.state.ended:
            self._show_debrief()
        else:
            self.ask(end_question(self.state), answer)

    def _show_debrief(self) -> None:
        from coach.terminal.screens.debrief import DebriefScreen

        self.app.push_screen(DebriefScreen(self.app.sprint.journal.path))

    # ---- other screens -------------------------------------------------------------------------

    def action_to_draw(self) -> None:
        from coach.terminal.screens.to_draw import ToDrawScreen

        self.app.push_screen(ToDrawScreen())

    def action_parked(self) -> None:
        from coach.terminal.screens.parked import ParkedScreen

        self.app.push_screen(ParkedScreen())

    def action_board(self) -> None:
        from coach.terminal.screens.board import BoardScreen

        self.app.push_screen(BoardScreen())

    def action_journal(self) -> None:
        from coach.terminal.screens.journal import JournalScreen

        self.app.push_screen(JournalScreen())


def walk_screen(walk: walks.Walk) -> Screen[bool]:
    from coach.terminal.screens.walk import WalkScreen

    return WalkScreen(walk)


def calculation_choices(state: State, *, every: bool) -> list[tuple[str, str]]:
    """(key, words) of the calculations to choose from, those saved under a name by their key."""
    return [
        (key, f"{key}   saved, {state.calculations[key].record.verdict}")
        if key.label
        else (key, _calculation_words(state, key))
        for key in on_this_board(state, every=every)
    ]


def _calculation_words(state: State, key: CalculationKey) -> str:
    words, saved = title_of(key), state.calculations.get(key)
    if saved is None:
        return words
    return f"{words}   {'cannot be run again' if saved.stale else 'saved, ' + saved.record.verdict}"


def option_columns(option: Option, width: int, *, chosen: bool = False) -> str:
    """What to drop, the minutes it buys, the chance then and its points, in columns that every
    option of a list shares; words are cut before numbers. chosen: it is of those to drop."""
    mark = "* " if chosen else "  "
    bought, then = duration(max(option.seconds, 60.0)), in_ten(option.chance)
    if width < 56:
        then = in_ten(min(max(option.chance, 0.05), 0.94))  # the ends of the scale have no room
        tail = f"{right(bought, 7)}{right(then, 8)}{right(f'{option.points}p', 4)}"
    else:
        points = count(option.points, "point") if option.points else "no points"
        tail = f"{right(bought, 11)}{right(then, 14)}{right(points, 11)}"
    return f"{mark}{fit(option.title, max(width - 2 - len(tail), 1))}{tail}"


def _named(stage: Stage) -> str:
    return f"the {stage}" if stage in (Stage.SCHEMATIC, Stage.FILES) else str(stage)


def open_words(state: State, rows: Sequence[Row]) -> str:
    """How many essentials are open in all phases, and how many of them are skipped."""
    behind = {row.key for row in skipped(state)}
    left = sum(row.key in behind for row in rows)
    words = f"{count(len(rows), 'essential')} {are(len(rows))} still open"
    return words if len(rows) == 1 else f"{words} in all phases, {left or 'none'} of them skipped"
