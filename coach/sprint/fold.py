"""The fold: events to state. It computes nothing, knows no rule and reads no clock.

The screen, the debrief, the exercise and the tests all use this one fold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from coach.sprint import events as happened
from coach.sprint.brief.document import Subject
from coach.sprint.events import Event, Stamped
from coach.sprint.setup import Setup
from coach.sprint.state import (
    MET,
    REOPENED,
    WAIVED,
    Call,
    Finding,
    Forecasted,
    ItemState,
    Measured,
    Saved,
    State,
    Thought,
)
from phases.kit.facts import Knowledge
from phases.kit.items import Place

E = TypeVar("E", bound=Event)
_Step = Callable[[State, Any, float], State]
_STEPS: dict[type[Event], _Step] = {}

# That a walk was gone through is no doing of its own: what it confirmed is.
NEVER_UNDONE = (
    happened.CallMade, happened.ClockStepped, happened.Ended, happened.Undone, happened.Walked,
)  # fmt: skip


def begin(setup: Setup) -> State:
    """The state before anything happened."""
    brief = setup.brief
    return State(
        setup=setup,
        t=0.0,
        deadline=setup.deadline,
        at_an_instant=setup.at_an_instant,
        subjects={subject.id: subject for subject in brief.subjects()},
        knowledge=Knowledge.of([*setup.defaults, *brief.knowledge_values()]),
    )


def fold(setup: Setup, events: Iterable[Stamped]) -> State:
    """The state after all these events; commands that were taken back are left out."""
    listed = list(events)
    undone = taken_back(listed)
    state = begin(setup)
    for stamped in listed:
        state = step(state, stamped, void=is_void(stamped, undone))
    return state


def taken_back(history: Iterable[Stamped]) -> set[int]:
    """The numbers of the commands that were taken back."""
    return {one.event.command for one in history if isinstance(one.event, happened.Undone)}


def is_void(stamped: Stamped, undone: set[int]) -> bool:
    """Whether an event was taken back with its command."""
    return stamped.by in undone and stamped.by != 0 and not isinstance(stamped.event, NEVER_UNDONE)


def step(state: State, stamped: Stamped, *, void: bool = False) -> State:
    """The state after one more event. A void one still lets its time pass."""
    after = _time_passed(state, stamped, void)
    if not void:
        after = _STEPS[type(stamped.event)](after, stamped.event, stamped.t)
    _keep_rows(state, after)
    return after


def _keep_rows(before: State, after: State) -> None:
    """Hands on the rows that were made already, where an event changed none of them or only how
    items stand: unfolding a board's items anew is most of what a step would take."""
    rows = before.__dict__.get("rows")
    if rows is None or after.knowledge is not before.knowledge:
        return
    if after.subjects is not before.subjects:
        return
    if after.items is not before.items or after.aside is not before.aside:
        items, aside = after.items, after.aside
        rows = tuple(
            row
            if items.get(row.key) is row.state and (row.key in aside) is row.aside
            else replace(row, state=items.get(row.key), aside=row.key in aside)
            for row in rows
        )
    elif "by_key" in before.__dict__:
        after.__dict__["by_key"] = before.__dict__["by_key"]
    after.__dict__["rows"] = rows


def _time_passed(state: State, stamped: Stamped, void: bool) -> State:
    """The seconds since the last event go to the phase that was worked in, but for a gap."""
    if state.ended:
        # What is found and measured afterwards is no part of the sprint's time.
        return replace(state, t=max(stamped.t, state.t))
    passed = max(stamped.t - state.t, 0.0)
    if isinstance(stamped.event, happened.Resumed):
        passed = max(passed - stamped.event.gap, 0.0)
    used = {**state.used, state.phase: state.used.get(state.phase, 0.0) + passed}
    elsewhere = state.elsewhere if void else _elsewhere(state, stamped.event, passed)
    return state.changed(t=max(stamped.t, state.t), used=used, elsewhere=elsewhere)


