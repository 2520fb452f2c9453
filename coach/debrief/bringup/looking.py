"""What to look at before anything is connected: first what the sprint itself left in doubt."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.recorded import Recorded
from coach.debrief.bringup.sheet import CALCULATED, PRACTICE, SPRINT, Expected, Step
from coach.history.read_sprint import FORGED
from coach.sprint.board import open_essentials
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.state import Row, Saved
from coach.sprint.to_draw import parts_of, to_draw
from phases.kit.items import Evidence, Severity, Stage
from phases.kit.text import line

_THIN = 0.1
"""Share of its scale below which a margin is thin (common practice)."""

_MOST_ITEMS, _MOST_THIN = 5, 6
"""Lines of the sheet: more nobody looks at with a board in the hand."""

_ENTRANCE = ("power-entry", "regulation")
"""The phases whose dead boards power reveals by destroying something."""

_SEVERITY = {
    Severity.HAZARD: "hazard", Severity.DEAD_BOARD: "dead board",
    Severity.DEGRADED: "degraded", Severity.REWORK: "rework",
}  # fmt: skip


def look_steps(known: Recorded) -> Iterator[Step]:
    yield from _usual(known)
    yield from (_failed(known, saved) for saved in known.saved if _fails(saved))
    rows = open_essentials(known.state)
    alone = [row for row in rows if _before_power(row)][:_MOST_ITEMS]
    yield from (_open(row) for row in alone)
    yield from _others([row for row in rows if row not in alone], more=bool(alone))
    yield from _thin(known, [saved for saved in known.saved if not _fails(saved)])
    yield from _undrawn(known)
    for finding in known.state.findings.values():
        yield _found(finding)


def _before_power(row: Row) -> bool:
    """Whether an open essential is looked at by itself: it can be seen on the board, and power
    would reveal it badly."""
    item = row.item
    seen = item.stage in (Stage.SCHEMATIC, Stage.PLACEMENT) and (
        Evidence.INSPECTED in item.met_by or Evidence.MEASURED in item.met_by
    )
    return seen and (
        item.severity == Severity.HAZARD
        or (item.severity == Severity.DEAD_BOARD and item.phase in _ENTRANCE)
    )


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


def _others(rows: list[Row], *, more: bool) -> Iterator[Step]:
    """The other open ones by their words in one line: most are questions to the sheet and the
    files. The debrief tells each in full."""
    if not rows:
        return
    subjects: dict[str, list[str]] = {}
    for row in rows:
        subjects.setdefault(line(row.item.id).replace("-", " "), []).append(line(row.subject))
    named = [f"{words} ({', '.join(at)})" if any(at) else words for words, at in subjects.items()]
    count = len(rows)
    yield Step(
        "look.items", "look",
        f"{count}{' more' if more else ''} open essential{'' if count == 1 else 's'}",
        f"Go through them with sheet and files: {'; '.join(named)}", Expected(words="each is so"),
        tool="magnifier, sheet", basis=SPRINT,
        why="open at the end; the debrief tells each in full",
    )  # fmt: skip


def _named(known: Recorded, saved: Saved) -> str:
    """A calculation in words: "fuse of Supply input"."""
    name, _, rest = line(saved.id).partition("@")
    subject, _, label = rest.partition(".")
    if not rest:
        name, _, label = name.partition(".")
    found = known.state.subjects.get(subject)
    title = (line(found.title) if found else "") or subject
    words = name.replace("-", " ") + (f" ({label})" if label else "")
    return f"{words} of {title}" if title else words


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _said(saved: Saved, *verdicts: str) -> list[str]:
    """What its limits with these verdicts say, and with a verdict of pass those that are thin."""
    found = []
    for verdict in verdicts:
        for limit in saved.record.limits:
            thin = verdict != "pass" or (limit.share is not None and limit.share < _THIN)
            if limit.verdict == verdict and thin:
                found.append(limit.says)
    return found


def _fails(saved: Saved) -> bool:
    return saved.record.verdict == "fail"


def _failed(known: Recorded, saved: Saved) -> Step:
    """A calculation that fails: its part is changed before power is put on it."""
    parts = "; ".join(dict.fromkeys(part.words for part in parts_of(saved)))
    said, name = _said(saved, "fail"), _named(known, saved)
    more = f" And {len(said) - 2} more." if len(said) > 2 else ""
    return Step(
        f"look.calculation.{saved.id}", "look", f"{_upper(name)} failed on paper",
        "Has the part been changed, or does its data sheet allow this?",
        Expected(words="changed, or allowed by its data sheet"), parts, "magnifier, data sheet",
        CALCULATED, " ".join(said[:2]) + more,
        "Do not power this board until the part is changed or its data sheet allows it.",
        forbids_power=True,
    )  # fmt: skip


def _thin(known: Recorded, holding: list[Saved]) -> Iterator[Step]:
    """One step for all calculations that are marginal or have little to spare."""
    thin = [(saved, said) for saved in holding if (said := _said(saved, "marginal", "pass"))]
    thin.sort(key=lambda one: one[0].record.verdict != "marginal")
    if not thin:
        return
    count = len(thin)
    told = [f"{_upper(_named(known, saved))}: {said[0]}" for saved, said in thin[:_MOST_THIN]]
    more = [f"And {count - _MOST_THIN} more."] if count > _MOST_THIN else []
    yield Step(
        "look.thin", "look", "1 calculation is thin" if count == 1 else f"{count} calculations "
        "are thin", "Which parts were fitted, and do their data sheets allow this?",
        Expected(words="the parts meant, or better ones"),
        "; ".join(_named(known, saved) for saved, _ in thin[:_MOST_THIN]),
        "magnifier, data sheet", basis=CALCULATED, why=" ".join([*told, *more]),
    )  # fmt: skip


def _found(finding: FindingNoted) -> Step:
    on = f"board {line(finding.board)}" if finding.board else "every board"
    bodge = f"; bodge: {line(finding.bodge)}" if finding.bodge else ""
    return Step(
        f"look.finding.{finding.number}", "look", line(finding.fault),
        "Is it so on this board too?", Expected(words="not so, or made good"),
        tool="magnifier", basis=SPRINT, why=f"finding {finding.number} on {on}{bodge}",
    )  # fmt: skip
