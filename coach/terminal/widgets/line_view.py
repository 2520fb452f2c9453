"""A list of lines drawn by one widget, with or without a cursor.

One line-drawn view is several times quicker than a row of widgets, and its cursor is painted in
the same frame as what depends on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from coach.terminal.drawing.lines import ROLES, Line, Span
from coach.terminal.glyphs import shown


class Lines(ScrollView):
    """Lines with roles. A line with a key can be under the cursor."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"lines--{role}" for role in ROLES}

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "up", show=False),
        Binding("down", "move(1)", "down", show=False),
        Binding("pageup", "move(-10)", "page up", show=False),
        Binding("pagedown", "move(10)", "page down", show=False),
        Binding("home", "move(-100000)", "first", show=False),
        Binding("end", "move(100000)", "last", show=False),
    ]

    @dataclass
    class Moved(Message):
        """The cursor came to another line. by_hand: an arrow key moved it."""

        key: str
        by_hand: bool

    def __init__(
        self, *, id: str | None = None, cursor: bool = False, classes: str | None = None
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.has_cursor = cursor
        self.can_focus = cursor
        self.lines: list[Line] = []
        self._painted_for = -1
        self._at = -1
        self._last_at = 0

    # ---- what it shows -------------------------------------------------------------------------

    def show(self, lines: Sequence[Line]) -> None:
        """Other lines; the cursor stays with its key, else near where it was. The same lines
        again paint nothing, so that a tick in which nothing changed costs next to nothing."""
        if list(lines) == self.lines and self._painted_for == self.size.width:
            return
        key = self.key
        self.lines, self._painted_for = list(lines), self.size.width
        self.virtual_size = Size(self.size.width, len(self.lines))
        if self.has_cursor:
            self._at = self._index_of(key) if key else -1
            if self._at < 0:
                self._at = self._nearest(self._last_at)
        self.refresh()

    def fill(self, lines: Sequence[Line]) -> None:
        """Shows these lines and is as high as they are; without any it is not there."""
        self.show(lines)
        self.styles.height = len(lines)
        self.display = bool(lines)

    @property
    def key(self) -> str:
        """The key under the cursor; empty where there is none."""
        return self.lines[self._at].key if 0 <= self._at < len(self.lines) else ""

    @property
    def keys(self) -> list[str]:
        """The keys of all lines that have one, in their order."""
        return [one.key for one in self.lines if one.key]

    def put_cursor(self, key: str) -> None:
        index = self._index_of(key)
        if index >= 0:
            self._go(index, by_hand=False)

    def _index_of(self, key: str) -> int:
        return next((i for i, one in enumerate(self.lines) if one.key == key), -1)

    def _nearest(self, index: int) -> int:
        """The line with a key nearest to `index`."""
        return min(self._keyed, key=lambda i: abs(i - index), default=-1)

    @property
    def _keyed(self) -> list[int]:
        return [i for i, one in enumerate(self.lines) if one.key]

    # ---- moving --------------------------------------------------------------------------------

    def action_move(self, by: int) -> None:
        keyed = self._keyed
        if not self.has_cursor or not keyed:
            self.scroll_relative(y=by, animate=False)
            return
        place = keyed.index(self._at) if self._at in keyed else 0
        self._go(keyed[min(max(place + by, 0), len(keyed) - 1)], by_hand=True)

    def _go(self, index: int, *, by_hand: bool) -> None:
        if index == self._at:
            return
        self._at = self._last_at = index
        self.refresh()
        self.scroll_to_region(Region(0, index, 1, 1), animate=False, force=True)
        self.post_message(self.Moved(self.key, by_hand))

    def on_resize(self) -> None:
        self.virtual_size = Size(self.size.width, len(self.lines))

    # ---- drawing -------------------------------------------------------------------------------

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        index = y + self.scroll_offset.y
        if index >= len(self.lines):
            return Strip.blank(width, self.rich_style)
        line, base = self.lines[index], self.rich_style
        chosen = self.has_cursor and index == self._at
        if chosen:
            base += self.get_component_rich_style("lines--cursor", partial=True)
        spans = list(line.spans)
        if chosen and spans and spans[0].text.startswith(" "):
            spans[0] = Span("▸" + spans[0].text[1:], spans[0].role)
        segments = [
            Segment(
                shown(span.text),
                base + self.get_component_rich_style(f"lines--{span.role}", partial=True),
            )
            for span in spans
            if span.text
        ]
        return Strip(segments).adjust_cell_length(width, base)
