"""The questions of an after-action review: what was planned, what happened, why they differ.

After U.S. Army TC 25-20, A Leader's Guide to After-Action Reviews (1993). Each answer is a short
sentence with its number; none names a motive.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from coach.report.account import Account
from coach.report.after_production import findings, measured
from coach.report.calls_and_forecasts import calls
from coach.report.item_outcomes import late, opened_again, reopened, reopenings
from coach.report.margins import margins
from coach.report.phase_times import PhaseActual, Span, dropped
from coach.report.sections import Point, Section
from coach.sprint.durations import against, apart, duration, elapsed, minutes_of
from coach.sprint.ending import how_it_ended
from coach.sprint.events.event import of_kind
from coach.sprint.events.run import CutOffMoved
from coach.sprint.fold import begin
from coach.sprint.pace.plan import CHOOSING, Box
from coach.sprint.state import ASSUMED, MET, OPEN, REOPENED, WAIVED
from phases.kit.grammar import (
    count,
    listed,
    listed_clauses,
    sentence,
    sentences,
    times,
    was,
)
from phases.kit.items import CLOSING_ID

MOST_PHASES = 3
"""Phases whose difference is told here; the timeline has them all."""


def planned(account: Account) -> Section:
    return _section("planned", "What was planned", _planned(account))


def happened(account: Account) -> Section:
    return _section("happened", "What happened", _happened(account))


def variance(account: Account) -> Section:
    return _section("variance", "Why they differ", _variance(account))


def _section(name: str, title: str, said: Iterable[str]) -> Section:
    return Section(name, title, points=tuple(Point(text) for text in said if text))


# ---- planned ---------------------------------------------------------------------------------


def _planned(account: Account) -> Iterator[str]:
    """The cut-off and its reserve, the boxes, the essentials, as it was at the start."""
    reserve = account.setup.reserve
    back = f", including {duration(reserve)} for the closing list" if reserve else ""
    yield f"Order by {elapsed(account.planned.deadline)}{back}."
    boxes = [one.box for one in account.phases if one.box.seconds > 0]
    if boxes:
        drawn = [box for box in boxes if box.phase not in (CHOOSING, CLOSING_ID)]
        longest = max(drawn or boxes, key=lambda box: box.seconds)
        yield (
            f"{count(len(boxes), 'time box', 'time boxes')}, {duration(_as_shown(boxes))} in "
            f"total; longest: {longest.name}, {duration(longest.seconds)}."
        )
    short = _as_shown(account.planned.plan.boxes) - account.planned.deadline
    if short > 30:
        yield f"The plan was {duration(short)} too long from the start."
    rows = [
        row for row in begin(account.setup).rows if row.essential and row.item.phase != CLOSING_ID
    ]
    needed = sum(row.applies is True for row in rows)
    asked = sum(row.applies is None for row in rows)
    more = f", {asked} more depending on answers" if asked else ""
    yield f"{count(needed, 'essential')} from the brief{more}."


def _as_shown(boxes: Iterable[Box]) -> float:
    """Their sum as a reader adds them up, in seconds."""
    return sum(60.0 * minutes_of(box.seconds) for box in boxes)


# ---- happened --------------------------------------------------------------------------------


def _happened(account: Account) -> Iterator[str]:
    """How it ended, what came of the essentials, and each other section in a sentence."""
    yield how_it_ended(account.state)
    counts = Counter(row.status for row in account.essentials)
    words = (
        (MET, "met"),
        (WAIVED, "waived"),
        (ASSUMED, "met on assumed figures"),
        (OPEN, "open"),
        (REOPENED, "open again"),
    )
    said = [f"{counts[status]} {word}" for status, word in words if counts[status]]
    if said:
        yield f"{count(len(account.essentials), 'essential')}: {', '.join(said)}."
    for section in (late, reopened, margins, calls, findings, measured):
        yield section(account).lead


# ---- why they differ ---------------------------------------------------------------------------


def _variance(account: Account) -> Iterator[str]:
    """The boxes that differ most, then what moved the rest; nothing where all went as planned."""
    yield from (sentences(_over(one), one.why) for one in _most_different(account))
    for one in of_kind(account.counted, CutOffMoved):
        why = f"Reason: {one.event.why}" if one.event.why else ""
        yield sentences(one.event.message or "the cut-off was moved", why)
    eaten = reserve_eaten(account)
    if eaten >= 60:
        yield (
            f"Drawing went on until {elapsed(drawn_until(account))}: {duration(eaten)} of the "
            f"{duration(account.setup.reserve)} held back were gone before the closing list."
        )
    yield _away(account, "interrupted", "Interrupted")
    yield _away(account, "coach closed", "The coach was closed")
    if titles := dropped(account.state):
        yield f"Dropped: {listed_clauses(titles)}."
    for because, number in causes(account)[:2]:
        yield f"{count(number, 'item')} {was(number)} reopened. Because: {sentence(because)}"
    never = [
        one.name for one in account.phases if one.box.seconds and one.phase in account.never_entered
    ]
    yield f"Never entered: {listed(never, 9)}." if never and account.state.ended else ""


def _most_different(account: Account) -> list[PhaseActual]:
    differing = [one for one in account.phases if one.why and one.stretches]
    ranked = sorted(differing, key=lambda one: -abs(one.over))[:MOST_PHASES]
    return [one for one in account.phases if one in ranked]


def _over(one: PhaseActual) -> str:
    """ "Layout was 14 min over: 52 min in a box of 38 min"; of the figures as they are shown."""
    difference = against(one.used, one.box.seconds)
    way = "over" if difference.startswith("+") else "under"
    return (
        f"{one.name} was {difference[1:]} {way}: {duration(one.used)} in a box of "
        f"{duration(one.box.seconds)}"
    )


def _drawing(account: Account) -> list[Span]:
    return [
        stretch for one in account.phases if one.phase != CLOSING_ID for stretch in one.stretches
    ]


def drawn_until(account: Account) -> float:
    """The last moment of drawing."""
    return max((to for _, to in _drawing(account)), default=0.0)


def reserve_eaten(account: Account) -> float:
    """Seconds of the reserve that went into drawing; the time the coach was closed is none."""
    begins, ends = account.reserve_begins, account.state.deadline
    if not account.setup.reserve or begins <= 0:
        return 0.0
    parts = ((max(since, begins), min(to, ends)) for since, to in _drawing(account))
    return sum(apart(since, to) for since, to in parts if since < to)


def _away(account: Account, why: str, words: str) -> str:
    gaps = [one.seconds for one in account.away if one.why == why]
    if sum(gaps) < 60:
        return ""
    return f"{words} {times(len(gaps))}, {duration(sum(gaps))} in total: not counted."


def causes(account: Account) -> list[tuple[str, int]]:
    """What opened several items again, the one that opened most first."""
    found = Counter(
        one.because for row in opened_again(account) for one in reopenings(account, row)
    )
    ranked = sorted(found.items(), key=lambda pair: (-pair[1], pair[0]))
    return [(because, number) for because, number in ranked if because and number > 1]