def _elsewhere(state: State, event: Event, passed: float) -> Mapping[str, float]:
    """Time before an item of another phase was closed went into that, up to its own minutes."""
    if not isinstance(event, happened.ItemMet | happened.ItemWaived) or not passed:
        return state.elsewhere
    item = state.setup.items.get(event.item.partition("@")[0])
    if item is None or item.phase == state.phase:
        return state.elsewhere
    spent = min(passed, item.left_out_min * 60)
    return {**state.elsewhere, state.phase: state.elsewhere.get(state.phase, 0.0) + spent}


def _on(kind: type[E]) -> Callable[[Callable[[State, E, float], State]], None]:
    def register(step: Callable[[State, E, float], State]) -> None:
        _STEPS[kind] = step

    return register


def _nothing(state: State, event: Event, t: float) -> State:
    """Events that are worth keeping and change nothing."""
    return state


for _kind in (happened.Started, happened.Resumed, happened.Left, happened.TailCut,
              happened.EditAccepted, happened.Undone):  # fmt: skip
    _STEPS[_kind] = _nothing


# ---- the run ---------------------------------------------------------------------------------


@_on(happened.ClockStepped)
def _(state: State, event: happened.ClockStepped, t: float) -> State:
    return replace(state, deadline=state.deadline + event.shift)


@_on(happened.CutOffMoved)
def _(state: State, event: happened.CutOffMoved, t: float) -> State:
    return replace(state, deadline=event.deadline, at_an_instant=event.at_an_instant)


@_on(happened.Interrupted)
def _(state: State, event: happened.Interrupted, t: float) -> State:
    lost = max(t - event.since, 0.0)
    spent = state.used.get(state.phase, 0.0)
    used = {**state.used, state.phase: max(spent - lost, 0.0)}
    return replace(state, used=used, interrupted=state.interrupted + lost)


@_on(happened.CallMade)
def _(state: State, event: happened.CallMade, t: float) -> State:
    call = Call(t, event.cause, event.says, event.items, event.rings)
    return replace(state, calls=(*state.calls, call))


@_on(happened.ForecastMade)
def _(state: State, event: happened.ForecastMade, t: float) -> State:
    kept = Forecasted(
        t, event.mark, event.because, event.chance_essentials, event.chance_all,
        event.expected, event.low, event.high,
    )  # fmt: skip
    return replace(state, forecasts=(*state.forecasts, kept))


@_on(happened.HabitsRecalled)
def _(state: State, event: happened.HabitsRecalled, t: float) -> State:
    return replace(state, habits=event.items)


@_on(happened.Quieted)
def _(state: State, event: happened.Quieted, t: float) -> State:
    return replace(state, quiet=event.quiet)


@_on(happened.Ended)
def _(state: State, event: happened.Ended, t: float) -> State:
    return replace(state, ended=True, accepted=event.accepted, ended_at=t)


# ---- phases and places -----------------------------------------------------------------------


@_on(happened.PhaseEntered)
def _(state: State, event: happened.PhaseEntered, t: float) -> State:
    left = state.left | {event.left} if event.left else state.left
    return replace(
        state, phase=event.phase, entered=state.entered | {event.phase}, left=left,
        stretches=(*state.stretches, (event.phase, t)),
    )  # fmt: skip


@_on(happened.PhaseSignedOff)
def _(state: State, event: happened.PhaseSignedOff, t: float) -> State:
    return replace(state, signed_off=state.signed_off | {event.phase})


@_on(happened.PhaseDrawn)
def _(state: State, event: happened.PhaseDrawn, t: float) -> State:
    return replace(state, drawn_before=state.drawn_before | {event.phase})


@_on(happened.PlaceReached)
def _(state: State, event: happened.PlaceReached, t: float) -> State:
    return replace(state, places=state.places | {event.place})


@_on(happened.Walked)
def _(state: State, event: happened.Walked, t: float) -> State:
    return replace(state, walks=(*state.walks, (event.of, t, event.asked, event.closed)))


@_on(happened.StepByStepSet)
def _(state: State, event: happened.StepByStepSet, t: float) -> State:
    kept = state.step_by_step - {event.phase}
    return replace(state, step_by_step=kept | {event.phase} if event.on else kept)


