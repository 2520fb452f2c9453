"""What a person keeps forgetting, told from earlier sprints, and the words it is said in.

The rule. An essential was forgotten in a sprint if it was still open at the end at one of its
subjects at least, and its turn had come: the order was accepted, or the sprint was given up after
the item's phase was left or its place lay behind. What was closed and then reopened by a change is
not forgotten, what was closed late is not either, and of the closing list of a sprint that was
given up nothing is. An item counts in the sprints that had it on the board and in which its turn
came. One that was only asked, because nobody ever said whether it is on this board, counts in none.
One of the more checks is read when there is time for it, so that it cannot be forgotten.

A habit is what was forgotten in two of the last five sprints, or in three of the last eight.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from coach.sprint.board import skipped
from coach.sprint.state import OPEN, Row, State

LAST = 8
"""Sprints that are looked back on, the newest first."""

RECENT = 5
"""Of these, the ones in which two misses make a habit."""

LEAST, LEAST_RECENT = 3, 2
"""Misses that make a habit, in all of them and in the recent ones."""


def forgotten(state: State) -> list[Row]:
    """The essentials that were forgotten in a sprint that has ended, as they stand in its list."""
    return [row for row in due(state) if row.status == OPEN]


def due(state: State) -> list[Row]:
    """The essentials known to be on the board whose turn had come by the end of the sprint."""
    rows = [
        row
        for row in state.rows
        if row.essential and row.applies is not False and not only_asked(row)
    ]
    if state.accepted:
        return rows
    behind = {row.key for row in skipped(state)}
    return [row for row in rows if row.closed or row.key in behind]


def only_asked(row: Row) -> bool:
    """Whether nobody ever said that an item is on this board; what was closed is."""
    return row.applies is None and not row.closed


def missed(state: State) -> Mapping[str, bool]:
    """The items that count in an ended sprint, by id: whether each was forgotten."""
    found: dict[str, bool] = {}
    for row in due(state):
        found[row.item.id] = found.get(row.item.id, False) or row.status == OPEN
    return found


def habits_from(sprints: Iterable[State]) -> dict[str, tuple[int, int]]:
    """The habits after these ended sprints, newest first: by item id, (missed, of so many)."""
    listed = [missed(state) for state in [*sprints][:LAST]]
    found = {}
    for item in {item for one in listed for item in one}:
        told = [one.get(item) for one in listed]
        times = told.count(True)
        if is_habit(told):
            found[item] = (times, times + told.count(False))
    return dict(sorted(found.items()))


def is_habit(told: Sequence[bool | None]) -> bool:
    """Whether an item with this past is a habit: for each sprint, the newest first, whether it
    was forgotten; None where it did not count."""
    return told[:LAST].count(True) >= LEAST or told[:RECENT].count(True) >= LEAST_RECENT


def habit_words(state: State, row: Row) -> str:
    """Why an item is asked first: "forgotten in 3 of your last 8"; "" where it is no habit."""
    habit = state.habits.get(row.item.id)
    return f"forgotten in {habit[0]} of your last {habit[1]}" if habit else ""


def forgotten_before(state: State, row: Row) -> str:
    """The same in few words, for a line: "forgotten 3 of 8"."""
    habit = state.habits.get(row.item.id)
    return f"forgotten {habit[0]} of {habit[1]}" if habit else ""
