"""The pauses people really make: walks through what is open, and the next stage."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from coach.sprint.board import skipped, walk_of_stage
from coach.sprint.commands import ReachStage
from coach.sprint.pace.reserve import last_walk, ordered, spare_seconds, uploaded
from coach.sprint.state import Row, State
from coach.terminal import walks
from coach.terminal.drawing.words import minutes
from coach.terminal.screens.ask import AskChoice
from coach.terminal.screens.asking import coach_of
from phases.kit.items import Stage

if TYPE_CHECKING:
    from textual.screen import Screen


def walk_at_hand(screen: Screen[Any]) -> None:
    """The open rows of the phase one is in; in the reserve the last walk."""
    app = coach_of(screen)
    state = app.sprint.state
    walk = walks.at_hand(state, app.sprint.t)
    if walk is not None and walk.is_last:
        go_last_walk(screen)
    elif walk is not None:
        _go(screen, walk)
    else:
        first = "Enter a phase first: 1 to 7, 8 is the closing list"
        app.say("Nothing is open here" if state.phase else first)


def last_walk_asked(screen: Screen[Any]) -> None:
    """The last walk by its name; where there is none, why."""
    app = coach_of(screen)
    state, t = app.sprint.state, app.sprint.t
    if walks.last(state, t) is not None:
        go_last_walk(screen)
    elif not uploaded(state):
        app.say("The last walk comes in the reserve, once the first upload is made (8)")
    elif last_walk(state) and not ordered(state):
        app.say("The last walk comes in the reserve or in the closing list (8)")
    else:
        app.say("The order is accepted" if ordered(state) else "Every essential is closed")


def _go(
    screen: Screen[Any], walk: walks.Walk, then: Callable[[bool | None], None] | None = None
) -> None:
    from coach.terminal.screens.walk import WalkScreen

    coach_of(screen).push_screen(WalkScreen(walk), then)


# ---- the reserve -----------------------------------------------------------------------------


def offer_last_walk(screen: Screen[Any]) -> bool:
    """After the first upload, as long as the closing list leaves time: the last walk, or on with
    the list. False where there is nothing to offer."""
    app = coach_of(screen)
    state, t = app.sprint.state, app.sprint.t
    steps, spare = last_walk(state), spare_seconds(state, t)
    if walks.last(state, t) is None or spare <= 0:
        return False
    items = open_words(state, [step.row for step in steps])
    takes = minutes(sum(step.seconds for step in steps))
    choices = [
        ("walk", f"Last walk, worst first: {takes}"),
        ("list", "Go on with the closing list"),
    ]

    def answer(value: str | None) -> None:
        if value == "walk":
            go_last_walk(screen)

    prompt = f"The first upload is made. {items}; {minutes(spare)} left for them."
    app.push_screen(AskChoice(prompt, choices), answer)
    return True


def go_last_walk(screen: Screen[Any]) -> None:
    app = coach_of(screen)
    walk = walks.last(app.sprint.state, app.sprint.t)

    def then(_: bool | None) -> None:
        still = len(last_walk(app.sprint.state))
        left = "1 essential stays open" if still == 1 else f"{still} essentials stay open"
        app.say(f"{left if still else 'Every essential is closed'}; on with the closing list")

    if walk is not None:
        _go(screen, walk, then)


# ---- the next stage --------------------------------------------------------------------------


_PAUSES = {"schematic": "the schematic", "placement": "placement", "routing": "routing"}


def open_words(state: State, rows: Sequence[Row]) -> str:
    """How many essentials are open in all phases, and how many of them the OPEN line counts."""
    behind = {row.key for row in skipped(state)}
    count, left = len(rows), sum(row.key in behind for row in rows)
    one = "1 essential is still open" if count == 1 else f"{count} essentials are still open"
    if count == 1:
        return one
    return f"{one} in all phases, {left or 'none'} of them skipped"


def offer_walk(screen: Screen[Any], passed: str, reached: str, count: int) -> None:
    """Before `reached` begins: a walk through what is open of `passed`, or on without one."""
    app = coach_of(screen)
    if not count:
        app.do(ReachStage(reached))
        return
    rows = walk_of_stage(app.sprint.state, passed)
    seconds = sum(r.item.confirm_s for r in rows)
    choices = [
        ("walk", f"Walk through them, about {max(round(seconds / 60), 1)} min"),
        ("reach", f"Go on: {reached} begins"),
        ("stay", f"Not yet: {_PAUSES[passed]} goes on"),
    ]
    prompt = f"Before {reached}: {open_words(app.sprint.state, rows)}."

    def answer(value: str | None) -> None:
        if value == "walk":
            walk_place(screen, passed, reached)
        elif value == "reach":
            app.do(ReachStage(reached))

    app.push_screen(AskChoice(prompt, choices), answer)


def walk_place(screen: Screen[Any], passed: str, reached: str) -> None:
    app = coach_of(screen)

    def then(gone_through: bool | None) -> None:
        if gone_through:
            app.do(ReachStage(reached))
        else:
            app.say(f"The walk was left; {reached} has not begun (P takes it up again)")

    _go(screen, walks.before(app.sprint.state, passed, reached), then)


def next_place(screen: Screen[Any]) -> None:
    """The next stage that is not reached yet, with its walk before it."""
    app = coach_of(screen)
    order = list(Stage)
    coming = [stage for stage in order if stage not in app.sprint.state.stages]
    if not coming:
        app.say("Every stage is reached")
        return
    passed = order[order.index(coming[0]) - 1]
    offer_walk(screen, passed, coming[0], len(walk_of_stage(app.sprint.state, passed)))
