"""The next thing to do, with its answer where a calculation gave one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.sprint.board import gate_rows, walk_of_phase
from coach.sprint.forgotten import habit_words
from coach.sprint.pace.reserve import next_of_last_walk, ordered
from coach.sprint.rules.proof import proof_of
from coach.sprint.state import REOPENED, Row, Saved, State
from coach.sprint.to_draw import ToDraw, to_draw
from phases.kit.bounds import FAIL
from phases.kit.facts import find_fact
from phases.kit.items import CLOSING_ID, ClosingItem

CHOOSE, CALCULATE, CURE, DRAW, CONFIRM, ASK, REACH, SIGN_OFF, GO_ON, CLOSE, END = (
    "choose",
    "calculate",
    "cure",
    "draw",
    "confirm",
    "ask",
    "reach",
    "sign off",
    "go on",
    "close",
    "end",
)


@dataclass(frozen=True, slots=True)
class Next:
    """kind: what sort of doing it is, one of the above. message: the thing itself. answer: what a
    calculation gave for it. phase: where to go, for GO_ON. why: why it is asked first, "" where it
    is no habit."""

    kind: str
    message: str
    answer: str = ""
    row: Row | None = None
    part: ToDraw | None = None
    phase: str = ""
    why: str = ""

    @property
    def minutes(self) -> float:
        """What a line of the closing list takes; what another item costs if it is missed."""
        if self.row is None:
            return 0.0
        item = self.row.item
        return item.minutes if isinstance(item, ClosingItem) else item.left_out_min

    @property
    def severity(self) -> str:
        return str(self.row.item.severity) if self.row else ""


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
    ids = [phase.id for phase in state.setup.phases]
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


def about(state: State, row: Row) -> Next:
    """What to do about an open row."""
    return replace(_about(state, row), why=habit_words(state, row))


def _about(state: State, row: Row) -> Next:
    if row.applies is None and row.question:
        return Next(ASK, find_fact(row.question).question, row=row)
    if row.by_calculation:
        return _calculated(state, row)
    return Next(CONFIRM, row.name, row.state.because if row.state else "", row)


def _calculated(state: State, row: Row) -> Next:
    proof = proof_of(state, row)
    fault = next(filter(None, map(_fault, proof.calculations)), "")
    if proof.verdict == FAIL or fault:
        return Next(CURE, row.name, fault or proof.message, row)
    ids = {saved.id for saved in proof.calculations}
    part = next((part for part in to_draw(state) if part.calculation in ids), None)
    if part is not None:
        return Next(DRAW, row.name, part.message, row, part)
    return Next(CALCULATE, row.name, row=row)


def _fault(saved: Saved) -> str:
    """The first limit of a calculation that fails, and what would fix it; "" where all hold."""
    says = next((e.message for e in saved.record.limits if e.verdict == FAIL), "")
    cures = saved.record.remedies
    return f"{says} {cures[0].message}" if says and cures else says