# ---- items -----------------------------------------------------------------------------------


def _with_item(state: State, key: str, item: ItemState) -> State:
    return state.changed(items={**state.items, key: item})


def _late(state: State, key: str, t: float) -> bool:
    """Closed after the cut-off; or for the first time when its phase was left, its place is
    passed and another phase is being worked in."""
    if t > state.deadline:
        return True
    before = state.items.get(key)
    if before is not None and before.status == REOPENED:
        return before.was is not None and before.was.late
    item = state.setup.items.get(key.partition("@")[0])
    if item is None or item.phase not in state.left or item.phase == state.phase:
        return False
    # What is on the sheet is passed with its phase; nothing comes after the files.
    beyond = [place for place in Place if place > item.place] or [Place.FILES]
    return item.place == Place.SHEET or any(place in state.places for place in beyond)


def _closed(state: State, key: str, closed: ItemState, restored: bool) -> State:
    """An item is closed; one that was closed already keeps its moment, and one that is restored
    stands just as it did."""
    state = _ticked(state, key)
    before = state.items.get(key)
    if restored and before is not None and before.was is not None:
        return _with_item(state, key, before.was)
    if before is not None and before.status in (MET, WAIVED):
        closed = replace(closed, t=before.t, late=before.late)
    return _with_item(state, key, closed)


def _ticked(state: State, key: str) -> State:
    """A closed item says how far its phase had come by then; it is not aside any more."""
    item = state.setup.items.get(key.partition("@")[0])
    phase = item.phase if item else ""
    ticked = {**state.ticked, phase: state.used.get(phase, 0.0)}
    return state.changed(ticked=ticked, aside=state.aside - {key})


@_on(happened.ItemMet)
def _(state: State, event: happened.ItemMet, t: float) -> State:
    met = ItemState(
        MET, t, event.evidence, event.page, event.figure, marginal=event.marginal,
        auto=event.auto, late=_late(state, event.item, t), rests=event.rests,
    )  # fmt: skip
    return _closed(state, event.item, met, event.restored)


@_on(happened.ItemWaived)
def _(state: State, event: happened.ItemWaived, t: float) -> State:
    late = _late(state, event.item, t)
    waived = ItemState(WAIVED, t, reason=event.reason, late=late, rests=event.rests)
    return _closed(state, event.item, waived, event.restored)


@_on(happened.ItemReopened)
def _(state: State, event: happened.ItemReopened, t: float) -> State:
    before = state.items.get(event.item)
    was = before if before is None or before.status != REOPENED else before.was
    reopened = ItemState(REOPENED, t, because=event.because, doubt=event.doubt, was=was)
    return _with_item(state, event.item, reopened)


@_on(happened.ItemSetAside)
def _(state: State, event: happened.ItemSetAside, t: float) -> State:
    return replace(state, aside=state.aside | {event.item})


@_on(happened.ItemTakenBack)
def _(state: State, event: happened.ItemTakenBack, t: float) -> State:
    return replace(state, aside=state.aside - {event.item})


# ---- what is known of the board ---------------------------------------------------------------


@_on(happened.FactSet)
def _(state: State, event: happened.FactSet, t: float) -> State:
    known = state.knowledge.with_value(event.fact, event.value, event.subject)
    return replace(state, knowledge=known)


@_on(happened.ValueDeclared)
def _(state: State, event: happened.ValueDeclared, t: float) -> State:
    value = event.value if isinstance(event.value, str) else [dict(row) for row in event.value]
    return replace(state, declared={**state.declared, event.name: value})


@_on(happened.ChangeNoted)
def _(state: State, event: happened.ChangeNoted, t: float) -> State:
    count = state.noted.get(event.change, 0) + 1
    return replace(state, noted={**state.noted, event.change: count})


@_on(happened.SubjectAdded)
def _(state: State, event: happened.SubjectAdded, t: float) -> State:
    subject = Subject(event.id, event.kind, event.parent, event.title or event.id)
    return replace(state, subjects={**state.subjects, event.id: subject})


