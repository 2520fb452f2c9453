"""A drawing sheet: lines, marks and words at places in pixels, written as SVG for inside a page;
and a time axis on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from coach.sprint.durations import elapsed
from phases.kit.text import one_line

ROLES = ("ink", "quiet", "rule", "done", "due", "doubt", "next", "paper", "band")
"""Colours of the page, by what they mean."""

LETTER = 0.6
"""How wide a letter is at most on average, of its size."""

SIZE = 11.0
"""Of words, in pixels of a sheet at its own width."""

MARKS = {
    "circle": "M1 0A1 1 0 1 1-1 0A1 1 0 1 1 1 0Z",
    "diamond": "M0-1.2L1.2 0L0 1.2L-1.2 0Z",
    "triangle": "M0-1.1L1.1 .9L-1.1 .9Z",
    "square": "M-.9-.9H.9V.9H-.9Z",
    "cross": "M-1-1L1 1M-1 1L1-1",
    "right": "M-.8-1L.9 0L-.8 1Z",
    "left": "M.8-1L-.9 0L.8 1Z",
}
"""Shapes about their middle, one pixel to each side."""


class Sheet:
    """`width` by `height` pixels, from the top left."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._root = ElementTree.Element("svg")

    def line(
        self,
        x: Sequence[float],
        y: Sequence[float],
        role: str,
        weight: float = 1.0,
        *,
        dashes: str = "",
    ) -> None:
        """A line through points."""
        points = " ".join(f"{a:.2f},{b:.2f}" for a, b in zip(x, y, strict=True))
        dashed = f"; stroke-dasharray: {dashes}" if dashes else ""
        style = f"fill: none; stroke: var(--{role}); stroke-width: {weight:g}px{dashed}"
        self._put("polyline", points=points, style=style)

    def band(self, left: float, right: float, top: float, bottom: float, role: str) -> None:
        """A faint band."""
        self._put(
            "rect",
            x=f"{left:.2f}",
            y=f"{top:.2f}",
            width=f"{max(right - left, 0.0):.2f}",
            height=f"{bottom - top:.2f}",
            style=f"fill: var(--{role}); opacity: .45",
        )

    def mark(
        self, x: float, y: float, shape: str, role: str, *, size: float = 6.0, filled: bool = True
    ) -> None:
        """A mark of MARKS with its middle at a place."""
        fill = role if filled else "paper"
        self._put(
            "path",
            d=MARKS[shape],
            transform=f"translate({x:.2f} {y:.2f}) scale({size / 2:g})",
            style=f"fill: var(--{fill}); stroke: var(--{role}); stroke-width: 1.4px; "
            "vector-effect: non-scaling-stroke",
        )

    def words(
        self,
        x: float,
        y: float,
        text: str,
        role: str = "ink",
        *,
        to: str = "start",
        size: float = SIZE,
        heavy: bool = False,
    ) -> None:
        """Words with their middle at height y. to: whether they begin, are centred or end at x.

        Centred ones are moved in where they would reach out of the sheet.
        """
        if to == "middle":
            half = LETTER * size * len(text) / 2
            x = min(max(x, half), self.width - half)
        weight = "; font-weight: 700" if heavy else ""
        style = (
            f"fill: var(--{role}); font-size: {size:g}px; text-anchor: {to}; "
            f"dominant-baseline: central{weight}"
        )
        self._put("text", x=f"{x:.2f}", y=f"{y:.2f}", style=style).text = one_line(text)

    def dimension(
        self,
        begin: float,
        end: float,
        y: float,
        role: str,
        *,
        weight: float = 1.0,
        tall: float = 4.0,
    ) -> None:
        """A dimension line: between two end marks."""
        self.line([begin, end], [y, y], role, weight)
        for x in (begin, end):
            self.line([x, x], [y - tall, y + tall], role)

    def svg(self, says: str, classes: str = "") -> str:
        """The sheet as an element of a page. says: what it shows, for who cannot see it."""
        self._root.attrib |= {
            "class": f"chart {classes}".strip(),
            "role": "img",
            "aria-label": one_line(says),
            "viewBox": f"0 0 {self.width:g} {self.height:g}",
        }
        return ElementTree.tostring(self._root, encoding="unicode", short_empty_elements=False)

    def _put(self, tag: str, **attributes: str) -> ElementTree.Element:
        return ElementTree.SubElement(self._root, tag, attributes)


def short(text: str, width: float, size: float = SIZE) -> str:
    """A text cut to what so many pixels hold; the tables have it in full."""
    said, most = one_line(text), max(int(width / (LETTER * size)), 1)
    return said if len(said) <= most else f"{said[: most - 1].rstrip()}…"


# ---- a time axis -------------------------------------------------------------------------------

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
