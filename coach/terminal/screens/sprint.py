"""The sprint screen: the head, the items of the phase, and a key for everything."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coach.sprint.commands import (
    Draw,
    EnterPhase,
    Interrupt,
    JoinLate,
    Reopen,
    SetQuiet,
    SetStepByStep,
    SignOff,
    TakeUp,
    Undo,
)
from coach.sprint.fold import begin
from coach.sprint.gates import walks
from coach.sprint.gates.advice import CHOOSE, DRAW, END, GO_ON, REACH, SIGN_OFF, Next
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.gates.walks import uploaded
from coach.sprint.ledger.calculation_choices import proving_alone
from coach.sprint.ledger.to_draw import ToDraw, drawable
from coach.sprint.pace.plan import plan_of, planned_ends, progress_of
from coach.sprint.state import Row
from coach.terminal.actions import SPRINT, Action, bindings, key_line
from coach.terminal.drawing.head import Moment, head_lines, phase_lines
from coach.terminal.drawing.item_list import FOLD, item_lines
from coach.terminal.drawing.lines import Line
from coach.terminal.screens.sprint_dialogs import SprintDialogs
from coach.terminal.widgets.line_view import Lines
from phases.kit.items import CLOSING_ID

WIDE, TALL = 116, 26
"""Cells from which the calculator is shown beside the items."""


class SprintScreen(SprintDialogs):
    """What a glance answers: how long, will it do, what next, what was skipped, what to draw."""

    NAME = "sprint"
    ACTIONS = SPRINT
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(SPRINT),
        *(Binding(str(i), f"phase({i})", f"phase {i}", show=False) for i in range(1, 9)),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.unfolded = False
        self._phase_shown = ""
        self._planned: tuple[float, ...] = ()
        self._by_hand = False
        """Whether the cursor was moved away from what NEXT says: enter then acts on the cursor."""
        self._last_offered = False

    def compose(self) -> ComposeResult:
        yield Lines(id="call")
        yield Lines(id="head")
        yield Lines(id="phase")
        with Horizontal(id="body"):
            yield Lines(id="items", cursor=True)
            yield Vertical(id="side")
        yield Lines(id="status")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        self._planned = planned_ends(plan_of(begin(self.app.sprint.setup)))
        # Resumed in the closing list, no question comes between what was being done.
        self._last_offered = self.state.phase == CLOSING_ID and uploaded(self.state)
        self.items.focus()
        self.call_after_refresh(self._follow_next)
        self.call_after_refresh(self.app.warm_up)

    def on_screen_resume(self) -> None:
        self.call_next(self._leave_closed)
        self.call_after_refresh(self._offer_last_once)

    # ---- what is seen --------------------------------------------------------------------------

    @property
    def items(self) -> Lines:
        return self.query_one("#items", Lines)

    @property
    def thing(self) -> Next | None:
        """What NEXT says."""
        return next_thing(self.state, self.app.sprint.t)

    def moment(self) -> Moment:
        sprint = self.app.sprint
        plan, thing = plan_of(sprint.state), self.thing
        return Moment(
            sprint.state,
            plan,
            progress_of(sprint.state, sprint.t, plan),
            thing,
            sprint.now,
            at=sprint.wall_of,
            planned=self._planned,
            forecast=sprint.forecast,
            answer=self.app.answers.of(thing),
            trouble=sprint.trouble or "",
        )

    def paint(self, width: int) -> None:
        moment, state = self.moment(), self.state
        self.put("#head", head_lines(moment, width))
        self.put("#phase", [] if width < 60 else phase_lines(moment, width))
        if state.phase != self._phase_shown:
            self._phase_shown, self.unfolded = state.phase, False
        room = self.items.scrollable_content_region.width or width
        self.items.show(item_lines(state, state.phase, room, unfolded=self.unfolded))
        self.put("#call", self.call_lines(width))
        self.put("#status", self.status_lines(width))
        self.put("#keys", [key_line(self._shown_actions(), width)])
        self._show_beside()

    def _shown_actions(self) -> Sequence[Action]:
        """The keys as they are now: in the reserve the walk is the last walk."""
        walk = walks.at_hand(self.state, self.app.sprint.t)
        if walk is None or not walk.is_last:
            return SPRINT
        return [replace(a, label="last walk", rank=1) if a.name == "walk" else a for a in SPRINT]

    def _show_beside(self) -> None:
        """Where there is room, the calculator of the item under the cursor, with its curve."""
        side, row = self.query_one("#side"), self.row
        wide = self.size.width >= WIDE and self.size.height >= TALL
        wanted = proving_alone(self.state, row) if wide and row is not None else None
        side.display = wanted is not None
        if wanted is None:
            return
        views = side.query("CalculatorView")
        if views:
            views.first().preview(wanted)  # type: ignore[attr-defined]
        else:
            self.call_after_refresh(self._open_beside)

    async def _open_beside(self) -> None:
        """The view comes after the first frame: what it needs is long to import."""
        from coach.terminal.widgets.calculator_view import CalculatorView

        side = self.query_one("#side")
        if not side.query("CalculatorView"):
            await side.mount(CalculatorView())
            self._show_beside()

    def on_lines_moved(self, event: Lines.Moved) -> None:
        if event.by_hand:
            thing = self.thing
            self._by_hand = thing is None or thing.row is None or event.key != thing.row.key
        self._show_beside()

    # ---- the cursor ----------------------------------------------------------------------------

    @property
    def row(self) -> Row | None:
        """The row under the cursor, on a strip the next thing's."""
        seen = self.items.display and self.items.size.height > 0
        under = self.state.by_key.get(self.items.key) if seen else None
        thing = None if under else self.thing
        return thing.row if thing else under

    def row_for_key(self) -> Row | None:
        row = self.row
        if row is None:
            self.app.say("No item selected", "due")
        return row

    def _leave_closed(self) -> None:
        """A row that was closed meanwhile is left for the next thing."""
        row = self.state.by_key.get(self.items.key)
        if row is not None and row.closed:
            self._follow_next()

    def _follow_next(self) -> None:
        """The cursor goes on to the next thing, so that one key after the other does."""
        self.catch_up()
        thing, self._by_hand = self.thing, False
        if thing is not None and thing.row is not None:
            self.items.put_cursor(thing.row.key)

    def _begin_list(self) -> None:
        """In a phase just entered: the next thing; where this is elsewhere, the first open row."""
        self.catch_up()
        for key in [*self._open_among(self.items.keys), *self.items.keys][:1]:
            self.items.put_cursor(key)
        self._follow_next()

    def _go_on(self, closed: Row, by_hand: bool) -> None:
        """After a row was closed: the next thing; in a list gone through by hand, its next row."""
        self.catch_up()
        keys = self.items.keys
        below = keys[keys.index(closed.key) + 1 :] if closed.key in keys else []
        opens = self._open_among(below)
        if by_hand and opens:
            self.items.put_cursor(opens[0])
        else:
            self._follow_next()

    def _open_among(self, keys: Sequence[str]) -> list[str]:
        rows = [self.state.by_key[key] for key in keys if key in self.state.by_key]
        return [row.key for row in rows if not row.closed and self.state.reached(row)]

    # ---- phases and what is next ---------------------------------------------------------------

    def action_phase(self, number: int) -> None:
        wanted = [*self.state.setup.phase_ids, CLOSING_ID][number - 1]
        if wanted == self.state.phase:
            self.app.say("Already in this phase")
        elif self.app.do(EnterPhase(wanted)):
            self._begin_list()
            if not self.offer_stage_of(wanted):
                self._offer_last_once()

    def _offer_last_once(self) -> None:
        if self.is_current and not self._last_offered:
            self._last_offered = self.offer_last_walk()

    def action_next(self) -> None:
        """What the screen calls NEXT; with the cursor moved elsewhere, that item instead."""
        thing, row = self.thing, self.row
        if self.items.key == FOLD:
            self.action_fold()
        elif thing is None:
            self.action_end()
        elif self._by_hand and row is not None and thing.row not in (None, row):
            self.act_on(row)
        else:
            self._do_next(thing)

    def _do_next(self, thing: Next) -> None:
        if thing.kind in (CHOOSE, GO_ON):
            ids = self.state.setup.phase_ids
            self.action_phase(ids.index(thing.phase) + 1 if thing.phase in ids else 8)
        elif thing.kind == REACH:
            self.action_stage()
        elif thing.kind == SIGN_OFF:
            self.action_sign_off()
        elif thing.kind == DRAW and thing.part is not None:
            self._draw([thing.part])
        elif thing.kind == END:
            self.action_end()
        elif thing.row is not None:
            self.act_on(thing.row)

    def action_sign_off(self) -> None:
        self.app.do(SignOff(self.state.phase))

    def action_joined(self) -> None:
        if self.app.do(JoinLate(self.state.phase)):
            self.action_walk()

    def action_step_by_step(self) -> None:
        on = self.state.phase not in self.state.step_by_step
        if self.app.do(SetStepByStep(self.state.phase, on)) and on:
            self.action_walk()

    # ---- the item under the cursor -------------------------------------------------------------

    def when_closed(self, row: Row) -> Callable[[], None]:
        by_hand = self._by_hand

        def go_on() -> None:
            self._go_on(row, by_hand)
            self._offer_last_once()

        return go_on

    def action_meet(self) -> None:
        if row := self.row_for_key():
            self.meet(row)

    def action_there(self) -> None:
        if row := self.row_for_key():
            self.answer_question(row)

    def action_reopen(self) -> None:
        if row := self.row_for_key():
            self.app.do(TakeUp((row.key,)) if row.deferred else Reopen(row.key))

    def action_fold(self) -> None:
        self.unfolded = not self.unfolded
        self.want_paint()

    # ---- drawing -------------------------------------------------------------------------------

    def action_draw(self) -> None:
        parts = drawable(self.state)
        if parts:
            self._draw(parts[:1])
        else:
            self.app.say("Nothing to draw")

    def action_draw_all(self) -> None:
        self._draw(drawable(self.state))

    def _draw(self, parts: Sequence[ToDraw]) -> None:
        if self.app.do(Draw(tuple((part.calculation, part.role) for part in parts))):
            self._leave_closed()

    # ---- the sprint ----------------------------------------------------------------------------

    def action_undo(self) -> None:
        if self.app.do(Undo()):
            self._follow_next()

    def action_interrupted(self) -> None:
        self.app.do(Interrupt())

    def action_quiet(self) -> None:
        self.app.do(SetQuiet(not self.state.quiet))

    def commands(self) -> Iterator[SystemCommand]:
        """The phases and the closing list by their names, and the last walk, besides."""
        yield from super().commands()
        order = "Files, checks, quantities, accepted and paid"
        last = "In the reserve, after the first upload: what is open, the worst first"
        phases = [(one.name, f"Go to phase: {one.title}") for one in self.state.setup.phases]
        for number, (name, words) in enumerate([*phases, ("closing list, order", order)], start=1):
            yield SystemCommand(f"{name} ({number})", words, partial(self.action_phase, number))
        yield SystemCommand("last walk (g)", last, self.action_last_walk)

    def action_help(self) -> None:
        self.app.explain(self.NAME, SPRINT, self.numbers)

    def numbers(self, width: int) -> list[Line]:
        """What each number on the screen is made of."""
        from coach.terminal.drawing.why_lines import why_lines

        return why_lines(self.moment(), self.app.sprint.history, width)

    def action_leave(self) -> None:
        self.app.leave()
