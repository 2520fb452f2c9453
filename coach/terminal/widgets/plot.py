"""The plot of a curve. Imported at its first use only, because it brings numpy with it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from textual_plot import AxisFormatter, HiResMode, PlotWidget

from coach.terminal.drawing.curve import ticks, value_at
from phases.kit.curves import Traced

STROKES = ("band", "typical", "limit", "here")
_CELLS_A_TICK = 11
_ROWS_A_TICK = 3
_LEFT = 10


class CurvePlot(PlotWidget):
    """The band and the typical value of a curve, the limit across it, and where one is.

    A logarithmic axis is drawn over the logarithm, its ticks at the decades.
    """

    def __init__(self, ready: Callable[[], None]) -> None:
        """ready: called when there is something to draw on, and again at another size."""
        super().__init__(allow_pan_and_zoom=False)
        self.can_focus = False
        self._ready = ready

    def on_mount(self) -> None:
        self.margin_top, self.margin_bottom, self.margin_left = 0, 1, _LEFT

    def on_resize(self) -> None:
        self.call_after_refresh(self._ready)

    def draw(self, traced: Traced, side: str, styles: Mapping[str, str]) -> None:
        """styles: of each of `STROKES`, as a rich style in words."""
        self.clear()
        log = traced.curve.log and traced.x[0] > 0
        xs = [math.log10(x) for x in traced.x] if log else list(traced.x)
        if traced.low != traced.high:
            for edge in (traced.low, traced.high):
                self.plot(xs, edge, styles["band"], HiResMode.BRAILLE)
        self.plot(xs, traced.typ, styles["typical"], HiResMode.BRAILLE)
        if traced.bound is not None:
            self.scatter(xs, traced.bound, marker="╌", marker_style=styles["limit"])
        at = math.log10(traced.at) if log and traced.at > 0 else traced.at
        here = value_at(traced.x, traced.edge(side), traced.at)
        self.scatter([at], [here], marker="●", marker_style=styles["here"])
        self._scale(traced, xs, log)

    def _scale(self, traced: Traced, xs: Sequence[float], log: bool) -> None:
        values = [*traced.low, *traced.high, *(traced.bound or ())]
        finite = [value for value in values if math.isfinite(value)] or [0.0, 1.0]
        low, high = min(finite), max(finite)
        room = (high - low) * 0.04 or abs(high) * 0.1 or 1.0
        self.set_xlimits(xs[0], xs[-1])
        self.set_ylimits(low - room, high + room)
        wide, tall = max(self.size.width - _LEFT, 10), max(self.size.height - 3, 4)
        across = ticks(
            traced.x[0], traced.x[-1], traced.x_unit, max(wide // _CELLS_A_TICK, 2), log=log
        )
        up = ticks(low - room, high + room, traced.y_unit, max(tall // _ROWS_A_TICK, 2))
        self.set_x_formatter(
            _Labels({math.log10(x) if log else x: label for x, label in across.items()})
        )
        self.set_y_formatter(_Labels(up))


class _Labels(AxisFormatter):
    """Ticks that were chosen beforehand."""

    def __init__(self, chosen: Mapping[float, str]) -> None:
        self._chosen = chosen

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        return list(self._chosen)

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        return list(self._chosen.values())
