"""A drawing sheet: lines and words at places in pixels, written as SVG for inside a page.

matplotlib draws it through its object interface, so that nothing global is touched but settings
that are put back. Its file is then taken over element by element: roles instead of colours, the
page's font, names of parts that no other chart has, and no word about where it came from.
"""

from __future__ import annotations

import io
import logging
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from phases.kit.text import line

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ROLES = {
    "ink": "#010101", "quiet": "#020202", "rule": "#030303", "done": "#040404", "due": "#050505",
    "doubt": "#060606", "next": "#070707", "paper": "#080808", "band": "#090909",
}  # fmt: skip
"""Colours that stand for the page's own, `--ink` and so on, until the sheet is written."""

_LETTER = 0.6  # of its size, how wide a letter is at most on average
SIZE = 11.0
"""Of words, in pixels of a sheet at its own width."""

_SETTINGS = {
    "svg.fonttype": "none", "svg.hashsalt": "debrief", "svg.id": None,
    "font.family": ["DejaVu Sans"], "font.size": SIZE, "text.usetex": False,
    "text.parse_math": False, "path.simplify": True, "path.snap": False,
    "axes.unicode_minus": True, "lines.linewidth": 1.0, "savefig.bbox": None,
}  # fmt: skip

_NAMED = re.compile(r"url\(#([^)]+)\)")
_COLOUR = re.compile(r"#0([1-9])0\1(?:0\1)\b")


class Sheet:
    """A sheet of `width` by `height` pixels, from the top left. name: unique in its page."""

    def __init__(self, name: str, width: float, height: float) -> None:
        self.name, self.width, self.height = name, width, height
        self.figure: Figure
        self.axes: Axes

    def line(
        self, x: Sequence[float], y: Sequence[float], role: str, weight: float = 1.0, *,
        dashes: tuple[float, ...] = (),
    ) -> None:  # fmt: skip
        """A line through points."""
        from matplotlib.lines import Line2D

        style: Any = (0, dashes) if dashes else "-"
        self.axes.add_line(Line2D(
            x, y, color=ROLES[role], linewidth=weight, linestyle=style, solid_capstyle="butt",
            clip_on=False,
        ))  # fmt: skip

    def mark(
        self, x: float, y: float, shape: str, role: str, *, size: float = 6.0, filled: bool = True
    ) -> None:
        """A mark with its middle at a place. shape: as matplotlib names it."""
        from matplotlib.lines import Line2D

        self.axes.add_line(Line2D(
            [x], [y], linestyle="none", marker=shape, markersize=size,
            markeredgecolor=ROLES[role], markerfacecolor=ROLES[role if filled else "paper"],
            markeredgewidth=1.4, clip_on=False,
        ))  # fmt: skip

    def words(
        self, x: float, y: float, text: str, role: str = "ink", *, to: str = "left",
        size: float = SIZE, heavy: bool = False,
    ) -> None:  # fmt: skip
        """Words with their middle at height y. to: the side of x they end or begin at.

        Words about the middle of x are moved in where they would stand out of the sheet.
        """
        if to == "center":
            half = _LETTER * size * len(text) / 2
            x = min(max(x, half), self.width - half)
        self.axes.text(
            x, y, line(text), color=ROLES[role], horizontalalignment=to, fontsize=size,
            verticalalignment="center_baseline", fontweight="bold" if heavy else "normal",
            parse_math=False, usetex=False, clip_on=False,
        )  # fmt: skip

    def dimension(
        self, begin: float, end: float, y: float, role: str, *, weight: float = 1.0,
        tall: float = 4.0,
    ) -> None:  # fmt: skip
        """A dimension line: between two end marks."""
        self.line([begin, end], [y, y], role, weight)
        for x in (begin, end):
            self.line([x, x], [y - tall, y + tall], role)


def short(text: str, most: int) -> str:
    """A text cut to so many characters; the tables have it whole."""
    said = line(text)
    return said if len(said) <= most else f"{said[: most - 1].rstrip()}…"


