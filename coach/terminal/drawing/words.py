"""Durations, instants and states in the words the screens use."""

from __future__ import annotations

from datetime import datetime

from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, WAIVED, Row
from phases.kit.items import ClosingItem, Item, Severity

STATUS_WORDS = {
    OPEN: "open", MET: "met", WAIVED: "waived", REOPENED: "reopened", NOT_HERE: "not here",
}  # fmt: skip
STATUS_ROLES = {
    OPEN: "plain", MET: "done", WAIVED: "done", REOPENED: "doubt", NOT_HERE: "quiet",
}  # fmt: skip


def duration(seconds: float) -> str:
    """ "1 h 14 min", "9 min", under five minutes "4:05"; late ones say so elsewhere."""
    seconds = max(seconds, 0.0)
    if seconds < 300:
        return f"{int(seconds) // 60}:{int(seconds) % 60:02d} min"
    minutes = int(seconds // 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours else f"{minutes} min"


def minutes(seconds: float) -> str:
    """Whole minutes, at least one where there is anything."""
    return f"{max(round(seconds / 60), 1 if seconds > 0 else 0)} min"


def own_minutes(item: Item) -> float:
    """The minutes that stand beside an item: what a line of the closing list takes; else what it
    takes to make good, where it was left out."""
    return item.minutes if isinstance(item, ClosingItem) else item.left_out_min


def of_day(instant: datetime) -> str:
    return f"{instant:%H:%M}"


def severity_role(severity: str) -> str:
    return "hazard" if severity in (Severity.HAZARD, Severity.DEAD_BOARD) else "plain"


def status_of(row: Row) -> tuple[str, str]:
    """(word, role) of a row's state; a question is no state of its own but wants its word."""
    if row.aside and row.status == OPEN:
        return "aside", "quiet"
    if row.applies is None and row.status == OPEN:
        return "asked", "doubt"
    return STATUS_WORDS[row.status], STATUS_ROLES[row.status]


def evidence_words(row: Row) -> str:
    """How a closed row was closed, or why it is open again."""
    state = row.state
    if state is None or row.status == NOT_HERE:
        return ""
    if row.status == REOPENED:
        return state.because
    if row.status == WAIVED:
        return state.reason
    words = [state.evidence]
    if state.page:
        words.append(state.page)
    if state.figure:
        words.append(state.figure)
    return ", ".join(words)
