"""The debrief, of a running sprint too: one page, its parts, and what is noted afterwards."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType

from coach.history.ended import passed_over_words
from coach.history.read_sprint import SprintRead, read_sprint
from coach.report.report import report_of, write_report
from coach.report.sections import Report
from coach.sprint.brief.house_rules import house_file
from coach.sprint.commands import End, NoteFinding, WithdrawFinding
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.house_making import defaults_of, make_item
from coach.sprint.journal.sessions_folder import sessions_folder
from coach.sprint.rules.afterwards import unmade_finding
from coach.terminal.actions import BACK, HELP, Action, bindings
from coach.terminal.drawing.debrief_lines import (
    ALL,
    FINDINGS,
    PARTS,
    about,
    debrief_text,
    debrief_title,
    page_lines,
    part_lines,
    part_of,
)
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.glyphs import shown
from coach.terminal.screens.debrief_questions import (
    about_finding,
    about_house_rule,
    answers_to,
    finding_of,
)
from coach.terminal.screens.painted import Dialog, copy_out, dialog
from coach.terminal.screens.prompts import ACCEPTED, LOOK, end_question
from coach.terminal.screens.recorded_sprint import RecordedSprintScreen
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

END = Action("end", "E", "end", "End the sprint, with the order accepted or without one", 1)
AFTERWARDS = (
    Action("note", "f", "late finding", "Note a fault that was found after the sprint", 2),
    Action("bringup", "b", "bring-up", "The sheet for the first power-on, and its readings", 4),
)
OF_A_FINDING = (
    Action("make", "i", "house rule", "Make an item of your own of a late finding", 3),
    Action("take_back", "x", "take back", "The finding under the cursor was a mistake", 8),
)
ACTIONS = (
    Action("open", "enter", "more", "The part of the line under the cursor; what is folded", 1),
    *AFTERWARDS,
    *OF_A_FINDING,
    Action("all", "a", "all", "Every part, nothing folded; or the first page again", 3),
    Action("write('.html')", "h", "HTML", "Write it as one HTML file beside the journal", 5),
    Action("write('.md')", "k", "Markdown", "Write it as Markdown beside the journal", 6),
    Action("copy", "c", "copy", "Copy all this out, to the clipboard and beside the journal", 7),
    BACK,
    Action("leave", "q", "leave", "Leave the coach; a sprint that is running goes on", 9),
    HELP,
)
_LOW = 20
"""Rows below which there is none for what kind of run it was."""

_WIDEST = 120
"""Cells beyond which a line is hard to follow back."""


class DebriefScreen(RecordedSprintScreen):
    """path: of the journal. note: asks for a late finding at once; as_item: makes a house rule of
    that finding at once. rules: the house rules to write to, by default the person's. passed_over:
    newer journals that were not meant when this one was taken."""

    NAME = "debrief"
    ACTIONS: ClassVar[tuple[Action, ...]] = (END, *ACTIONS)
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings((END, *ACTIONS)),
        *(Binding(part.key, f"part('{part.key}')", show=False) for part in PARTS),
    ]

    def __init__(
        self,
        path: Path,
        *,
        note: bool = False,
        as_item: int = 0,
        rules: Path | None = None,
        accept_edit: bool = False,
        passed_over: int = 0,
    ) -> None:
        super().__init__(path, accept_edit=accept_edit)
        self.report: Report | None = None
        self.part = ""
        """What is shown: "" for the first page, a part by its digit, or ALL."""
        self.opened: frozenset[str] = frozenset()
        self._passed_over = passed_over
        self._rules = rules
        self._fault = ""
        self._draft = NoteFinding("")
        self._then: Callable[[], object] | None = None
        """What is done once the report is there."""
        if note or as_item:
            self._then = self.action_note if note else partial(self._make, as_item)
        self._told_of = 0
        self._drawn: tuple[object, list[Line]] = (None, [])

    # ---- the report ----------------------------------------------------------------------------

    def on_mount(self) -> None:
        self.tell()

    def tell(self) -> None:
        """Makes the report. Of the sprint that is open nothing need be read."""
        self._told_of = len(self.live.history) if self.live else 0
        self._tell(self.look() if self.live else None)

    @work(thread=True, exclusive=True, exit_on_error=False, group="debrief")
    def _tell(self, read: SprintRead | None) -> None:
        try:
            read = read or read_sprint(self.path)
            self.call_later(self._told, read, report_of(read), "")
        except Refusal as refusal:
            self.call_later(self._told, None, None, str(refusal))

    def _told(self, read: SprintRead | None, report: Report | None, fault: str) -> None:
        """The report was made, or why there is none."""
        self.sprint_read, self.report, self._fault = read, report, fault
        self.repaint()
        if report is not None and self._then is not None:
            then, self._then = self._then, None
            self.call_after_refresh(then)

    def repaint(self) -> None:
        """The report follows what happens in the sprint that is open."""
        if self.live and self._told_of and len(self.live.history) != self._told_of:
            self.tell()
        super().repaint()

    # ---- what it shows -------------------------------------------------------------------------

    def title_lines(self, width: int) -> list[Line]:
        if self.report is not None:
            kind = self.report.kind if self.size.height >= _LOW else ""
            return debrief_title(replace(self.report, kind=kind), width)
        return [line(Span(" Debrief", "title"))]

    def body_lines(self, width: int) -> list[Line]:
        if self.report is None:
            words, role = (self._fault, "due") if self._fault else ("Reading the journal", "quiet")
            return [line(Span(f" {part}", role)) for part in wrapped(words, width - 2, 6)]
        room = min(width - 1, _WIDEST)  # one for the scroll bar
        rows = self.size.height - len(self.title_lines(width)) - 1  # and one for the keys
        key = (id(self.report), room, rows, self.part, self.opened)
        if self._drawn[0] != key:
            made = (
                part_lines(self.report, self.part, room, self.opened)
                if self.part
                else page_lines(self.report, room, rows)
            )
            self._drawn = (key, made)
        return self._drawn[1]

    def shown_actions(self) -> Sequence[Action]:
        """Before the end, the key that ends it; a house rule is made of a finding."""
        read = self.sprint_read
        if read is not None and not read.state.ended:
            found = [one for one in ACTIONS if one not in (*AFTERWARDS, *OF_A_FINDING)]
            return [END, *found] if self.live else found
        some = read is not None and bool(read.state.findings)
        return [one for one in ACTIONS if some or one not in OF_A_FINDING]

    # ---- moving --------------------------------------------------------------------------------

    def action_all(self) -> None:
        self.action_part("" if self.part == ALL else ALL)

    def action_open(self) -> None:
        """From a line of the page to its part; shows what is folded below a line."""
        key = self.rows.key
        if fold := about(key, "fold"):
            self.opened |= {fold}
            self.repaint()
        elif key and not self.part:
            self.action_part(part_of(key))
            self._go_to(lambda other: other == key)

    def action_back(self) -> None:
        """From a part to the page; from there away."""
        if self.part:
            self.action_part("")
        else:
            super().action_back()

    def action_part(self, part: str) -> None:
        """One part, all of them, or the first page again."""
        self.part = part
        self.repaint()
        self._go_to(bool)

    def _go_to(self, meant: Callable[[str], bool]) -> None:
        """Puts the first line that is meant at the top, so that what is below it is seen."""
        at = next((i for i, one in enumerate(self.rows.lines) if meant(one.key)), -1)
        if at >= 0:
            self.rows.put_cursor(self.rows.lines[at].key)
            # Forced: its scroll bar may not be there yet, of lines that came just now.
            self.rows.scroll_to(y=at, animate=False, force=True)

    # ---- the end, and leaving ------------------------------------------------------------------

    def action_end(self) -> None:
        def answer(value: str) -> None:
            if value != LOOK:
                self.app.do(End(value == ACCEPTED))

        if self.live is not None and not self.live.state.ended:
            self.ask(end_question(self.live.state), answer)

    def action_leave(self) -> None:
        if self.live is not None and not self.live.state.ended:
            self.app.leave()
        else:
            self.app.exit(0)

    # ---- taking it along -----------------------------------------------------------------------

    def action_copy(self) -> None:
        if self.report is not None:
            copy_out(self.app, debrief_text(self.report), "debrief", self.path)

    def action_write(self, ending: str) -> None:
        from coach.report.html import html_of
        from coach.report.markdown import markdown_of

        if (report := self.report) is not None:
            made = partial(html_of if ending == ".html" else markdown_of, report)
            self.app.say("Writing the debrief", "quiet")
            self.write_beside("The debrief", f"debrief{ending}", made, write_report)

    def action_bringup(self) -> None:
        from coach.terminal.screens.bringup import BringupScreen

        self.app.push_screen(BringupScreen(self.path))

    # ---- late findings -------------------------------------------------------------------------

    @dialog
    def action_note(self) -> Dialog:
        """Where it is left, what was answered so far is offered again the next time."""
        read = self._ended()
        if read is None:
            return
        item = about(self.rows.key, "item")
        if item and not self._draft.fault:
            self._draft = NoteFinding("", item)
        when = f"{read.setup.started:%Y-%m-%d %H:%M}"
        of = one_line(f"{read.setup.brief.title}, {when}, {self.path.name}")
        above = [of, *passed_over_words(self._passed_over)]
        answers, whole = yield from answers_to(about_finding(read.state, self._draft, above))
        draft = self._draft = finding_of(self._draft, answers)
        if not whole:
            self.app.say("Nothing was noted" if draft.fault else "")
            return
        done = self.with_session(lambda session: (session.do(draft), max(session.state.findings)))
        if done is not None:
            self._draft = NoteFinding("")
            self.app.say(done[0], "done")
            self._show_findings(done[1])

    def action_take_back(self) -> None:
        finding = self._finding()
        if finding is None:
            return
        says = self.with_session(lambda session: session.do(WithdrawFinding(finding.number)))
        if says is not None:
            self.app.say(shown(says), "done")
            self._show_findings()

    def action_make(self) -> None:
        finding = self._finding(unmade=True)
        if finding is not None:
            self._make(finding.number)

    @dialog
    def _make(self, number: int) -> Dialog:
        read = self._ended()
        if read is None:
            return
        try:
            finding = unmade_finding(read.state, number)
        except Refusal as refusal:
            self.app.say(refusal.what, "due")
            return
        names = {phase.id: phase.name for phase in read.state.setup.phases}
        questions = about_house_rule(finding, defaults_of(read.state, finding), names)
        answers, whole = yield from answers_to(questions)
        if not whole:
            self.app.say("No item was made")
            return
        path = self._rules or house_file(sessions_folder())
        done = self.with_session(lambda session: make_item(session, number, path, answers)[1])
        if done is not None:
            says = f"{done}. It is kept, to be changed there, in {path}"
            self.app.say(shown(one_line(says)), "done")
            self._show_findings(number)

    def _finding(self, *, unmade: bool = False) -> FindingNoted | None:
        """The finding under the cursor, else the only one there is; says where it is neither."""
        read = self._ended()
        if read is None:
            return None
        made = read.state.made_items if unmade else {}
        found = [one for number, one in read.state.findings.items() if number not in made]
        number = about(self.rows.key, "finding")
        under = read.state.findings.get(int(number)) if number else None
        if under is not None:
            return under
        if len(found) == 1:
            return found[0]
        words = "Put the cursor on a finding first: 9" if found else "No finding is noted yet: f"
        self.app.say(words, "due")
        return None

    def _ended(self) -> SprintRead | None:
        """The sprint, if it has ended: before that nothing is found late."""
        read = self.sprint_read
        if read is not None and not read.state.ended:
            self.app.say("Still running; a late finding is noted after the end", "due")
            return None
        return read

    def _show_findings(self, number: int = 0) -> None:
        """The report again, at its findings; the one of that number at the top."""
        self.part = FINDINGS
        if number:
            self._then = partial(self._go_to, lambda key: about(key, "finding") == f"{number}")
        self.tell()
