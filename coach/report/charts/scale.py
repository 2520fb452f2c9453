"""A time axis: seconds to pixels, its ticks, and the marks of cut-off and end across all rows."""

from __future__ import annotations

from dataclasses import dataclass

from coach.report.charts.drawing import Sheet
from coach.sprint.durations import elapsed

TICKS = (5 * 60, 10 * 60, 15 * 60, 30 * 60, 3600, 2 * 3600, 4 * 3600, 12 * 3600, 48 * 3600)
"""Steps of the axis, seconds."""


@dataclass(frozen=True, slots=True)
class Scale:
    left: float
    right: float
    last: float
    """The last second that is drawn."""

    def x(self, seconds: float) -> float:
        held = min(max(seconds, 0.0), self.last)
        return self.left + (self.right - self.left) * held / self.last

    def axis(self, drawn: Sheet, y: float, bottom: float) -> None:
        """Times above the rows, with a rule down through them."""
        most = (self.right - self.left) // 55
        step = next((one for one in TICKS if self.last / one <= most), self.last)
        for n in range(int(self.last // step) + 1):
            x = self.x(n * step)
            drawn.line([x, x], [y, bottom], "rule", 0.7)
            drawn.words(x, y - 13, elapsed(n * step), "quiet", to="middle", size=10)

    def cut_off_and_end(
        self, drawn: Sheet, rows: tuple[float, float], cut_off: float, end: float | None, word: str
    ) -> None:
        """The two as lines through all rows, their words below; moved apart where they collide."""
        top, bottom = rows
        cut = self.x(cut_off)
        drawn.line([cut, cut], [top, bottom], "due", 2.0)
        drawn.words(cut + 4, bottom + 8, "cut-off", "due", size=10, to="end", heavy=True)
        if end is None:
            return
        x = self.x(end)
        drawn.line([x, x], [top, bottom], "ink", 1.4, dashes="5 3")
        if x >= cut:
            drawn.words(max(x, cut + 8), bottom + 8, word, size=10)
        else:
            drawn.words(min(x, cut - 48), bottom + 8, word, size=10, to="end")
