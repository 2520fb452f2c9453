"""A calculation to look at: verdict, inputs, outputs, limits, and what follows a moment later.

What would fix it, what drives it and the curve come from a thread after the frame is painted, so
that they are never in a key's way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.timer import Timer
from textual.widget import Widget
from textual.worker import get_current_worker

from coach.sprint.keys import CalculationKey
from coach.sprint.state import State
from coach.terminal import glyphs
from coach.terminal.drawing.calculation import (
    Advice,
    calculation_lines,
    cure_line,
    headline_lines,
    name_line,
)
from coach.terminal.drawing.curve import curve_legend, curve_sentence, curve_title
from coach.terminal.drawing.input_lines import InputLine
from coach.terminal.drawing.lines import Line
from coach.terminal.typed_inputs import GivenInputs, opened_for
from coach.terminal.widgets.line_view import Lines
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculator as calculator_of
from phases.kit.curves import Traced, trace
from phases.kit.drivers import drivers
from phases.kit.judging import FORMULA_FAULTS, Judgement, judge
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies

if TYPE_CHECKING:
    from coach.terminal.app import CoachApp
    from coach.terminal.widgets.plot import CurvePlot

_LOOK_AFTER = 0.12
"""Seconds the cursor must rest on an item before its calculation is looked at."""
_ROOM_BESIDE, _ROOM_BELOW, _NARROW = 100, 34, 60


class CurveView(Widget):
    """Shows one traced curve at a time."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "curve--band",
        "curve--typical",
        "curve--limit",
        "curve--here",
    }

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[Traced, str, int] | None = None
        self._plot: CurvePlot | None = None

    def compose(self) -> ComposeResult:
        yield Lines(id="curve-title")
        yield Vertical(id="curve-plot")
        yield Lines(id="curve-legend")

    @property
    def traced(self) -> Traced | None:
        return self._shown[0] if self._shown is not None else None

    def show(self, traced: Traced | None, side: str = "", more: int = 0) -> None:
        """A curve, or none. side: of its limit. more: how many other curves there are."""
        self._shown = (traced, side, more) if traced is not None else None
        if self._shown is not None and self._plot is None:
            from coach.terminal.widgets.plot import CurvePlot

            self._plot = CurvePlot(self._draw)
            self.query_one("#curve-plot").mount(self._plot)
        self._draw()

    def _draw(self) -> None:
        there = self._plot is not None and self._plot.is_mounted
        self.set_class(self._shown is None, "-none")
        if self._shown is None:
            return
        traced, side, more = self._shown
        self.query_one("#curve-title", Lines).show([curve_title(traced, self.size.width, more)])
        self.query_one("#curve-legend", Lines).show([curve_legend(traced, self.size.width)])
        if self._plot is not None and there:
            self._plot.draw(traced, side, self._styles())

    def _styles(self) -> dict[str, str]:
        return {
            name.removeprefix("curve--"): str(self.get_component_rich_style(name, partial=True))
            for name in self.COMPONENT_CLASSES
        }


@dataclass(frozen=True, slots=True)
class Shown:
    """Which calculation is shown, and the state of the sprint whose values it reads."""

    id: CalculationKey
    state: State

    def opened(self, given: GivenInputs | None = None) -> Calculator:
        """The calculator as it was saved, or with other inputs given. Raises Refusal."""
        return opened_for(self.state, self.id, given)

    def same(self, other: Shown | None) -> bool:
        """Whether the other one is the same calculation and reads the same values."""
        if other is None or self.id != other.id:
            return False
        mine, its = self.state, other.state
        return (
            mine.calculations is its.calculations
            and mine.declared is its.declared
            and mine.knowledge is its.knowledge
            and mine.subjects is its.subjects
        )


@dataclass(frozen=True, slots=True)
class Findings:
    """What follows a judgement a moment later: another one where a blank field got another
    proposal, what would fix it and what drives it, a curve."""

    judgement: Judgement
    advice: Advice = field(default_factory=lambda: Advice((), ()))
    traced: Traced | None = None


def _findings(found: Findings, again: Calculator | None, curve: int) -> Iterator[Findings]:
    """More of it each time."""
    if again is not None:
        found = replace(found, judgement=judge(again))
        yield found
    judgement = found.judgement
    found = replace(found, advice=Advice(tuple(remedies(judgement)), ()))
    yield found
    found = replace(found, advice=replace(found.advice, drivers=tuple(drivers(judgement))))
    yield found
    found = replace(found, advice=replace(found.advice, listings=judgement.later_listings()))
    yield found
    if curves := type(judgement.calculation).curves:
        traced = trace(judgement.calculation, curves[curve % len(curves)])
        yield replace(found, traced=traced)


