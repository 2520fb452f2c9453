"""The start: a sprint to take up again, a brief to begin with, or a new board. One key each."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.worker import get_current_worker

from coach.history.listing import Listed, list_folder
from coach.sprint.brief.document import load_brief
from coach.sprint.brief.folder import offers
from coach.sprint.brief.house_rules import house_rules
from coach.sprint.clock import SystemClock
from coach.sprint.journal.sessions_folder import journal_path
from coach.sprint.session import Session
from coach.sprint.starting import start_sprint
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.lines import Line
from coach.terminal.drawing.start_lines import (
    BRIEF_KEYS,
    NEW,
    SPRINT_KEYS,
    Offers,
    start_lines,
    start_title,
)
from coach.terminal.screens.one_list import HELP, OneList
from phases.kit.refusals import Refusal

NO_WORDS = ("", "plain")
ACTIONS = (
    Action("choose", "enter", "begin", "Begin with, or take up, what is under the cursor", 1),
    Action("new", "n", "new board", "Seven questions make a brief, and the sprint starts", 2),
    Action("leave", "q", "leave", "Leave the coach", 3),
    HELP,
)


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


class StartScreen(OneList):
    """begins_new: goes straight to the questions that make a new brief."""

    NAME = "start"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS),
        *(Binding(key, f"sprint({i})", show=False) for i, key in enumerate(SPRINT_KEYS)),
        *(Binding(key, f"brief({i})", show=False) for i, key in enumerate(BRIEF_KEYS)),
    ]

    class Found(Message):
        """What there is to begin with."""

        def __init__(self, offers: Offers) -> None:
            super().__init__()
            self.offers = offers

    def __init__(self, begins_new: bool = False) -> None:
        super().__init__()
        self.begins_new = begins_new
        self.clock = SystemClock()
        self.offers = Offers()

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(1.0, self.repaint)
        if self.begins_new:
            self.call_after_refresh(self.action_new)
        else:
            self.look_around()

    @work(thread=True, exclusive=True, exit_on_error=False)
    def look_around(self) -> None:
        """Off the event loop, because a folder may hold a hundred journals."""
        worker = get_current_worker()
        briefs = offers(self.app.folder)
        self.post_message(self.Found(Offers((), briefs)))
        sprints = unended(self.app.folder, lambda: not worker.is_cancelled)
        self.post_message(self.Found(Offers(sprints, briefs, reading=False)))

    def on_start_screen_found(self, event: Found) -> None:
        untouched = self.rows.key in ("", NEW)
        self.offers = event.offers
        self.repaint()
        going_on = self.offers.sprints and self.offers.sprints[0].left(self.clock.wall()) > 0
        if untouched and going_on:
            self.rows.put_cursor("sprint:0")

    def title_lines(self, width: int) -> list[Line]:
        return start_title(self.clock.wall(), width)

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
            self._take(lambda: (Session.resume(path, self.clock), NO_WORDS))

    def action_brief(self, index: int) -> None:
        if index < len(self.offers.briefs):
            name = self.offers.briefs[index].name
            self._take(lambda: self._begun(name))

    def _begun(self, name: str) -> tuple[Session, tuple[str, str]]:
        """The sprint, and what is to be said as it begins."""
        brief = load_brief(name)
        path = journal_path(self.app.folder, brief.title, self.clock.wall())
        house = house_rules(name, self.app.folder)
        return start_sprint(brief, path, self.clock, house=house.items), house.said

    def _take(self, opened: Callable[[], tuple[Session, tuple[str, str]]]) -> None:
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
