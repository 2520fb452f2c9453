"""The walk: one open item after the other filling the screen, one key each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from coach.sprint.commands import FinishWalk
from coach.sprint.durations import duration
from coach.sprint.gates.forgotten import habit_words
from coach.sprint.gates.walks import Walk, last_step, spare_seconds
from coach.sprint.ledger.assumed_figures import assumed_parts
from coach.sprint.ledger.proof import proof_of
from coach.sprint.state import ASSUMED, REOPENED, Row, State
from coach.terminal.drawing.item_words import evidence_words, own_minutes, severity_role
from coach.terminal.drawing.lines import BLANK, Line, Span, line, paragraph, spread_out, width_of
from coach.terminal.screens.item_screen import ItemScreen
from coach.terminal.screens.painted import ListScreen
from phases.kit.facts import find_fact
from phases.kit.grammar import capital, sentence
from phases.kit.items import ClosingItem, Evidence

# ---- what it shows -----------------------------------------------------------------------------


def walk_title(walk: Walk, state: State, t: float, width: int) -> Line:
    """What is walked; of the last walk, the time there is for it too."""
    tail: tuple[Span, ...] = ()
    if walk.is_last:
        spare = spare_seconds(state, t)
        words = f"{duration(spare)} for it"
        after = ", then the closing list" if width >= 60 else ""
        if spare <= 0:
            words, after = "the closing list first", ": no time left" if width >= 60 else ""
        tail = (Span(f"{words}{after} ", "plain" if spare > 0 else "due"),)
    return spread_out((Span(f" {walk.title}", "quiet"),), tail, width)


def walk_lines(
    walk: Walk, state: State, row: Row, count: tuple[int, int], *, width: int, answer: str
) -> list[Line]:
    """The item, its reason and its evidence so far; in the last walk the quickest honest way
    first. count: (which, of how many)."""
    found = [_head(row, count, width)]
    for words, role, most in _paragraphs(walk, state, row, answer):
        above = [] if role == "title" and row.subject else [BLANK]
        found += [*above, *paragraph(words, width, most, role, indent=2)]
    return found


def _head(row: Row, count: tuple[int, int], width: int) -> Line:
    which = Span(f"  {count[0]} of {count[1]}", "title"), Span(f"   {row.item.stage}", "quiet")
    time, severity = duration(60 * own_minutes(row.item)), str(row.item.severity)
    later, lead = (" to add", "if missed: ") if width >= 60 else ("", "")
    words = f"takes {time}" if isinstance(row.item, ClosingItem) else f"{time}{later}"
    cost = Span(severity, severity_role(severity)), Span(f", {words}  ", "quiet")
    return spread_out(which, (Span(lead, "quiet"), *cost), width)


def _paragraphs(walk: Walk, state: State, row: Row, answer: str) -> Iterator[tuple[str, str, int]]:
    """(words, role, most lines) of each, from the top."""
    item, was = row.item, row.state.was if row.state else None
    if row.applies is None and row.question:
        yield find_fact(row.question).question, "next", 3
    if row.subject:
        yield f"{row.title} ({row.subject})", "quiet", 2
    yield item.statement, "title", 4
    if habit := habit_words(state, row):
        yield capital(sentence(habit)), "doubt", 2
    if walk.is_last:
        yield sentence(last_step(state, row).way), "next", 3
    yield f"If missed: {item.why[:1].lower()}{item.why[1:]}", "plain", 3
    if item.cites and not walk.is_last:
        proof = proof_of(state, row)
        if compare := proof.message if proof.calculations else answer:
            yield compare, "next", 3
    for part in assumed_parts(state, row)[:1]:
        says = f"Nobody gave these figures of {part.part}: {part.listed}."
        yield says, "doubt", 5
        yield "Is your part no worse? Type what its data sheet says where it is.", "next", 2
    if row.status == REOPENED:
        before = f". Before: {was.evidence} {was.page}".rstrip() if was else ""
        yield f"Reopened: {evidence_words(row)}{before}", "doubt", 3
    yield f"Source: {item.source}", "quiet", 2


def walk_keys(row: Row) -> list[tuple[str, str]]:
    """(key, label) of what can be said about this item."""
    keys: list[tuple[str, str]] = []
    if row.applies is None:
        keys += [("y", "it is there"), ("n", "it is not")]
    else:
        if row.by_calculation:
            keys.append(("c", "calculate"))
        elif row.status == ASSUMED:
            keys += [("y", "no worse"), ("c", "type it")]
        else:
            keys.append(("y", "still valid" if row.doubtful else "yes"))
        if row.item.asks is not None:
            keys.append(("n", "not here"))
    if Evidence.DATA_SHEET in row.item.met_by:
        keys.append(("r", "data sheet"))
    return [*keys, ("space", "skip"), ("w", "waive"), ("esc", "back")]


def key_lines(keys: Sequence[tuple[str, str]], width: int) -> list[Line]:
    """The keys with their labels, on as many lines as they need."""
    rows: list[list[Span]] = [[]]
    used = 0
    for key, label in keys:
        size = width_of(key) + width_of(label) + 3
        if used and used + size > width:
            rows.append([])
            used = 0
        rows[-1] += [Span(f"  {key} ", "key"), Span(label, "quiet")]
        used += size
    return [line(*spans) for spans in rows]


# ---- the screen --------------------------------------------------------------------------------


class WalkScreen(ItemScreen[bool], ListScreen[bool]):
    """Goes through a walk, whichever it is. Dismissed with whether its end was reached."""

    NAME = "walk"
    ACTIONS = ()
    CURSOR = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y,m,enter", "yes", "yes", show=False),
        Binding("n", "not_here", "not here", show=False),
        Binding("space,right", "later", "skip", show=False),
        Binding("left", "back", "the one before", show=False),
        Binding("w", "waive", "waive", show=False),
        Binding("r", "sheet", "data sheet", show=False),
        Binding("c", "calculate", "calculate", show=False),
        Binding("u", "undo", "undo", show=False),
        Binding("f", "further", "more checks", show=False),
        Binding("question_mark", "help", "help", show=False),
        Binding("escape,q", "leave", "back", show=False),
    ]

    def __init__(self, walk: Walk) -> None:
        super().__init__()
        self.walk = walk
        self.keys = list(walk.keys)
        self.folded = list(walk.further)
        self.at = 0
        self._finished = False

    def on_mount(self) -> None:
        self.app.status = ("", "plain")  # what was said before the walk is of no use in it

    def on_screen_resume(self) -> None:
        self._on(0)

    @property
    def row(self) -> Row | None:
        return self.state.by_key.get(self.keys[self.at]) if self.at < len(self.keys) else None

    def row_for_key(self) -> Row | None:
        return self.row

    def when_closed(self, row: Row) -> Callable[[], None]:
        """On to the next one; where a page was asked, coming back has gone on already."""
        return lambda: self._on(1) if self.row is not None and self.row.key == row.key else None

    def paint(self, width: int) -> None:
        if self.row is not None:
            super().paint(width)

    def title_lines(self, width: int) -> list[Line]:
        return [walk_title(self.walk, self.state, self.app.sprint.t, width)]

    def body_lines(self, width: int) -> list[Line]:
        assert self.row is not None
        count, answer = (self.at + 1, len(self.keys)), self.app.answers.of_row(self.row)
        return walk_lines(self.walk, self.state, self.row, count, width=width, answer=answer)

    def key_lines(self, width: int) -> list[Line]:
        assert self.row is not None
        more = [("f", f"{len(self.folded)} more")] if self.folded else []
        return key_lines([*walk_keys(self.row), *more], width)

    # ---- keys ----------------------------------------------------------------------------------

    def action_yes(self) -> None:
        row = self.row
        if row is None:
            return
        if row.applies is None:
            self.answer_question(row, yes=True)
        elif row.by_calculation:
            self.app.say("This is met by a calculation: c opens it", "due")
        else:
            self.meet(row)

    def action_later(self) -> None:
        self._on(1)

    def action_back(self) -> None:
        self.at = max(self.at - 1, 0)
        self.want_paint()

    def action_calculate(self) -> None:
        if self.row is not None and self.row.item.cites:
            self.open_calculator_of(self.row)

    def action_further(self) -> None:
        if self.folded:
            self.keys += self.folded
            self.folded = []
            self.want_paint()
        else:
            self.app.say("This walk has no more checks folded away", "quiet")

    def action_leave(self) -> None:
        self._finish(False)

    # ---- going on ------------------------------------------------------------------------------

    def _on(self, by: int) -> None:
        """On by so many; what was closed meanwhile, by a sibling's fact or a calculation, is not
        asked."""
        self.at += by
        while self.at < len(self.keys) and (self.row is None or self.row.closed):
            self.at += 1
        self.want_paint()
        if self.at >= len(self.keys):
            self._finish(True)

    def _finish(self, reached_end: bool) -> None:
        if self._finished:
            return
        self._finished = True
        if self.walk.of and self.at:
            asked, by_key = self.keys[: self.at], self.state.by_key
            closed = sum(1 for key in asked if key in by_key and by_key[key].closed)
            self.app.do(FinishWalk(self.walk.of, len(asked), closed))
        self.dismiss(reached_end)
