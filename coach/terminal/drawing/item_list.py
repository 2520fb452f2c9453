"""The items of the phase, one line each; a row of several subjects is one line."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.board import GateRow, grouped, habit_rank, walked
from coach.sprint.forgotten import forgotten_before
from coach.sprint.state import MET, NOT_HERE, WAIVED, Row, State
from coach.terminal.drawing.lines import Line, Span, cut, fit, line, right, spread_out
from coach.terminal.drawing.words import evidence_words, own_minutes, severity_role, status_of
from phases.kit.items import CLOSING_ID


def item_lines(
    state: State, phase: str, width: int, *, unfolded: bool, cursor: str = ""
) -> list[Line]:
    """The gate's rows and habits, then the more checks (folded to one line), then what is not
    here."""
    if not phase:
        return (
            [line(Span("    The phases, with their keys:", "quiet"))]
            + [
                line(Span(f"    {i}  ", "key"), Span(p.title))
                for i, p in enumerate(state.setup.phases, 1)
            ]
            + [line(Span("    8  ", "key"), Span(f"{state.setup.closing.title}: the order itself"))]
        )
    rows = state.rows_of(phase)
    here = tuple(r for r in rows if r.status != NOT_HERE)
    gate = _listed(state, phase, (r for r in here if walked(state, r.item) or phase == CLOSING_ID))
    further = _further(state, phase)
    gone = grouped(tuple(r for r in rows if r.status == NOT_HERE and not _has_cell(here, r)))
    found = [_row_line(state, g, width) for g in gate]
    if further:
        count, still = further_count(state, phase)
        found.append(_fold_line(f"{count} more checks, {still} open", unfolded, width))
        if unfolded:
            found += [_row_line(state, g, width) for g in further]
    if unfolded and gone:
        found.append(line(Span("    not on this board", "quiet")))
        found += [_row_line(state, g, width) for g in gone]
    return found


def _further(state: State, phase: str) -> list[GateRow]:
    here = (r for r in state.rows_of(phase) if r.status != NOT_HERE)
    return _listed(
        state, phase, (r for r in here if not walked(state, r.item) and phase != CLOSING_ID)
    )


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
    return len(further), sum(any(not r.closed for r in g.cells) for g in further)


def _has_cell(here: tuple[Row, ...], row: Row) -> bool:
    return any(other.item.id == row.item.id for other in here)


def _fold_line(words: str, unfolded: bool, width: int) -> Line:
    sign = "-" if unfolded else "+"
    return spread_out((Span(f"  {sign} {words}", "quiet"),), (Span("f ", "key"),), width, "fold")


def chosen(group: GateRow) -> Row:
    """The row of a group that an action goes to: the first open one, else the first."""
    return next((row for row in group.cells if not row.closed), group.cells[0])


def _row_line(state: State, group: GateRow, width: int) -> Line:
    row = chosen(group)
    word, role = status_of(row)
    waiting = not state.reached(row)
    if waiting and not row.closed:
        word, role = "later", "quiet"
    tail = _tail(group, row, width)
    # Below that the statement needs the room; that it stands first is seen, and a walk says why.
    before = "" if row.closed or width < 100 else forgotten_before(state, row)
    left = (
        Span("   "), Span(fit(word, 9), role), Span(" "),
        *((Span(f"{before}: ", "doubt"),) if before else ()),
        Span(_name(group), "quiet" if role == "quiet" else "plain"),
    )  # fmt: skip
    return spread_out(left, tail, width, row.key)


def _name(group: GateRow) -> str:
    """The statement, with the subjects side by side where there are several."""
    cells = group.cells
    if not cells[0].subject:
        return group.item.statement
    if len(cells) == 1:
        return f"{cells[0].subject}: {group.item.statement}"
    if len(cells) <= 3:
        marks = "  ".join(f"{c.subject} {_mark(c)}" for c in cells)
        return f"{marks}: {group.item.statement}"
    closed = sum(cell.closed for cell in cells)
    return f"{chosen(group).subject}, {closed} of {len(cells)} closed: {group.item.statement}"


def _mark(row: Row) -> str:
    return {MET: "✓", WAIVED: "w"}.get(row.status, "·")


def _tail(group: GateRow, row: Row, width: int) -> tuple[Span, ...]:
    """What stands at the right: how it was closed, or where, how long and how bad."""
    if row.closed or row.state is not None:
        words = evidence_words(row)
        room = max(min(width // 3, 44), 12)
        return (Span("  "), Span(cut(words, room), "quiet" if row.closed else "doubt"), Span(" "))
    item = row.item
    stage = Span(fit(str(item.stage), 10), "quiet")
    time = Span(right(f"{own_minutes(item):g} min", 7))
    severity = Span(fit(str(item.severity), 10), severity_role(item.severity))
    if width < 70:
        return (Span(" "), severity)
    if width < 100:  # the statement needs the room more
        return (Span(" "), time, Span("  "), severity)
    return (Span("  "), stage, time, Span("  "), severity, Span(" "))
