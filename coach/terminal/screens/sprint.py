"""The sprint screen: the head, the items of the phase, and a key for everything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen

from coach.sprint import next_thing as nexts
from coach.sprint.board import walk_of_stage
from coach.sprint.commands import (
    Dismiss,
    Draw,
    EnterPhase,
    Interrupt,
    JoinLate,
    Reopen,
    SetQuiet,
    SetStepByStep,
    SignOff,
    TakeBack,
    Undo,
)
from coach.sprint.events.phases import LAST_WALK, Walked
from coach.sprint.fold import begin
from coach.sprint.pace.reserve import uploaded
from coach.sprint.plan import course_of, plan_of, planned_ends
from coach.sprint.state import Row
from coach.sprint.to_draw import to_draw
from coach.terminal import walks
from coach.terminal.actions import SPRINT, Action, bindings
from coach.terminal.answers import calculator_of
from coach.terminal.drawing.head import Moment, call_lines, head_lines, phase_lines
from coach.terminal.drawing.item_list import item_lines
from coach.terminal.drawing.key_line import key_line
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.screens import asking, lists, pauses
from coach.terminal.widgets.lines import Lines
from phases.kit.items import CLOSING_ID

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp


WIDE, TALL = 116, 26
"""Cells from which the calculator stands beside the items."""


class SprintScreen(Screen[None]):
    """What a glance answers: how long, will it do, what next, what is open, what to draw."""

    app: CoachApp
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
        self._last_offered = False

    def compose(self) -> ComposeResult:
        yield Lines(id="call")
        yield Lines(id="head")
        yield Lines(id="phase")
        with Horizontal(id="body"):
            yield Lines(id="items", cursor=True)
            yield Vertical(id="side")
        yield Lines(id="said")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        self._planned = planned_ends(plan_of(begin(self.app.sprint.setup)))
        state = self.app.sprint.state
        # Taken up again in the closing list, nothing stands in the way of what was being done.
        self._last_offered = state.phase == CLOSING_ID and uploaded(state)
        self.query_one("#items", Lines).focus()
        self.call_after_refresh(self._follow_next)
        self.call_after_refresh(self.app.warm_up)
        self.repaint()

    def on_resize(self) -> None:
        self.repaint()

    def on_screen_resume(self) -> None:
        self.repaint()
        self._leave_closed()
        self.call_after_refresh(self._offer_last_walk)

    # ---- what is seen --------------------------------------------------------------------------

    def moment(self) -> Moment:
        sprint = self.app.sprint
        t = sprint.t
        plan = plan_of(sprint.state)
        course = course_of(sprint.state, t, plan)
        thing = nexts.next_thing(sprint.state, t)
        return Moment(
            sprint.state, plan, course, thing, sprint.now,
            sprint.wall_of(sprint.state.deadline), sprint.wall_of(course.ends),
            planned=self._planned, forecast=sprint.forecast, at=sprint.wall_of,
            answer=self.app.answers.of(thing),
            trouble=sprint.trouble or "",
        )  # fmt: skip

    def repaint(self) -> None:
        """Everything anew from the state; cheap, because lists are lines and not widgets."""
        if not self.is_mounted or not self.size.width:
            return
        moment = self.moment()
        width = self.size.width
        head = head_lines(moment, width)
        self._put("#head", head)
        self._put("#phase", [] if width < 60 else phase_lines(moment, width))
        state = moment.state
        if state.phase != self._phase_shown:
            self._phase_shown, self.unfolded = state.phase, False
        items = self.query_one("#items", Lines)
        room = items.scrollable_content_region.width or width
        items.show(item_lines(state, state.phase, room, unfolded=self.unfolded))
        most = 2 if self.size.height < 20 else 3
        self._put("#call", call_lines(self.app.call, width, self.size.height))
        text, role = self.app.said
        said = wrapped(text, width - 2, most)
        self._put("#said", [line(Span(f" {part}", role)) for part in said])
        self._put("#keys", [key_line(self._shown_actions(), width)])
        self._show_beside()

    def _shown_actions(self) -> list[Action]:
        """The keys as they are now: in the reserve the walk is the last walk."""
        walk = walks.at_hand(self.app.sprint.state, self.app.sprint.t)
        if walk is None or not walk.is_last:
            return list(SPRINT)
        late = next(replace(a, label="last walk", rank=1) for a in SPRINT if a.name == "walk")
        return [late if action.name == "walk" else action for action in SPRINT]

    def _show_beside(self) -> None:
        """Where there is room, the calculator of the item under the cursor, with its curve."""
        side = self.query_one("#side")
        row = self.row
        wide = self.size.width >= WIDE and self.size.height >= TALL
        wanted = calculator_of(self.app.sprint.state, row) if wide and row is not None else None
        side.display = wanted is not None
        if wanted is None:
            return
        views = side.query("CalculatorView")
        if views:
            views.first().preview(*wanted)  # type: ignore[attr-defined]
        else:
            self.call_after_refresh(self._open_beside)

    async def _open_beside(self) -> None:
        """The view comes after the first frame: what it needs is long to import."""
        from coach.terminal.widgets.calculator_view import CalculatorView

        side = self.query_one("#side")
        if not side.query("CalculatorView"):
            await side.mount(CalculatorView())
            self.repaint()

    def on_lines_moved(self, event: Lines.Moved) -> None:
        thing = nexts.next_thing(self.app.sprint.state, self.app.sprint.t)
        self._by_hand = thing is None or thing.row is None or event.key != thing.row.key
        self._show_beside()

    def _put(self, where: str, lines: list[Line]) -> None:
        widget = self.query_one(where, Lines)
        widget.show(lines)
        widget.styles.height = len(lines)
        widget.display = bool(lines)

    # ---- what the keys are about ---------------------------------------------------------------

    @property
    def row(self) -> Row | None:
        """The row under the cursor, on a strip the next thing's."""
        items = self.query_one("#items", Lines)
        if items.display and items.size.height > 0 and items.key in self.app.sprint.state.by_key:
            return self.app.sprint.state.by_key[items.key]
        thing = nexts.next_thing(self.app.sprint.state, self.app.sprint.t)
        return thing.row if thing else None

    def _with_row(self) -> Row | None:
        row = self.row
        if row is None:
            self.app.say("There is no item here", "due")
        return row

    def _leave_closed(self) -> None:
        """A row that was closed meanwhile is left for the next thing."""
        row = self.app.sprint.state.by_key.get(self.query_one("#items", Lines).key)
        if row is not None and row.closed:
            self._follow_next()

    def _follow_next(self) -> None:
        """The cursor goes on to the next thing, so that one key after the other does."""
        thing = nexts.next_thing(self.app.sprint.state, self.app.sprint.t)
        if thing is not None and thing.row is not None:
            self.query_one("#items", Lines).put_cursor(thing.row.key)

    def _begin_list(self) -> None:
        """In a phase just entered: the next thing; where this is elsewhere, the first open row."""
        keys = [one.key for one in self.query_one("#items", Lines).lines if one.key]
        if keys:
            opens = self._open_among(keys)
            self.query_one("#items", Lines).put_cursor(opens[0] if opens else keys[0])
        self._follow_next()
        self.call_after_refresh(self._not_by_hand)

    def _not_by_hand(self) -> None:
        """Nobody moved the cursor: enter still does what NEXT says."""
        self._by_hand = False

    def _go_on(self, closed: Row, *, by_hand: bool) -> None:
        """After a row was closed: the next thing; in a list gone through by hand, its next row."""
        keys = [one.key for one in self.query_one("#items", Lines).lines if one.key]
        below = keys[keys.index(closed.key) + 1 :] if closed.key in keys else []
        opens = self._open_among(below)
        if by_hand and opens:
            self.query_one("#items", Lines).put_cursor(opens[0])
        else:
            self._follow_next()

    def _open_among(self, keys: Sequence[str]) -> list[str]:
        state = self.app.sprint.state
        rows = [state.by_key[key] for key in keys if key in state.by_key]
        return [row.key for row in rows if not row.closed and state.reached(row)]

    # ---- actions -------------------------------------------------------------------------------

    def action_phase(self, number: int) -> None:
        phases = [phase.id for phase in self.app.sprint.state.setup.phases]
        wanted = CLOSING_ID if number == 8 else phases[number - 1]
        if wanted == self.app.sprint.state.phase:
            self.app.say("You are in this phase already")
            return
        stages = {"layout": "schematic", "labelling": "routing", CLOSING_ID: "routing"}
        if not self.app.do(EnterPhase(wanted)):
            return
        self._begin_list()
        if wanted not in stages or not self._offer_stage(wanted, stages[wanted]):
            self._offer_last_walk()

    def _offer_stage(self, phase: str, passed: str) -> bool:
        """At the pauses people really make, the walk through what is left is offered. False where
        the stage was reached already."""
        reached = {"layout": "placement", "labelling": "files", CLOSING_ID: "files"}[phase]
        if reached in self.app.sprint.state.stages:
            return False
        pauses.offer_walk(self, passed, reached, len(walk_of_stage(self.app.sprint.state, passed)))
        return True

    def _offer_last_walk(self) -> None:
        """Once, in the closing list after the first upload."""
        state = self.app.sprint.state
        gone = any(one.event.of == LAST_WALK for one in state.of(Walked))
        if self.is_current and state.phase == CLOSING_ID and not gone and not self._last_offered:
            self._last_offered = pauses.offer_last_walk(self)

    def action_next(self) -> None:
        """What the screen calls NEXT; with the cursor moved elsewhere, that item instead."""
        thing = nexts.next_thing(self.app.sprint.state, self.app.sprint.t)
        row = self.row
        if self.query_one("#items", Lines).key == "fold":
            self.action_fold()
            return
        if thing is None:
            self.action_end()
            return
        if self._by_hand and row is not None and thing.row is not None and row.key != thing.row.key:
            asking.act_on(self, row)
            return
        self._do_next(thing)

    def _do_next(self, thing: nexts.Next) -> None:
        if thing.kind in (nexts.CHOOSE, nexts.GO_ON):
            ids = [phase.id for phase in self.app.sprint.state.setup.phases]
            self.action_phase(ids.index(thing.phase) + 1 if thing.phase in ids else 8)
        elif thing.kind == nexts.REACH:
            self.action_place()
        elif thing.kind == nexts.SIGN_OFF:
            self.action_sign_off()
        elif thing.kind == nexts.DRAW and thing.part is not None:
            if self.app.do(Draw(((thing.part.calculation, thing.part.role),))):
                self._leave_closed()
        elif thing.kind == nexts.END:
            self.action_end()
        elif thing.row is not None:
            asking.act_on(self, thing.row)

    def action_calculate(self) -> None:
        row = self._with_row()
        if row is None:
            return
        if not row.item.cites:
            self.app.say("No calculator proves this item; l lists those of this board")
            return
        asking.open_calculator_of(self, row)

    def action_meet(self) -> None:
        row = self._with_row()
        if row is None:
            return
        by_hand = self._by_hand

        def met() -> None:
            self._go_on(row, by_hand=by_hand)
            self._offer_last_walk()

        asking.meet(self, row, met)

    def action_sheet(self) -> None:
        row = self._with_row()
        if row is not None:
            asking.ask_page(self, row)

    def action_there(self) -> None:
        row = self._with_row()
        if row is not None:
            asking.answer_question(self, row)

    def action_not_here(self) -> None:
        row = self._with_row()
        if row is None:
            return
        by_hand = self._by_hand
        if self.app.do(Dismiss(row.key)):
            self._go_on(row, by_hand=by_hand)
        elif row.question:
            asking.answer_question(self, row)

    def action_waive(self) -> None:
        row = self._with_row()
        if row is not None:
            asking.ask_reason(self, row)

    def action_reopen(self) -> None:
        row = self._with_row()
        if row is not None:
            self.app.do(TakeBack((row.key,)) if row.aside else Reopen(row.key))

    def action_draw(self) -> None:
        parts = [part for part in to_draw(self.app.sprint.state) if not part.fails]
        if not parts:
            self.app.say("Nothing is waiting to be drawn")
            return
        if self.app.do(Draw(((parts[0].calculation, parts[0].role),))):
            self._leave_closed()

    def action_draw_all(self) -> None:
        parts = [part for part in to_draw(self.app.sprint.state) if not part.fails]
        if self.app.do(Draw(tuple((p.calculation, p.role) for p in parts))):
            self._leave_closed()

    def action_sign_off(self) -> None:
        self.app.do(SignOff(self.app.sprint.state.phase))

    def action_joined(self) -> None:
        if self.app.do(JoinLate(self.app.sprint.state.phase)):
            self.action_walk()

    def action_place(self) -> None:
        pauses.next_place(self)

    def action_step_by_step(self) -> None:
        state = self.app.sprint.state
        on = state.phase not in state.step_by_step
        if self.app.do(SetStepByStep(state.phase, on)) and on:
            self.action_walk()

    def action_undo(self) -> None:
        if self.app.do(Undo()):
            self._follow_next()

    def action_interrupted(self) -> None:
        self.app.do(Interrupt())

    def action_forecast(self) -> None:
        lists.show_forecast(self)

    def action_quiet(self) -> None:
        self.app.do(SetQuiet(not self.app.sprint.state.quiet))

    def action_fold(self) -> None:
        self.unfolded = not self.unfolded
        self.repaint()

    def action_walk(self) -> None:
        pauses.walk_at_hand(self)

    def action_last_walk(self) -> None:
        pauses.last_walk_asked(self)

    def action_park(self) -> None:
        lists.ask_thought(self)

    def action_line(self) -> None:
        lists.ask_quick_line(self)

    def action_find(self) -> None:
        lists.ask_word(self)

    def action_to_draw(self) -> None:
        lists.show_to_draw(self)

    def action_calculations(self) -> None:
        lists.choose_calculator(self)

    def action_parked(self) -> None:
        lists.show_parked(self)

    def action_board(self) -> None:
        lists.show_board(self)

    def action_change(self) -> None:
        lists.choose_change(self)

    def action_cut_off(self) -> None:
        lists.ask_cut_off(self)

    def action_journal(self) -> None:
        lists.show_journal(self)

    def action_help(self) -> None:
        lists.show_help(self, self._numbers)

    def _numbers(self, width: int) -> list[Line]:
        from coach.terminal.drawing.why_lines import why_lines

        return why_lines(self.moment(), self.app.sprint.history, width)

    def action_end(self) -> None:
        lists.end(self)

    def action_leave(self) -> None:
        self.app.leave()
