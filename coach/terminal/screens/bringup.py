"""The bring-up sheet at the bench: the steps in order, one key to enter what the meter shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from coach.bringup.planning import sheet_of
from coach.bringup.printing import html_of, text_of, write_sheet
from coach.bringup.readings import (
    SEEN_TO,
    apart_from,
    asked_once,
    before_power,
    command_of,
    judged,
    of_others,
)
from coach.bringup.sheet import BOARDS, Sheet, Step
from coach.sprint.commands import Command, WithdrawMeasurement
from coach.sprint.events.afterwards import AS_EXPECTED
from coach.sprint.rules.afterwards import board_number, measured
from coach.sprint.session import Session
from coach.sprint.state import State
from coach.terminal.actions import BACK, HELP, Action, bindings
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    fit,
    hanging,
    line,
    spread_out,
    width_of,
)
from coach.terminal.screens.painted import copy_out
from coach.terminal.screens.prompts import AskLine, fault_of
from coach.terminal.screens.recorded_sprint import RecordedSprintScreen
from coach.terminal.widgets.line_view import Lines
from phases.kit.grammar import count
from phases.kit.refusals import Refusal

ACTIONS = (
    Action("reading", "enter", "reading", "Enter what the meter shows, or words as in dark", 1),
    Action("as_expected", "o", "as expected", "Where the answer is words: it is as expected", 2),
    Action("board(1)", "right_square_bracket", "next board", "The next board of the sheet", 3),
    Action("board(-1)", "left_square_bracket", "board before", "The board before"),
    Action("delete", "x", "delete", "Delete the reading under the cursor: it was a mistake", 4),
    Action("another", "b", "another board", "Go to a board by its number", 6),
    Action("html", "h", "HTML", "Write the sheet as one HTML file beside the journal", 7),
    Action("copy", "c", "copy", "Copy the sheet out, to the clipboard and beside the journal", 8),
    BACK,
    Action("leave", "q", "leave", "Leave the coach", 5),
    HELP,
)

CAUTIONS = "cautions"
"""The key of the first line, below which is what to heed before anything else."""

_WINDOW, _READING = 22, 12
"""Cells of the two columns on a screen that is wide enough for both."""

_WIDE, _WIDEST = 72, 116
_MARKS = {"inside": ("✓", "done"), "outside": ("!", "due"), "noted": ("·", "plain")}


class BringupScreen(RecordedSprintScreen):
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
        """Boards of which it was asked what became of a part whose calculation failed."""

    def on_mount(self) -> None:
        try:
            self.sprint_read = self.look()
            self.sheet = sheet_of(self.sprint_read)
        except Refusal as refusal:
            self._fault = str(refusal)
        if self.sheet and any(on == self.board for on, _ in self.sheet.readings):
            self.call_after_refresh(lambda: self._go_to(self._next_open()))

    @property
    def boards(self) -> tuple[str, ...]:
        return self.sheet.columns(self._wanted) if self.sheet else self._wanted

    # ---- what it shows -------------------------------------------------------------------------

    def title_lines(self, width: int) -> list[Line]:
        if self.sheet is None:
            return [line(Span(" Bring-up", "title"))]
        return bringup_title(self.sheet, self.board, self.boards, width)

    def body_lines(self, width: int) -> list[Line]:
        if self.sheet is None:
            return _part(self._fault, width, "due", indent=1)
        return bringup_lines(self.sheet, self.board, self._at, width - 1)

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """What is under the cursor is unfolded, and all of it brought into sight."""
        if event.key != self._at:
            self._at = event.key
            self.repaint()
        self._into_sight()

    def _into_sight(self) -> None:
        rows, lines = self.rows, self.rows.lines
        if self._at == CAUTIONS:
            rows.scroll_home(animate=False)
            return
        at = next((n for n, one in enumerate(lines) if one.key == self._at), 0)
        end, height, top = _end(lines, at), max(rows.size.height, 1), int(rows.scroll_offset.y)
        if end - top > height:
            top = min(end - height, at)
        rows.scroll_to(y=min(top, at), animate=False, force=True)

    # ---- readings ------------------------------------------------------------------------------

    @property
    def step(self) -> Step | None:
        return step_of(self.sheet, self.rows.key) if self.sheet else None

    def action_reading(self) -> None:
        step = self.step
        if step is None:
            self._go_to(self._next_open())
        elif self._may_write():
            words = () if step.expected.unit else (AS_EXPECTED,)
            question = AskLine(
                f"Board {self.board}, {step.title}",
                hint=f"Expected: {step.expects}",
                offers=SEEN_TO if step.forbids_power else words,
                check=lambda text: self._refused(step, text),
            )
            self.ask(question, lambda text: self._measure(step, text))

    def _refused(self, step: Step, text: str) -> str:
        """The sentence a reading would be refused with, while it is typed; else empty."""
        return fault_of(lambda: measured(command_of(step, self.board, text)))

    def action_as_expected(self) -> None:
        step = self.step
        if step is None or not self._may_write():
            return
        if step.forbids_power:
            self.action_reading()  # which of the two it is has to be said
        elif step.expected.unit and step.expected.judged:
            self.app.say("Enter a number: what does the meter show?", "due")
        else:
            self._measure(step, AS_EXPECTED)

    def _measure(self, step: Step, text: str) -> None:
        board = self.board
        if not self._do(command_of(step, board, text)) or self.sheet is None:
            return
        reading = self.sheet.readings[board, step.id]
        told, role = judged(self.sheet, reading)
        doubt = step.expected.doubt(text)
        early = "" if board in self._asked else asked_once(self.sheet, step, board)
        self._asked |= {board} if early else set()
        words = " ".join(filter(None, (told, doubt, early)))
        self.app.say(words, "due" if doubt or early else role)
        if reading.verdict != "outside" and self.sheet.answered(step, board):
            # What is wrong or still wanted is seen to before the next step.
            ids = [one.id for one in self.sheet.steps]
            self._go_to(step_key(self.sheet.steps[min(ids.index(step.id) + 1, len(ids) - 1)]))

    def action_delete(self) -> None:
        step = self.step
        if self.sheet and step and self._may_write():
            if (self.board, step.id) not in self.sheet.readings:
                self.app.say(f"No reading here of board {self.board}")
            elif self._do(WithdrawMeasurement(self.board, step.id)):
                self.app.say("Reading deleted")

    def _may_write(self) -> bool:
        """Whether the sprint has ended; says so where it goes on."""
        ended = self.sheet is not None and self.sheet.ended
        if self.sheet and not ended:
            resume = f"coach resume {self.path}"
            self.app.say(f"The sprint goes on; readings are entered after its end: {resume}", "due")
        return ended

    def _do(self, command: Command) -> bool:
        """Writes it down; the readings of the sheet are those of the journal then."""

        def done(session: Session) -> State:
            session.do(command)
            return session.state

        state = self.with_session(done)
        if state and self.sheet:
            self.sheet = replace(self.sheet, readings=state.measured)
        return state is not None

    # ---- moving --------------------------------------------------------------------------------

    def _go_to(self, key: str) -> None:
        self._at = key or self._at
        self.repaint()
        self.rows.put_cursor(self._at)
        self._into_sight()

    def _next_open(self) -> str:
        """The first step that this board has no reading of."""
        sheet = self.sheet
        steps = list(sheet.steps) if sheet else []
        left = [one for one in steps if sheet and not sheet.answered(one, self.board)]
        return next((step_key(one) for one in (*left, *steps)), "")

    def action_board(self, by: int) -> None:
        boards = self.boards
        at = boards.index(self.board) if self.board in boards else 0
        self._take_board(boards[(at + by) % len(boards)])

    def action_another(self) -> None:
        question = AskLine(
            "Which board?",
            hint="Number written on the board",
            check=lambda text: fault_of(lambda: board_number(text)),
        )
        self.ask(question, self._take_board)

    def _take_board(self, board: str) -> None:
        self.board = board_number(board)
        if self.board not in self.boards:
            self._wanted = (*self._wanted, self.board)
        self.app.say(f"Board {self.board}")
        self._into_sight()

    # ---- taking it along -----------------------------------------------------------------------

    def action_copy(self) -> None:
        if self.sheet:
            copy_out(self.app, text_of(self.sheet, self._wanted), "bringup", self.path)

    def action_html(self) -> None:
        sheet, wanted = self.sheet, self._wanted
        if sheet:
            self.app.say("Writing the sheet", "quiet")
            made = lambda: html_of(sheet, wanted)  # noqa: E731
            self.write_beside("The sheet", "bringup.html", made, write_sheet)


# ---- its lines -------------------------------------------------------------------------------


def step_key(step: Step) -> str:
    return f"step/{step.id}"


def step_of(sheet: Sheet, key: str) -> Step | None:
    """The step of a line; None on a line of something else."""
    return sheet.by_id.get(key.removeprefix("step/")) if key.startswith("step/") else None


def bringup_title(sheet: Sheet, board: str, boards: Sequence[str], width: int) -> list[Line]:
    """The board, its number among those of the sheet, and how far it is."""
    done = sum(sheet.answered(step, board) for step in sheet.steps)
    outside = [on for (on, _), one in sheet.readings.items() if one.verdict == "outside"]
    wrong = f", {outside.count(board)} outside" if board in outside else ""
    far = (Span(f"board {board}", "next"), Span(f" {done} of {len(sheet.steps)}{wrong} ", "quiet"))
    found = [spread_out((Span(f" Bring-up: {sheet.title}", "title"),), far, width)]
    if width >= _WIDE:
        listed = "  ".join(f"[{one}]" if one == board else one for one in boards)
        found.append(line(Span(f" boards  {listed}", "quiet")))
    if not sheet.ended:
        said = "The sprint goes on: to look at and to print, nothing is entered yet"
        found += _part(said, width, "doubt", indent=1)
    return found


def bringup_lines(sheet: Sheet, board: str, at: str, width: int) -> list[Line]:
    """Every step; at: the key of the line under the cursor, which is unfolded."""
    cautions = (Span(f"{count(len(sheet.cautions), 'caution')} ", "quiet"),)
    found = [spread_out((Span(" Before anything else", "due"),), cautions, width, CAUTIONS)]
    if at in (CAUTIONS, ""):
        for caution in (*sheet.cautions, sheet.last_word):
            found += hanging((Span("   - "),), caution, width - 6, 8)
    for section, steps in sheet.sections:
        found += [BLANK, line(Span(f" {cut(section.title, width - 2)}", "title"))]
        found += _part(before_power(sheet, section, (board,)), width, "due", indent=1)
        found += _part(section.note, width, "quiet", indent=1)
        for step in steps:
            found.append(_step(sheet, step, board, width))
            found += _unfolded(sheet, step, board, width) if at == step_key(step) else []
    for title, role, said in (
        ("Measured at other points", "title", sheet.others),
        ("Damaged", "due", list(sheet.faults)),
    ):
        found += [BLANK, line(Span(f" {title}", role))] if said else []
        for one in said:
            found += _part(one, width)
    return found


def _step(sheet: Sheet, step: Step, board: str, width: int) -> Line:
    reading = sheet.readings.get((board, step.id))
    mark, role = _MARKS[reading.verdict] if reading else (" ", "plain")
    if reading and reading.verdict == "inside" and apart_from(sheet, reading):
        mark, role = "?", "due"
    if reading and not sheet.answered(step, board):
        mark, role = "-", "due"
    window = step.expected.window or step.expected.words
    said = reading.text if reading else ""
    left = (Span(f" {mark} ", role), Span(step.title, role))
    if width < _WIDE:
        shown = Span(f" {cut(said or window, 16)} ", role if reading else "quiet")
        return spread_out(left, (shown,), width, step_key(step))
    room = _WINDOW if width < 100 else _WINDOW + 14
    columns = [Span(f" {fit(window, room)} ", "quiet"), Span(fit(said, _READING), role)]
    if width >= _WIDEST:
        words = ", ".join(f"{one.board}: {one.text}" for one in of_others(sheet, step.id, board))
        columns.append(Span(f" {fit(words, (width - _WIDEST) // 2 + 20)}", "quiet"))
    return spread_out(left, columns, width, step_key(step))


def _unfolded(sheet: Sheet, step: Step, board: str, width: int) -> list[Line]:
    reading = sheet.readings.get((board, step.id))
    outside = reading is not None and reading.verdict == "outside"
    remark = reading is not None and not sheet.answered(step, board)
    others = (
        f"board {one.board} read {one.text}, {one.verdict}"
        for one in of_others(sheet, step.id, board)
    )
    said = (
        (f"look first at: {step.first}" if outside and step.first else "", "due"),
        (f"{reading.text}: {step.verdict(reading)}" if reading and remark else "", "due"),
        (step.how, "plain"),
        (f"caution: {step.caution}" if step.caution else "", "due"),
        (f"expect {step.expects}", "next"),
        (f"missing: {step.missing}" if step.missing else "", "doubt"),
        (f"{step.basis}: {step.why}" if step.why else "", "quiet"),
        (f"with: {step.tool}", "quiet"),
        ("; ".join(others), "quiet"),
    )
    return [one for text, role in said for one in _part(text, width, role)]


def _part(text: str, width: int, role: str = "plain", indent: int = 5) -> list[Line]:
    """A sentence in as many lines as it takes; none for nothing."""
    return hanging((Span(" " * indent),), text, width - indent - 1, 8, role=role)


def _end(lines: Sequence[Line], at: int) -> int:
    """The line after the one at `at` and what below it belongs to it."""
    after = range(at + 1, len(lines))
    apart = (n for n in after if lines[n].key or not width_of(lines[n].text))
    return next(apart, len(lines))
