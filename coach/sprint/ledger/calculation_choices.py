"""Which calculations could be made on this board: for an item, for the board, or all there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coach.sprint.keys import CalculationKey
from coach.sprint.state import Row, State
from phases.kit.catalogue import calculators
from phases.kit.facts import match

if TYPE_CHECKING:
    from phases.kit.calculator import Calculator


def proving(state: State, row: Row) -> list[CalculationKey]:
    """The calculations that could prove a row, those that suit its subject first."""
    names = dict.fromkeys(cite.partition(":")[0] for cite in row.item.cites)
    kinds = [calculators()[name] for name in names if name in calculators()]
    return [
        CalculationKey.of(kind.name, subject)
        for kind in kinds
        for subject in _subjects_for(state, row, kind)
    ]


def proving_alone(state: State, row: Row) -> CalculationKey | None:
    """The one to open for a row; None where it cites none or several subjects are meant."""
    found = proving(state, row)
    names = [key.calculator for key in found]
    return next((key for key in found if names.count(key.calculator) == 1), None)


def on_this_board(state: State, *, every: bool = False) -> list[CalculationKey]:
    """The calculations that items of this board could be proved by and those saved, or every
    calculator at every subject it is made for; then those saved under a name."""
    here = [row for row in state.rows if row.applies is not False]
    wanted = {*state.calculations, *(one for row in here for one in proving(state, row))}
    found = [
        key
        for kind in calculators().values()
        for subject in _subjects_of(state, kind)
        if (key := CalculationKey.of(kind.name, subject)) in wanted or every
    ]
    return found + [saved.id for saved in state.calculations.values() if saved.id.label]


def title_of(key: CalculationKey) -> str:
    return f"{calculators()[key.calculator].title} {key.subject}".strip()


def _subjects_of(state: State, kind: type[Calculator]) -> list[str]:
    """The subjects of this board that a calculator is made for; "" for the board itself."""
    return [""] if kind.per == "board" else state.ids_of(kind.per)


def _subjects_for(state: State, row: Row, kind: type[Calculator]) -> list[str]:
    """The subjects a calculator could be opened at for this row, those it is made for first."""
    if kind.per == row.item.per:
        return [row.subject]
    there = _subjects_of(state, kind)
    return [subject for subject in there if _suits(state, kind, subject)] or there


def _suits(state: State, kind: type[Calculator], subject: str) -> bool:
    """Whether a subject's facts allow what the calculator publishes: a linear regulator does not
    suit a rail that a converter makes."""
    conditions = [o.when for o in kind.outputs.values() if o.publishes and o.when]
    return not conditions or any(
        match([when], state.knowledge, subject) is not False for when in conditions
    )