@contextmanager
def sheet(name: str, width: float, height: float) -> Iterator[Sheet]:
    """A sheet to draw on; `svg_of` writes it while it is open."""
    # A folder it cannot write to and fonts it reads for the first time are no news to a reader.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib
    from matplotlib.figure import Figure

    drawn = Sheet(name, width, height)
    with matplotlib.rc_context(), warnings.catch_warnings():
        # A glyph the measuring font lacks is the page's business, which has other fonts.
        warnings.simplefilter("ignore")
        # Not what this person or machine has set; nor a backend, which would bring in a window.
        plain: Any = {k: v for k, v in matplotlib.rcParamsDefault.items() if "backend" not in k}
        matplotlib.rcParams.update(plain | _SETTINGS)
        drawn.figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        drawn.figure.patch.set_visible(False)
        drawn.axes = drawn.figure.add_axes((0, 0, 1, 1))
        drawn.axes.set_axis_off()
        drawn.axes.set_xlim(0, width)
        drawn.axes.set_ylim(height, 0)
        yield drawn


def svg_of(drawn: Sheet, says: str, classes: str = "") -> str:
    """The sheet as an SVG element. says: what it shows, for who cannot see it."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    raw = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    FigureCanvasSVG(drawn.figure).print_svg(raw, metadata=nothing)
    root = ElementTree.fromstring(raw.getvalue())
    _strip(root)
    _rename(root, drawn.name)
    root.attrib.clear()
    root.attrib |= {
        "class": f"chart {classes}".strip(), "role": "img", "aria-label": line(says),
        "viewBox": f"0 0 {drawn.width:g} {drawn.height:g}",
    }  # fmt: skip
    return ElementTree.tostring(root, encoding="unicode", short_empty_elements=False)


def _strip(element: ElementTree.Element) -> None:
    """Plain names; without what describes the file, styles a whole page, or only groups."""
    kept: list[ElementTree.Element] = []
    for child in element:
        child.tag = child.tag.rpartition("}")[2]
        _strip(child)
        if child.tag in ("metadata", "style") or (child.tag == "defs" and not len(child)):
            continue
        bare = child.tag == "g" and not set(child.attrib) - {"id"}
        kept += list(child) if bare else [child]
    element.tag = element.tag.rpartition("}")[2]
    element[:] = kept
    if element.tag != "text":
        element.text = None
    for child in kept:
        child.tail = "\n"


def _rename(root: ElementTree.Element, name: str) -> None:
    """Gives every part that is referred to a name of this chart, and every colour its role."""
    wanted: dict[str, str] = {}
    for element in root.iter():
        for key, value in element.attrib.items():
            found = [value[1:]] if key.endswith("href") else _NAMED.findall(value)
            for one in found:
                wanted.setdefault(one, f"{name}-{len(wanted) + 1}")
    for element in root.iter():
        kept = {}
        for key, value in element.attrib.items():
            short = key.rpartition("}")[2]
            if short == "id":
                if value in wanted:
                    kept["id"] = wanted[value]
            elif short == "href":
                kept["href"] = f"#{wanted[value[1:]]}"
            elif short == "style":
                kept["style"] = _styled(value)
            elif not (short.startswith("xml") or value.startswith("rotate(-0 ")):
                kept[short] = _NAMED.sub(lambda m: f"url(#{wanted[m[1]]})", value)
        element.attrib.clear()
        element.attrib.update(kept)


def _styled(style: str) -> str:
    """A style with the page's own colours and font."""
    kept = []
    for part in style.split(";"):
        key, _, value = (piece.strip() for piece in part.partition(":"))
        if key == "font":  # as in "700 11px 'DejaVu Sans'": the page chooses the family
            size = re.search(r"[\d.]+px", value)
            heavy = "700 " in value or "bold" in value
            kept.append(f"font-size: {size[0] if size else '11px'}")
            if heavy:
                kept.append("font-weight: 700")
        elif key and key != "font-family":
            kept.append(f"{key}: {_COLOUR.sub(_role, value)}")
    return "; ".join(kept)


def _role(found: re.Match[str]) -> str:
    return f"var(--{list(ROLES)[int(found[1]) - 1]})"
