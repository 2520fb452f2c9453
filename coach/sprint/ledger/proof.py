"""Proof of a calculated item: the limits it cites pass in saved calculations, and all is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.sprint.keys import of_calculation
from coach.sprint.ledger.to_draw import all_drawn, is_drawn, parts_of
from coach.sprint.state import Row, SavedCalculation, State
from phases.kit.bounds import FAIL, NOT_APPLICABLE, worst
from phases.kit.catalogue import calculators

if TYPE_CHECKING:
    from phases.kit.record import LimitRecord


@dataclass(frozen=True, slots=True)
class Proof:
    """holds: it is proved now. verdict: the worst of the cited limits.

    message: by what it is proved, or why it is not. assumed: the part figures nobody gave that it
    rests on, as "calculation field", the weightiest of the thinnest limit first.
    """

    holds: bool
    verdict: str
    message: str
    calculations: tuple[SavedCalculation, ...] = ()
    assumed: tuple[str, ...] = ()


def calculations_for(state: State, row: Row) -> list[SavedCalculation]:
    """The saved calculations that an item at its subject looks to."""
    names = {cite.partition(":")[0] for cite in row.item.cites}
    known = calculators()
    return [
        saved
        for saved in state.calculations.values()
        if saved.calculator in names
        and saved.calculator in known
        and _concerns(known[saved.calculator].per, saved, row)
    ]


def _concerns(per: str, saved: SavedCalculation, row: Row) -> bool:
    """Those of its own subject; where one of them is of the board, all."""
    return per != row.item.per or saved.subject == row.subject


def proof_of(state: State, row: Row) -> Proof:
    """Whether the row is proved. Every calculation it looks to has to pass."""
    saved = calculations_for(state, row)
    needed = {cite.partition(":")[0] for cite in row.item.cites}
    missing = needed - {one.calculator for one in saved}
    if missing:
        says = f"{_title(sorted(missing)[0])} is not calculated"
        return Proof(False, NOT_APPLICABLE, says, tuple(saved))
    cited = [cite.partition(":")[::2] for cite in row.item.cites]
    verdicts: list[str] = []
    for one in saved:
        if one.stale:
            return Proof(False, FAIL, f"{one.id} cannot be run again: {one.stale}", tuple(saved))
        for limit in (limit for name, limit in cited if name == one.calculator):
            verdict = one.record.verdict_of(limit)
            if verdict is None:  # of a calculator that had other limits when it was saved
                return Proof(False, FAIL, f"{one.id} does not say {limit}", tuple(saved))
            if verdict == FAIL:
                return Proof(False, FAIL, _says(one, limit), tuple(saved))
            verdicts.append(verdict)
    if worst(verdicts) == NOT_APPLICABLE:
        says = "its limits do not apply with these inputs"
        return Proof(False, NOT_APPLICABLE, says, tuple(saved))
    undrawn = next((one for one in saved if not all_drawn(state, one)), None)
    if undrawn is not None:
        part = next(p for p in parts_of(undrawn) if not is_drawn(state, undrawn, p))
        return Proof(False, worst(verdicts), f"to draw: {part.words}", tuple(saved))
    thinnest_first = sorted(_entries(saved, cited), key=lambda e: _share(e[1]))
    message = next((e.message for _, e in thinnest_first if e.share is not None), "")
    assumed = [one for id, e in thinnest_first for one in of_calculation(id, e.assumed)]
    return Proof(True, worst(verdicts), message, tuple(saved), tuple(dict.fromkeys(assumed)))


def _title(name: str) -> str:
    kind = calculators().get(name)
    return kind.title if kind else name


def _says(saved: SavedCalculation, limit: str) -> str:
    fails = (e.message for e in saved.record.limits if e.name == limit and e.verdict == FAIL)
    return next(fails, limit)


def _entries(
    saved: list[SavedCalculation], cited: list[tuple[str, str]]
) -> list[tuple[str, LimitRecord]]:
    """The cited limits that apply, each with its calculation."""
    return [
        (one.id, entry)
        for one in saved
        for entry in one.record.limits
        if (one.calculator, entry.name) in cited and entry.verdict != NOT_APPLICABLE
    ]


def _share(entry: LimitRecord) -> float:
    return math.inf if entry.share is None else entry.share
