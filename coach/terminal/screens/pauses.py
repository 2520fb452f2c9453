"""The pauses people really make: walks through what is open, and the next place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from coach.sprint.board import (
    further_of_phase,
    further_of_place,
    walk_of_phase,
    walk_of_place,
)
from coach.sprint.commands import ReachPlace
from coach.terminal.screens.ask import AskChoice
from coach.terminal.screens.asking import coach_of
from phases.kit.items import CLOSING_ID, Place

if TYPE_CHECKING:
    from textual.screen import Screen


def walk_phase(screen: Screen[Any]) -> None:
    """The open rows of the phase one is in; its further items folded behind one key."""
    from coach.terminal.screens.walk import WalkScreen

    app = coach_of(screen)
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
    app = coach_of(screen)
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
    prompt = f"Before {reached}: {items} still open."

    def answer(value: str | None) -> None:
        if value == "walk":
            walk_place(screen, passed, reached)
        elif value == "reach":
            app.do(ReachPlace(reached))

    app.push_screen(AskChoice(prompt, choices), answer)


def walk_place(screen: Screen[Any], passed: str, reached: str) -> None:
    from coach.terminal.screens.walk import WalkScreen

    app = coach_of(screen)
    rows = walk_of_place(app.sprint.state, passed)
    further = further_of_place(app.sprint.state, passed)

    def then(gone_through: bool | None) -> None:
        if gone_through:
            app.do(ReachPlace(reached))
        else:
            app.say(f"The walk was left; {reached} has not begun (P takes it up again)")

    app.push_screen(
        WalkScreen(
            f"Walk before {reached}", [r.key for r in rows], of=passed,
            further=[r.key for r in further],
        ),
        then,
    )  # fmt: skip


def next_place(screen: Screen[Any]) -> None:
    """The next place that is not reached yet, with its walk before it."""
    app = coach_of(screen)
    order = list(Place)
    coming = [place for place in order if place not in app.sprint.state.places]
    if not coming:
        app.say("Every place is reached")
        return
    passed = order[order.index(coming[0]) - 1]
    offer_walk(screen, passed, coming[0], len(walk_of_place(app.sprint.state, passed)))
