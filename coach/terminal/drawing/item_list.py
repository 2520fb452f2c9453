"""The items of the phase, one line each; a row of several subjects is one line."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.durations import duration
from coach.sprint.gates.forgotten import forgotten_before
from coach.sprint.gates.gates import GateRow, grouped
from coach.sprint.gates.walks import habit_rank, walked
from coach.sprint.state import MET, NOT_HERE, WAIVED, Row, State
from coach.terminal.drawing.item_words import (
    evidence_words,
    own_minutes,
    severity_role,
    status_of,
    title_of,
)
from coach.terminal.drawing.lines import Line, Span, cut, fit, line, right, spread_out
from phases.kit.grammar import count
from phases.kit.items import CLOSING_ID

FOLD = "fold"
"""The key of the line behind which the more checks are folded."""

_STATEMENTS = 120
"""Cells from which a line has room for the statement of an item; below, for its short title."""


def item_lines(state: State, phase: str, width: int, *, unfolded: bool) -> list[Line]:
    """The gate's rows and habits, then the more checks (folded to one line), then what is not
    here."""
    if not phase:
        return _phase_keys(state)
    rows = state.rows_of(phase)
    here = [r for r in rows if r.status != NOT_HERE]
    further = _further(state, phase)
    gate = _listed(state, phase, (r for r in here if walked(state, r.item) or phase == CLOSING_ID))
    found = [_row_line(state, group, width) for group in gate]
    if further:
        found.append(_fold_line(state, phase, unfolded, width))
    if not unfolded:
        return found
    found += [_row_line(state, group, width) for group in further]
    ids = {row.item.id for row in here}
    gone = grouped(tuple(r for r in rows if r.status == NOT_HERE and r.item.id not in ids))
    if gone:
        found.append(line(Span("    not on this board", "quiet")))
    return found + [_row_line(state, group, width) for group in gone]


def _phase_keys(state: State) -> list[Line]:
    closing = f"{state.setup.closing.title}: the order itself"
    titles = [*(phase.title for phase in state.setup.phases), closing]
    return [
        line(Span("    Phases (press the number):", "quiet")),
        *(line(Span(f"    {i}  ", "key"), title) for i, title in enumerate(titles, start=1)),
    ]


def _further(state: State, phase: str) -> list[GateRow]:
    if phase == CLOSING_ID:
        return []
    here = (r for r in state.rows_of(phase) if r.status != NOT_HERE)
    return _listed(state, phase, (r for r in here if not walked(state, r.item)))


def _listed(state: State, phase: str, rows: Iterable[Row]) -> list[GateRow]:
    """Rows as the list has them: what this person keeps forgetting first, closed or not, so that
    no line jumps when it is closed. The closing list keeps the order of ordering."""
    groups = grouped(tuple(rows))
    if phase == CLOSING_ID:
        return groups
    return sorted(groups, key=lambda group: habit_rank(state, group.item))


def further_count(state: State, phase: str) -> tuple[int, int]:
    """How many more checks a phase has, and how many of them are open."""
    further = _further(state, phase)
    return len(further), sum(bool(group.open_cells) for group in further)


def further_words(state: State, phase: str) -> str:
    """ "11 more checks"; where a phase has no essentials they are no more, but optional."""
    kind = "more" if any(walked(state, row.item) for row in state.rows_of(phase)) else "optional"
    return count(further_count(state, phase)[0], f"{kind} check")


def _fold_line(state: State, phase: str, unfolded: bool, width: int) -> Line:
    words = f"{further_words(state, phase)}, {further_count(state, phase)[1]} open"
    sign = Span(f"  {'-' if unfolded else '+'} {words}", "quiet")
    return spread_out((sign,), (Span("f ", "key"),), width, FOLD)


def chosen(group: GateRow) -> Row:
    """The row of a group that an action goes to: the first open one, else the first."""
    return (group.open_cells or group.cells)[0]


def _row_line(state: State, group: GateRow, width: int) -> Line:
    row = chosen(group)
    word, role = status_of(row)
    if not row.closed and not state.reached(row):
        word, role = "later", "quiet"
    # Below that the title needs the room; that it is first is seen, and a walk says why.
    before = "" if row.closed or width < 100 else forgotten_before(state, row)
    left = (
        Span("   "),
        Span(fit(word, 9), role),
        Span(" "),
        Span(f"{before}: " if before else "", "doubt"),
        Span(_name(group, width), "quiet" if role == "quiet" else "plain"),
    )
    return spread_out(left, _tail(row, width), width, row.key)


def _name(group: GateRow, width: int) -> str:
    """What it is, with the subjects side by side where there are several."""
    name = group.item.statement if width >= _STATEMENTS else title_of(group.item)
    cells = group.cells
    if not cells[0].subject:
        return name
    if len(cells) == 1:
        return f"{cells[0].subject}: {name}"
    if len(cells) <= 3:
        marks = {MET: "✓", WAIVED: "w"}
        listed = "  ".join(f"{cell.subject} {marks.get(cell.status, '·')}" for cell in cells)
        return f"{listed}: {name}"
    closed = sum(cell.closed for cell in cells)
    return f"{chosen(group).subject}, {closed} of {len(cells)} closed: {name}"


def _tail(row: Row, width: int) -> tuple[Span, ...]:
    """What is at the right: how it was closed, or where, how long and how bad."""
    if row.closed or row.state is not None:
        room = max(min(width // 3, 44), 12)
        words = cut(evidence_words(row), room)
        return (Span("  "), Span(words, "quiet" if row.closed else "doubt"), Span(" "))
    item = row.item
    time = Span(right(duration(60 * own_minutes(item)), 7))
    severity = Span(fit(str(item.severity), 10), severity_role(item.severity))
    if width < 70:
        return (Span(" "), severity)
    if width < 100:  # the title needs the room more
        return (Span(" "), time, Span("  "), severity)
    stage = Span(fit(str(item.stage), 10), "quiet")
    return (Span("  "), stage, time, Span("  "), severity, Span(" "))
