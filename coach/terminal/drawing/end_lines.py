"""The end of a sprint: what can still be changed, what was forgotten, how the plan went.

From the state alone, so that a journal that is only looked at says the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.sprint.board import by_severity, doubts, open_essentials
from coach.sprint.durations import duration, elapsed
from coach.sprint.plan import plan_of
from coach.sprint.state import REOPENED, WAIVED, Row, State
from coach.sprint.to_draw import to_draw
from coach.terminal.drawing.lines import BLANK, Line, Span, line, right, spread_out, wrapped
from coach.terminal.drawing.words import evidence_words, severity_role
from phases.kit.items import CLOSING_ID, Severity

GRAVE, OTHER = "hazard, dead board", "other essentials"
"""Two parts of what was forgotten, told apart where the order comes between them."""

_GRAVE = (Severity.HAZARD, Severity.DEAD_BOARD)

_REASONS = 8
"""Essentials whose reason is shown in the short form, the worst ones; a hazard's always is."""


def end_lines(state: State, width: int, *, unfolded: bool = True) -> list[Line]:
    """What there is to say at the end, the most urgent first. Not unfolded, most reasons and the
    more checks are left out, so that the times can be seen."""
    rows = [row for row in open_essentials(state) if row.status != REOPENED]
    order = _changeable(state, width)
    if state.ended and order:
        # Of a sprint that was given up, what hurts or kills the board counts before the order.
        first = (
            _forgotten(state, rows, GRAVE, width, unfolded), order,
            _forgotten(state, rows, OTHER, width, unfolded),
        )  # fmt: skip
    else:
        first = (order, _forgotten(state, rows, "", width, unfolded), [])
    sections = (
        *first, _plan(state, width), _reopened(state, width), _undrawn(state, width),
        _late(state, width), _waived(state, width), _further(state, width, unfolded),
    )  # fmt: skip
    found = _how_it_stands(state, width)
    for lines in sections:
        if lines:
            found += [BLANK, *lines]
    return found


def end_text(state: State, journal: str, width: int = 96) -> str:
    """The same as plain text, to take along."""
    lines = [state.setup.brief.title, *(one.text.rstrip() for one in end_lines(state, width))]
    return "\n".join([*lines, "", f"Journal: {journal}", ""])


def _how_it_stands(state: State, width: int) -> list[Line]:
    if not state.ended or state.ended_at is None:
        words, role = "The sprint goes on: nothing here is final yet.", "next"
    else:
        spare = state.deadline - state.ended_at
        when = f"{duration(spare)} {'before' if spare >= 0 else 'after'} the cut-off"
        order = "The order is accepted and paid" if state.accepted else "Ended without an order"
        words, role = f"{order}, {when}.", "done" if state.accepted and spare >= 0 else "due"
    found = [line(Span(f" {part}", role)) for part in wrapped(words, width - 2, 2)]
    if not _any_lack(state):
        found.append(line(Span(" Nothing was forgotten and nothing is open.", "done")))
    return found


def _any_lack(state: State) -> bool:
    return bool(open_essentials(state) or doubts(state) or to_draw(state) or still_to_order(state))


def still_to_order(state: State) -> list[Row]:
    """The open lines of the closing list, while the order can still be changed."""
    if state.accepted:
        return []
    return [row for row in state.rows_of(CLOSING_ID) if not row.closed]


# ---- the sections ----------------------------------------------------------------------------


def _heading(words: str, count: int | str, role: str, width: int) -> Line:
    return spread_out((Span(f" {words}", role),), (Span(f"{count} ", role),), width)


def _item(row: Row, tail: str, below: str, width: int, role: str = "plain") -> list[Line]:
    """A row by its name, what stands at its right end, and a sentence below it."""
    tail_span = (Span(f"  {tail} ", severity_role(tail)),) if tail else ()
    room = max(width - (7 + len(tail) if tail else 5), 16)
    first, *more = wrapped(row.name, room, 3)
    found = [spread_out((Span("   "), Span(first, role)), tail_span, width)]
    found += [line(Span(f"   {part}", role)) for part in more]
    return found + [line(Span(f"     {part}", "quiet")) for part in wrapped(below, width - 7, 2)]


def _changeable(state: State, width: int) -> list[Line]:
    rows = still_to_order(state)
    if not rows:
        return []
    words = "Still to be changed before the order is accepted"
    if state.ended:
        words = "Open when it ended"
    elif width < 60:
        words = "Still to do before the order"
    found = [_heading(words, len(rows), "next", width)]
    for row in rows:
        found += _item(row, "", "", width)
    return found


