"""The journal in words: one event after the other, calls and what was taken back marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.history.describe import Described
from coach.sprint.durations import elapsed
from coach.terminal.drawing.lines import Line, Span, line, spread_out, wrapped


@dataclass(frozen=True, slots=True)
class Entry:
    """One event in words. call: the coach said it unasked; rang: with the bell."""

    told: Described
    call: bool = False
    rang: bool = False


def journal_title(entries: Sequence[Entry], calls_only: bool, width: int) -> list[Line]:
    calls = sum(entry.call for entry in entries)
    words = " Calls" if calls_only else " What happened so far"
    called = "1 call" if calls == 1 else f"{calls} calls"
    count = called if calls_only else f"{len(entries)} events, {called}"
    return [spread_out((Span(words, "title"),), (Span(f"{count} ", "quiet"),), width)]


def journal_lines(entries: Sequence[Entry], calls_only: bool, width: int) -> list[Line]:
    """Elapsed time, a mark, the sentence; the newest last."""
    shown = [entry for entry in entries if entry.call or not calls_only]
    if not shown:
        return [line(Span(" Nothing yet", "quiet"))]
    return [one for entry in shown for one in _entry(entry, width)]


def _entry(entry: Entry, width: int) -> list[Line]:
    told = entry.told
    mark, role = _mark(entry)
    says = f"{told.says} Taken back later." if told.void else told.says
    first, *more = wrapped(says, max(width - 12, 20), 4) or [""]
    found = [
        line(
            Span(f" {elapsed(told.stamped.t):>5}", "quiet"),
            Span(f"  {mark}  ", role),
            Span(first, role),
        )
    ]
    return found + [line(Span(" " * 11), Span(part, role)) for part in more]


def _mark(entry: Entry) -> tuple[str, str]:
    """(mark, role): ! a call that rang, * a silent one, x taken back, a dot what the coach did."""
    if entry.told.void:
        return "x", "quiet"
    if entry.call:
        return ("!", "due") if entry.rang else ("*", "due")
    return (" ", "plain") if entry.told.stamped.by else ("·", "quiet")
