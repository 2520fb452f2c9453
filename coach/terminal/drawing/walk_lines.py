"""One item filling the screen: what must be so, why, and what there is to compare it with."""

from __future__ import annotations

from collections.abc import Sequence

from coach.sprint.forgotten import habit_words
from coach.sprint.pace.reserve import last_step, spare_seconds
from coach.sprint.rules.proof import proof_of
from coach.sprint.state import REOPENED, Row, State
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, width_of, wrapped
from coach.terminal.drawing.words import evidence_words, minutes, own_minutes, severity_role
from coach.terminal.walks import Walk
from phases.kit.facts import find_fact
from phases.kit.grammar import sentence
from phases.kit.items import ClosingItem, Evidence


def walk_title(walk: Walk, state: State, t: float, width: int) -> Line:
    """What is walked; of the last walk, the time there is for it too."""
    tail: tuple[Span, ...] = ()
    if walk.is_last:
        spare = spare_seconds(state, t)
        words = f"{minutes(spare)} for it"
        after = ", then the closing list" if width >= 60 else ""
        if spare <= 0:
            words, after = "the closing list first", ": no time is left" if width >= 60 else ""
        tail = (Span(f"{words}{after} ", "plain" if spare > 0 else "due"),)
    return spread_out((Span(f" {walk.title}", "quiet"),), tail, width)


def walk_lines(
    walk: Walk, state: State, row: Row, count: tuple[int, int], *, width: int, answer: str
) -> list[Line]:
    """The item, its reason and its evidence so far; in the last walk the quickest honest way
    first. count: (which, of how many)."""
    room = max(width - 4, 20)
    item = row.item
    takes = "takes " if isinstance(item, ClosingItem) else ""
    own = f"{takes}{own_minutes(item):g} min"
    head = spread_out(
        (Span(f"  {count[0]} of {count[1]}", "title"), Span(f"   {item.stage}", "quiet")),
        (
            Span("else ", "quiet"), Span(str(item.severity), severity_role(str(item.severity))),
            Span(f", {own}  ", "quiet"),
        ),
        width,
    )  # fmt: skip
    found = [head, BLANK]
    if row.applies is None and row.question:
        found += [
            line("  ", Span(p, "next")) for p in wrapped(find_fact(row.question).question, room, 3)
        ]
        found.append(BLANK)
    if row.subject:
        found.append(line("  ", Span(f"{row.title} ({row.subject})", "quiet")))
    found += [line("  ", Span(p, "title")) for p in wrapped(item.statement, room, 4)]
    found.append(BLANK)
    if habit := habit_words(state, row):
        words = f"{habit[:1].upper()}{habit[1:]}."
        found += [*(line("  ", Span(p, "doubt")) for p in wrapped(words, room, 2)), BLANK]
    if walk.is_last:
        way = sentence(last_step(state, row).way)
        found += [line("  ", Span(p, "next")) for p in wrapped(way, room, 3)]
        found.append(BLANK)
    found += [
        line("  ", Span(p)) for p in wrapped(f"Else: {item.why[:1].lower()}{item.why[1:]}", room, 3)
    ]
    compare = "" if walk.is_last else _compare(state, row, answer)
    if compare:
        found.append(BLANK)
        found += [line("  ", Span(p, "next")) for p in wrapped(compare, room, 3)]
    if row.status == REOPENED:
        words = f"Reopened: {evidence_words(row)}"
        if row.state and row.state.was:
            words += f". Before: {row.state.was.evidence} {row.state.was.page}".rstrip()
        found.append(BLANK)
        found += [line("  ", Span(p, "doubt")) for p in wrapped(words, room, 3)]
    found += [BLANK, line("  ", Span(f"Source: {item.source}", "quiet"))]
    return found


def _compare(state: State, row: Row, answer: str) -> str:
    if not row.item.cites:
        return ""
    proof = proof_of(state, row)
    return proof.says if proof.calculations else answer


def walk_keys(row: Row) -> list[tuple[str, str]]:
    """(key, label) of what can be said about this item."""
    keys: list[tuple[str, str]] = []
    if row.applies is None:
        keys += [("y", "it is there"), ("n", "it is not")]
    else:
        doubt = row.state is not None and row.state.doubt
        if Evidence.CALCULATED in row.item.met_by and not doubt:
            keys.append(("c", "calculate"))
        else:
            keys.append(("y", "still so" if doubt else "yes, it is so"))
        if row.item.asks is not None:
            keys.append(("n", "not here"))
    if Evidence.DATA_SHEET in row.item.met_by:
        keys.append(("r", "data sheet"))
    return [*keys, ("space", "not yet"), ("w", "waive"), ("esc", "leave")]


def key_lines(keys: Sequence[tuple[str, str]], width: int) -> list[Line]:
    """The keys with their labels, on as many lines as they need."""
    rows: list[list[Span]] = [[]]
    used = 0
    for key, label in keys:
        size = width_of(key) + width_of(label) + 3
        if used and used + size > width:
            rows.append([])
            used = 0
        rows[-1] += [Span(f"  {key} ", "key"), Span(label, "quiet")]
        used += size
    return [line(*spans) for spans in rows]
