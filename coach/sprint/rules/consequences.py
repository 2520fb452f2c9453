"""What follows from events: calculations run again, items met by proof, items reopened.

A change runs through at once. Everything downstream is recomputed with its picks kept; where
every verdict is as good as before it "held again", where one got worse its items are reopened
with the reason. Items met by looking that rest on what changed are reopened as a doubt.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from coach.sprint import events as happened
from coach.sprint.events import Event, Stamped
from coach.sprint.fold import step
from coach.sprint.ledger import Ledger
from coach.sprint.rules.proof import proof_of
from coach.sprint.state import MET, OPEN, REOPENED, WAIVED, Row, Saved, State
from phases.kit.bounds import MARGINAL, VERDICTS
from phases.kit.facts import find_fact
from phases.kit.inputs import Reading
from phases.kit.items import Evidence, load_changes
from phases.kit.judging import judge
from phases.kit.records import record
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread

_MOVES_VALUES = (
    happened.CalculationSaved, happened.CalculationRemoved, happened.ValueDeclared,
    happened.SubjectAdded, happened.SubjectDropped,
)  # fmt: skip
_MOVES_ITEMS = (
    *_MOVES_VALUES, happened.FactSet, happened.ChangeNoted, happened.PartDrawn, happened.ItemMet,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that changed, in the form items name it; says: the same for a person."""

    name: str
    says: str
    subject: str = ""


def consequences(before: State, after: State, events: Sequence[Event]) -> list[Event]:
    """The events that follow from `events`, which lead from `before` to `after`."""
    if not any(isinstance(event, _MOVES_ITEMS) for event in events):
        return []
    found: list[Event] = []
    state = after
    if any(isinstance(event, _MOVES_VALUES) for event in events):
        fresh = {e.id for e in events if isinstance(e, happened.CalculationSaved)}
        found = list(_recomputed(after, fresh))
        for event in found:
            state = _applied(state, event)
    causes = [*_causes(before, events), *_moved_names(before, state)]
    just = {e.item for e in events if isinstance(e, happened.ItemMet | happened.ItemWaived)}
    return [*found, *_settled(before, state, causes, just)]


def _applied(state: State, event: Event) -> State:
    return step(state, Stamped(0, datetime.fromtimestamp(0, UTC), state.t, 0, event))


# ---- calculations ----------------------------------------------------------------------------


def _recomputed(state: State, fresh: set[str]) -> Iterable[Event]:
    """Every saved calculation whose inputs now read differently, run again."""
    ledger = Ledger(state)
    for saved in state.calculations.values():
        if saved.id in fresh:
            continue
        try:
            calculation = ledger.calculation(saved.id)
            readings = calculation.inputs.readings()
            moved = [r for r in readings if not _same(saved.record["inputs"][r.field], r)]
            if not moved and not saved.stale:
                continue
            judgement = judge(calculation)
        except (Refusal, KeyError) as fault:
            missing = str(fault) if isinstance(fault, Refusal) else "its calculator has changed"
            if saved.stale != missing:
                yield happened.CalculationStale(id=saved.id, missing=missing[:400])
            continue
        new = record(judgement, saved.subject)
        held, says = _compared(saved, new)
        because = ", ".join(_moved_words(saved, r) for r in moved) or "it can be run again"
        yield happened.CalculationRecomputed(
            id=saved.id, because=because[:400], held=held, says=says[:400], record=new
        )


def _same(entry: Mapping[str, Any], reading: Reading) -> bool:
    """Whether an input reads as it was recorded."""
    if "rows" in entry:
        return bool(list(entry["rows"]) == [dict(row) for row in reading.value.texts])
    if isinstance(reading.value, Spread):
        now = (reading.value.low, reading.value.typ, reading.value.high)
        then = (entry.get("min"), entry.get("typ"), entry.get("max"))
        return all(
            b is not None and math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-30)
            for a, b in zip(now, then, strict=True)
        )
    return bool(entry.get("text", "") == reading.text)


def _moved_words(saved: Saved, reading: Reading) -> str:
    before = saved.record["inputs"].get(reading.field, {}).get("text", "")
    return f"{reading.field} {before} -> {reading.text}"


