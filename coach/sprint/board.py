"""This board's items as a person works with them: gates, walks, what was skipped, what is next."""

from __future__ import annotations

from dataclasses import dataclass

from coach.sprint.state import NOT_HERE, REOPENED, Row, State
from phases.kit.items import CLOSING_ID, Item, Place, Severity


@dataclass(frozen=True, slots=True)
class GateRow:
    """One row of a gate: an item with its subjects side by side."""

    item: Item
    cells: tuple[Row, ...]

    @property
    def open_cells(self) -> tuple[Row, ...]:
        return tuple(row for row in self.cells if not row.closed)


def grouped(rows: tuple[Row, ...]) -> list[GateRow]:
    """Rows of the same item put together, in their order."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.item.id, []).append(row)
    return [GateRow(cells[0].item, tuple(cells)) for cells in groups.values()]


def gate_rows(state: State, phase: str) -> list[GateRow]:
    """The gate of a phase as it applies to this board; what is not on it is left out."""
    there = tuple(r for r in state.rows_of(phase) if r.item.gate and r.applies is not False)
    return grouped(there)


def gate_count(state: State, phase: str) -> tuple[int, int]:
    """How many gate rows whose place is reached are closed, and how many there are."""
    counted = [
        [row for row in gate.cells if state.reached(row)] for gate in gate_rows(state, phase)
    ]
    counted = [cells for cells in counted if cells]
    return sum(all(row.closed for row in cells) for cells in counted), len(counted)


def by_severity(rows: list[Row]) -> list[Row]:
    """Worst first; known before asked; then the longest to make good."""
    return sorted(
        rows,
        key=lambda r: (-r.item.severity.rank, r.applies is None, -r.item.left_out_min, r.key),
    )


def skipped_in(state: State, phase: str) -> list[Row]:
    """Essentials of a phase that are open and could have been closed by now."""
    if not phase or phase == CLOSING_ID:
        return []
    return [
        row
        for row in state.rows_of(phase)
        if row.essential and not row.closed and state.reached(row)
    ]


def skipped(state: State) -> list[Row]:
    """Essentials still open though their phase was left; worst first.

    Of a phase that nobody entered, those whose place is behind: a later one is reached.
    """
    last = max(Place(place) for place in state.places)
    found = [
        row
        for phase in state.setup.phases
        if phase.id != state.phase
        for row in skipped_in(state, phase.id)
        if phase.id in state.left or (phase.id not in state.entered and row.item.place < last)
    ]
    return by_severity(found)


def open_essentials(state: State) -> list[Row]:
    """Every essential of this board that is not closed, wherever it is; worst first."""
    return by_severity(
        [r for r in state.rows if r.essential and not r.closed and r.item.phase != CLOSING_ID]
    )


def doubts(state: State) -> list[Row]:
    """Items that were closed and are open again."""
    return [row for row in state.rows if row.status == REOPENED and row.applies is not False]


def habits_first(state: State, rows: list[Row]) -> list[Row]:
    """Rows to be asked: what this person keeps forgetting first, else as they stand.

    Only a hazard that was skipped stays before it: nothing goes before what may hurt somebody.
    """
    if not any(row.item.id in state.habits for row in rows):
        return rows
    behind = {row.key for row in skipped(state) if row.item.severity == Severity.HAZARD}
    return sorted(rows, key=lambda r: (r.key not in behind, r.item.id not in state.habits))


def walk_of_place(state: State, place: str) -> list[Row]:
    """What is asked before `place` is left behind: its open essentials and those before it.

    Confirmed ones are closed and do not come again; further items are folded behind one key.
    """
    wanted = Place(place)
    rows = [
        row
        for row in state.rows
        if row.essential and not row.closed and row.item.place <= wanted
        and row.item.phase != CLOSING_ID
    ]  # fmt: skip
    return habits_first(state, rows)


def further_of_place(state: State, place: str) -> list[Row]:
    """The further items that a walk of that place folds away."""
    wanted = Place(place)
    return [
        row
        for row in state.rows
        if not row.essential and not row.closed and not row.aside and row.item.place <= wanted
        and row.item.phase != CLOSING_ID
    ]  # fmt: skip


def walk_of_phase(state: State, phase: str) -> list[Row]:
    """The open rows of a phase's gate whose place is reached: what this person keeps forgetting
    first, then as they stand in its file. The closing list keeps the order of ordering."""
    if phase == CLOSING_ID:
        return [row for row in state.rows_of(CLOSING_ID) if not row.closed]
    rows = [
        row
        for gate in gate_rows(state, phase)
        for row in gate.cells
        if not row.closed and state.reached(row)
    ]
    return habits_first(state, rows)


def further_of_phase(state: State, phase: str) -> list[Row]:
    return [
        row
        for row in state.rows_of(phase)
        if not row.item.gate and not row.closed and not row.aside and state.reached(row)
    ]


def find(state: State, word: str) -> list[Row]:
    """Rows whose id, statement, reason or subject hold every word of `word`."""
    words = word.lower().split()
    return [
        row
        for row in state.rows
        if words
        and row.status != NOT_HERE
        and all(
            w in f"{row.item.id} {row.item.statement} {row.item.why} {row.title}".lower()
            for w in words
        )
    ]
