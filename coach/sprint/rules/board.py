"""Rules of what the board is: facts, values of the brief, subjects, features, noted changes."""

from __future__ import annotations

from typing import Any

from coach.sprint.commands import (
    AddSubject,
    DeclareValue,
    DropFeature,
    DropSubject,
    NoteChange,
    RestoreFeature,
    SetFact,
)
from coach.sprint.events import (
    CalculationRemoved,
    ChangeNoted,
    Event,
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
    ValueDeclared,
)
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.state import State
from phases.kit.facts import check_value, find_fact
from phases.kit.field_types import check_name
from phases.kit.items import load_changes
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import line


@rule(SetFact)
def _set_fact(state: State, command: SetFact, asked: Asked) -> Outcome:
    fact = find_fact(command.fact)
    value = check_value(fact, command.value)
    if fact.per == "board" and command.subject:
        raise Refusal(f"{fact.id} is a fact of the board, not of {command.subject}")
    if command.subject and command.subject not in state.subjects:
        raise unknown("subject", command.subject, state.subjects)
    if command.subject and state.subjects[command.subject].kind != fact.per:
        raise Refusal(f"{fact.id} is a fact of a {fact.per}, {command.subject} is none")
    if state.knowledge.get(fact.id, command.subject) == value:
        raise Refusal(f"{fact.id} is {command.value} already")
    return [FactSet(subject=command.subject, fact=fact.id, value=value)], ""


@rule(DeclareValue)
def _declare(state: State, command: DeclareValue, asked: Asked) -> Outcome:
    given: dict[str, Any] = {**state.setup.brief.published(), **state.declared}
    if command.name not in given:
        raise unknown("value of the brief", command.name, given)
    value = command.value
    if isinstance(value, str):
        value = line(value)
        if not value:
            raise Refusal("A value is missing", where=command.name, do="Write it with its unit")
    elif isinstance(given[command.name], str):
        raise Refusal(f"{command.name} is one value, not a table")
    else:
        value = tuple({str(k): line(str(v)) for k, v in row.items()} for row in value)
    return [ValueDeclared(name=command.name, value=value)], ""


@rule(NoteChange)
def _note_change(state: State, command: NoteChange, asked: Asked) -> Outcome:
    if command.change not in load_changes():
        raise unknown("change", command.change, load_changes())
    return [ChangeNoted(change=command.change)], ""


@rule(AddSubject)
def _add_subject(state: State, command: AddSubject, asked: Asked) -> Outcome:
    name = line(command.id)
    check_name(name)
    kinds = ("rail", "bus", "connector", "clock", "load")
    if command.kind not in kinds:
        raise unknown("kind of subject", command.kind, kinds)
    if name in state.subjects:
        raise Refusal(f"{name} is on this board already", do="Choose another name")
    parent = line(command.parent)
    rails = [s.id for s in state.subjects.values() if s.kind == "rail"]
    if parent and parent not in rails:
        raise unknown("rail", parent, rails)
    if not parent and command.kind in ("bus", "connector", "load"):
        parent = state.setup.brief.board.mcu_rail
    events: list[Event] = [
        SubjectAdded(
            id=name, kind=command.kind, parent=parent, title=line(command.title) or name
        )
    ]  # fmt: skip
    for fact, value in command.facts.items():
        checked = check_value(find_fact(fact), value)
        events.append(FactSet(subject=name, fact=fact, value=checked))
    return events, f"{name} is on the board now"


@rule(DropSubject)
def _drop_subject(state: State, command: DropSubject, asked: Asked) -> Outcome:
    if command.id not in state.subjects:
        raise unknown("subject", command.id, state.subjects)
    hanging = [s.id for s in state.subjects.values() if s.parent == command.id]
    if hanging:
        raise Refusal(
            f"{', '.join(hanging)} still hang on {command.id}", do="Drop or move them first"
        )
    return dropped(state, command.id), f"{command.id} is off the board"


def dropped(state: State, subject: str) -> list[Event]:
    """A subject goes, and the calculations made for it with it."""
    gone: list[Event] = [
        CalculationRemoved(id=saved.id)
        for saved in state.calculations.values()
        if saved.subject == subject
    ]
    return [SubjectDropped(id=subject), *gone]


@rule(DropFeature)
def _drop_feature(state: State, command: DropFeature, asked: Asked) -> Outcome:
    feature = state.feature(command.feature)
    if feature is None:
        raise unknown("feature", command.feature, [f.id for f in state.setup.brief.features])
    if feature.required:
        raise Refusal(f"{feature.title} is required by the brief", do="Drop an optional one")
    if feature.id in state.dropped:
        raise Refusal(f"{feature.title} is dropped already")
    events: list[Event] = [FeatureDropped(feature=feature.id)]
    for subject in feature.subjects:
        if subject in state.subjects:
            events.extend(dropped(state, subject))
    for fact, value in feature.facts.items():
        events.append(FactSet(fact=fact, value=check_value(find_fact(fact), value)))
    return events, f"{feature.title} dropped"


@rule(RestoreFeature)
def _restore_feature(state: State, command: RestoreFeature, asked: Asked) -> Outcome:
    feature = state.feature(command.feature)
    if feature is None or feature.id not in state.dropped:
        raise Refusal(f"{command.feature} is not dropped")
    brief = state.setup.brief
    events: list[Event] = [FeatureRestored(feature=feature.id)]
    for subject in brief.subjects():
        if subject.id in feature.subjects and subject.id not in state.subjects:
            events.append(
                SubjectAdded(
                    id=subject.id, kind=subject.kind, parent=subject.parent, title=subject.title
                )
            )
    before = {fact: value for place, fact, value in brief.knowledge_values() if not place}
    for fact in feature.facts:
        if fact in before:
            events.append(FactSet(fact=fact, value=before[fact]))
    return events, f"{feature.title} is back"
