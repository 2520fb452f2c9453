"""The start screen: sprints to take up again, a new board, briefs to begin with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.sprint.briefs_folder import BriefOffer
from coach.sprint.glance import Glance
from coach.sprint.retell import minutes_words
from coach.terminal.drawing.lines import BLANK, Line, Span, fit, line, right, spread_out
from coach.terminal.drawing.words import of_day

SPRINT_KEYS = "123456789"
BRIEF_KEYS = "abcdefghijklmoprstuvwxyz"
"""Without n, for a new board, and q, to leave."""

NEW = "new"
_DAY = 24 * 3600


@dataclass(frozen=True, slots=True)
class Offers:
    """What there is to begin with. sprints: not ended, the newest first. reading: still looking."""

    sprints: Sequence[Glance] = ()
    briefs: Sequence[BriefOffer] = ()
    reading: bool = True


def start_title(now: datetime, width: int) -> list[Line]:
    left = (Span(" coach", "title"), Span("  paces a board to its cut-off", "quiet"))
    return [spread_out(left, (Span(f"{of_day(now)} ", "quiet"),), width)]


def start_lines(offers: Offers, now: datetime, width: int) -> list[Line]:
    """Sprints on digits, briefs on letters, so that no key changes while the list is read."""
    found = [BLANK]
    first, older = offers.sprints[: len(SPRINT_KEYS)], offers.sprints[len(SPRINT_KEYS) :]
    if first:
        found.append(line(Span(" Take up again", "quiet")))
        found += [_sprint(g, i, now, width) for i, g in enumerate(first)]
        found.append(BLANK)
    words = "New board" + (": seven questions, one key each" if width >= 60 else "")
    found.append(line(Span(" n  ", "key"), Span(words), key=NEW))
    if offers.briefs:
        found += [BLANK, line(Span(" Begin with a brief", "quiet"))]
        found += [_brief(b, i, width) for i, b in enumerate(offers.briefs)]
    if offers.reading:
        found += [BLANK, line(Span(" Looking for sprints and briefs", "quiet"))]
    if older:
        found += [BLANK, line(Span(" Older sprints that have not ended", "quiet"))]
        found += [_sprint(g, i, now, width) for i, g in enumerate(older, start=len(first))]
    return found


def _sprint(glance: Glance, index: int, now: datetime, width: int) -> Line:
    key = SPRINT_KEYS[index] if index < len(SPRINT_KEYS) else " "
    words, role = left_words(glance.left(now))
    if glance.rehearsed:
        words = f"rehearsal, {words}"
    tail = [Span(words, role), Span(" ")]
    if width >= 60:
        begun = glance.started.astimezone(now.tzinfo)
        tail[0] = Span(right(words, 26), role)
        tail.insert(0, Span(f"{begun:%Y-%m-%d %H:%M}", "quiet"))
    left = (Span(f" {key}  ", "key"), Span(glance.title))
    return spread_out(left, tail, width, f"sprint:{index}")


def left_words(seconds: float) -> tuple[str, str]:
    """(how long a sprint still has, its role), where only its journal is looked at."""
    words = minutes_words(seconds)
    if seconds >= 0:
        return f"{words} left", "next"
    if seconds < -_DAY:
        days = int(-seconds // _DAY)
        return f"{days} day{'s' if days > 1 else ''} past", "quiet"
    return f"{words} past", "due"


def _brief(brief: BriefOffer, index: int, width: int) -> Line:
    key = BRIEF_KEYS[index] if index < len(BRIEF_KEYS) else " "
    tail = [Span(right(brief.when, 8)), Span(" ")]
    if width >= 60:
        tail = [
            Span(fit("own" if brief.own else "", 6), "quiet"), Span(right(brief.when, 16)),
            Span(right(f"{brief.parts} parts", 12), "quiet"), Span(" "),
        ]  # fmt: skip
    left = (Span(f" {key}  ", "key"), Span(brief.title))
    return spread_out(left, tail, width, f"brief:{index}")
