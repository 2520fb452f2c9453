"""The debrief: parts that one goes to with a key each, and what is noted down afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.message import Message

from coach.debrief.account.data import Account
from coach.history.ended import passed_over_words
from coach.history.read_sprint import FORGED, SprintRead, read_sprint
from coach.sprint.brief.house_making import defaults_of, make_item
from coach.sprint.brief.house_rules import house_file
from coach.sprint.commands import NoteFinding, WithdrawFinding
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.journal.sessions_folder import sessions_folder
from coach.sprint.rules.after import unmade_finding
from coach.sprint.session import Session
from coach.sprint.state import State
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.debrief_lines import (
    FINDINGS,
    PARTS,
    debrief_lines,
    debrief_text,
    debrief_title,
    finding_key,
    finding_of,
    item_of,
    part_of,
)
from coach.terminal.drawing.debrief_parts import heading_key
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.glyphs import shown
from coach.terminal.screens.copying import copy_out
from coach.terminal.screens.debrief_noting import Making, Noting
from coach.terminal.screens.one_journal import OneJournal
from coach.terminal.screens.one_list import BACK, HELP
from phases.kit.refusals import Refusal
from phases.kit.text import line as one_line

T = TypeVar("T")
ACTIONS = (
    Action("unfold", "enter", "more", "All of the part under the cursor, or its short form", 1),
    Action("note", "f", "late finding", "Note a fault that was found after the sprint", 2),
    Action("make", "i", "house rule", "Make an item of your own of a late finding", 3),
    Action("bringup", "b", "bring-up", "The sheet for the first power-on, and its readings", 4),
    Action("html", "h", "HTML", "Write it as one HTML file beside the journal", 4),
    Action("markdown", "k", "Markdown", "Write it as Markdown beside the journal", 5),
    Action("all", "a", "all", "All of every part, or the short form", 6),
    Action("copy", "c", "copy", "Copy all this out, to the clipboard and beside the journal", 7),
    Action("take_back", "x", "take back", "The finding under the cursor was a mistake", 8),
    BACK,
    Action("leave", "q", "leave", "Leave the coach", 9),
    HELP,
)
_LOW = 20
_WIDEST = 120
"""Cells beyond which a line is hard to follow back."""


class DebriefScreen(OneJournal):
    """path: of the journal. note: asks for a late finding at once; as_item: makes a house rule of
    that finding at once. rules: the house rules to write to, by default the person's. passed_over:
    newer journals that were not meant when this one was taken."""

    NAME = "debrief"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS),
        *(Binding(part.key, f"part('{part.key}')", show=False) for part in PARTS),
    ]

    class Told(Message):
        """The account was made, or why there is none."""

        def __init__(self, read: SprintRead | None, account: Account | None, fault: str) -> None:
            super().__init__()
            self.read, self.account, self.fault = read, account, fault

    def __init__(
        self, path: Path, *, note: bool = False, as_item: int = 0, rules: Path | None = None,
        accept_edit: bool = False, passed_over: int = 0,
    ) -> None:  # fmt: skip
        super().__init__(path, accept_edit=accept_edit)
        self._passed_over = passed_over
        self.account: Account | None = None
        self.unfolded: frozenset[str] = frozenset()
        self._rules = rules
        self._fault = ""
        self._asks_at_once = note
        self._makes_at_once = as_item
        self._draft = NoteFinding("")
        self._shows = ""
        self._drawn: tuple[object, list[Line]] = (None, [])

    # ---- the account ---------------------------------------------------------------------------

    def on_mount(self) -> None:
        super().on_mount()
        self.tell()

    def tell(self) -> None:
        """The account anew. Of the sprint that is open nothing need be read."""
        self._tell(self.look() if self.live is not None else None)

    @work(thread=True, exclusive=True, exit_on_error=False, group="debrief")
    def _tell(self, read: SprintRead | None) -> None:
        from coach.debrief.account.telling import account_of

        try:
            read = read or read_sprint(self.path)
            self.post_message(self.Told(read, account_of(read), ""))
        except Refusal as refusal:
            self.post_message(self.Told(None, None, str(refusal)))
        except FORGED as fault:
            says = f"This journal cannot be told ({type(fault).__name__}): coach verify {self.path}"
            self.post_message(self.Told(None, None, says))

    def on_debrief_screen_told(self, event: Told) -> None:
        self.sprint_read, self.account, self._fault = event.read, event.account, event.fault
        self.repaint()
        if event.account is None:
            return
        if self._shows:
            key, self._shows = self._shows, ""
            self.call_after_refresh(self._go_to, key)
        if self._asks_at_once:
            self._asks_at_once = False
            self.action_note()
        elif self._makes_at_once:
            number, self._makes_at_once = self._makes_at_once, 0
            self._make(number)

    # ---- what it shows -------------------------------------------------------------------------

    def title_lines(self, width: int) -> list[Line]:
        if self.account is not None:
            return debrief_title(self.account, width)
        return [line(Span(" Debrief", "title"))]

    def body_lines(self, width: int) -> list[Line]:
        if self.account is None:
            words, role = (self._fault, "due") if self._fault else ("Reading the journal", "quiet")
            return [line(Span(f" {part}", role)) for part in wrapped(words, width - 2, 6)]
        low, room = self.size.height < _LOW, min(width - 1, _WIDEST)  # one for the scroll bar
        key = (id(self.account), room, self.unfolded, low)
        if self._drawn[0] != key:
            self._drawn = (key, debrief_lines(self.account, room, self.unfolded, low=low))
        return self._drawn[1]

    # ---- moving and folding --------------------------------------------------------------------

    def action_part(self, part: str) -> None:
        """Goes to a part; once there, the same key unfolds it."""
        if self.rows.key == heading_key(part):
            self._turn(part)
        self._go_to(heading_key(part))

    def _go_to(self, key: str) -> None:
        """Puts a line at the top, so that what stands below it is seen."""
        at = next((i for i, one in enumerate(self.rows.lines) if one.key == key), -1)
        if at < 0:
            return
        self.rows.put_cursor(key)
        self.rows.scroll_to(y=at, animate=False)

    def action_unfold(self) -> None:
        part = part_of(self.rows.key)
        if part:
            stays = self.rows.key
            self._turn(part)
            if self.rows.key != stays:
                self._go_to(heading_key(part))

    def _turn(self, part: str) -> None:
        self.unfolded ^= {part}
        self.repaint()

    def action_all(self) -> None:
        every = frozenset(part.key for part in PARTS)
        part = part_of(self.rows.key)
        self.unfolded = frozenset() if self.unfolded == every else every
        self.repaint()
        if part:
            self._go_to(heading_key(part))

    # ---- taking it along -----------------------------------------------------------------------

    def action_copy(self) -> None:
        if self.account is not None:
            copy_out(self.app, debrief_text(self.account), "debrief", self.path)

    def action_html(self) -> None:
        from coach.debrief.report.html import html_of

        self._write(html_of, ".html")

    def action_markdown(self) -> None:
        from coach.debrief.report.markdown import markdown_of

        self._write(markdown_of, ".md")

    def _write(self, text_of: Callable[[Account], str], ending: str) -> None:
        from coach.debrief.report.report_file import write_report

        if self.account is not None:
            account = self.account
            self.app.say("Writing the debrief", "quiet")
            self.write_beside(
                "The debrief", f"debrief{ending}", lambda: text_of(account), write_report
            )

    def action_bringup(self) -> None:
        from coach.terminal.screens.bringup import BringupScreen

        self.app.push_screen(BringupScreen(self.path))

    # ---- late findings -------------------------------------------------------------------------

    def action_note(self) -> None:
        read = self._ended()
        if read is not None:
            draft = self._draft
            item = item_of(self.rows.key)
            if item and not draft.fault:
                draft = NoteFinding("", item)
            noting = Noting(self.app.push_screen, read.state, self._note, draft, self._of(read))
            self._noting = noting
            noting.begin()

    def _of(self, read: SprintRead) -> list[str]:
        """Which sprint a finding is of, in lines above the first question."""
        when = f"{read.setup.started:%Y-%m-%d %H:%M}"
        of = one_line(f"{read.setup.brief.title}, {when}, {self.path.name}")
        return [of, *passed_over_words(self._passed_over)]

    def _note(self, command: NoteFinding | None) -> None:
        self._draft = self._noting.draft
        if command is None:
            self.app.say("Nothing was noted" if self._draft.fault else "")
            return

        def noted(session: Session) -> tuple[str, int]:
            return session.do(command), max(session.state.findings)

        done = self.with_session(noted)
        if done is not None:
            self._draft = NoteFinding("")
            self.app.say(done[0], "done")
            self._show_findings(done[1])

    def action_take_back(self) -> None:
        finding = self._finding()
        if finding is None:
            return
        made = self.sprint_read.state.made_items.get(finding.number) if self.sprint_read else None
        says = self.with_session(lambda session: session.do(WithdrawFinding(finding.number)))
        if says is not None:
            if made is not None:
                says = f"{says}; its item {made.item} stays in {made.kept_in}"
            self.app.say(shown(says), "done")
            self._show_findings()

    def action_make(self) -> None:
        finding = self._finding(unmade=True)
        if finding is not None:
            self._make(finding.number)

    def _make(self, number: int) -> None:
        read = self._ended()
        if read is None:
            return
        try:
            self._ask_rule(unmade_finding(read.state, number), read.state)
        except Refusal as refusal:
            self.app.say(refusal.what, "due")

    def _ask_rule(self, finding: FindingNoted, state: State) -> None:
        path = self._rules or house_file(sessions_folder())

        def made(given: Mapping[str, str] | None) -> None:
            if given is None:
                self.app.say("No item was made")
                return
            done = self.with_session(
                lambda session: make_item(session, finding.number, path, given)[1]
            )
            if done is not None:
                says = f"{done}. It is kept, to be changed there, in {path}"
                self.app.say(shown(one_line(says)), "done")
                self._show_findings(finding.number)

        names = {phase.id: phase.name for phase in state.setup.phases}
        defaults = defaults_of(state, finding)
        Making(self.app.push_screen, finding, defaults, names, made).begin()

    def _finding(self, *, unmade: bool = False) -> FindingNoted | None:
        """The finding under the cursor, else the only one there is; says where it is neither."""
        read = self._ended()
        if read is None:
            return None
        made = read.state.made_items if unmade else {}
        found = [one for number, one in read.state.findings.items() if number not in made]
        under = read.state.findings.get(finding_of(self.rows.key))
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
            self.app.say("The sprint goes on; a late finding is noted after its end", "due")
            return None
        return read

    def _show_findings(self, number: int = 0) -> None:
        """The account anew, with all findings; the one of that number at the top."""
        self.unfolded |= {FINDINGS}
        self._shows = finding_key(number) if number else heading_key(FINDINGS)
        self.tell()

    # ---- leaving -------------------------------------------------------------------------------

    def shown_actions(self) -> Sequence[Action]:
        """A house rule is made of a finding: without one its key is not in the line."""
        read = self.sprint_read
        some = read is not None and bool(read.state.findings)
        return [a for a in ACTIONS if some or a.name not in ("make", "take_back")]
