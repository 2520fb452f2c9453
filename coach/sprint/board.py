"""This board's items as a person works with them: gates, walks, what was skipped, what is next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from coach.sprint.state import REOPENED, Row, State
from phases.kit.items import CLOSING_ID, Item, Severity, Stage

HOUSE_SOURCE = "house rule"
"""What the source of a team's own items begins with."""


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


def doubts(state: State) -> list[Row]:
    """Items that were closed and are open again."""
    return [row for row in state.rows if row.status == REOPENED and row.applies is not False]


def walked(state: State, item: Item) -> bool:
    """Whether the walk of its phase asks for an item: an essential, or what this person keeps
    forgetting, which joins the walk and never the signature."""
    return item.essential or item.id in state.habits


def is_house_rule(item: Item) -> bool:
    """Whether an item is a team's own: its source says so, in a journal too."""
    return item.source.startswith(HOUSE_SOURCE)


def habit_rank(state: State, item: Item) -> tuple[int, int, int, int]:
    """What sorts the items that are asked first: habits before others; of these the worst first,
    then the most often forgotten, then in the fewest sprints. All others are alike."""
    habit = state.habits.get(item.id)
    return (0, -item.severity.rank, -habit[0], habit[1]) if habit else (1, 0, 0, 0)


def habits_first(state: State, rows: list[Row]) -> list[Row]:
    """Rows to be asked: what this person keeps forgetting first, else as they stand.

    Only a hazard that was skipped stays before it: nothing goes before what may hurt somebody.
    """
    if not any(row.item.id in state.habits for row in rows):
        return rows
    behind = {row.key for row in skipped(state) if row.item.severity == Severity.HAZARD}
    return sorted(rows, key=lambda r: (r.key not in behind, *habit_rank(state, r.item)))


def walk_of_stage(state: State, stage: str) -> list[Row]:
    """What is asked before `stage` is left behind: its open essentials and those before it, what
    this person keeps forgetting first, of this the worst first.

    Confirmed ones are closed and do not come again; more checks are folded behind one key.
    """
    return habits_first(state, _to_ask(state, _seen_by(state, stage)))


def further_of_stage(state: State, stage: str) -> list[Row]:
    """The more checks that a walk of that stage folds away."""
    return _to_ask(state, _seen_by(state, stage), further=True)


_PAUSES = {
    "layout": (Stage.SCHEMATIC, Stage.PLACEMENT),
    "labelling": (Stage.ROUTING, Stage.FILES),
    CLOSING_ID: (Stage.ROUTING, Stage.FILES),
}
"""Phases before which people really pause: the stage that is left behind then, and the next."""


def pause_before(state: State, phase: str) -> tuple[Stage, Stage] | None:
    """The stage that is left behind on entering a phase and the one that begins; None where none
    does, or where it has begun already."""
    pause = _PAUSES.get(phase)
    return pause if pause and pause[1] not in state.stages else None


def next_pause(state: State) -> tuple[Stage, Stage] | None:
    """The stage to leave behind next and the one after it; None where every stage is reached."""
    order = list(Stage)
    coming = [pair for pair in pairwise(order) if pair[1] not in state.stages]
    return coming[0] if coming else None


def walk_of_phase(state: State, phase: str) -> list[Row]:
    """The open rows of a phase's gate whose stage is reached, and what of the phase this person
    keeps forgetting. That comes first, of it the worst first, then
    rows as they stand in the phase's file. The closing list keeps the order of ordering."""
    if phase == CLOSING_ID:
        return [row for row in state.rows_of(CLOSING_ID) if not row.closed]
    return habits_first(state, _to_ask(state, filter(state.reached, state.rows_of(phase))))


def further_of_phase(state: State, phase: str) -> list[Row]:
    """The more checks that a walk of that phase folds away."""
    return _to_ask(state, filter(state.reached, state.rows_of(phase)), further=True)


def _to_ask(state: State, rows: Iterable[Row], *, further: bool = False) -> list[Row]:
    """Of these rows the open ones that a walk asks for; further: those that it folds away."""
    return [
        row
        for row in rows
        if not row.closed and not row.deferred and walked(state, row.item) is not further
    ]


def _seen_by(state: State, stage: str) -> Iterator[Row]:
    """The rows that can be checked once `stage` is reached; the closing list comes later."""
    wanted = Stage(stage)
    return (r for r in state.rows if r.item.stage <= wanted and r.item.phase != CLOSING_ID)
