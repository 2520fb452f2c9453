"""The account of a sprint, made from its journal: facts first, then what they say.

The rooms beside it tell one subject each. What the journal does not show is not said: no motive,
no blame. Whatever cannot be told of a damaged or forged journal is named in `faults`.
"""

from __future__ import annotations

from dataclasses import replace

from coach.debrief.account.calls import calls_told, forecasts_told
from coach.debrief.account.changeable import changeable_of
from coach.debrief.account.data import Account, ForecastTold, Honesty
from coach.debrief.account.differences import differences_of, happened_of, planned_sentences
from coach.debrief.account.differently import differently_of
from coach.debrief.account.findings import findings_told, measured_told
from coach.debrief.account.honesty import honesty_of
from coach.debrief.account.items import items_told
from coach.debrief.account.margins import calculations_told, parts_told, whole_records
from coach.debrief.account.phases import Planned, phases_told, planned_of
from coach.debrief.account.sentences import sentences_of
from coach.debrief.account.soundness import Soundness
from coach.history.read_sprint import SprintRead
from coach.sprint.durations import duration
from coach.sprint.plan import Plan
from coach.sprint.state import State
from phases.kit.text import line


def account_of(read: SprintRead) -> Account:
    """Everything the debrief says of a sprint. Never raises for what a journal holds."""
    sound = Soundness(list(read.faults))
    nothing = Planned(Plan(()), {}, 0.0)
    planned = sound.section("The plan", lambda: planned_of(read, sound), nothing)
    told = _facts(read, planned, sound)
    told = replace(
        told,
        changeable=sound.section("What can be changed", lambda: changeable_of(told), ()),
        planned=sound.section("What was planned", lambda: planned_sentences(read, told, planned),
                              ()),
        happened=sound.section("What happened", lambda: happened_of(told), ()),
        differences=sound.section("Why they differ", lambda: differences_of(read, told), ()),
        differently=sound.section("What to do differently", lambda: differently_of(told), ()),
        sentences=sound.section("The three sentences", lambda: sentences_of(told), ()),
    )  # fmt: skip
    return replace(told, faults=tuple(sound.faults))


def _facts(read: SprintRead, planned: Planned, sound: Soundness) -> Account:
    state = read.state
    ended_at = None if state.ended_at is None else sound.seconds(state.ended_at, "The end")
    deadline = sound.seconds(state.deadline, "The cut-off")
    whole = sound.section("The calculations", lambda: whole_records(state), _without(state))
    no_forecasts: tuple[ForecastTold, ...] = ()
    forecasts = sound.section("The forecasts", lambda: forecasts_told(read, sound), no_forecasts)
    unjudged = Honesty(None, 0, 0, None, "The forecasts of this journal cannot be judged.")
    return Account(
        title=read.setup.brief.title,
        path=read.path,
        started=read.setup.started,
        deadline=deadline,
        reserve=sound.seconds(read.setup.reserve, "The reserve"),
        ended_at=ended_at,
        # What comes after the end may come years later, and is no moment of the sprint.
        last=sound.seconds(state.t, "The last moment") if ended_at is None else ended_at,
        accepted=state.accepted,
        in_time=state.accepted and ended_at is not None and ended_at <= deadline,
        kind=read.setup.kind,
        standing=_standing(state.accepted, ended_at, deadline),
        faults=(),
        changeable=(), sentences=(), planned=(), happened=(), differences=(), differently=(),
        phases=sound.section("The phases", lambda: phases_told(read, planned, sound), ()),
        items=sound.section("The items", lambda: items_told(read, planned.due, sound), ()),
        calculations=sound.section(
            "The margins", lambda: calculations_told(read, whole, sound), ()
        ),
        undrawn=sound.section("What is to draw", lambda: parts_told(read, whole), ()),
        calls=sound.section("The calls", lambda: calls_told(read, sound), ()),
        forecasts=forecasts,
        honesty=sound.section("Their honesty", lambda: honesty_of(read, forecasts), unjudged),
        findings=sound.section("The findings", lambda: findings_told(read, whole), ()),
        measured=sound.section("What was measured", lambda: measured_told(read), ()),
        dropped=tuple(
            f.title or f.id for f in read.setup.brief.features if f.id in state.dropped
        ),
        thoughts=tuple(line(one.text) for one in state.thoughts if not one.settled),
        interrupted=sound.seconds(state.interrupted, "The time of interruptions"),
    )  # fmt: skip


def _without(state: State) -> State:
    return replace(state, calculations={})


def _standing(accepted: bool, ended_at: float | None, deadline: float) -> str:
    """How it ended, in one sentence."""
    if ended_at is None:
        return "The sprint goes on: nothing here is final."
    spare = deadline - ended_at
    when = f"{duration(spare)} {'before' if spare >= 0 else 'after'} the cut-off"
    if accepted:
        return f"The order was accepted and paid {when}."
    return f"It ended without an order, {when}."
