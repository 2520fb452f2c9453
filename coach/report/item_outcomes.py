"""How each item went: forgotten, closed late, waived, opened again, or as it should."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from coach.history.call_outcomes import SOON
from coach.report.account import Account, closed_at, is_closed, is_late
from coach.report.sections import Point, Section, Table, TableRow
from coach.sprint.durations import duration, elapsed, minutes_of
from coach.sprint.events.event import Stamped
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.events.phases import LAST_WALK, PhaseEntered, PhaseSignedOff, StageReached, Walked
from coach.sprint.events.run import CallMade, Ended, Resumed
from coach.sprint.gates.forgotten import left_open_words
from coach.sprint.gates.gates import by_severity
from coach.sprint.state import MET, NOT_HERE, WAIVED, Row, State
from phases.kit.grammar import capital, clause, count, listed, sentences, was
from phases.kit.items import CLOSING_ID, Item, Severity, Stage

IN_A_WALK, AFTER_A_CALL, UNPROMPTED = "in a walk", "after a call", "unprompted"
"""How an item that was closed late was found again."""

_ENDS_A_WALK = (Walked, PhaseEntered, PhaseSignedOff, StageReached, Resumed, Ended)


@dataclass(frozen=True, slots=True)
class Reopening:
    """A time in which an item that had been closed was open again."""

    t: float
    because: str
    doubt: bool
    """Its earlier evidence may still hold."""
    closed_again: float | None = None


# ---- in words --------------------------------------------------------------------------------


def short_name(row: Row, *others: Row) -> str:
    """In the words the trade scans for, with its subject, or those of several rows of it."""
    words = row.item.short_title or clause(row.item.statement)
    return f"{words}{at_subjects(row, *others)}"


def at_subjects(*rows: Row) -> str:
    """ " (Main supply and 1v8)"; empty where an item is of the board."""
    titles = [row.title for row in rows if row.subject]
    return f" ({listed(titles, len(titles))})" if titles else ""


def item_key(row: Row) -> str:
    """What a line about it is about."""
    return f"item/{row.key}"


def to_fix(rows: Sequence[Row]) -> str:
    """ "8 s to check, 3 min to fix": what is left to do, not what breaks by it."""
    seconds = sum(row.item.confirm_s for row in rows)
    minutes = sum(row.item.left_out_min for row in rows)
    return f"{duration(seconds)} to check, {duration(minutes * 60)} to fix"


def habit_words(state: State, row: Row) -> str:
    missed, of = state.habits.get(row.item.id, (0, 0))
    return f"forgotten in {missed} of {of} sprints before this one" if 0 < missed <= of else ""


def how_met(row: Row) -> str:
    """ "data sheet, page 12", "calculated, marginal"."""
    if row.state is None or row.status != MET:
        return ""
    marginal = "marginal" if row.state.marginal else ""
    said = (row.state.evidence, marginal, row.state.page, row.state.figure)
    return ", ".join(part for part in said if part)


# ---- opened again ----------------------------------------------------------------------------


def reopenings(account: Account, row: Row) -> tuple[Reopening, ...]:
    """The times it was open again; a second reason while it is open joins the first."""
    found: list[Reopening] = []
    for one in account.events_of.get(row.key, ()):
        event = one.event
        is_open = bool(found) and found[-1].closed_again is None
        if not isinstance(event, ItemReopened):
            if is_open:
                found[-1] = replace(found[-1], closed_again=one.t)
        elif not is_open:
            found.append(Reopening(one.t, event.because, event.doubt))
        elif event.because != found[-1].because:
            because = f"{found[-1].because}; {event.because}"
            found[-1] = replace(found[-1], because=because, doubt=found[-1].doubt and event.doubt)
    return tuple(found)


def opened_again(account: Account) -> list[Row]:
    """Items that were open again at least once, whether closed since or not; worst first."""
    return by_severity([row for row in account.rows if reopenings(account, row)])


# ---- how a late one came up again --------------------------------------------------------------


def found_again(account: Account, row: Row) -> str:
    """In a walk that asked it, after a call that named it soon before, or neither."""
    own = account.events_of.get(row.key, [])
    # It counts as closed since the first closing after which it was not opened again.
    last_open = max((one.n for one in own if isinstance(one.event, ItemReopened)), default=0)
    closings = [one for one in own if isinstance(one.event, ItemMet | ItemWaived)]
    closed = next((one for one in closings if one.n > last_open), None)
    if closed is None:
        return UNPROMPTED
    later = [one for one in account.counted if one.n > closed.n]
    if _within_a_walk(later, row.item):
        return IN_A_WALK
    named = any(
        row.key in made.event.items and made.n < closed.n and closed.t - made.t <= SOON
        for made in account.state.of(CallMade)
    )
    return AFTER_A_CALL if named else UNPROMPTED


def _within_a_walk(later: Iterable[Stamped], item: Item) -> bool:
    """Whether the next walk to end asked it, and it is one of those closed last before that.

    A walk is journalled when it ends, with how many of its items were closed by then.
    """
    closed_after = 0
    for one in later:
        if isinstance(one.event, Walked):
            return _asks(one.event.of, item) and closed_after < max(one.event.closed, 0)
        if isinstance(one.event, _ENDS_A_WALK):
            return False
        closed_after += isinstance(one.event, ItemMet | ItemWaived)
    return False


def _asks(walk: str, item: Item) -> bool:
    """Whether a walk of that name could have asked an item."""
    if walk == LAST_WALK:
        return item.essential and item.phase != CLOSING_ID
    if walk in list(Stage):
        return item.phase != CLOSING_ID and item.stage <= Stage(walk)
    return item.phase == walk


# ---- what was forgotten -----------------------------------------------------------------------


def forgotten(account: Account) -> Section:
    """What was forgotten and what else stayed open, by number, and the more checks. Of a sprint
    that is running, what is open: nothing is forgotten yet."""
    ended = account.state.ended
    rows = account.forgotten if ended else account.still_open
    kinds = Counter(row.item.severity for row in rows)
    said = listed([f"{kinds[one]} {one}" for one in reversed(Severity) if kinds[one]], len(kinds))
    closing = f"{count(len(account.closing_open), 'line')} of the closing list open"
    checks = _more_checks(account)
    return Section(
        "forgotten",
        "Forgotten" if ended else "Open essentials",
        sentences(
            left_open_words(account.state, said) if ended else _open_so_far(account, said),
            closing if account.closing_open else "",
        ),
        tuple(
            Point(
                row.name,
                habit,
                row.item.severity,
                grave=row.item.grave,
                key=item_key(row),
                brief=f"{short_name(row)}: {habit}",
            )
            for row in {row.key: row for row in (*rows, *account.still_open)}.values()
            if (habit := habit_words(account.state, row))
        ),
        (checks,) if checks.rows else (),
    )


def _open_so_far(account: Account, kinds: str) -> str:
    if not account.still_open:
        return "No essential open."
    number = count(len(account.essentials), "essential")
    later = sum(row.item.phase in account.to_come for row in account.still_open)
    return sentences(
        f"{len(account.still_open)} of {number} open: {kinds}",
        f"{later} of them in phases not begun" if later else "",
    )


def _more_checks(account: Account) -> Table:
    rows = [
        row
        for row in account.rows
        if not row.essential
        and not row.closed
        and row.item.phase != CLOSING_ID
        and row not in account.reopened
    ]
    return Table(
        "More checks, not essential",
        ("phase", "check"),
        tuple(
            TableRow(
                (
                    account.names.phase(row.item.phase),
                    f"{row.name}{' (deferred)' if row.deferred else ''}",
                ),
                quiet=True,
                key=item_key(row),
            )
            for row in rows
        ),
        names=1,
        folds="still open",
    )


# ---- sections --------------------------------------------------------------------------------


def late(account: Account) -> Section:
    def told(row: Row) -> str:
        due, closed = _due(account, row), closed_at(row) or 0.0
        # Where its phase was left early, it was late before the plan had its phase end.
        seen = minutes_of(due) < minutes_of(closed)
        late_for = f"due {elapsed(due)}" if seen else "after its phase was left"
        return sentences(
            f"closed {elapsed(closed)}, {late_for}",
            f"found {found_again(account, row)}",
            how_met(row),
        )

    rest = "closed after the phase was left or the cut-off past"
    return _astray("late", "Closed late", account.late, rest, told)


def waived(account: Account) -> Section:
    def told(row: Row) -> str:
        reason = row.state.reason if row.state else ""
        return f"Reason: {reason}" if reason else ""

    rows = by_severity([row for row in account.rows if row.status == WAIVED])
    return _astray("waived", "Waived", rows, "waived", told)


def reopened(account: Account) -> Section:
    def told(row: Row) -> str:
        return sentences(*(part for one in reopenings(account, row) for part in _again(one)))

    rows = opened_again(account)
    closed = sum(reopenings(account, row)[-1].closed_again is not None for row in rows)
    return _astray("reopened", "Reopened", rows, f"open again, {closed} closed since", told)


def _again(one: Reopening) -> Iterable[str]:
    yield f"{elapsed(one.t)}{', to be confirmed' if one.doubt else ''}. Because: {one.because}"
    again = one.closed_again
    yield "not closed since" if again is None else f"closed again {elapsed(again)}"


def _astray(
    name: str, title: str, rows: Sequence[Row], rest: str, told: Callable[[Row], str]
) -> Section:
    lead = f"{count(len(rows), 'item')} {was(len(rows))} {rest}." if rows else ""
    points = tuple(
        Point(row.name, told(row), row.item.severity, grave=row.item.grave, key=item_key(row))
        for row in rows
    )
    return Section(name, title, lead, points)


def items(account: Account) -> Section:
    """Every item by its phase: those that were closed, and how many were not."""
    there = sum(row.status != NOT_HERE for row in account.rows)
    tables = tuple(
        _of_phase(account, one.name, rows)
        for one in account.phases
        if (rows := [row for row in account.rows if row.item.phase == one.phase])
    )
    return Section("items", "Every item", f"{count(there, 'item')} on this board.", tables=tables)


def _of_phase(account: Account, name: str, rows: Sequence[Row]) -> Table:
    """What is open is named where it is said what to do about it, and only counted here."""
    closed = [row for row in rows if is_closed(row) or row.status == NOT_HERE]
    still = len(rows) - len(closed)
    due = elapsed(_due(account, rows[0]))
    left = f", {still} open" if still else ""
    return Table(
        f"{capital(name)}: {count(len(rows), 'item')}, due {due}, {len(closed)} closed{left}",
        ("closed", "item", "how"),
        tuple(_closed(account, row) for row in closed),
        names=1,
        numbers=(0,),
        folds="closed in time",
    )


def _closed(account: Account, row: Row) -> TableRow:
    mark = "late" if is_late(row) else row.status if row.status != MET else ""
    how = how_met(row) or row.status
    if row.status == WAIVED and row.state and row.state.reason:
        how = f"waived: {row.state.reason}"
    if is_late(row):
        how += f"; late, found {found_again(account, row)}"
    return TableRow(
        (elapsed(closed_at(row)), row.name, how), mark, quiet=not mark, key=item_key(row)
    )


def _due(account: Account, row: Row) -> float:
    return account.planned.spans[row.item.phase][1]
