"""What was forgotten in a sprint that has ended, and what this person forgets again and again.

An essential was forgotten if it was still open at the end at one of its subjects at least, and its
turn had come: the order was accepted, or the sprint was given up after the item's phase was left or
its stage lay behind. What was closed and then reopened by a change is not forgotten, what was
closed late is not either, and of the closing list of a sprint that was given up nothing is. An item
counts in the sprints that had it on the board and in which its turn came. One that was only asked,
because nobody ever said whether it is on this board, counts in none. One of the more checks is read
when there is time for it, so that it cannot be forgotten.

Whoever says "forgotten" (the end, the debrief, a journal told, its summary, trends) asks here, and
says beside it what else stayed open.
"""

from __future__ import annotations

from coach.sprint.events.summary import forgotten_words
from coach.sprint.gates.gates import by_severity, skipped
from coach.sprint.state import OPEN, REOPENED, Row, State
from phases.kit.grammar import sentences
from phases.kit.items import CLOSING_ID


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


def not_reached(state: State) -> list[Row]:
    """The essentials of the phases that stayed open and whose turn never came, worst first."""
    missed = {row.key for row in forgotten(state)}
    return by_severity(
        [
            row
            for row in state.rows
            if row.essential
            and row.item.phase != CLOSING_ID
            and row.status == OPEN
            and row.key not in missed
            and not only_asked(row)
        ]
    )


def never_answered(state: State) -> list[Row]:
    """The essentials of which nobody ever said whether they are on this board, worst first."""
    return by_severity(
        [
            row
            for row in state.rows
            if row.essential and row.item.phase != CLOSING_ID and only_asked(row)
        ]
    )


def left_open_words(state: State, kinds: str = "") -> str:
    """What stayed open of a sprint that has ended, in sentences: what was forgotten, and what was
    not. kinds: of what was forgotten, "1 hazard and 2 dead board"."""
    missed, later = forgotten(state), len(not_reached(state))
    again = sum(row.essential and row.status == REOPENED for row in state.rows)
    asked = len(never_answered(state))
    closing = sum(row.item.phase == CLOSING_ID for row in missed)
    return sentences(
        forgotten_words(len(missed), len(due(state))) + (f": {kinds}" if kinds else ""),
        f"{closing} of them on the closing list" if closing else "",
        f"{later} more never reached" if later else "",
        f"{asked} never answered" if asked else "",
        f"{again} open again" if again else "",
    )


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
