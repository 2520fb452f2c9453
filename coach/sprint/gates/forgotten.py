"""What was forgotten in a sprint that has ended, and what this person forgets again and again.

An essential was forgotten if it was still open at the end at one of its subjects at least, and its
turn had come: the order was accepted, or the sprint was given up after the item's phase was left or
its stage lay behind. What was closed and then reopened by a change is not forgotten, what was
closed late is not either, and of the closing list of a sprint that was given up nothing is. An item
counts in the sprints that had it on the board and in which its turn came. One that was only asked,
because nobody ever said whether it is on this board, counts in none. One of the more checks is read
when there is time for it, so that it cannot be forgotten.
"""

from __future__ import annotations

from coach.sprint.gates.gates import skipped
from coach.sprint.state import OPEN, Row, State


def forgotten(state: State) -> list[Row]:
    """The essentials that were forgotten in a sprint that has ended, in the order of its list."""
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


def habit_words(state: State, row: Row) -> str:
    """Why an item is asked first: "forgotten in 3 of your last 8"; "" where it is not a habit."""
    habit = state.habits.get(row.item.id)
    return f"forgotten in {habit[0]} of your last {habit[1]}" if habit else ""


def forgotten_before(state: State, row: Row) -> str:
    """The same in few words, for a line: "forgotten 3 of 8"."""
    habit = state.habits.get(row.item.id)
    return f"forgotten {habit[0]} of {habit[1]}" if habit else ""