@_on(happened.SubjectDropped)
def _(state: State, event: happened.SubjectDropped, t: float) -> State:
    kept = {k: v for k, v in state.subjects.items() if k != event.id}
    return replace(state, subjects=kept)


@_on(happened.FeatureDropped)
def _(state: State, event: happened.FeatureDropped, t: float) -> State:
    return replace(state, dropped=state.dropped | {event.feature})


@_on(happened.FeatureRestored)
def _(state: State, event: happened.FeatureRestored, t: float) -> State:
    known = Knowledge.of(
        (place, fact, value)
        for place, fact, value in state.knowledge
        if place or fact not in event.forgotten
    )
    return replace(state, dropped=state.dropped - {event.feature}, knowledge=known)


# ---- calculations ----------------------------------------------------------------------------


@_on(happened.CalculationSaved)
def _(state: State, event: happened.CalculationSaved, t: float) -> State:
    saved = Saved(event.id, event.record, t)
    return replace(state, calculations={**state.calculations, event.id: saved})


@_on(happened.CalculationRecomputed)
def _(state: State, event: happened.CalculationRecomputed, t: float) -> State:
    saved = Saved(event.id, event.record, t, said=event.says)
    return replace(state, calculations={**state.calculations, event.id: saved})


@_on(happened.CalculationStale)
def _(state: State, event: happened.CalculationStale, t: float) -> State:
    saved = state.calculations.get(event.id)
    if saved is None:  # of a journal that was edited by hand
        return state
    stale = replace(saved, stale=event.missing)
    return replace(state, calculations={**state.calculations, event.id: stale})


@_on(happened.CalculationRemoved)
def _(state: State, event: happened.CalculationRemoved, t: float) -> State:
    kept = {k: v for k, v in state.calculations.items() if k != event.id}
    return replace(state, calculations=kept)


@_on(happened.PartDrawn)
def _(state: State, event: happened.PartDrawn, t: float) -> State:
    return replace(state, drawn={**state.drawn, (event.id, event.role): event.words})


# ---- thoughts --------------------------------------------------------------------------------


@_on(happened.ThoughtParked)
def _(state: State, event: happened.ThoughtParked, t: float) -> State:
    return replace(state, thoughts=(*state.thoughts, Thought(event.number, event.text, t)))


@_on(happened.ThoughtSettled)
def _(state: State, event: happened.ThoughtSettled, t: float) -> State:
    settled = tuple(
        replace(th, settled=True) if th.number == event.number else th for th in state.thoughts
    )
    return replace(state, thoughts=settled)


# ---- afterwards ------------------------------------------------------------------------------


@_on(happened.PointMeasured)
def _(state: State, event: happened.PointMeasured, t: float) -> State:
    found = Measured(
        event.board, event.point, event.title, event.text, event.value, event.unit,
        event.low, event.high, event.verdict,
    )  # fmt: skip
    return replace(state, measured={**state.measured, (event.board, event.point): found})


@_on(happened.MeasurementWithdrawn)
def _(state: State, event: happened.MeasurementWithdrawn, t: float) -> State:
    gone = (event.board, event.point)
    return replace(state, measured={k: v for k, v in state.measured.items() if k != gone})


@_on(happened.FindingNoted)
def _(state: State, event: happened.FindingNoted, t: float) -> State:
    found = Finding(
        event.number, event.fault, event.item, event.board, event.minutes, event.bodge
    )  # fmt: skip
    return replace(state, findings=(*state.findings, found))


@_on(happened.FindingWithdrawn)
def _(state: State, event: happened.FindingWithdrawn, t: float) -> State:
    kept = tuple(one for one in state.findings if one.number != event.number)
    return replace(state, findings=kept)


@_on(happened.FindingMadeItem)
def _(state: State, event: happened.FindingMadeItem, t: float) -> State:
    found = tuple(
        replace(one, made_item=event.item, kept_in=event.kept_in)
        if one.number == event.number else one
        for one in state.findings
    )  # fmt: skip
    return replace(state, findings=found)
