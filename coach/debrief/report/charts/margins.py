"""Margins of saved calculations, thinnest first, from their limit.

One row a calculation: the limit is the heavy line at zero, the mark stands as far to its right as
there is margin left, in per cent of what the margin is measured by. Verdict by mark and by word.
"""

from __future__ import annotations

import math

from coach.debrief.account.data import Account, LimitTold
from coach.debrief.report.charts.drawing import Sheet, sheet, short, svg_of
from coach.debrief.report.figures import per_cent
from coach.debrief.report.paper import ROWS_OF_CHART
from coach.debrief.report.sections import thinnest_limit
from phases.kit.grammar import count

LEAST, MUCH = -0.5, 1.0
"""Shares at the ends of the axis; what is beyond is drawn at the end, with an arrow."""

MARKS = {
    "pass": ("o", "done", True), "marginal": ("D", "doubt", False), "fail": ("X", "due", True),
}  # fmt: skip
"""Mark, role and whether it is filled, by verdict."""

WIDTH, ROW, TOP = 340.0, 31.0, 30.0
LEFT, RIGHT = 10.0, 300.0
_LETTER = 5.8  # pixels, about


def margins(account: Account) -> str:
    """The chart; an empty text where no calculation has a limit that applies."""
    found = thinnest(account)
    shown = found[:ROWS_OF_CHART]
    if not shown:
        return ""
    thin = min((_held(one.share) for _, one in shown if one.share is not None), default=0.0)
    low = min(0.0, math.floor(thin * 10) / 10)
    bottom = TOP + ROW * len(shown)
    with sheet("margins", WIDTH, bottom + 8) as drawn:
        _axis(drawn, low, bottom)
        for n, (name, one) in enumerate(shown):
            _row(drawn, low, one, name, TOP + n * ROW)
        return svg_of(drawn, says(found))


def thinnest(account: Account) -> list[tuple[str, LimitTold]]:
    """Each calculation by name with the limit that has least left, in their order."""
    least = ((one.name, thinnest_limit(one)) for one in account.calculations)
    return [(name, limit) for name, limit in least if limit is not None]


def says(found: list[tuple[str, LimitTold]]) -> str:
    """The chart in a sentence."""
    listed = [
        f"{name} {one.verdict}" + (f" with {per_cent(one.share)}" if one.share is not None else "")
        for name, one in found[:3]
    ]
    return (
        f"Thinnest margin of each of {count(len(found), 'saved calculation')}, thinnest first: "
        f"{'; '.join(listed)}."
    )


def _held(share: float) -> float:
    return min(max(share, LEAST), MUCH) if math.isfinite(share) else LEAST


def _x(share: float, low: float) -> float:
    return LEFT + (RIGHT - LEFT) * (_held(share) - low) / (MUCH - low)


def _axis(drawn: Sheet, low: float, bottom: float) -> None:
    for tenths in range(round(low * 10), 11):
        if tenths % 5 and tenths:
            continue
        x = _x(tenths / 10, low)
        drawn.line([x, x], [TOP - 8, bottom], "due" if not tenths else "rule", 0.7 if tenths else 2)
        words = f"{tenths * 10} %".replace("-", "−") if tenths else "limit"
        to = "left" if tenths == 0 and low == 0 else "center"
        drawn.words(max(x - 4, 4) if to == "left" else x, TOP - 17, words,
                    "due" if not tenths else "quiet", to=to, size=10, heavy=not tenths)  # fmt: skip


def _row(drawn: Sheet, low: float, one: LimitTold, name: str, top: float) -> None:
    shape, role, filled = MARKS.get(one.verdict, ("_", "quiet", False))
    ink = role if role != "done" else "ink"
    end = per_cent(one.share) if one.share is not None else ""
    verdict, zero = short(f"{one.verdict} {end}".strip(), 20), _x(0, low)
    drawn.words(WIDTH - 8, top + 9, verdict, ink, to="right", heavy=one.verdict == "fail")
    most = int((WIDTH - 32 - zero) / _LETTER) - len(verdict)
    drawn.words(zero + 8, top + 9, short(f"{name}: {one.limit}", most), "ink")
    if one.share is None:
        return
    x, y = _x(one.share, low), top + 23
    drawn.line([zero, x], [y, y], role, 1.6)
    drawn.mark(x, y, shape, role, size=6.5, filled=filled)
    if one.share > MUCH:
        drawn.mark(x + 10, y, ">", role, size=4)
    elif one.share < LEAST:
        drawn.mark(x - 8, y, "<", role, size=4)
