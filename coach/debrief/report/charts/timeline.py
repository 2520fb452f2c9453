"""The timeline: each phase planned against actual, drawn like a dimension on a technical drawing.

One lane a phase. Above, the plan: a thin dimension line. Below it what was: a heavy line between
end marks for each stretch, with a tick where the plan had its end. Under that a mark where each
of its items was closed, and at the right how many are open.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.debrief.account.data import Account, ItemTold, PhaseTold
from coach.debrief.report.charts.drawing import Sheet, sheet, short, svg_of
from coach.debrief.report.figures import clock, sane, span
from phases.kit.grammar import count

TICKS = (5 * 60, 10 * 60, 15 * 60, 30 * 60, 3600, 2 * 3600, 4 * 3600, 12 * 3600, 48 * 3600)
"""Steps of the time axis, seconds."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Seconds to pixels."""

    left: float
    right: float
    end: float

    def x(self, seconds: float) -> float:
        held = min(max(seconds, 0.0), self.end) if sane(seconds) else self.end
        return self.left + (self.right - self.left) * held / self.end

    def ticks(self, most: int) -> list[float]:
        step = next((s for s in TICKS if self.end / s <= most), self.end)
        return [n * float(step) for n in range(int(self.end // step) + 1)]


def end_of(account: Account) -> float:
    """The last second the time axis must hold: cut-off, end, plan and stretches."""
    times = [account.deadline, account.ended_at or account.last]
    for phase in account.phases:
        times += [phase.planned[1], *(end for _, end in phase.stretches)]
    return max([60.0, *(one for one in times if sane(one))])


def timeline(account: Account, *, narrow: bool = False) -> str:
    """The chart; narrow: for a page as wide as a telephone, names above their lanes."""
    width, lane, top = (340.0, 56.0, 40.0) if narrow else (760.0, 37.0, 34.0)
    left, right = (14.0, 272.0) if narrow else (202.0, 690.0)
    lanes = len(account.phases)
    height = top + lane * lanes + (66 if narrow else 34)
    scale = Scale(left, right, end_of(account))
    name = "timeline-narrow" if narrow else "timeline"
    with sheet(name, width, height) as drawn:
        bottom = top + lane * lanes
        _axis(drawn, scale, account, top, bottom)
        for n, phase in enumerate(account.phases):
            items = [one for one in account.items if one.phase == phase.phase]
            drawn.line([8, width - 8], [top + n * lane + lane - 1] * 2, "rule", 0.5)
            above = _title(drawn, phase, top + n * lane, _edge(scale, account) if narrow else None)
            _lane(drawn, scale, phase, top + n * lane + above)
            _items(drawn, scale, items, top + n * lane + above + 28)
        _legend(drawn, 8.0, bottom + 16, narrow)
        return svg_of(drawn, says(account), "narrow" if narrow else "wide")


def says(account: Account) -> str:
    """The chart in a sentence."""
    parts = [
        f"{one.name}, {span(one.used)} in a box of {span(one.box)}"
        for one in account.phases if one.stretches
    ]  # fmt: skip
    end = f", ended {clock(account.ended_at)}" if account.ended_at is not None else ""
    return (
        f"Timeline of {count(len(account.phases), 'phase')}, planned against actual, "
        f"cut-off {clock(account.deadline)}{end}: {'; '.join(parts) or 'none was entered'}."
    )


def _axis(drawn: Sheet, scale: Scale, account: Account, top: float, bottom: float) -> None:
    """The whole as a dimension line with the times, the cut-off and the end across all lanes."""
    y = top - 10
    for at in scale.ticks(int((scale.right - scale.left) // 55)):
        x = scale.x(at)
        drawn.line([x, x], [y, bottom], "rule", 0.7)
        drawn.words(x, y - 13, clock(at), "quiet", to="center", size=10)
    drawn.dimension(scale.x(0), scale.x(account.deadline), y, "ink", weight=1.2, tall=5)
    cut = scale.x(account.deadline)
    drawn.line([cut, cut], [y - 6, bottom + 2], "due", 2.0)
    drawn.words(cut + 4, bottom + 6, "cut-off", "due", size=10, to="right", heavy=True)
    if account.ended_at is not None:
        end = scale.x(account.ended_at)
        drawn.line([end, end], [y - 6, bottom + 2], "ink", 1.4, dashes=(5, 3))
        if end - cut > 36:
            drawn.words(end, bottom + 6, "end", "ink", size=10, to="center")
        elif end >= cut:
            drawn.words(max(end, cut) + 6, bottom + 6, "end", "ink", size=10)
        else:
            drawn.words(min(end, cut - 42) - 4, bottom + 6, "end", "ink", size=10, to="right")


def _edge(scale: Scale, account: Account) -> float:
    """Where words above a lane end: before the cut-off's line, where there is room before it."""
    first = min(scale.x(account.deadline), scale.x(account.ended_at or account.last))
    return first - 6 if first > 240 else 332.0


def _title(drawn: Sheet, phase: PhaseTold, top: float, edge: float | None) -> float:
    """The phase by name, and its minutes; in one row that ends at `edge`, or in two.

    Returns the height they take above the lane.
    """
    used = f"{span(phase.used)} of {span(phase.box)}"
    if not phase.stretches:
        used = "drawn before" if phase.drawn_before else "never entered"
    over = phase.over > 60 and bool(phase.stretches)
    used, role = (f"{used}, over", "due") if over else (used, "quiet")
    if edge is not None:
        drawn.words(8, top + 10, short(phase.name, 20), heavy=True)
        drawn.words(edge, top + 10, used, role, to="right", size=10)
        return 18.0
    drawn.words(8, top + 12, short(phase.name, 32), heavy=True)
    drawn.words(8, top + 26, used, role, size=10)
    return 0.0


def _lane(drawn: Sheet, scale: Scale, phase: PhaseTold, top: float) -> None:
    """The plan above what was, with a tick down from where the plan had its end."""
    begin, end = (scale.x(seconds) for seconds in phase.planned)
    drawn.dimension(begin, end, top + 7, "quiet", tall=3)
    for start, stop in phase.stretches:
        drawn.dimension(scale.x(start), scale.x(stop), top + 17, "ink", weight=4, tall=5)
    if phase.stretches:
        drawn.line([end, end], [top + 7, top + 22], "next", 1.4)


def _items(drawn: Sheet, scale: Scale, items: list[ItemTold], y: float) -> None:
    """Where its items were closed; late ones and waived ones by a mark of their own."""
    for one in items:
        if one.closed is None:
            continue
        x = scale.x(one.closed)
        if one.late:
            drawn.mark(x, y, "^", "doubt", size=5.5)
        elif one.outcome == "waived":
            drawn.mark(x, y, "s", "quiet", size=4.5, filled=False)
        else:
            drawn.line([x, x], [y - 3, y + 3], "done", 1.0)
    left = [one for one in items if one.outcome in ("open", "reopened")]
    essential = sum(one.essential for one in left)
    for number, shape, role, right in (
        (essential, "X", "due", 40.0), (len(left) - essential, "o", "quiet", 8.0),
    ):  # fmt: skip
        if number:
            heavy = shape == "X"
            drawn.mark(drawn.width - right - 20, y - 3, shape, role, size=5.5, filled=heavy)
            drawn.words(drawn.width - right, y - 2, str(number), role, to="right", size=10,
                        heavy=heavy)  # fmt: skip


def _legend(drawn: Sheet, x: float, y: float, narrow: bool) -> None:
    """What the strokes and marks mean."""
    words = (
        ("plan", "planned"), ("was", "as it was"), ("tick", "planned end"), ("done", "closed"),
        ("late", "closed late"), ("waived", "waived"), ("open", "essential open"),
        ("further", "further open"),
    )  # fmt: skip
    for row in (words[:4], words[4:]) if narrow else (words,):
        at = x
        for kind, said in row:
            _sample(drawn, kind, at, y + 4)
            drawn.words(at + 22, y + 4, said, "quiet", size=9 if narrow else 10)
            at += 84 if narrow else 92
        y += 18


def _sample(drawn: Sheet, kind: str, x: float, y: float) -> None:
    if kind in ("plan", "was"):
        heavy = kind == "was"
        role, weight = ("ink", 4.0) if heavy else ("quiet", 1.0)
        drawn.dimension(x, x + 18, y, role, weight=weight)
    elif kind == "tick":
        drawn.line([x + 9, x + 9], [y - 7, y + 7], "next", 1.4)
    elif kind == "done":
        drawn.line([x + 9, x + 9], [y - 3, y + 3], "done", 1.0)
    else:
        shape, role, filled = {
            "late": ("^", "doubt", True), "waived": ("s", "quiet", False),
            "open": ("X", "due", True), "further": ("o", "quiet", False),
        }[kind]  # fmt: skip
        drawn.mark(x + 11, y, shape, role, size=5.5, filled=filled)
