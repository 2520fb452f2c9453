"""What to look at before anything is connected: first what the sprint itself left in doubt."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.recorded import Recorded, limits, number
from coach.debrief.bringup.sheet import CALCULATED, PRACTICE, SPRINT, Expected, Step
from coach.sprint.board import open_essentials
from coach.sprint.past.read_sprint import FORGED
from coach.sprint.state import Finding, Row, Saved
from coach.sprint.to_draw import part_words, parts_of, to_draw
from phases.kit.items import Severity
from phases.kit.text import line

_THIN = 0.1
"""Share of its scale below which a margin is thin (common practice)."""

_MOST_ITEMS, _MOST_THIN = 10, 6
"""Lines of the sheet: more nobody looks at with a board in the hand."""

_SEVERITY = {
    Severity.HAZARD: "hazard", Severity.DEAD_BOARD: "dead board",
    Severity.DEGRADED: "degraded", Severity.REWORK: "rework",
}  # fmt: skip


def look_steps(known: Recorded) -> Iterator[Step]:
    yield from _usual(known)
    yield from _undrawn(known)
    rows = open_essentials(known.state)
    yield from (_open(row) for row in rows[:_MOST_ITEMS])
    yield from _more(rows[_MOST_ITEMS:])
    thin = [step for saved in known.saved for step in _thin(saved)]
    yield from sorted(thin, key=lambda step: not step.title.endswith("fails"))[:_MOST_THIN]
    for finding in known.state.findings:
        yield _found(finding)


def _step(name: str, title: str, do: str, words: str, where: str) -> Step:
    return Step(
        f"look.{name}", "look", title, do, Expected(words=words), where, "magnifier", PRACTICE
    )


def _usual(known: Recorded) -> Iterator[Step]:
    cell = known.fact("battery_kind") not in (None, "none")
    poled = known.fact("polarised_capacitors") is not False
    parts = ["diodes", "LEDs", *(["tantalum and electrolytic capacitors"] if poled else []),
             *(["cell holder"] if cell else [])]  # fmt: skip
    yield _step("polarity", "Polarity", "Compare each polarised part with the sheet",
                "all the right way round", ", ".join(parts))  # fmt: skip
    yield _step("pin-one", "Pin 1", "Compare pin 1 of each chip and connector with the sheet",
                "all at their mark", "chips, connectors, modules")  # fmt: skip
    yield _step("bridges", "Bridges and open joints", "Look along each row of pins, both ways",
                "none", "fine-pitch parts, connectors, exposed pads")  # fmt: skip


def _undrawn(known: Recorded) -> Iterator[Step]:
    try:
        parts = to_draw(known.state)
    except FORGED:
        return
    if parts:
        listed = "; ".join(line(part.words) for part in parts[:6])
        more = f"; and {len(parts) - 6} more" if len(parts) > 6 else ""
        yield Step(
            "look.undrawn", "look", "Calculated and never said to be drawn",
            "Is it on the board, with this value?", Expected(words="all there"),
            f"{listed}{more}", "magnifier", SPRINT, "still to draw at its end",
        )  # fmt: skip


def _open(row: Row) -> Step:
    severity = _SEVERITY.get(row.item.severity, "")
    again = " again" if row.state is not None and row.state.because else ""
    return Step(
        f"look.item.{row.key}", "look", line(row.name), "Is it so on this board?",
        Expected(words="it is so"), tool="magnifier, sheet", basis=SPRINT,
        why=f"open{again} at the end, {severity}. {line(row.item.why)}",
    )  # fmt: skip


def _more(rows: list[Row]) -> Iterator[Step]:
    """Those that find no line of their own, in one; the debrief has them all."""
    if rows:
        shown = "; ".join(line(row.name) for row in rows[:3])
        count = len(rows)
        yield Step(
            "look.items", "look", f"{count} more open essential{'' if count == 1 else 's'}",
            "See the debrief's list", Expected(words="each is so"), tool="magnifier, sheet",
            basis=SPRINT,
            why=f"{shown}{'; ..' if count > 3 else ''}",
        )  # fmt: skip


def _thin(saved: Saved) -> Iterator[Step]:
    """One step for a calculation that fails, is marginal or has little to spare."""
    said = []
    for limit in limits(saved):
        verdict, share = limit.get("verdict"), number(limit.get("share"))
        if verdict in ("fail", "marginal") or (
            verdict == "pass" and share is not None and share < _THIN
        ):
            said.append(line(str(limit.get("says", limit.get("name", "")))))
    if not said:
        return
    try:
        parts = "; ".join(dict.fromkeys(part_words(part) for part in parts_of(saved)))
    except FORGED:
        parts = ""
    fails = saved.record.get("verdict") == "fail"
    more = f" And {len(said) - 2} more." if len(said) > 2 else ""
    yield Step(
        f"look.calculation.{saved.id}", "look",
        f"{line(saved.id)} {'fails' if fails else 'is thin'}",
        "Which part was fitted, and does its data sheet allow this?",
        Expected(words="the part meant, or a better one"), parts, "magnifier, data sheet",
        CALCULATED, " ".join(said[:2]) + more,
    )  # fmt: skip


def _found(finding: Finding) -> Step:
    on = f"board {line(finding.board)}" if finding.board else "every board"
    bodge = f"; bodge: {line(finding.bodge)}" if finding.bodge else ""
    return Step(
        f"look.finding.{finding.number}", "look", line(finding.fault),
        "Is it so on this board too?", Expected(words="not so, or made good"),
        tool="magnifier", basis=SPRINT, why=f"finding {finding.number} on {on}{bodge}",
    )  # fmt: skip
