"""The start: a sprint to resume, a brief to begin with, or a new board. One key each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.worker import get_current_worker

from coach.history.listing import Listed, list_folder
from coach.sprint.brief.folder import BriefOffer, offers
from coach.sprint.brief.house_rules import house_rules
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import SystemClock
from coach.sprint.cut_off import zone_of
from coach.sprint.durations import duration
from coach.sprint.journal.sessions_folder import journal_path
from coach.sprint.session import Session, start_sprint
from coach.terminal.actions import HELP, Action, bindings
from coach.terminal.drawing.item_words import of_day
from coach.terminal.drawing.lines import BLANK, Line, Span, fit, line, right, spread_out
from coach.terminal.screens.painted import ListScreen
from phases.kit.grammar import count
from phases.kit.refusals import Refusal

SPRINT_KEYS = "123456789"
BRIEF_KEYS = "abcdefghijklmoprstuvwxyz"
"""Without n, for a new board, and q, to leave."""

NEW = "new"
_DATED = 72
"""Cells from which a sprint's line has room for the day it began beside the time it has left."""
_NARROW = 36
"""Cells below which a line holds a name only: it is what one chooses by."""
_LOW, _LOWEST = 20, 8
"""Rows of the screen below which headings give way, so that briefs are in view; below the lower
bound no heading is left."""
_FIRST_ON_LOW = 3
"""Sprints before the briefs on a low screen."""
_DAY = 24 * 3600

Opened = tuple[Session, tuple[str, str]]
"""A sprint, and what is to be said as it is shown, with its role."""


# ---- what it shows -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offers:
    """What there is to begin with. sprints: not ended, the newest first. reading: still looking."""

    sprints: Sequence[Listed] = ()
    briefs: Sequence[BriefOffer] = ()
    reading: bool = True


def start_lines(offers: Offers, now: datetime, width: int, height: int) -> list[Line]:
    """Sprints on digits, briefs on letters, so that no key changes while the list is read. On a
    low screen there are no blank lines, and the briefs are never far down.

    height: rows of the whole screen.
    """
    low = height < _LOW
    sprints = [_sprint(g, i, now, width) for i, g in enumerate(offers.sprints)]
    first = _FIRST_ON_LOW if low else len(SPRINT_KEYS)
    more = "More sprints that have not ended" if low else "Older sprints that have not ended"
    title = "New board" + (": seven questions, one key each" if width >= 60 else "")
    reading = [line(Span(" Looking for sprints and briefs", "quiet"))] if offers.reading else []
    sections = (
        ("" if low else "Resume", sprints[:first]),
        ("", [line(Span(" n  ", "key"), title, key=NEW)]),
        ("Begin with a brief", list(_briefs(offers, now, width))),
        (more, sprints[first:]),
        ("", reading),
    )
    found: list[Line] = []
    for heading, lines in sections:
        if lines:
            found += [] if low else [BLANK]
            found += [line(Span(f" {heading}", "quiet"))] if heading and height >= _LOWEST else []
            found += lines
    return found


def _sprint(one: Listed, index: int, now: datetime, width: int) -> Line:
    key = SPRINT_KEYS[index] if index < len(SPRINT_KEYS) else " "
    words, role = left_words(one.left(now))
    if one.run.rehearsed:
        words = f"rehearsal, {words}"
    tail = [Span(words, role), Span(" ")]
    if width >= _DATED:
        begun = one.run.started.astimezone(zone_of(now))
        tail = [Span(f"{begun:%Y-%m-%d %H:%M}  ", "quiet"), Span(right(words, 27), role), Span(" ")]
    elif width < _NARROW:
        tail = []
    left = (Span(f" {key}  ", "key"), Span(one.run.title))
    return spread_out(left, tail, width, f"sprint:{index}")


def left_words(seconds: float) -> tuple[str, str]:
    """(how long a sprint still has, its role), where only its journal is looked at."""
    if seconds >= 0:
        return f"{duration(seconds)} left", "next"
    if seconds < -_DAY:
        return f"{count(int(-seconds // _DAY), 'day')} past", "quiet"
    return f"{duration(seconds)} past", "due"


def _briefs(offers: Offers, now: datetime, width: int) -> Iterator[Line]:
    """A line each; of those with one title each says when it was written, and those after the
    first of a minute which they are."""
    titles = Counter(brief.title for brief in offers.briefs)
    seen: Counter[tuple[str, str]] = Counter()
    for index, brief in enumerate(offers.briefs):
        apart = ""
        if titles[brief.title] > 1:
            apart = _written(brief, now)
            seen[brief.title, apart] += 1
            nth = seen[brief.title, apart]
            apart += f", {nth}" if nth > 1 else ""
        yield _brief(brief, index, width, apart)


def _written(brief: BriefOffer, now: datetime) -> str:
    if brief.written is None:
        return "bundled"
    at = brief.written.astimezone(zone_of(now))
    return of_day(at) if at.date() == now.date() else f"{at:%Y-%m-%d %H:%M}"


