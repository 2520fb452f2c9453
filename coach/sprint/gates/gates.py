"""The gates of this board: which essentials are open, skipped, in doubt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coach.sprint.state import REOPENED, Row, State
from phases.kit.items import CLOSING_ID, Item, Stage


@dataclass(frozen=True, slots=True)
class GateRow:
    """One row of a gate: an item with its subjects side by side."""

    item: Item
    cells: tuple[Row, ...]

    @property
    def open_cells(self) -> tuple[Row, ...]:
        return tuple(row for row in self.cells if not row.closed)


def grouped(rows: Iterable[Row]) -> list[GateRow]:
    """Rows of the same item put together, in their order."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.item.id, []).append(row)
    return [GateRow(cells[0].item, tuple(cells)) for cells in groups.values()]


def gate_rows(state: State, phase: str) -> list[GateRow]:
    """The gate of a phase as it applies to this board; what is not on it is left out."""
    return grouped(r for r in state.rows_of(phase) if r.essential and r.applies is not False)


def gate_count(state: State, phase: str) -> tuple[int, int]:
    """How many gate rows whose stage is reached are closed, and how many there are."""
    gates = grouped(
        row for gate in gate_rows(state, phase) for row in gate.cells if state.reached(row)
    )
    return sum(not gate.open_cells for gate in gates), len(gates)


def by_severity(rows: list[Row]) -> list[Row]:
    """Worst first; known before asked; then the longest to fix."""
    return sorted(
        rows,
        key=lambda r: (-r.item.severity.rank, r.applies is None, -r.item.left_out_min, r.key),
    )


def skipped_in(state: State, phase: str) -> list[Row]:
    """Essentials of a phase that are open and could have been closed by now."""
    return [
        row
        for row in state.rows_of(phase)
        if row.essential and not row.closed and state.reached(row) and row.item.phase != CLOSING_ID
    ]


def skipped(state: State) -> list[Row]:
    """Essentials still open though their phase was left; worst first.

    Of a phase that nobody entered, those whose stage is behind: a later one is reached.
    """
    last = max(Stage(stage) for stage in state.stages)
    found = [
        row
        for phase in state.setup.phases
        if phase.id != state.phase
        for row in skipped_in(state, phase.id)
        if phase.id in state.exited or (phase.id not in state.entered and row.item.stage < last)
    ]
    return by_severity(found)


def open_essentials(state: State) -> list[Row]:
    """Every essential of this board that is not closed, wherever it is; worst first."""
    return by_severity(
        [r for r in state.rows if r.essential and not r.closed and r.item.phase != CLOSING_ID]
    )


def closing_seconds(state: State) -> list[float]:
    """What each open line of the closing list takes, in the order of ordering."""
    minutes = {item.id: item.minutes for item in state.setup.closing.items}
    return [60 * minutes[row.item.id] for row in state.rows_of(CLOSING_ID) if not row.closed]


def doubts(state: State) -> list[Row]:
    """Items that were closed and are open again."""
    return [row for row in state.rows if row.status == REOPENED and row.applies is not False]