class CalculatorView(Widget):
    """Shows what `preview` asks for; no key goes there. `CalculatorPane` is the one to type in."""

    app: CoachApp

    def __init__(self) -> None:
        super().__init__()
        self.judgement: Judgement | None = None
        self.inputs: list[InputLine] | None = None
        """The lines of input while they are typed."""
        self.cursor = ""
        """The key of the line that is being typed in."""
        self._shown: Shown | None = None
        self._refusal = ""
        self._advice: Advice | None = None
        self._curve = 0
        self._source = False
        self._looking: Timer | None = None

    def compose(self) -> ComposeResult:
        yield Lines(id="calc-title")
        yield Lines(id="calc-verdict")
        yield from self.compose_entry()
        with Container(id="calc-body"):
            yield Lines(id="calc-list")
            yield CurveView(id="calc-curve")

    def compose_entry(self) -> Iterator[Widget]:
        """What is between the verdict and the list; nothing where nothing is typed."""
        yield from ()

    @property
    def _is_there(self) -> bool:
        """Whether its parts are: a clock or a thread may speak while it is being taken down."""
        return self.is_mounted and self.display

    @property
    def rows(self) -> Lines:
        return self.query_one("#calc-list", Lines)

    @property
    def curve(self) -> CurveView:
        return self.query_one(CurveView)

    # ---- what is looked at ---------------------------------------------------------------------

    def preview(self, key: CalculationKey) -> None:
        """A calculation to look at; cheap to call, it follows a moment later."""
        shown = Shown(key, self.app.sprint.state)
        if not shown.same(self._shown):
            self._shown = shown
            if self._looking is not None:
                self._looking.stop()
            self._looking = self.set_timer(_LOOK_AFTER, partial(self._look, shown))

    @property
    def shown(self) -> Shown:
        assert self._shown is not None
        return self._shown

    @work(thread=True, exclusive=True, group="look", exit_on_error=False)
    def _look(self, shown: Shown) -> None:
        try:
            judgement = judge(shown.opened())
        except Refusal as refusal:
            self.call_later(self._looked, shown, None, str(refusal))
        else:
            if not get_current_worker().is_cancelled:
                self.call_later(self._looked, shown, judgement, "")

    def _looked(self, shown: Shown, judgement: Judgement | None, refusal: str) -> None:
        """The thread has judged what was asked for, or was refused."""
        if shown is not self._shown or not self._is_there:
            return
        self.judgement, self._refusal = judgement, refusal
        self._advice, self._curve = None, 0
        self._lay_out()
        self.rows.scroll_home(animate=False)
        self.curve.show(None)
        self.call_after_refresh(self.repaint)
        self._ask_advice()

    # ---- what follows a moment later -----------------------------------------------------------

    def _ask_advice(self) -> None:
        """After this frame is painted."""
        if self.judgement is not None:
            again = self.to_propose()
            self.call_after_refresh(self._advise, self.judgement, again, self._curve)

    def to_propose(self) -> Calculator | None:
        """What is to be judged with proposals of its own; nothing where nothing is typed."""
        return None

    def proposed(self, judgement: Judgement) -> None:
        """It has been."""

    @work(thread=True, exclusive=True, group="advice", exit_on_error=False)
    def _advise(self, of: Judgement, again: Calculator | None, curve: int) -> None:
        worker, found = get_current_worker(), Findings(of)
        if worker.is_cancelled or of is not self.judgement:
            return
        try:
            for more in _findings(found, again, curve):
                found = more
                if worker.is_cancelled:
                    return
        except (Refusal, *FORMULA_FAULTS):
            pass  # what was found so far is shown; the verdict says what is wrong
        self.call_later(self._advised, of, found)

    def _advised(self, of: Judgement, found: Findings) -> None:
        if of is not self.judgement or not self._is_there:
            return
        if found.judgement is not of:
            self.proposed(found.judgement)
            self.judgement = found.judgement
        self._advice = found.advice
        others = len(type(found.judgement.calculation).curves) - 1
        self.curve.show(found.traced, self._side(found.traced), max(others, 0))
        self.repaint()

    def _side(self, traced: Traced | None) -> str:
        """The side on which the limit of a curve lies."""
        if traced is None or self.judgement is None:
            return ""
        limit = traced.curve.limit
        return next((v.side for v in self.judgement.verdicts if v.limit == limit), "")

    # ---- drawing -------------------------------------------------------------------------------

    def on_resize(self) -> None:
        self._lay_out()
        self.call_after_refresh(self.repaint)

    def _lay_out(self) -> None:
        """The curve beside the list, below it or, where there is none or no room, nowhere."""
        shown = self._shown
        drawn = shown and calculator_of(shown.id.calculator).curves and not glyphs.ascii_only()
        beside = self.size.width >= _ROOM_BESIDE
        below = not beside and self.app.size.height >= _ROOM_BELOW
        self.set_class(bool(drawn and beside), "-beside")
        self.set_class(bool(drawn and below), "-below")
        self.set_class(self.size.width < _NARROW, "-narrow")

    def status(self) -> str:
        """Whether the calculation is saved, in a word."""
        saved = self.app.sprint.state.calculations.get(self.shown.id)
        return "not saved" if saved is None else "stale" if saved.stale else "saved"

    def repaint(self) -> None:
        """Everything from what is judged and typed."""
        width = self.size.width
        if not self._is_there or not width or self._shown is None:
            return
        key, inputs = self._shown.id, self.inputs
        subject = " ".join(word for word in (key.subject, key.label) if word)
        title = name_line(calculator_of(key.calculator), subject, self.status(), width)
        unread = self._refusal or next((one.unread for one in inputs or () if one.unread), "")
        verdict = self.query_one("#calc-verdict", Lines)
        self.query_one("#calc-title", Lines).fill([title])
        verdict.fill(self._verdict(unread, width))
        if width < _NARROW:
            verdict.styles.height = 2
        self.rows.show(
            calculation_lines(
                self.judgement,
                width=max(self.rows.size.width - 1, 20),
                cursor_field=self.cursor,
                advice=self._advice,
                inputs=inputs,
                source=self._source,
                curve=self._curve_words(),
            )
        )

    def _verdict(self, unread: str, width: int) -> list[Line]:
        found = headline_lines(self.judgement, width, unread)[:2]
        if self.judgement is not None and width >= _NARROW:
            found += cure_line(self.judgement, self._advice, width)
        return found

    def _curve_words(self) -> str:
        """The curve in a sentence, where there is no room to draw it."""
        traced = self.curve.traced
        if traced is None or self.has_class("-beside") or self.has_class("-below"):
            return ""
        return curve_sentence(traced, self._side(traced))
