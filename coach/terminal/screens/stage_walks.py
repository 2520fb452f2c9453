"""The pauses people really make: walks through what is open, and the next stage."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from coach.sprint.commands import ReachStage
from coach.sprint.durations import duration
from coach.sprint.gates import walks
from coach.sprint.gates.gates import skipped
from coach.sprint.gates.walks import last_walk, next_pause, pause_before, spare_seconds
from coach.sprint.state import Row, State
from coach.terminal.screens.item_screen import ItemScreen
from coach.terminal.screens.prompts import AskChoice
from phases.kit.grammar import are, count
from phases.kit.items import Stage


class StageWalks(ItemScreen[None]):
    """What the sprint screen offers at a pause."""

    def _go(self, walk: walks.Walk, then: Callable[[bool | None], None] | None = None) -> None:
        from coach.terminal.screens.walk import WalkScreen

        self.app.push_screen(WalkScreen(walk), then)

    def action_walk(self) -> None:
        """The open rows of the phase one is in; in the reserve the last walk."""
        state = self.state
        walk = walks.at_hand(state, self.app.sprint.t)
        if walk is None:
            first = "Enter a phase first: 1 to 7, 8 is the closing list"
            self.app.say("Nothing is open here" if state.phase else first)
        else:
            self._go(walk, self._after_last if walk.is_last else None)

    def action_last_walk(self) -> None:
        """The last walk by its name; where there is none, why."""
        state = self.state
        walk = walks.last(state, self.app.sprint.t)
        if walk is None:
            self.app.say(walks.why_no_last(state))
        else:
            self._go(walk, self._after_last)

    def _after_last(self, _: bool | None) -> None:
        still = len(last_walk(self.state))
        stay = f"{count(still, 'essential')} still open" if still else "Every essential is closed"
        self.app.say(f"{stay}; on with the closing list")

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

    def _offer_stage(self, passed: Stage, reached: Stage) -> None:
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

        def answer(value: str) -> None:
            if value == "walk":
                self._go(walk, gone)
            elif value == "reach":
                self.app.do(ReachStage(reached))

        def gone(to_its_end: bool | None) -> None:
            if to_its_end:
                self.app.do(ReachStage(reached))
            else:
                self.app.say(f"Walk stopped, {_named(reached)} not started (P resumes)")

        prompt = f"Before {_named(reached)}: {open_words(state, rows)}."
        self.ask(AskChoice(prompt, choices), answer)


def _named(stage: Stage) -> str:
    return f"the {stage}" if stage in (Stage.SCHEMATIC, Stage.FILES) else str(stage)


def open_words(state: State, rows: Sequence[Row]) -> str:
    """How many essentials are open in all phases, and how many of them are skipped."""
    behind = {row.key for row in skipped(state)}
    left = sum(row.key in behind for row in rows)
    words = f"{count(len(rows), 'essential')} {are(len(rows))} still open"
    return words if len(rows) == 1 else f"{words} in all phases, {left or 'none'} of them skipped"
