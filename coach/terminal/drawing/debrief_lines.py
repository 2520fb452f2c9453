"""The debrief on a terminal: what is still changeable, the three sentences, then the rest.

The words are those of the written debrief (`coach.debrief.report.sections`); here they are put into
parts that one goes to with one key each, and that are short until unfolded.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

from coach.debrief.account.data import Account
from coach.debrief.report.figures import span
from coach.debrief.report.sections import sections_of
from coach.terminal.drawing import debrief_parts as parts
from coach.terminal.drawing.debrief_parts import WIDE, Part
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, wrapped

EVERYTHING = "everything"
FINDINGS = "9"
"""The part of the late findings."""

PARTS = (
    Part("1", "Still changeable before production", 4, "next", "Still changeable"),
    Part("2", "In three sentences", 3),
    Part("3", "Planned, happened, why they differ", 2),
    Part("4", "What to do differently", 3, "next"),
    Part("5", "Timeline", 0),
    Part("6", "Forgotten, late, waived, reopened", 3, "due"),
    Part("7", "Margins, thinnest first", 3),
    Part("8", "Calls and forecasts", 3),
    Part(FINDINGS, "Found and measured since", 3, "due"),
)
"""The parts in order; the digit is their key."""


def finding_key(number: int) -> str:
    """The key of a late finding's line in the list."""
    return parts.finding_key(FINDINGS, number)


def part_of(key: str) -> str:
    """The digit of the part that a line's key stands in; empty for none."""
    kind, _, rest = key.partition("/")
    return rest.partition("/")[0] if kind in ("part", "entry", "item", "finding") else ""


def item_of(key: str) -> str:
    """The key of the item a line is about; empty for none."""
    kind, _, rest = key.partition("/")
    return rest.partition("/")[2].partition("/")[2] if kind == "item" else ""


def finding_of(key: str) -> int:
    """The number of the finding a line is about; 0 for none."""
    kind, _, rest = key.partition("/")
    number = rest.partition("/")[2]
    return int(number) if kind == "finding" and number.isdecimal() else 0


def debrief_title(account: Account, width: int) -> list[Line]:
    tail = f"{account.started:%Y-%m-%d} "
    role = "done" if account.in_time else "due" if account.ended_at is not None else "next"
    found = [spread_out((Span(f" {account.title}", "title"),), (Span(tail, "quiet"),), width)]
    standing = account.standing if width >= WIDE else _standing(account)
    found += [line(Span(f" {part}", role)) for part in wrapped(standing, width - 2, 2)]
    return found + [line(Span(f" {p}", "quiet")) for p in wrapped(account.kind, width - 2, 2) if p]


def _standing(account: Account) -> str:
    """How it ended, for a strip."""
    if account.ended_at is None:
        return "Goes on: nothing here is final"
    spare = account.deadline - account.ended_at
    side = "before" if spare >= 0 else "after"
    return (
        f"{'Accepted' if account.accepted else 'No order'}, {span(abs(spare))} {side} the cut-off"
    )


def debrief_lines(
    account: Account, width: int, unfolded: Collection[str] = (), *, low: bool = False
) -> list[Line]:
    """Every part. unfolded: the keys of those that say all, EVERYTHING for every one.

    low: the screen has few rows; parts are shorter yet and no line is left blank.
    """
    found = _faults(account, width)
    told = {section.id: section for section in sections_of(account)}
    for part in PARTS:
        whole = EVERYTHING in unfolded or part.key in unfolded
        drawn = parts.Drawn(account, told, part, width, whole, low)
        body = list(_BODIES[part.key](drawn))
        if not body:
            continue
        if found and not low:
            found.append(BLANK)
        found.append(drawn.heading())
        found += body
    return found


def debrief_text(account: Account, width: int = 80) -> str:
    """The same as plain text, all of it."""
    lines = [*debrief_title(account, width), BLANK, *debrief_lines(account, width, (EVERYTHING,))]
    text = "\n".join(one.text.rstrip() for one in lines)
    return f"{text}\n\n Journal: {account.path}\n"


def _faults(account: Account, width: int) -> list[Line]:
    """What of the journal is not whole stands above everything that rests on it."""
    if not account.faults:
        return []
    count = len(account.faults)
    head = f"{count} fault{'' if count == 1 else 's'} of the journal; what is whole is told"
    found = [line(Span(f" {part}", "doubt")) for part in wrapped(head, width - 2, 2)]
    for fault in account.faults[:3]:
        found += [line(Span(f"   {part}", "quiet")) for part in wrapped(fault, width - 4, 2)]
    if count > 3:
        found.append(line(Span(f"   and {count - 3} more", "quiet")))
    return found


_BODIES: dict[str, Callable[[parts.Drawn], Iterator[Line]]] = {
    "1": parts.changeable, "2": parts.sentences, "3": parts.questions,
    "4": parts.differently, "5": parts.timeline, "6": parts.astray,
    "7": parts.margins, "8": parts.calls, FINDINGS: parts.since,
}  # fmt: skip