def _compared(saved: Saved, new: Mapping[str, Any]) -> tuple[bool, str]:
    """(no verdict got worse, what to say): the limit that moved most, with both margins."""
    before = {(e["name"], e.get("scenario")): e for e in saved.record["limits"]}
    worse, kept = [], []
    for entry in new["limits"]:
        earlier = before.get((entry["name"], entry.get("scenario")))
        if earlier is None:
            continue
        rank = VERDICTS.index(entry["verdict"]) - VERDICTS.index(earlier["verdict"])
        if rank > 0 and entry["verdict"] != "pass":
            worse.append(f"{earlier['verdict']} -> {entry['verdict']}: {entry.get('says', '')}")
        elif "share" in entry and "share" in earlier and entry["share"] != earlier["share"]:
            kept.append((entry["share"], f"{entry['name']} {_margins(earlier, entry)}"))
    if worse:
        return False, worse[0]
    return True, "held again" + (f": {min(kept)[1]}" if kept else "")


def _margins(earlier: Mapping[str, Any], entry: Mapping[str, Any]) -> str:
    return f"margin {earlier['share']:.0%} -> {entry['share']:.0%}"


# ---- causes ----------------------------------------------------------------------------------


def _causes(before: State, events: Sequence[Event]) -> list[Cause]:
    """Facts that changed (not those that merely became known) and changes that were noted."""
    found = []
    for event in events:
        if isinstance(event, happened.FactSet):
            earlier = before.knowledge.get(event.fact, event.subject)
            if earlier is not None and earlier != event.value:
                says = f"{find_fact(event.fact).id.replace('_', ' ')}: {_word(earlier)} -> {_word(event.value)}"  # noqa: E501
                found.append(Cause(f"fact:{event.fact}", says, event.subject))
        elif isinstance(event, happened.ChangeNoted):
            found.append(Cause(f"change:{event.change}", load_changes()[event.change].words))
        elif isinstance(event, happened.ValueDeclared):
            old = before.declared.get(event.name, before.setup.brief.published().get(event.name))
            words = f"{old} -> {event.value}" if isinstance(event.value, str) else "changed"
            found.append(Cause(event.name, f"{event.name} {words}"))
    return found


def _word(value: object) -> str:
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)


def _moved_names(before: State, after: State) -> list[Cause]:
    """Ledger names whose published value is another now."""
    old, new = _published(before), _published(after)
    found = []
    for name, value in new.items():
        if name in old and any(
            not math.isclose(a, b, rel_tol=1e-9) for a, b in zip(old[name], value, strict=True)
        ):
            found.append(Cause(name, f"{name} {old[name][1]:.3g} -> {value[1]:.3g}"))
    return found


def _published(state: State) -> dict[str, Sequence[float]]:
    return {
        name: value
        for saved in state.calculations.values()
        for name, value in saved.record.get("published", {}).items()
    }


# ---- items -----------------------------------------------------------------------------------


def _settled(
    before: State, state: State, causes: Sequence[Cause], just: set[str]
) -> Iterable[Event]:
    for row in state.rows:
        if row.applies is False:
            continue
        event = _by_proof(before, state, row) if row.item.cites else None
        if event is None and row.status in (MET, WAIVED) and row.key not in just:
            event = _by_cause(row, causes)
        if event is not None:
            yield event


def _by_proof(before: State, state: State, row: Row) -> Event | None:
    """Met by a calculation that proves it, or reopened because it no longer does."""
    proof = proof_of(state, row)
    calculated = bool(row.state and row.state.evidence == Evidence.CALCULATED)
    if proof.holds:
        if row.status == OPEN or (row.status == REOPENED and row.state and not row.state.doubt):
            if row.status == REOPENED and row.state and row.state.because == "by hand":
                return None
            return happened.ItemMet(
                item=row.key, evidence="calculated", figure=proof.says,
                marginal=proof.verdict == MARGINAL, auto=True,
            )  # fmt: skip
        if calculated and row.status == MET and row.state and not row.state.marginal:
            if proof.verdict == MARGINAL:
                return happened.ItemReopened(
                    item=row.key, because=f"now marginal: {proof.says}"[:400], doubt=True
                )
        return None
    if row.status == MET and calculated:
        return happened.ItemReopened(item=row.key, because=proof.says[:400])
    return None


def _by_cause(row: Row, causes: Sequence[Cause]) -> Event | None:
    """Reopened as a doubt because something it rests on changed."""
    calculated = row.state is not None and row.state.evidence == Evidence.CALCULATED
    for cause in causes:
        if cause.subject and row.subject and cause.subject != row.subject:
            continue
        # A calculated item follows its calculation; only what no value shows makes it doubtful.
        if calculated and not cause.name.startswith("change:"):
            continue
        if row.item.hangs_on(cause.name, row.subject):
            return happened.ItemReopened(item=row.key, because=cause.says[:400], doubt=True)
    return None