def _brief(brief: BriefOffer, index: int, width: int, apart: str) -> Line:
    """apart: what tells it from another of its title; it is before the title, which is cut."""
    key = BRIEF_KEYS[index] if index < len(BRIEF_KEYS) else " "
    tail = [Span(right(brief.when, 8)), Span(" ")]
    if width >= 60:
        own, parts = fit("own" if brief.own else "", 6), right(f"{brief.parts} parts", 12)
        when = Span(right(brief.when, 16))
        tail = [Span(own, "quiet"), when, Span(parts, "quiet"), Span(" ")]
    elif width < _NARROW:
        tail = []
    before = (Span(f"{apart}  ", "quiet"),) if apart else ()
    left = (Span(f" {key}  ", "key"), *before, Span(brief.title))
    return spread_out(left, tail, width, f"brief:{index}")


# ---- the screen --------------------------------------------------------------------------------


def unended(folder: Path, wanted: Callable[[], bool] = lambda: True) -> list[Listed]:
    """The sprints in a folder that have not ended, the last written first.

    wanted: asked between two journals, so that looking through many can be broken off.
    """
    found = []
    for one in list_folder(folder):
        if not wanted():
            break
        if not one.ended:
            found.append(one)
    return found


class StartScreen(ListScreen):
    """begins_new: goes straight to the questions that make a new brief."""

    NAME = "start"
    ACTIONS = (
        Action("choose", "enter", "begin", "Begin with, or resume, what is under the cursor", 1),
        Action("new", "n", "new board", "Seven questions make a brief, and the sprint starts", 2),
        Action("leave", "q", "quit", "Quit the coach", 3),
        HELP,
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS),
        *(Binding(key, f"sprint({i})", show=False) for i, key in enumerate(SPRINT_KEYS)),
        *(Binding(key, f"brief({i})", show=False) for i, key in enumerate(BRIEF_KEYS)),
    ]

    def __init__(self, begins_new: bool = False) -> None:
        super().__init__()
        self.begins_new = begins_new
        self.clock = SystemClock()
        self.offers = Offers()

    def on_mount(self) -> None:
        self.set_interval(1.0, self.want_paint)
        if self.begins_new:
            self.call_after_refresh(self.action_new)
        else:
            self.look_around()

    @work(thread=True, exclusive=True, exit_on_error=False)
    def look_around(self) -> None:
        """Off the event loop, because a folder may hold a hundred journals."""
        worker = get_current_worker()
        briefs = offers(self.app.folder)
        self.call_later(self._found, Offers((), briefs))
        sprints = unended(self.app.folder, lambda: not worker.is_cancelled)
        self.call_later(self._found, Offers(sprints, briefs, reading=False))

    def _found(self, offers: Offers) -> None:
        untouched = self.rows.key in ("", NEW)
        self.offers = offers
        self.repaint()
        going_on = self.offers.sprints and self.offers.sprints[0].left(self.clock.wall()) > 0
        if untouched and going_on:
            self.rows.put_cursor("sprint:0")

    def title_lines(self, width: int) -> list[Line]:
        words = Span("  paces a board to its cut-off" if width >= 44 else "", "quiet")
        now = Span(f"{of_day(self.clock.wall())} ", "quiet")
        return [spread_out((Span(" coach", "title"), words), (now,), width)]

    def body_lines(self, width: int) -> list[Line]:
        return start_lines(self.offers, self.clock.wall(), width, self.size.height)

    # ---- keys ----------------------------------------------------------------------------------

    def action_choose(self) -> None:
        kind, _, number = self.rows.key.partition(":")
        if kind == "sprint":
            self.action_sprint(int(number))
        elif kind == "brief":
            self.action_brief(int(number))
        elif kind == NEW:
            self.action_new()

    def action_sprint(self, index: int) -> None:
        if index < len(self.offers.sprints):
            path = self.offers.sprints[index].path
            self._take(lambda: (Session.resume(path, self.clock), ("", "plain")))

    def action_brief(self, index: int) -> None:
        if index < len(self.offers.briefs):
            name = self.offers.briefs[index].name
            self._take(lambda: self._begun(name))

    def _begun(self, name: str) -> Opened:
        brief = load_brief(name)
        path = journal_path(self.app.folder, brief.title, self.clock.wall())
        house = house_rules(name, self.app.folder)
        return start_sprint(brief, path, self.clock, house=house.items), house.status_line

    def _take(self, opened: Callable[[], Opened]) -> None:
        """Goes over to the sprint; what hinders it is said in a line."""
        try:
            session, said = opened()
        except Refusal as refusal:
            self.app.say(str(refusal), "due")
        else:
            self.app.take_session(session)
            self.app.say(*said)

    def action_new(self) -> None:
        from coach.terminal.screens.new import NewScreen

        self.app.switch_screen(NewScreen())

    def action_leave(self) -> None:
        self.app.exit(0)
