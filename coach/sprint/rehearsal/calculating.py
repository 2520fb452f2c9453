"""How the simulated engineer meets a calculated item: saves, adjusts, draws, else waives."""

from __future__ import annotations

from coach.sprint.commands import Draw, Meet, SaveCalculation
from coach.sprint.ledger.ledger import Ledger, given_of
from coach.sprint.ledger.proof import calculations_for
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.rehearsal.acting import Actor
from coach.sprint.state import ASSUMED, Row, SavedCalculation, State
from phases.kit.bounds import FAIL
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators
from phases.kit.fields import Quantity
from phases.kit.items import Evidence
from phases.kit.judging import judge
from phases.kit.refusals import Refusal
from phases.kit.remedies import Remedy, remedies
from phases.kit.spread import Spread

CALCULATING = 45.0
_DRAWING_A_PART = 6.0
_LOOKING_UP = 25.0
_TRIES = 3


def calculate(engineer: Actor, row: Row) -> None:
    """Meets a calculated row, by its calculations where they pass, else as the item allows."""
    for name in _missing(engineer.state, row):
        _save(engineer, row, name)
    for saved in calculations_for(engineer.state, row):
        if _fails(saved, row):
            _adjust(engineer, row, saved)
    _draw(engineer, row)
    _look_up(engineer, row)
    now = engineer.state.by_key.get(row.key)
    if now is None or now.closed:
        return
    if Evidence.DATA_SHEET in row.item.met_by:
        engineer.read_data_sheet(row)
    else:
        engineer.waive(row.key)


def _look_up(engineer: Actor, row: Row) -> None:
    """Figures that nobody gave are looked up in the data sheet of each part, and confirmed."""
    while (now := engineer.state.by_key.get(row.key)) is not None and now.status == ASSUMED:
        engineer.spend(engineer.truth.short(_LOOKING_UP))
        try:
            engineer.do(Meet(row.key))
        except Refusal:
            return


def _missing(state: State, row: Row) -> list[str]:
    """The calculators the row cites that nobody has used for it yet, in the order cited."""
    there = {saved.calculator for saved in calculations_for(state, row)}
    cited = dict.fromkeys(cite.partition(":")[0] for cite in row.item.cites)
    return [name for name in cited if name in calculators() and name not in there]


def _save(engineer: Actor, row: Row, name: str) -> None:
    """With the inputs as the coach has filled them in."""
    subject = _subject(engineer.state, calculators()[name], row)
    engineer.spend(engineer.truth.short(CALCULATING))
    try:
        engineer.do(SaveCalculation(name, subject))
    except Refusal:  # an input is missing, or there is no such subject: the item is met otherwise
        return


def _subject(state: State, kind: type[Calculator], row: Row) -> str:
    """The subject a calculation for this row is made at: its own, or the rail it hangs on.

    For the board as a whole: the rail it is supplied through, in power entry; else that of the
    microcontroller.
    """
    if kind.per in ("board", row.item.per):
        return row.subject if kind.per == row.item.per else ""
    of_kind = state.ids_of(kind.per)
    at = state.subjects.get(row.subject)
    of_board = state.entry_rail() if kind.phase == "power-entry" else state.mcu_rail()
    wanted = at.parent if at is not None else of_board
    return wanted if wanted in of_kind else next(iter(of_kind), "")


def _fails(saved: SavedCalculation, row: Row) -> bool:
    cited = [c.partition(":")[2] for c in row.item.cites if c.startswith(f"{saved.calculator}:")]
    return any(saved.record.verdict_of(limit) == FAIL for limit in cited)


def _adjust(engineer: Actor, row: Row, saved: SavedCalculation) -> None:
    """One input after the other is moved into the range that cures, own inputs first."""
    try:
        calculation = Ledger(engineer.state).calculation(saved.id)
        offered = sorted(remedies(judge(calculation)), key=lambda remedy: remedy.owner is not None)
    except Refusal:  # it is stale: what it needs is missing
        return
    for remedy in offered[:_TRIES]:
        text = _cured(calculation, remedy)
        if text is None:
            continue
        engineer.spend(engineer.truth.short(CALCULATING / 2))
        given = {**given_of(saved.record), remedy.field: text}
        engineer.do(SaveCalculation(saved.calculator, saved.subject, given=given))
        if not _fails(engineer.state.calculations[saved.id], row):
            return


def _cured(calculation: Calculator, remedy: Remedy) -> str | None:
    """The input moved to the nearest value within the remedy, its spread kept, as text."""
    if remedy.options:
        return remedy.options[0]
    field = type(calculation).fields[remedy.field]
    value = calculation.inputs.reading(remedy.field).value
    if not isinstance(field, Quantity) or not isinstance(value, Spread) or not remedy.intervals:
        return None
    nearest = min(
        (min(max(value.typ, low), high) for low, high in remedy.intervals),
        key=lambda typ: abs(typ - value.typ),
    )
    moved = value.shifted(nearest) if field.unit == "°C" else value.about(nearest)
    return field.frozen(moved)


def _draw(engineer: Actor, row: Row) -> None:
    """The parts of its calculations are drawn now."""
    ids = {saved.id for saved in calculations_for(engineer.state, row)}
    waiting = [part for part in to_draw(engineer.state) if part.calculation in ids]
    if waiting:
        engineer.spend(engineer.truth.short(_DRAWING_A_PART * len(waiting)))
        engineer.do(Draw(tuple((part.calculation, part.role) for part in waiting)))
