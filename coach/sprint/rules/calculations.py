"""Rules of calculations and of what is still to draw. Commands run calculators; the fold never."""

from __future__ import annotations

from coach.sprint.commands import ConfirmFigures, Draw, RemoveCalculation, SaveCalculation
from coach.sprint.events.calculations import CalculationRemoved, CalculationSaved, PartDrawn
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.ledger import Ledger, given_of
from coach.sprint.ledger.to_draw import undrawn
from coach.sprint.rules.rule import CommandContext, Outcome, rule
from coach.sprint.state import State
from phases.kit.bounds import FAIL, MARGINAL
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculator
from phases.kit.field_types import check_name
from phases.kit.grammar import count
from phases.kit.inputs import Given
from phases.kit.judging import judge
from phases.kit.record import record_of
from phases.kit.refusals import Refusal, check_known


def check_subject(state: State, kind: type[Calculator], subject: str) -> None:
    """Refuses a subject that is not there or not of the calculator's kind."""
    if kind.per == "board":
        if subject:
            raise Refusal(f"{kind.name} is made for the board, not for {subject}")
        return
    check_known(kind.per, subject, state.ids_of(kind.per), where=kind.name)


@rule(SaveCalculation)
def _save(state: State, command: SaveCalculation, context: CommandContext) -> Outcome:
    kind = calculator(command.calculator)
    check_subject(state, kind, command.subject)
    if command.label:
        check_name(command.label)
    opened = Ledger(state).opened(command.calculator, command.subject, command.given)
    judgement = judge(opened)
    name = CalculationKey.of(command.calculator, command.subject, command.label)
    saved = CalculationSaved(id=name, record=record_of(judgement, command.subject))
    says = {FAIL: "Saved. It fails", MARGINAL: "Saved. It is marginal"}.get(
        judgement.verdict, "Saved. All limits pass"
    )
    return [saved], says


@rule(ConfirmFigures)
def _confirm(state: State, command: ConfirmFigures, context: CommandContext) -> Outcome:
    check_known("saved calculation", command.id, state.calculations)
    saved = state.calculations[command.id]
    kind = calculator(saved.calculator)
    assumed = [name for name, one in saved.record.inputs.items() if name in one.assumed]
    for name in command.fields:
        check_known("assumed figure", name, assumed, where=command.id)
    if not command.fields:
        raise Refusal("Nothing to confirm", where=command.id)
    parts = {kind.fields[name].part for name in command.fields}
    if len(parts) > 1:
        raise Refusal("These are figures of several parts", do="Confirm one part after the other")
    given = given_of(saved.record)
    for name in command.fields:
        given[name] = Given(saved.record.inputs[name].given, "confirmed")
    judgement = judge(Ledger(state).opened(saved.calculator, saved.subject, given))
    confirmed = CalculationSaved(id=saved.id, record=record_of(judgement, saved.subject))
    return [confirmed], f"{count(len(command.fields), 'figure')} confirmed: no worse than assumed"


@rule(RemoveCalculation)
def _remove(state: State, command: RemoveCalculation, context: CommandContext) -> Outcome:
    check_known("saved calculation", command.id, state.calculations)
    return [CalculationRemoved(id=command.id)], ""


@rule(Draw)
def _draw(state: State, command: Draw, context: CommandContext) -> Outcome:
    waiting = {(part.calculation, part.role): part for part in undrawn(state)}
    for calculation, role in command.parts:
        if (calculation, role) not in waiting:
            raise Refusal(f"{role} of {calculation} is not on the draw list")
    if not command.parts:
        raise Refusal("Nothing to draw")
    drawn = [waiting[key] for key in command.parts]
    events = [PartDrawn(id=one.calculation, role=one.role, words=one.words) for one in drawn]
    return [*events], f"{count(len(events), 'part')} drawn"
