"""What to look at because of the sprint itself: what it left in doubt, what it never drew, what was
found late."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from coach.bringup.board_under_test import Board
from coach.bringup.sheet import CALCULATED, SPRINT, Step
from coach.sprint.gates.gates import open_essentials
from coach.sprint.ledger.to_draw import parts_of, to_draw
from coach.sprint.state import Row, SavedCalculation
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.expected import Expected
from phases.kit.grammar import count, listed_clauses, sentences
from phases.kit.items import Evidence, Severity, Stage

_THIN = 0.1
"""Share of its scale below which a margin is thin (common practice)."""

_MOST_ITEMS, _MOST_THIN, _MOST_PARTS = 5, 6, 6
"""Lines of the sheet: more nobody looks at with a board in the hand."""

_WAY_IN = ("power-entry", "regulation")
"""The phases whose dead boards power reveals by destroying something."""


def look_steps(board: Board) -> Iterator[Step]:
    failing = [one for one in board.saved if one.record.verdict == FAIL]
    yield from (_failed(board, one) for one in failing)
    rows = open_essentials(board.state)
    alone = [row for row in rows if _before_power(row)][:_MOST_ITEMS]
    yield from (_open(row) for row in alone)
    if others := [row for row in rows if row not in alone]:
        yield _others(others, more=bool(alone))
    if thin := [(one, said) for one in board.saved if (said := _thin(one))]:
        yield _little_margin(board, sorted(thin, key=lambda one: one[0].record.verdict == PASS))
    if parts := [part.words for part in to_draw(board.state)]:
        yield _step(
            "undrawn",
            "Calculated, never marked drawn",
            "Is it on the board, with this value?",
            "all there",
            "still to draw when the sprint ended",
            where=listed_clauses(parts, _MOST_PARTS),
        )
    for one in board.state.findings.values():
        at = f"board {one.board}" if one.board else "every board"
        rework = f"; rework: {one.bodge}" if one.bodge else ""
        yield _step(
            f"finding.{one.number}",
            one.fault,
            "Same fault on this board?",
            "no, or reworked",
            f"finding {one.number} on {at}{rework}",
        )


def _step(
    name: str, title: str, do: str, words: str, why: str, *, where: str = "", basis: str = SPRINT
) -> Step:
    return Step(
        f"look.{name}", "look", title, do, Expected(words=words), where, basis=basis, why=why
    )


# ---- what it left open ---------------------------------------------------------------------------


def _before_power(row: Row) -> bool:
    """Whether an open essential is looked at by itself: it can be seen on the board, and power
    would reveal it badly."""
    item = row.item
    seen = item.stage in (Stage.SCHEMATIC, Stage.PLACEMENT) and (
        Evidence.INSPECTED in item.met_by or Evidence.MEASURED in item.met_by
    )
    dead = item.severity == Severity.DEAD_BOARD and item.phase in _WAY_IN
    return seen and (dead or item.severity == Severity.HAZARD)


def _titled(row: Row) -> str:
    return f"{row.item.short_title} ({row.title})" if row.subject else row.item.short_title


def _open(row: Row) -> Step:
    again = " again" if row.state is not None and row.state.because else ""
    why = f"open{again} at the end, {row.item.severity}. {row.item.why}"
    do = f"Check on this board: {row.item.statement}"
    return _step(f"item.{row.key}", _titled(row), do, "yes", why)


def _others(rows: list[Row], *, more: bool) -> Step:
    """The other open ones in one line: most are questions to the schematic and the files."""
    essentials = count(len(rows), "more open essential" if more else "open essential")
    subjects: dict[str, list[str]] = {}
    for row in rows:
        subjects.setdefault(row.item.short_title, []).append(row.subject)
    named = (f"{name} ({', '.join(at)})" if any(at) else name for name, at in subjects.items())
    do = f"Go through them with schematic and files: {'; '.join(named)}"
    why = "open at the end; the debrief tells each in full"
    return _step("items", essentials, do, "yes to each", why)


# ---- what its calculations say -------------------------------------------------------------------


def _failed(board: Board, saved: SavedCalculation) -> Step:
    """A calculation that fails: its part is changed before power is put on it."""
    said = [one.message for one in saved.record.limits if one.verdict == FAIL]
    return replace(
        _step(
            f"calculation.{saved.id}",
            f"{board.named(saved.id)}: calculation failed",
            "Has the part been changed, or does its data sheet allow this?",
            "changed, or allowed by its data sheet",
            sentences(*said[:2], f"and {len(said) - 2} more" if len(said) > 2 else ""),
            where="; ".join(dict.fromkeys(part.words for part in parts_of(saved))),
            basis=CALCULATED,
        ),
        caution="Do not power this board until the part is changed or its data sheet allows it.",
        forbids_power=True,
    )


def _thin(saved: SavedCalculation) -> str:
    """What its limit with the least to spare says; empty where all have enough, or one fails."""
    thin = [
        one
        for one in saved.record.limits
        if one.verdict == MARGINAL
        or (one.verdict == PASS and one.share is not None and one.share < _THIN)
    ]
    thin.sort(key=lambda one: one.verdict != MARGINAL)
    return thin[0].message if thin and saved.record.verdict != FAIL else ""


def _little_margin(board: Board, thin: list[tuple[SavedCalculation, str]]) -> Step:
    """One step for all of them, the marginal ones first."""
    named = [(board.named(saved.id), said) for saved, said in thin]
    more = f"and {len(named) - _MOST_THIN} more" if len(named) > _MOST_THIN else ""
    return _step(
        "thin",
        f"{count(len(named), 'calculation')} with thin margin",
        "Which parts were fitted, and do their data sheets allow this?",
        "as specified, or better",
        sentences(*(f"{name}: {said}" for name, said in named[:_MOST_THIN]), more),
        where=listed_clauses([name for name, _ in named], _MOST_THIN),
        basis=CALCULATED,
    )
