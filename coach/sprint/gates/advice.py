"""What to do about one open row, with its answer where a calculation gave one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.sprint.gates.forgotten import habit_words
from coach.sprint.ledger.assumed_figures import assumed_parts
from coach.sprint.ledger.proof import proof_of
from coach.sprint.ledger.to_draw import ToDraw, to_draw
from coach.sprint.state import Row, SavedCalculation, State
from phases.kit.bounds import FAIL
from phases.kit.facts import find_fact
from phases.kit.items import ClosingItem

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


def about(state: State, row: Row) -> Next:
    """What to do about an open row."""
    return replace(_about(state, row), why=habit_words(state, row))


def _about(state: State, row: Row) -> Next:
    if row.applies is None and row.question:
        return Next(ASK, find_fact(row.question).question, row=row)
    if assumed := assumed_parts(state, row):
        _, title, text = assumed[0].figures[0]
        answer = f"{title} {text}: assumed. Type it, or confirm that yours is as good or better"
        return Next(CONFIRM, row.name, answer, row)
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


def _fault(saved: SavedCalculation) -> str:
    """The first limit of a calculation that fails, and what would fix it; "" where all hold."""
    says = next((e.message for e in saved.record.limits if e.verdict == FAIL), "")
    cures = saved.record.remedies
    return f"{says} {cures[0].message}" if says and cures else says
