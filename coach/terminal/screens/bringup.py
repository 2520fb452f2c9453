"""The bring-up sheet at the bench: the steps in order, one key to enter what the meter shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from coach.debrief.bringup.bare_numbers import other_way
from coach.debrief.bringup.figures import expected_words, typical_words
from coach.debrief.bringup.judging import AS_EXPECTED, SEEN_TO, command_of, judged, settles
from coach.debrief.bringup.planning import readings_of, sheet_of
from coach.debrief.bringup.power import asked_once
from coach.debrief.bringup.printing import BOARDS, text_of
from coach.debrief.bringup.sheet import Sheet, Step
from coach.sprint.clock import SystemClock
from coach.sprint.commands import Command, WithdrawMeasurement
from coach.sprint.past.read_sprint import FORGED
from coach.sprint.rules import decide
from coach.sprint.rules.after import board_number
from coach.sprint.rules.asked import Asked
from coach.sprint.session import Session
from coach.sprint.state import State
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.bringup_lines import (
    CAUTIONS,
    answered,
    bringup_lines,
    bringup_title,
    step_key,
    step_of,
    unfolded_height,
)
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.screens.ask import AskLine
from coach.terminal.screens.copying import copy_out
from coach.terminal.screens.one_journal import OneJournal
from coach.terminal.screens.one_list import BACK, HELP
from coach.terminal.widgets.lines import Lines
from phases.kit.refusals import Refusal

ACTIONS = (
    Action("reading", "enter", "reading", "Enter what the meter shows, or words as in dark", 1),
    Action("as_expected", "o", "as expected", "Where the answer is words: it is as expected", 2),
    Action("board(1)", "right_square_bracket", "next board", "The next board of the sheet", 3),
    Action("board(-1)", "left_square_bracket", "board before", "The board before"),
    Action("take_back", "x", "take back", "The reading under the cursor was a mistake", 4),
    Action("another", "b", "another board", "Go to a board by its number", 6),
    Action("html", "h", "HTML", "Write the sheet as one HTML file beside the journal", 7),
    Action("copy", "c", "copy", "Copy the sheet out, to the clipboard and beside the journal", 8),
    BACK,
    Action("leave", "q", "leave", "Leave the coach", 5),
    HELP,
)


class BringupScreen(OneJournal):
    """path: of the journal. boards: the numbers of the boards to begin with."""

    NAME = "bring-up"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(ACTIONS)]

    def __init__(self, path: Path, boards: Sequence[str] = BOARDS) -> None:
        super().__init__(path)
        self.sheet: Sheet | None = None
        self._fault = ""
        self._wanted = tuple(boards)
        self.board = self._wanted[0]
        self._at = CAUTIONS
        self._asked: set[str] = set()
        """Boards of which it was asked what became of a part that failed on paper."""

    # ---- the sheet -----------------------------------------------------------------------------

    def on_mount(self) -> None:
        self._tell()
        super().on_mount()
        if self.sheet is not None and any(on == self.board for on, _ in self.sheet.readings):
            self.call_after_refresh(lambda: self._go_to(self._next_open()))

    def _tell(self) -> None:
        try:
            self.sprint_read = self.look()
            self.sheet = sheet_of(self.sprint_read)
        except Refusal as refusal:
            self._fault = str(refusal)
        except FORGED as fault:
            self._fault = f"No sheet can be made of this journal ({type(fault).__name__})"

    @property
    def boards(self) -> tuple[str, ...]:
        return self.sheet.columns(self._wanted) if self.sheet is not None else self._wanted

    # ---- what it shows -------------------------------------------------------------------------

    def title_lines(self, width: int) -> list[Line]:
        if self.sheet is None:
            return [line(Span(" Bring-up", "title"))]
        return bringup_title(self.sheet, self.board, self.boards, width)

    def body_lines(self, width: int) -> list[Line]:
        if self.sheet is None:
            return [line(Span(f" {part}", "due")) for part in wrapped(self._fault, width - 2, 6)]
        return bringup_lines(self.sheet, self.board, self._at, width - 1)

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """What is under the cursor is unfolded, and all of it brought into sight."""
        if event.key != self._at:
            self._at = event.key
            self.repaint()
        self._into_sight()

    def _into_sight(self) -> None:
        rows, lines = self.rows, self.rows.lines
        at = next((n for n, one in enumerate(lines) if one.key == self._at), 0)
        if self._at == CAUTIONS:
            rows.scroll_home(animate=False)
            return
        height, top = max(rows.size.height, 1), int(rows.scroll_offset.y)
        end = at + unfolded_height(lines, at)
        if end - top > height:
            top = min(end - height, at)
        rows.scroll_to(y=min(top, at), animate=False)

    # ---- readings ------------------------------------------------------------------------------

    @property
    def step(self) -> Step | None:
        return step_of(self.sheet, self.rows.key) if self.sheet is not None else None

    def action_reading(self) -> None:
        step = self.step
        if step is None:
            self._go_to(self._next_open())
        elif self._may_write():
            self.ask(self._question(step), lambda text: self._measure(step, text))

    def _question(self, step: Step) -> AskLine:
        typical = typical_words(step.expected)
        usual = f", typical {typical}" if typical else ""
        words = not step.expected.unit
        return AskLine(
            f"Board {self.board}, {step.title}",
            hint=f"Expected: {expected_words(step.expected)}{usual}",
            offers=SEEN_TO if step.forbids_power else (AS_EXPECTED,) if words else (),
            check=lambda text: self._refused(step, text),
        )  # fmt: skip

    def _refused(self, step: Step, text: str) -> str:
        """The sentence a reading would be refused with, while it is typed; else empty."""
        assert self.sprint_read is not None
        asked = Asked(self.sprint_read.state.t, SystemClock().wall(), ())
        try:
            decide(self.sprint_read.state, command_of(step, self.board, text), asked)
        except Refusal as refusal:
            return str(refusal)
        return ""

    def action_as_expected(self) -> None:
        step = self.step
        if step is None or not self._may_write():
            return
        if step.forbids_power:
            self.action_reading()  # which of the two it is has to be said
        elif step.expected.unit and step.expected.judged:
            self.app.say("Here a number is wanted: what does the meter show?", "due")
        else:
            self._measure(step, AS_EXPECTED)

    def _measure(self, step: Step, text: str) -> None:
        board = self.board
        if not self._do(command_of(step, board, text)) or self.sheet is None:
            return
        reading = self.sheet.readings[board, step.id]
        told = judged(step, reading, self.sheet.readings)
        if reading.verdict != "outside" and settles(step, reading):
            # What is wrong or still wanted is seen to before the next step.
            self._go_to(self._after(step))
        doubt = other_way(text, step.expected)
        early = "" if board in self._asked else asked_once(self.sheet, step, board)
        if early:
            self._asked.add(board)
        words = " ".join(filter(None, (told.text, doubt, early)))
        self.app.say(words, "due" if doubt or early else told.role)

    def action_take_back(self) -> None:
        step = self.step
        if step is not None and self._may_write():
            if self.sheet and (self.board, step.id) not in self.sheet.readings:
                self.app.say(f"Nothing was measured here on board {self.board}")
            elif self._do(WithdrawMeasurement(self.board, step.id)):
                self.app.say("Taken back")

    def _may_write(self) -> bool:
        """Whether the sprint has ended; says so where it goes on."""
        if self.sheet is None:
            return False
        if not self.sheet.ended:
            self.app.say(
                f"The sprint goes on; readings are entered after its end: coach resume {self.path}",
                "due",
            )
        return self.sheet.ended

    def _do(self, command: Command) -> bool:
        """Writes it down; the readings of the sheet are those of the journal then."""

        def done(session: Session) -> State:
            session.do(command)
            return session.state

        state = self.with_session(done)
        if state is None:
            return False
        assert self.sheet is not None and self.sprint_read is not None
        self.sheet = replace(self.sheet, readings=readings_of(state))
        self.sprint_read = replace(self.sprint_read, state=state)
        return True

    # ---- moving --------------------------------------------------------------------------------

    def _go_to(self, key: str) -> None:
        if not key:
            return
        self._at = key
        self.repaint()
        self.rows.put_cursor(key)
        self._into_sight()

    def _after(self, step: Step) -> str:
        """The step after this one; the last one stays."""
        assert self.sheet is not None
        steps = list(self.sheet.steps)
        at = next(n for n, one in enumerate(steps) if one.id == step.id)
        return step_key(steps[min(at + 1, len(steps) - 1)])

    def _next_open(self) -> str:
        """The first step that this board has no reading of."""
        if self.sheet is None or not self.sheet.steps:
            return ""
        left = [one for one in self.sheet.steps if not answered(self.sheet, one, self.board)]
        return step_key((left or list(self.sheet.steps))[0])

    def action_board(self, by: int) -> None:
        boards = self.boards
        at = boards.index(self.board) if self.board in boards else 0
        self._take_board(boards[(at + by) % len(boards)])

    def action_another(self) -> None:
        self.ask(AskLine("Which board?", hint="Its number, as it is written on it",
                         check=_no_board), self._take_board)  # fmt: skip

    def _take_board(self, board: str) -> None:
        self.board = board_number(board)
        if self.board not in self.boards:
            self._wanted = (*self._wanted, self.board)
        self.app.say(f"Board {self.board}")
        self._into_sight()

    # ---- taking it along -----------------------------------------------------------------------

    def action_copy(self) -> None:
        if self.sheet is not None:
            copy_out(self.app, text_of(self.sheet, self._wanted), "bringup", self.path)

    def action_html(self) -> None:
        if self.sheet is not None:
            from coach.debrief.bringup.page import html_of, write_page

            sheet, wanted = self.sheet, self._wanted
            self.app.say("Writing the sheet", "quiet")
            self.write_beside(
                "The sheet", "bringup.html", lambda: html_of(sheet, wanted), write_page
            )


def _no_board(text: str) -> str:
    try:
        board_number(text)
    except Refusal as refusal:
        return str(refusal)
    return ""
