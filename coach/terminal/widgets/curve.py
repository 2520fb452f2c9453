"""A curve with its title and its legend; empty until there is one."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widget import Widget

from coach.terminal.drawing.curve import curve_legend, curve_title
from coach.terminal.widgets.lines import Lines
from phases.kit.curves import Traced

if TYPE_CHECKING:
    from coach.terminal.widgets.plot import CurvePlot


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
        names = (name.removeprefix("curve--") for name in self.COMPONENT_CLASSES)
        return {
            name: str(self.get_component_rich_style(f"curve--{name}", partial=True))
            for name in names
        }
