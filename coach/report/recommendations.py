"""What to do differently: each follows from a figure of this sprint, at most seven, ranked.

Rank: forgotten hazards and dead-board items; what the bench found; calls that were not acted on
while their items stayed open; calculations that fail or were not drawn; boxes overrun; items that
only a walk brought up; changes that opened items again; an order after the cut-off or late begun.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from math import ceil

from coach.history.call_outcomes import SOON
from coach.report.account import Account
from coach.report.after_production import would_catch
from coach.report.item_outcomes import IN_A_WALK, found_again, habit_words, item_key, to_fix
from coach.report.phase_times import PhaseActual
from coach.report.review import causes
from coach.report.sections import Point, Section
from coach.sprint.durations import between, duration, elapsed
from phases.kit.grammar import clause, count, listed, sentence, sentences, was
from phases.kit.items import CLOSING_ID

MOST = 7
_NAMED = 3
"""Forgotten items that get a sentence each; the rest shares one."""

_LATE = 3
"""Items closed late before the walk is worth a sentence."""


def recommendations(account: Account) -> Section:
    """The one that matters most first; none where no figure asks for one."""
    points = tuple(islice(_all(account), MOST))
    return Section("recommendations", "What to do differently", points=points, numbered=True)


def _all(account: Account) -> Iterator[Point]:
    yield from _forgotten(account)
    yield from _findings(account)
    yield from _calls(account)
    yield from _calculations(account)
    yield from _boxes(account)
    yield from _closing(account)
    yield from _late(account)
    yield from _reopened(account)


def _forgotten(account: Account) -> Iterator[Point]:
    """Not what was never reached: there the time was short."""
    for row in account.forgotten[:_NAMED]:
        yield Point(
            f"Check first next time ({duration(row.item.confirm_s)}): {sentence(row.name)}",
            sentences(f"{row.item.severity}, open at the end", habit_words(account.state, row)),
            key=item_key(row),
        )
    if rest := account.forgotten[_NAMED:]:
        grave = sum(row.item.grave for row in rest)
        yield Point(
            f"Walk before leaving each phase: {count(len(rest), 'more essential')} open.",
            f"{to_fix(rest)}; {grave} of them can hurt somebody or kill the board",
        )


def _findings(account: Account) -> Iterator[Point]:
    for one in [*account.state.findings.values()][:2]:
        yield Point(
            f"Finding {one.number}, {clause(one.fault)}. {would_catch(account, one)}",
            f"{duration(one.minutes * 60)} lost" if one.minutes else "found after the sprint",
            key=f"finding/{one.number}",
        )


def _calls(account: Account) -> Iterator[Point]:
    missed = [one for one in account.asking if not one.acted_on and one.call.items]
    if missed:
        named = len({key for one in missed for key in one.call.items})
        none = "it was not" if named == 1 else "none of them was"
        do, kind = "Stop at a call that names items", "call"
        if not any(one.call.rings for one in missed):
            do, kind = "Look at the SKIPPED line between two phases", "silent call"
        yield Point(
            f"{do}: {count(len(missed), kind)} named {count(named, 'item')}, and {none} closed "
            f"within {duration(SOON)}.",
            f"{elapsed(missed[0].t)}: {clause(missed[0].call.message)}",
        )


def _calculations(account: Account) -> Iterator[Point]:
    if failing := account.failing:
        yield Point(
            f"Fix failing calculations before moving on: {len(failing)} {was(len(failing))} left "
            "failing.",
            listed([account.names.calculation(one.id) for one in failing]),
        )
    if account.undrawn:
        parts = sum(map(len, account.undrawn.values()))
        yield Point(
            f"Draw a part when its calculation is saved: {count(parts, 'part')} of "
            f"{count(len(account.undrawn), 'calculation')} {was(parts)} never drawn.",
            listed([*account.undrawn]),
        )


def _boxes(account: Account) -> Iterator[Point]:
    """The two boxes that were overrun most; to the next five minutes.

    Nobody knows what a long silence went into: no plan rests on it. Where it is the overrun, the
    key is named that takes a pause out, once and in the place of the plan.
    """
    over = [one for one in account.phases if one.over >= 300 and one.phase != CLOSING_ID]
    silent = [one for one in over if one.silent >= one.over]
    told = sorted(over, key=lambda one: -one.over)[:2]
    first_silent = next((one for one in told if one in silent), None)
    for one in told:
        plan = 5 * ceil((one.used - one.elsewhere - one.silent) / 300)
        if one is first_silent:
            yield _pause(silent)
        elif one not in silent and plan * 60 > one.box.seconds:
            without = ", long silences left out" if one.silent else ""
            yield Point(
                f"Plan {duration(60 * plan)} for {one.name} on a board like this, or drop "
                "something before.",
                f"{duration(one.used - one.silent)} in a box of {duration(one.box.seconds)}"
                f"{without}",
            )
    if silent and first_silent is None:
        yield _pause(silent)


def _pause(silent: Sequence[PhaseActual]) -> Point:
    (since, to), name = max(
        ((silence, one.name) for one in silent for silence in one.silences),
        key=lambda pair: pair[0][1] - pair[0][0],
    )
    return Point(
        "Press i right after you come back: it takes a pause out of the time that counts as work.",
        f"{name}: from {elapsed(since)} on nothing was entered for {between(since, to)}",
    )


def _closing(account: Account) -> Iterator[Point]:
    """When the closing list would have had to begin."""
    if not account.state.ended or account.in_time:
        return
    closing = account.phases[-1]
    box = closing.box.seconds
    needs = max(closing.used, box) if account.state.accepted else box
    begin = account.state.deadline - needs
    if begin > 0:
        begun = elapsed(closing.stretches[0][0]) if closing.stretches else "never"
        yield Point(
            f"Begin the closing list by {elapsed(begin)}: it takes {duration(needs)}.",
            f"begun {begun}; cut-off {elapsed(account.state.deadline)}",
        )


def _late(account: Account) -> Iterator[Point]:
    walked = [
        row
        for row in account.late
        if row.item.phase != CLOSING_ID and found_again(account, row) == IN_A_WALK
    ]
    if len(walked) >= _LATE:
        phases = Counter(row.item.phase for row in walked)
        worst, number = min(phases.items(), key=lambda pair: (-pair[1], pair[0]))
        yield Point(
            f"Walk {account.names.phase(worst)} before signing it off: {number} of its items came "
            "up only in a later walk.",
            f"{count(len(account.late), 'item')} closed late, {len(walked)} of them in a walk",
        )


def _reopened(account: Account) -> Iterator[Point]:
    for because, number in causes(account)[:1]:
        still = len(account.reopened)
        yield Point(
            f"Settle this earlier: {clause(because)}.",
            f"it opened {number} items again" + (f"; {still} still open" if still else ""),
        )
