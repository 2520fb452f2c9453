"""The start screen: sprints to take up again, a new board, briefs to begin with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.history.listing import Listed
from coach.sprint.brief.folder import BriefOffer
from coach.sprint.cut_off import zone_of
from coach.sprint.durations import duration
from coach.terminal.drawing.lines import BLANK, Line, Span, fit, line, right, spread_out
from coach.terminal.drawing.words import of_day

SPRINT_KEYS = "123456789"
BRIEF_KEYS = "abcdefghijklmoprstuvwxyz"
"""Without n, for a new board, and q, to leave."""

NEW = "new"
_DATED = 72
"""Cells from which a sprint's line has room for the day it began beside the time it has left."""
_NARROW = 36
"""Cells below which a line holds a name only: it is what one chooses by."""
_LOW, _LOWEST = 20, 8
"""Rows of the screen below which headings give way, so that briefs are in view; below the lower
bound no heading is left."""
_FIRST_ON_LOW = 3
"""Sprints before the briefs on a low screen."""
_DAY = 24 * 3600


@dataclass(frozen=True, slots=True)
class Offers:
    """What there is to begin with. sprints: not ended, the newest first. reading: still looking."""

    sprints: Sequence[Listed] = ()
    briefs: Sequence[BriefOffer] = ()
    reading: bool = True


def start_title(now: datetime, width: int) -> list[Line]:
    left = [Span(" coach", "title")]
    if width >= 44:
        left.append(Span("  paces a board to its cut-off", "quiet"))
    return [spread_out(left, (Span(f"{of_day(now)} ", "quiet"),), width)]


def start_lines(offers: Offers, now: datetime, width: int, height: int) -> list[Line]:
    """Sprints on digits, briefs on letters, so that no key changes while the list is read.

    height: rows of the whole screen.
    """
    if height < _LOW:
        return _low_lines(offers, now, width, height)
    found = [BLANK]
    first, older = offers.sprints[: len(SPRINT_KEYS)], offers.sprints[len(SPRINT_KEYS) :]
    if first:
        found.append(line(Span(" Take up again", "quiet")))
        found += [_sprint(g, i, now, width) for i, g in enumerate(first)]
        found.append(BLANK)
    found.append(_new(width))
    if offers.briefs:
        found += [BLANK, line(Span(" Begin with a brief", "quiet"))]
        found += _briefs(offers, now, width)
    if offers.reading:
        found += [BLANK, line(Span(" Looking for sprints and briefs", "quiet"))]
    if older:
        found += [BLANK, line(Span(" Older sprints that have not ended", "quiet"))]
        found += [_sprint(g, i, now, width) for i, g in enumerate(older, start=len(first))]
    return found


def _low_lines(offers: Offers, now: datetime, width: int, height: int) -> list[Line]:
    """The same without blank lines; a few sprints, the briefs, then the other sprints."""
    sprints = [_sprint(g, i, now, width) for i, g in enumerate(offers.sprints)]
    briefs = _briefs(offers, now, width)
    headed = height >= _LOWEST
    found = [*sprints[:_FIRST_ON_LOW], _new(width)]
    if briefs:
        found += [line(Span(" Begin with a brief", "quiet"))] if headed else []
        found += briefs
    if sprints[_FIRST_ON_LOW:]:
        found += [line(Span(" More sprints that have not ended", "quiet"))] if headed else []
        found += sprints[_FIRST_ON_LOW:]
    if offers.reading:
        found.append(line(Span(" Looking for sprints and briefs", "quiet")))
    return found


def _new(width: int) -> Line:
    words = "New board" + (": seven questions, one key each" if width >= 60 else "")
    return line(Span(" n  ", "key"), Span(words), key=NEW)


def _sprint(one: Listed, index: int, now: datetime, width: int) -> Line:
    key = SPRINT_KEYS[index] if index < len(SPRINT_KEYS) else " "
    words, role = left_words(one.left(now))
    if one.run.rehearsed:
        words = f"rehearsal, {words}"
    tail = [Span(words, role), Span(" ")]
    if width >= _DATED:
        begun = one.run.started.astimezone(zone_of(now))
        tail = [Span(f"{begun:%Y-%m-%d %H:%M}  ", "quiet"), Span(right(words, 27), role), Span(" ")]
    elif width < _NARROW:
        tail = []
    left = (Span(f" {key}  ", "key"), Span(one.run.title))
    return spread_out(left, tail, width, f"sprint:{index}")


def left_words(seconds: float) -> tuple[str, str]:
    """(how long a sprint still has, its role), where only its journal is looked at."""
    words = duration(seconds)
    if seconds >= 0:
        return f"{words} left", "next"
    if seconds < -_DAY:
        days = int(-seconds // _DAY)
        return f"{days} day{'s' if days > 1 else ''} past", "quiet"
    return f"{words} past", "due"


def _briefs(offers: Offers, now: datetime, width: int) -> list[Line]:
    """A line each; of those with one title each says when it was written, and those after the
    first of a minute which they are."""
    titles = Counter(brief.title for brief in offers.briefs)
    seen: Counter[tuple[str, str]] = Counter()
    found = []
    for index, brief in enumerate(offers.briefs):
        apart = ""
        if titles[brief.title] > 1:
            apart = _written(brief, now)
            seen[brief.title, apart] += 1
            count = seen[brief.title, apart]
            apart = f"{apart}, {count}" if count > 1 else apart
        found.append(_brief(brief, index, width, apart))
    return found


def _written(brief: BriefOffer, now: datetime) -> str:
    if brief.written is None:
        return "bundled"
    at = brief.written.astimezone(zone_of(now))
    return f"{at:%H:%M}" if at.date() == now.date() else f"{at:%Y-%m-%d %H:%M}"


def _brief(brief: BriefOffer, index: int, width: int, apart: str) -> Line:
    """apart: what tells it from another of its title; it stands before the title, which is cut."""
    key = BRIEF_KEYS[index] if index < len(BRIEF_KEYS) else " "
    tail = [Span(right(brief.when, 8)), Span(" ")]
    if width >= 60:
        tail = [
            Span(fit("own" if brief.own else "", 6), "quiet"), Span(right(brief.when, 16)),
            Span(right(f"{brief.parts} parts", 12), "quiet"), Span(" "),
        ]  # fmt: skip
    elif width < _NARROW:
        tail = []
    before = (Span(f"{apart}  ", "quiet"),) if apart else ()
    left = (Span(f" {key}  ", "key"), *before, Span(brief.title))
    return spread_out(left, tail, width, f"brief:{index}")
