"""What to do differently: each follows from a figure of this sprint, at most seven, ranked.

Rank: forgotten hazards and dead-board items; what the bench found; calls that were not heeded
while their items stayed open; calculations that fail or were not drawn; boxes overrun; items that
only a walk brought up; changes that opened items again; an order after the cut-off or late begun.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from math import ceil

from coach.debrief.account.changeable import open_essentials
from coach.debrief.account.data import Account, ItemTold, PhaseTold, Said
from coach.debrief.account.items import A_WALK
from coach.debrief.account.words import to_make_good
from coach.history.call_outcomes import SOON
from coach.sprint.durations import duration, elapsed
from coach.sprint.plan import CHOOSING
from coach.sprint.state import REOPENED
from phases.kit.bounds import FAIL
from phases.kit.grammar import clause, count, listed, was
from phases.kit.items import CLOSING_ID

MOST = 7
_NAMED = 3
"""Forgotten items that get a sentence each; the rest shares one."""

_LATE = 3
"""Items closed late before the walk is worth a sentence."""


def differently_of(account: Account) -> tuple[Said, ...]:
    """At most seven, the one that matters most first; none where no figure asks for one."""
    return tuple(islice(_all(account), MOST))


def _all(account: Account) -> Iterator[Said]:
    yield from _forgotten(account)
    yield from _findings(account)
    yield from _calls(account)
    yield from _calculations(account)
    yield from _boxes(account)
    yield from _closing(account)
    yield from _late(account)
    yield from _reopened(account)


def _forgotten(account: Account) -> Iterator[Said]:
    """Only what was there to be seen: of a phase never entered, its time was short."""
    if account.ended_at is None:
        return
    entered = {one.phase for one in account.phases if one.stretches}
    rows = [one for one in open_essentials(account) if one.phase in entered]
    for one in rows[:_NAMED]:
        yield Said(
            f"Ask first next time: {clause(one.name)}. It costs {one.confirm_s:g} s.",
            f"{one.severity}, open at the end; "
            f"{to_make_good(duration(one.left_out_min * 60))}{_again(one)}",
        )
    if rest := rows[_NAMED:]:
        seconds = sum(one.confirm_s for one in rest)
        grave = sum(one.grave for one in rest)
        yield Said(
            f"Walk before each phase is left: {len(rest)} more essentials take "
            f"{duration(seconds)} to confirm.",
            f"open at the end, {grave} of them can hurt somebody or kill the board",
        )


def _again(one: ItemTold) -> str:
    return f"; forgotten in {one.habit[0]} of {one.habit[1]} sprints before" if one.habit else ""


def _findings(account: Account) -> Iterator[Said]:
    for one in account.findings[:2]:
        cost = f"; {duration(one.minutes * 60)} lost" if one.minutes else ""
        by = f"let through by: {one.let_through}" if one.let_through else "found after the sprint"
        catch = one.would_catch[:1].lower() + one.would_catch[1:]
        yield Said(f"Finding {one.number}, {clause(one.fault)}: {catch}", f"{by}{cost}")


def _calls(account: Account) -> Iterator[Said]:
    unheeded = [one for one in account.calls if one.heeded is False and one.items]
    if unheeded:
        first = unheeded[0]
        named = len({key for one in unheeded for key in one.keys})
        none = "it was not" if named == 1 else "none of them was"
        do, kind = "Stop at a call that names items", "call"
        if not any(one.rang for one in unheeded):
            do, kind = "Look at the OPEN line between two phases", "silent call"
        yield Said(
            f"{do}: {count(len(unheeded), kind)} named {count(named, 'item')}, and {none} closed "
            f"within {duration(SOON)}.",
            f"{elapsed(first.t)}: {clause(first.says)}",
        )


def _calculations(account: Account) -> Iterator[Said]:
    failing = [one for one in account.calculations if one.verdict == FAIL]
    if failing:
        yield Said(
            f"Take the remedy when a calculation fails: {len(failing)} {was(len(failing))} left "
            "failing.",
            listed([one.name for one in failing]),
        )
    if account.undrawn:
        names = list(dict.fromkeys(part.calculation for part in account.undrawn))
        yield Said(
            f"Draw a part when its calculation is saved: {count(len(account.undrawn), 'part')} of "
            f"{count(len(names), 'calculation')} {was(len(account.undrawn))} never drawn.",
            listed(names),
        )


def _boxes(account: Account) -> Iterator[Said]:
    """The two boxes that were overrun most; to the next five minutes.

    Nobody knows what a long silence went into: no plan rests on it. Where it is the overrun, the
    key is named that takes a pause out, once and in the place of the plan.
    """
    over = [one for one in account.phases if one.over >= 300 and one.phase != CLOSING_ID]
    silent = [one for one in over if one.silent >= one.over]
    told = sorted(over, key=lambda e: -e.over)[:2]
    first_silent = next((one for one in told if one in silent), None)
    for one in told:
        worked = one.used - one.elsewhere - one.silent
        plan = 5 * ceil(worked / 300)
        name = "choosing parts" if one.phase == CHOOSING else one.name
        if one is first_silent:
            yield _pause(silent)
        elif one not in silent and plan * 60 > one.box:
            without = ", long silences left out" if one.silent else ""
            yield Said(
                f"Plan {plan} min for {name} on a board like this, or drop something before it.",
                f"{duration(one.used - one.silent)} in a box of {duration(one.box)}{without}",
            )
    if silent and first_silent is None:
        yield _pause(silent)


def _pause(silent: Sequence[PhaseTold]) -> Said:
    (since, to), name = max(
        ((silence, one.name) for one in silent for silence in one.silences),
        key=lambda pair: pair[0][1] - pair[0][0],
    )
    return Said(
        "Press i when you come back: it takes a pause out of the time that counts as work.",
        f"{name}: from {elapsed(since)} on nothing was entered for {duration(to - since)}",
    )


def _closing(account: Account) -> Iterator[Said]:
    """When the closing list would have had to begin."""
    closing = next((one for one in account.phases if one.phase == CLOSING_ID), None)
    if account.ended_at is None or account.in_time or closing is None:
        return
    needs = max(closing.used if account.accepted else closing.box, closing.box)
    begin = account.deadline - needs
    if begin <= 0:
        return
    was_begun = elapsed(closing.stretches[0][0]) if closing.stretches else "never"
    yield Said(
        f"Begin the closing list by {elapsed(begin)}: it takes {duration(needs)}.",
        f"begun {was_begun}; cut-off {elapsed(account.deadline)}",
    )


def _late(account: Account) -> Iterator[Said]:
    walked = [e for e in account.late if e.found == A_WALK and e.phase != CLOSING_ID]
    if len(walked) >= _LATE:
        phases = Counter(one.phase for one in walked)
        worst, number = min(phases.items(), key=lambda pair: (-pair[1], pair[0]))
        name = next((one.name for one in account.phases if one.phase == worst), worst)
        yield Said(
            f"Walk the gate before signing off {name}: {number} of its items came up only in a "
            "later walk.",
            f"{count(len(account.late), 'item')} closed late, {len(walked)} of them in a walk",
        )


def _reopened(account: Account) -> Iterator[Said]:
    causes = Counter(one.because for item in account.reopened for one in item.reopenings)
    for because, number in sorted(causes.items(), key=lambda pair: (-pair[1], pair[0]))[:1]:
        if number > 1 and because:
            still = sum(one.outcome == REOPENED for one in account.reopened)
            yield Said(
                f"Settle this earlier: {clause(because)}.",
                f"it opened {number} items again" + (f"; {still} still open" if still else ""),
            )