def _forgotten(
    state: State, rows: Sequence[Row], which: str, width: int, unfolded: bool
) -> list[Line]:
    """Open essentials, worst first: all of them, or those of GRAVE or OTHER out of all."""
    words, count = "Forgotten" if state.ended else "Open essentials", f"{len(rows)}"
    reasons = _REASONS
    if which:
        total, grave = len(rows), [row for row in rows if row.item.severity in _GRAVE]
        if which == OTHER:
            reasons = max(_REASONS - len(grave), 0)
        rows = grave if which == GRAVE else [row for row in rows if row not in grave]
        words, count = f"{words}: {which}", f"{len(rows)} of {total}"
    if not rows:
        return []
    found = [_heading(words, count, "due", width)]
    reasons = len(rows) if unfolded else max(reasons, _hazards(rows))
    for row in rows[:reasons]:
        asked = "Not known whether it is needed. " if row.applies is None else ""
        found += _item(row, str(row.item.severity), f"{asked}{row.item.why}", width)
    if rows[reasons:]:
        more = f"and {len(rows) - reasons} more; their reasons" if reasons else "their reasons"
        found.append(_folded(more))
        found += [_named(row, width) for row in rows[reasons:]]
    return found


def _hazards(rows: Sequence[Row]) -> int:
    return sum(row.item.severity == Severity.HAZARD for row in rows)


def _named(row: Row, width: int) -> Line:
    """A row on one line, with its severity."""
    severity = str(row.item.severity)
    tail = (Span(f"  {severity} ", severity_role(severity)),)
    return spread_out((Span("   "), Span(row.name)), tail, width)


def _folded(words: str) -> Line:
    return line(Span(f"   {words}: ", "quiet"), Span("f", "key"))


def _further(state: State, width: int, unfolded: bool) -> list[Line]:
    """Open items that are no essentials."""
    rows = [
        row for row in state.rows
        if not row.closed and not row.essential and row.item.phase != CLOSING_ID
        and row.status != REOPENED
    ]  # fmt: skip
    if not rows:
        return []
    found = [_heading("More checks, open", len(rows), "plain", width)]
    if not unfolded:
        return [*found, _folded("show them")]
    return found + [_named(row, width) for row in by_severity(rows)]


def _reopened(state: State, width: int) -> list[Line]:
    rows = by_severity(doubts(state))
    if not rows:
        return []
    found = [_heading("Reopened and still open", len(rows), "doubt", width)]
    for row in rows:
        found += _item(row, str(row.item.severity), f"Because: {evidence_words(row)}", width)
    return found


def _undrawn(state: State, width: int) -> list[Line]:
    parts = to_draw(state)
    if not parts:
        return []
    found = [_heading("Calculated and never drawn", len(parts), "due", width)]
    for part in parts:
        tail = (Span(f"  {part.calculation} ", "quiet"),) if width >= 60 else ()
        found.append(spread_out((Span("   "), Span(part.says)), tail, width))
    return found


def _late(state: State, width: int) -> list[Line]:
    rows = [row for row in state.rows if row.closed and row.state is not None and row.state.late]
    if not rows:
        return []
    found = [_heading("Closed late", len(rows), "plain", width)]
    for row in rows:
        assert row.state is not None
        found += _item(row, elapsed(row.state.t), "", width)
    return found


def _waived(state: State, width: int) -> list[Line]:
    rows = [row for row in state.rows if row.status == WAIVED]
    if not rows:
        return []
    found = [_heading("Waived", len(rows), "plain", width)]
    for row in by_severity(rows):
        found += _item(row, str(row.item.severity), f"Reason: {evidence_words(row)}", width)
    return found


# ---- the plan --------------------------------------------------------------------------------


def _plan(state: State, width: int) -> list[Line]:
    """Boxes against minutes used, for what was worked in or is in the plan."""
    plan = plan_of(state)
    found = [_row("How the plan went, min", ("box", "used", "over"), width, "quiet")]
    used_all = 0.0
    for box in plan.boxes:
        used = state.used.get(box.phase, 0.0)
        used_all += used
        if box.seconds or used:
            found.append(_box_line(box.name, box.seconds, used, width))
    found.append(_box_line("all", plan.seconds, used_all, width))
    if state.interrupted:
        found.append(_row("taken out as interruptions", ("", _min(state.interrupted), ""), width))
    return found


def _box_line(name: str, box: float, used: float, width: int) -> Line:
    over = round(used / 60) - round(box / 60)
    words = f"+{over}" if over > 0 else ""
    return _row(
        name, (_min(box), _min(used), words), width, "plain", "due" if over > 0 else "plain"
    )


def _min(seconds: float) -> str:
    return f"{round(seconds / 60)}"


def _row(
    name: str, cells: Sequence[str], width: int, role: str = "plain", last: str = "quiet"
) -> Line:
    spans = [Span(right(cell, 7), role) for cell in cells[:-1]]
    spans += [Span(right(cells[-1], 7), last), Span(" ")]
    return spread_out(
        (Span(f"   {name}" if role != "quiet" else f" {name}", role),), spans, min(width, 64)
    )
