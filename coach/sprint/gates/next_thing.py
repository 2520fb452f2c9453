"""The next thing to do, with its answer where a calculation gave one."""

from __future__ import annotations

from coach.sprint.gates.advice import CHOOSE, CLOSE, END, GO_ON, REACH, SIGN_OFF, Next, about
from coach.sprint.gates.gates import gate_rows
from coach.sprint.gates.walks import next_of_last_walk, ordered, walk_of_phase
from coach.sprint.ledger.proof import proof_of
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.state import REOPENED, Row, State
from phases.kit.items import CLOSING_ID


def next_thing(state: State, t: float) -> Next | None:
    """What to do now: the open row that the person's phase asks for first; None after the end."""
    if state.ended:
        return None
    if state.phase == CLOSING_ID or state.deadline - t <= state.setup.reserve:
        return _closing(state, t)
    if not state.phase:
        first = state.setup.phases[0]
        says = f"Choose the main parts, then press 1 ({first.name})"
        return Next(CHOOSE, says, phase=first.id)
    rows = walk_of_phase(state, state.phase)
    if rows:
        return about(state, _first(state, rows))
    waiting = _stage_to_reach(state)
    if waiting:
        return Next(REACH, f"Go on to {waiting}", phase=waiting)
    if state.phase not in state.signed_off:
        return Next(SIGN_OFF, f"Sign off {state.setup.phase(state.phase).name}")
    return _go_on(state)


def _first(state: State, rows: list[Row]) -> Row:
    """Doubts first, because a word settles them; then what this person keeps forgetting; then what
    is calculated and waits to be drawn; else as the walk has them."""
    waiting = {part.calculation for part in to_draw(state) if not part.fails}

    def drawable(row: Row) -> bool:
        return any(one.id in waiting for one in proof_of(state, row).calculations)

    doubtful = next((row for row in rows if row.status == REOPENED), None)
    if doubtful is None and rows[0].item.id in state.habits:
        return rows[0]
    return doubtful or next((r for r in rows if r.item.cites and drawable(r)), rows[0])


def _stage_to_reach(state: State) -> str:
    """In layout and labelling, the next stage that rows of the gate wait for; "" for none."""
    if state.phase not in ("layout", "labelling"):
        return ""
    waiting = [
        row.item.stage
        for gate in gate_rows(state, state.phase)
        for row in gate.open_cells
        if not state.reached(row)
    ]
    return str(min(waiting)) if waiting else ""


def _go_on(state: State) -> Next:
    ids = state.setup.phase_ids
    after = ids[ids.index(state.phase) + 1 :] + ids
    for phase in after:
        if phase not in state.signed_off and phase not in state.drawn_before:
            return Next(GO_ON, f"Go on to {state.setup.phase(phase).name}", phase=phase)
    return Next(GO_ON, "Go on to the closing list", phase=CLOSING_ID)


def _closing(state: State, t: float) -> Next:
    """The closing list; after a first upload the last walk, as long as the list has its time."""
    last = next_of_last_walk(state, t)
    if last is not None:
        return about(state, last)
    for row in state.rows_of(CLOSING_ID):
        if not row.closed:
            return Next(CLOSE, row.item.statement, row=row)
    order = "Order placed" if ordered(state) else "No order placed"  # its line may be waived
    return Next(END, f"{order}: end the sprint (E)")
