"""The questions of an after-action review: what was planned, what happened, why they differ.

After U.S. Army TC 25-20, A Leader's Guide to After-Action Reviews (1993). Each answer is a short
sentence with its number; none names a motive.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from coach.debrief.account.data import Account, PhaseTold
from coach.debrief.account.phases import Planned
from coach.debrief.account.sentences import last_drawing
from coach.history.read_sprint import SprintRead
from coach.sprint.durations import duration, elapsed
from coach.sprint.events.run import CutOffMoved, Resumed
from coach.sprint.fold import begin
from coach.sprint.plan import CHOOSING
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, WAIVED
from phases.kit.bounds import FAIL, MARGINAL
from phases.kit.grammar import capital, count, listed, listed_clauses, sentence, times, was
from phases.kit.items import CLOSING_ID

MOST_PHASES = 3
"""Phases whose difference is told here; the timeline has them all."""


# ---- planned ---------------------------------------------------------------------------------


def planned_sentences(read: SprintRead, account: Account, planned: Planned) -> tuple[str, ...]:
    """The cut-off and its reserve, the boxes, the essentials, as it stood at the start."""
    back = "nothing held back"
    if account.reserve:
        back = f"{duration(account.reserve)} of it held back for the closing list"
    said = [f"To order by {elapsed(planned.deadline)}, with {back}."]
    boxes = [one for one in account.phases if one.box > 0]
    if boxes:
        drawn = [one for one in boxes if one.phase not in (CHOOSING, CLOSING_ID)]
        longest = max(drawn or boxes, key=lambda one: one.box)
        total = sum(one.box for one in boxes)
        said.append(
            f"{count(len(boxes), 'box', 'boxes')} of {duration(total)} in all, the longest "
            f"{longest.name} with {duration(longest.box)}."
        )
    if planned.short > 30:
        said.append(f"The plan was {duration(planned.short)} too long from the start.")
    rows = [r for r in begin(read.setup).rows if r.essential and r.item.phase != CLOSING_ID]
    needed = sum(row.applies is True for row in rows)
    asked = sum(row.applies is None for row in rows)
    words = f"{count(needed, 'essential')} by the brief"
    said.append(f"{words}, and {asked} more to be asked for." if asked else f"{words}.")
    return tuple(said)


# ---- happened --------------------------------------------------------------------------------


def happened_of(account: Account) -> tuple[str, ...]:
    """How it ended, and what came of items, calculations and calls."""
    said = [account.standing, *_items(account), *_calculations(account), *_calls(account)]
    if account.findings:
        cost = sum(one.minutes or 0.0 for one in account.findings)
        lost = f", which cost {duration(cost * 60)}" if cost else ""
        said.append(f"{count(len(account.findings), 'fault')} {was(len(account.findings))} found "
                    f"after the sprint{lost}.")  # fmt: skip
    if account.measured:
        outside = sum(one.verdict == "outside" for one in account.measured)
        said.append(f"{count(len(account.measured), 'point')} measured, {outside} outside.")
    return tuple(said)


def _items(account: Account) -> Iterator[str]:
    essentials = [
        one for one in account.items
        if one.essential and one.phase != CLOSING_ID and one.outcome != NOT_HERE
    ]  # fmt: skip
    counts = Counter(one.outcome for one in essentials)
    words = ((MET, "met"), (WAIVED, "waived"), (OPEN, "open"), (REOPENED, "open again"))
    said = [f"{counts[status]} {word}" for status, word in words if counts[status]]
    if said:
        yield f"Of {count(len(essentials), 'essential')} {listed(said, 4)}."
    late, again = len(account.late), len(account.reopened)
    if late or again:
        parts = [f"{count(late, 'item')} closed late"] if late else []
        if again:
            how = f"{again if late else count(again, 'item')} reopened"
            parts.append(f"{how}, {_closed_again(account)} closed again")
        yield f"{capital(listed(parts))}."


def _closed_again(account: Account) -> int:
    return sum(one.reopenings[-1].closed_again is not None for one in account.reopened)


def _calculations(account: Account) -> Iterator[str]:
    if not account.calculations:
        return
    fails = sum(one.verdict == FAIL for one in account.calculations)
    thin = sum(one.verdict == MARGINAL for one in account.calculations)
    parts = [f"{count(len(account.calculations), 'calculation')} saved"]
    if fails:
        parts.append(f"{fails} failing")
    if thin:
        parts.append(f"{thin} marginal")
    if account.undrawn:
        parts.append(f"{count(len(account.undrawn), 'part')} never drawn")
    yield f"{', '.join(parts)}."


def _calls(account: Account) -> Iterator[str]:
    if not account.calls:
        return
    asking = [one for one in account.calls if one.heeded is not None]
    rang = sum(one.rang for one in account.calls)
    heeded = sum(bool(one.heeded) for one in asking)
    tail = f"; {heeded} of {len(asking)} that asked for something {was(heeded)} heeded"
    yield f"{count(len(account.calls), 'call')}, {rang} rang{tail if asking else ''}."


# ---- why they differ ---------------------------------------------------------------------------


def differences_of(read: SprintRead, account: Account) -> tuple[str, ...]:
    """The boxes that differ most, then what moved the rest; empty where all went as planned."""
    said = [f"{_over(one)} {one.why}" for one in _most_different(account)]
    said += _cut_off_moves(read)
    said += _reserve(account)
    if account.interrupted >= 60:
        said.append(f"{duration(account.interrupted)} went into interruptions.")
    said += _closed_meanwhile(read)
    if account.dropped:
        said.append(f"Dropped: {listed_clauses(account.dropped)}.")
    said += _causes_of_reopening(account)
    said += _never_entered(account)
    return tuple(said)


def _most_different(account: Account) -> list[PhaseTold]:
    differing = [one for one in account.phases if one.why and one.stretches]
    ranked = sorted(differing, key=lambda one: -abs(one.over))
    chosen = {id(one) for one in ranked[:MOST_PHASES]}
    return [one for one in account.phases if id(one) in chosen]


def _over(one: PhaseTold) -> str:
    way = "over" if one.over > 0 else "under"
    return (
        f"{capital(one.name)} was {duration(one.over)} {way}: {duration(one.used)} in a "
        f"box of {duration(one.box)}."
    )


def _cut_off_moves(read: SprintRead) -> Iterator[str]:
    moves = [e.event for e in read.events(CutOffMoved)]
    for event in moves:
        assert isinstance(event, CutOffMoved)
        why = f" Reason: {sentence(event.why)}" if event.why else ""
        yield f"{sentence(event.says)}{why}" if event.says else f"The cut-off was moved.{why}"


def _reserve(account: Account) -> Iterator[str]:
    """Drawing that went on into the reserve."""
    begins = account.deadline - account.reserve
    if not account.reserve or begins <= 0:
        return
    last, _ = last_drawing(account, begins)
    eaten = min(last, account.deadline) - begins
    if eaten >= 60:
        yield (
            f"Drawing went on until {elapsed(last)}: {duration(eaten)} of the "
            f"{duration(account.reserve)} held back were gone before the closing list."
        )


def _closed_meanwhile(read: SprintRead) -> Iterator[str]:
    gaps = [
        s.event.gap for s in read.events(Resumed)
        if isinstance(s.event, Resumed) and 60 <= s.event.gap < 3.6e7
    ]  # fmt: skip
    if gaps:
        yield (
            f"The coach was closed {times(len(gaps))} for {duration(sum(gaps))} in all; that "
            "time is in no phase."
        )


def _causes_of_reopening(account: Account) -> Iterator[str]:
    """The one change that opened most items again, where it opened several."""
    causes = Counter(one.because for item in account.reopened for one in item.reopenings)
    for because, number in sorted(causes.items(), key=lambda pair: (-pair[1], pair[0]))[:2]:
        if number > 1:
            yield f"{count(number, 'item')} {was(number)} reopened. Because: {sentence(because)}"


def _never_entered(account: Account) -> Iterator[str]:
    names = [one.name for one in account.phases if one.box and not one.stretches
             and not one.drawn_before]  # fmt: skip
    if names and account.ended_at is not None:
        yield f"Never entered: {listed(names, 9)}."
