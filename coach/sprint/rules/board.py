"""Rules of what the board is: facts, subjects, features, noted changes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coach.sprint.brief.document import Feature
from coach.sprint.commands import (
    AddSubject,
    DropFeature,
    DropSubject,
    NoteChange,
    RestoreFeature,
    SetFact,
)
from coach.sprint.events.board import (
    ChangeNoted,
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
    ValueDeclared,
)
from coach.sprint.events.calculations import CalculationRemoved
from coach.sprint.events.event import Event
from coach.sprint.fold import fold
from coach.sprint.keys import Key
from coach.sprint.rules.rule import CommandContext, Outcome, rule
from coach.sprint.rules.values import consumer_row, declared, values_of_subject
from coach.sprint.state import State
from phases.kit.facts import FactValue, check_value, find_fact
from phases.kit.field_types import check_name
from phases.kit.grammar import listed
from phases.kit.items import load_changes
from phases.kit.refusals import Refusal, check_known, unknown
from phases.kit.text import one_line

_KINDS = ("rail", "bus", "connector", "clock", "load")


# ---- facts and changes -----------------------------------------------------------------------


@rule(SetFact)
def _set_fact(state: State, command: SetFact, context: CommandContext) -> Outcome:
    fact = find_fact(command.fact)
    value = check_value(fact, command.value)
    if fact.per == "board" and command.subject:
        raise Refusal(f"{fact.id} is a fact of the board, not of {one_line(command.subject)}")
    of_kind = state.ids_of(fact.per)
    if fact.per != "board" and not command.subject:
        raise Refusal(
            f"{fact.id} is a fact of a {fact.per}", do=f"Say of which: {', '.join(of_kind)}"
        )
    if command.subject:
        check_known(fact.per, command.subject, of_kind, where=fact.id)
    if state.knowledge.get(fact.id, command.subject) == value:
        raise Refusal("Already set", where=fact.id)
    return [FactSet(subject=command.subject, fact=fact.id, value=value)], ""


@rule(NoteChange)
def _note_change(state: State, command: NoteChange, context: CommandContext) -> Outcome:
    check_known("change", command.change, load_changes())
    return [ChangeNoted(change=command.change)], ""


# ---- subjects --------------------------------------------------------------------------------


def _was_there(state: State, name: str) -> bool:
    """Whether a dropped subject bore the name: what was known and met of it would come back."""
    known = {subject for subject, _, _ in state.knowledge}
    met = {Key(key).subject for key in state.items}
    return name in known | met or name in {s.id for s in state.setup.brief.subjects()}


@rule(AddSubject)
def _add_subject(state: State, command: AddSubject, context: CommandContext) -> Outcome:
    name = one_line(command.id)
    check_name(name)
    kind = command.kind
    check_known("kind of subject", kind, _KINDS)
    if name in state.subjects:
        raise Refusal(f"{name} is on this board already", do="Choose another name")
    if _was_there(state, name):
        raise Refusal(
            f"{name} was on this board before", do="Restore its feature, or choose another name"
        )
    parent = _parent(state, kind, one_line(command.parent))
    title = one_line(command.title) or name
    events: list[Event] = [SubjectAdded(id=name, kind=kind, parent=parent, title=title)]
    for fact_id, value in command.facts.items():
        fact = find_fact(fact_id)
        if fact.per != kind:
            raise Refusal(f"{fact.id} is a fact of a {fact.per}, not of a {kind}")
        events.append(FactSet(subject=name, fact=fact.id, value=check_value(fact, value)))
    if command.values:
        events += values_of_subject(state, events, name, command.values)
    return events, f"{name} is on the board now"


def _parent(state: State, kind: str, parent: str) -> str:
    """The rail a new subject is fed from; that of the microcontroller where none is named."""
    if kind == "clock":
        return ""
    if parent:
        check_known("rail", parent, state.ids_of("rail"))
    return parent or ("" if kind == "rail" else state.mcu_rail())


@rule(DropSubject)
def _drop_subject(state: State, command: DropSubject, context: CommandContext) -> Outcome:
    check_known("subject", command.id, state.subjects)
    return _dropped(state, [command.id]), f"{command.id} is off the board"


def _dropped(state: State, ids: Sequence[str]) -> list[Event]:
    """Subjects go, with the calculations made for them. Refusal where something needs them."""
    for subject in (state.subjects[name] for name in ids):
        if subject.id in (state.mcu_rail(), state.entry_rail()):
            raise Refusal(f"{subject.id} is required")
        hanging = [
            s.id for s in state.subjects.values() if s.parent == subject.id and s.id not in ids
        ]
        if hanging:
            raise Refusal(f"{subject.id} still feeds {listed(hanging, 9)}", do="Drop these first")
    made_for = [saved.id for saved in state.calculations.values() if saved.subject in ids]
    return [
        *(SubjectDropped(id=name) for name in ids),
        *(CalculationRemoved(id=key) for key in made_for),
        *_without_their_current(state, ids),
    ]


def _without_their_current(state: State, ids: Iterable[str]) -> list[Event]:
    """Where a person declared the consumers, those that go are left out of the table."""
    rows = state.declared.get("board.consumers")
    called = {word for name in ids for word in (name, state.subjects[name].title)}
    kept = [row for row in rows or () if row.get("consumer") not in called]
    if rows is None or len(kept) == len(rows):
        return []
    return [ValueDeclared(name="board.consumers", value=tuple(kept))]


# ---- features --------------------------------------------------------------------------------


def _feature(state: State, name: str) -> Feature:
    feature = state.feature(name)
    if feature is None:
        raise unknown("feature", one_line(name), [f.id for f in state.setup.brief.features])
    return feature


@rule(DropFeature)
def _drop_feature(state: State, command: DropFeature, context: CommandContext) -> Outcome:
    feature = _feature(state, command.feature)
    if feature.required:
        raise Refusal(f"{feature.title} is required by the brief", do="Drop an optional one")
    if feature.id in state.dropped:
        raise Refusal(f"{feature.title} is dropped already")
    events: list[Event] = [FeatureDropped(feature=feature.id)]
    events += _dropped(state, [name for name in feature.subjects if name in state.subjects])
    for fact, value in feature.facts.items():
        events.append(FactSet(fact=fact, value=check_value(find_fact(fact), value)))
    return events, f"{feature.title} dropped"


@rule(RestoreFeature)
def _restore_feature(state: State, command: RestoreFeature, context: CommandContext) -> Outcome:
    feature = _feature(state, command.feature)
    if feature.id not in state.dropped:
        raise Refusal(f"{feature.title} is not dropped")
    back = [
        subject
        for subject in state.setup.brief.subjects()
        if subject.id in feature.subjects and subject.id not in state.subjects
    ]
    for subject in back:
        if subject.parent and subject.parent not in {*state.subjects, *feature.subjects}:
            raise Refusal(f"{subject.id} is fed from {subject.parent}, which is not on this board")
    facts, forgotten = _facts_before(state, feature, context)
    events: list[Event] = [FeatureRestored(feature=feature.id, forgotten=forgotten)]
    events += [SubjectAdded(id=s.id, kind=s.kind, parent=s.parent, title=s.title) for s in back]
    events += [FactSet(fact=fact, value=value) for fact, value in facts.items()]
    return [*events, *_with_their_current(state, feature)], f"{feature.title} is back"


def _facts_before(
    state: State, feature: Feature, context: CommandContext
) -> tuple[dict[str, FactValue], tuple[str, ...]]:
    """The feature's facts as they were before it was dropped, and those nobody knew then.

    A fact that was set to something else since then stays.
    """
    dropped = [
        number
        for number, one in enumerate(context.history)
        if isinstance(one.event, FeatureDropped)
        and one.event.feature == feature.id
        and not one.is_void(context.undone)
    ]
    then = fold(state.setup, context.history[: dropped[-1]]) if dropped else state
    before = {
        fact: then.knowledge.get(fact)
        for fact, value in feature.facts.items()
        if state.knowledge.get(fact) == value
    }
    back = {f: v for f, v in before.items() if v is not None and v != feature.facts[f]}
    return back, tuple(fact for fact, value in before.items() if value is None)


def _with_their_current(state: State, feature: Feature) -> list[Event]:
    """Where a person declared the consumers, those that come back are put in again."""
    rows = state.declared.get("board.consumers")
    if rows is None:
        return []
    back = [
        consumer_row(load.title or load.id, load.rail, load.model_dump(mode="json"))
        for load in state.setup.brief.loads
        if load.id in feature.subjects and load.id not in state.subjects
    ]
    return [declared("board.consumers", [*rows, *back])] if back else []
