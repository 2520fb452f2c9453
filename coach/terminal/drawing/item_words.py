"""Names and states of items in the words the screens use."""

from __future__ import annotations

from datetime import datetime

from coach.sprint.ledger.assumed_figures import assumed_words
from coach.sprint.state import ASSUMED, MET, NOT_HERE, OPEN, REOPENED, WAIVED, Row
from phases.kit.items import ClosingItem, Item, Severity

_STATUS = {
    OPEN: ("open", "plain"),
    ASSUMED: ("assumed", "doubt"),
    MET: ("met", "done"),
    WAIVED: ("waived", "done"),
    REOPENED: ("reopened", "doubt"),
    NOT_HERE: ("not here", "quiet"),
}
"""Of each status its word and its role."""


def own_minutes(item: Item) -> float:
    """The minutes beside an item: what a line of the closing list takes; else what it takes to
    add it later, where it was left out."""
    return item.minutes if isinstance(item, ClosingItem) else item.left_out_min


def of_day(instant: datetime) -> str:
    return f"{instant:%H:%M}"


def severity_role(severity: str) -> str:
    return "hazard" if severity in (Severity.HAZARD, Severity.DEAD_BOARD) else "plain"


def title_of(item: Item) -> str:
    """An item in the few words that a list has room for; a house rule may have none."""
    return item.short_title or item.statement


def short_name(row: Row) -> str:
    """The same with its subject."""
    title = title_of(row.item)
    return f"{title} {row.subject}" if row.subject else title


def status_of(row: Row) -> tuple[str, str]:
    """(word, role) of a row's state; a question has a word of its own."""
    if row.deferred and row.status == OPEN:
        return "deferred", "quiet"
    if row.applies is None and row.status == OPEN:
        return "asked", "doubt"
    return _STATUS[row.status]


def evidence_words(row: Row) -> str:
    """How a closed row was closed, or why it is open again."""
    state = row.state
    if state is None or row.status == NOT_HERE:
        return ""
    if row.status == REOPENED:
        return state.because
    if row.status == ASSUMED:
        return assumed_words(row)
    if row.status == WAIVED:
        return state.reason
    return ", ".join(word for word in (state.evidence, state.page, state.figure) if word)
