"""What follows from events: calculations run again, items met by proof, items reopened.

A change runs through at once. Everything downstream is recomputed with its picks kept; where
every verdict is as good as before the margin is said, where one got worse its items are reopened
with the reason. Items closed by looking that rest on what changed are reopened as a doubt, and
closed again when it is put back.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass

from coach.sprint.events.calculations import (
    CalculationRecomputed,
    CalculationSaved,
    CalculationStale,
)
from coach.sprint.events.event import Event
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.ledger.ledger import Ledger
from coach.sprint.ledger.proof import Proof, proof_of
from coach.sprint.rules.dependence import Snapshot
from coach.sprint.rules.rule import provisional
from coach.sprint.state import (
    ASSUMED,
    MET,
    OPEN,
    REOPENED,
    WAIVED,
    ItemState,
    Row,
    SavedCalculation,
    State,
)
from phases.kit.bounds import FAIL, MARGINAL, PASS, VERDICTS
from phases.kit.inputs import Reading
from phases.kit.items import Evidence
from phases.kit.judging import judge
from phases.kit.record import InputRecord, LimitRecord, Record, record_of
from phases.kit.refusals import Refusal
from phases.kit.say import show
from phases.kit.spread import Spread


def consequences(before: State, after: State, events: Sequence[Event]) -> list[Event]:
    """The events that follow from `events`, which lead from `before` to `after`."""
    changed = any(event.moves_values for event in events)
    if not changed and not any(event.moves_items for event in events):
        return []
    found = list(_recomputed(after)) if changed else []
    state = provisional(after, *found)
    fresh = frozenset(e.id for e in events if isinstance(e, CalculationSaved))
    settling = _Settling(before, state, fresh, Snapshot(state))
    settled = [settling.of(row) for row in state.rows if row.applies is not False]
    return [*found, *(event for event in settled if event is not None)]


# ---- calculations ----------------------------------------------------------------------------


def _recomputed(state: State) -> Iterable[Event]:
    """Every saved calculation whose inputs now read differently, run again."""
    ledger = Ledger(state)
    for saved in state.calculations.values():
        try:
            calculation = ledger.calculation(saved.id)
            readings = calculation.inputs.readings()
            changed = [r for r in readings if not _same(saved.record.inputs[r.field], r)]
            if not changed and not saved.stale:
                continue
            judgement = judge(calculation)
        except (Refusal, KeyError) as fault:
            missing = str(fault) if isinstance(fault, Refusal) else "Its calculator has changed"
            if saved.stale != missing[:400]:
                yield CalculationStale(id=saved.id, missing=missing[:400])
            continue
        # A change runs through many at once: advice is for those that need it.
        new = record_of(judgement, saved.subject, advice=judgement.verdict in (MARGINAL, FAIL))
        held, says = _compared(saved.record, new)
        because = ", ".join(_changed_words(saved, r) for r in changed) or "it can be run again"
        yield CalculationRecomputed(
            id=saved.id, because=because[:400], held=held, message=says[:400], record=new
        )


def _same(entry: InputRecord, reading: Reading) -> bool:
    """Whether an input reads as it was recorded, and is as sure as it was then."""
    if entry.assumed != reading.assumed:
        return False
    if entry.rows is not None:
        return list(entry.rows) == [dict(row) for row in reading.value.texts]
    if isinstance(reading.value, Spread) and entry.spread is not None:
        return all(
            math.isclose(now, then, rel_tol=1e-9, abs_tol=1e-30)
            for now, then in zip(astuple(reading.value), astuple(entry.spread), strict=True)
        )
    return entry.text == reading.text


def _changed_words(saved: SavedCalculation, reading: Reading) -> str:
    return f"{reading.field} {saved.record.inputs[reading.field].text} -> {reading.text}"


def _compared(before: Record, now: Record) -> tuple[bool, str]:
    """(no verdict got worse, what to say): the worst that did, or the thinnest that moved."""
    earlier = {(one.name, one.scenario): one for one in before.limits}
    worse: list[tuple[int, str]] = []
    kept: list[tuple[float, str]] = []
    for one in now.limits:
        then = earlier.get((one.name, one.scenario))
        verdict = then.verdict if then else before.verdict_of(one.name) or PASS
        rank = VERDICTS.index(one.verdict)
        if rank > max(VERDICTS.index(verdict), VERDICTS.index(PASS)):
            worse.append((rank, f"{verdict} -> {one.verdict}: {one.message}"))
        elif then and one.share is not None and one.share != then.share:
            kept.append((one.share, f"{one.name} {_margins(then, one)}"))
    if worse:
        return False, max(worse, key=lambda one: one[0])[1]
    still = {MARGINAL: "still marginal", FAIL: "still fails"}.get(now.verdict, "still passes")
    return True, still + (f": {min(kept)[1]}" if kept else "")


def _margins(then: LimitRecord, now: LimitRecord) -> str:
    shares = (one.share for one in (then, now) if one.share is not None)
    return "margin " + " to ".join(show(share, "%", 2) for share in shares)


# ---- items -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Settling:
    """How items stand after a change. fresh: the calculations that were saved by it just now."""

    before: State
    state: State
    fresh: frozenset[str]
    snapshot: Snapshot

    def of(self, row: Row) -> Event | None:
        """The event that brings a row in line; None where it is."""
        item = row.state
        proof = proof_of(self.state, row) if row.item.cites else None
        if item is None or row.status == OPEN:
            return self._proved(row, proof) if proof and proof.holds else None
        if row.status == REOPENED:
            return self._closed_again(row, item, proof)
        if row.status in (ASSUMED, MET) and proof and item.evidence == Evidence.CALCULATED:
            event = self._followed(row, item, proof)
            if event is not None:
                return event
        return self._doubted(row, item)

    def _proved(self, row: Row, proof: Proof) -> Event:
        return ItemMet(
            item=row.key,
            evidence="calculated",
            figure=proof.message,
            auto=True,
            marginal=proof.verdict == MARGINAL,
            assumed=proof.assumed,
            depends_on=self.snapshot.of(row, calculated=True),
        )

    def _followed(self, row: Row, item: ItemState, proof: Proof) -> Event | None:
        """A row met by calculation follows it; what the person saved just now is no surprise."""
        if not proof.holds:
            return _reopened(row, proof.message)
        marginal = proof.verdict == MARGINAL
        if self._renewed(proof) and (marginal, proof.message) != (item.marginal, item.figure):
            return self._proved(row, proof)
        if proof.assumed != item.assumed:
            return self._proved(row, proof)
        if marginal and not item.marginal:
            return _reopened(row, f"now marginal: {proof.message}", doubt=True)
        return self._proved(row, proof) if item.marginal and not marginal else None

    def _doubted(self, row: Row, item: ItemState) -> Event | None:
        changed = self.snapshot.changed(row, item.depends_on)
        return _reopened(row, changed, doubt=True) if changed else None

    def _closed_again(self, row: Row, item: ItemState, proof: Proof | None) -> Event | None:
        """A reopened row: met by a proof that is new, or closed as it was when all is put back."""
        if proof and proof.holds and self._renewed(proof):
            return self._proved(row, proof)
        was = item.was
        if was is None:
            return None
        changed = self.snapshot.changed(row, was.depends_on)
        calculated = was.evidence == Evidence.CALCULATED
        if item.doubt and not calculated:
            return None if changed else _restored(row, was)
        if proof is None or not proof.holds:
            return None
        if item.doubt:
            if changed or (proof.verdict == MARGINAL and not was.marginal):
                return None
        elif not self._gained(row):
            return None
        elif changed:
            return _reopened(row, changed, doubt=True)
        as_before = calculated and (was.figure, was.assumed) == (proof.message, proof.assumed)
        return _restored(row, was) if as_before else self._proved(row, proof)

    def _renewed(self, proof: Proof) -> bool:
        return any(saved.id in self.fresh for saved in proof.calculations)

    def _gained(self, row: Row) -> bool:
        """Whether the proof is new: a row reopened by hand is not met by the one it had."""
        earlier = self.before.by_key.get(row.key)
        return (
            earlier is None or earlier.applies is False or not proof_of(self.before, earlier).holds
        )


def _reopened(row: Row, because: str, *, doubt: bool = False) -> Event:
    return ItemReopened(item=row.key, because=because[:400], doubt=doubt)


def _restored(row: Row, was: ItemState) -> Event:
    if was.status == WAIVED:
        return ItemWaived(item=row.key, reason=was.reason, restored=True)
    return ItemMet(
        item=row.key,
        evidence=was.evidence,
        page=was.page,
        figure=was.figure,
        marginal=was.marginal,
        restored=True,
    )
