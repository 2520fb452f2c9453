"""What a person keeps forgetting, told from earlier sprints.

A habit is what was forgotten in two of the last five sprints, or in three of the last eight. What
counts as forgotten in one of them: coach/sprint/forgotten.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from coach.sprint.events.summary import SummedUp

LAST = 8
"""Sprints that are looked back on, the newest first."""

RECENT = 5
"""Of these, the ones in which two misses make a habit."""

LEAST, LEAST_RECENT = 3, 2
"""Misses that make a habit, in all of them and in the recent ones."""


def missed(summary: SummedUp) -> Mapping[str, bool]:
    """The items that count in an ended sprint, by id: whether each was forgotten."""
    return {item: one.forgotten > 0 for item, one in summary.by_item.items() if one.due}


def habits_from(sprints: Iterable[SummedUp]) -> dict[str, tuple[int, int]]:
    """The habits after these ended sprints, newest first: by item id, (missed, of so many)."""
    past = [missed(one) for one in sprints][:LAST]
    found = {}
    for item in sorted({item for one in past for item in one}):
        told = [one.get(item) for one in past]
        if is_habit(told):
            times = told.count(True)
            found[item] = (times, times + told.count(False))
    return found


def is_habit(told: Sequence[bool | None]) -> bool:
    """Whether an item with this past is a habit: for each sprint, the newest first, whether it
    was forgotten; None where it did not count."""
    return told[:LAST].count(True) >= LEAST or told[:RECENT].count(True) >= LEAST_RECENT
