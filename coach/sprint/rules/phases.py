"""Rules of phases and stages: entering in any order, signing off, reaching a stage, walks."""

from __future__ import annotations

from coach.sprint.commands import (
    EnterPhase,
    FinishWalk,
    JoinLate,
    ReachStage,
    SetStepByStep,
    SignOff,
)
from coach.sprint.events.phases import (
    LAST_WALK,
    PhaseDrawn,
    PhaseEntered,
    PhaseSignedOff,
    StageReached,
    StepByStepSet,
    Walked,
)
from coach.sprint.gates.gates import gate_rows, skipped_in
from coach.sprint.gates.gates import skipped as all_skipped
from coach.sprint.rules.rule import CommandContext, Outcome, provisional, rule
from coach.sprint.state import State
from phases.kit.grammar import capital, count
from phases.kit.items import CLOSING_ID, Stage
from phases.kit.refusals import Refusal, check_known


def _known(state: State, phase: str) -> str:
    check_known("phase", phase, (*state.setup.phase_ids, CLOSING_ID))
    return phase


@rule(EnterPhase)
def _enter(state: State, command: EnterPhase, context: CommandContext) -> Outcome:
    phase = _known(state, command.phase)
    if phase == state.phase:
        raise Refusal("Already in this phase")
    skipped = [row.key for row in skipped_in(state, state.phase)]
    entered = PhaseEntered(phase=phase, previous=state.phase, skipped=tuple(skipped))
    return [entered], _left_open(state, entered) if skipped else ""


def _left_open(state: State, entered: PhaseEntered) -> str:
    """How many essentials are left open in the phase, and how many the SKIPPED line counts then."""
    number, behind = len(entered.skipped), len(all_skipped(provisional(state, entered)))
    name = capital(state.setup.phase(entered.previous).name)
    more = f" ({behind} with those left before)" if behind > number else ""
    return f"{name}: {count(number, 'essential')} still open{more}, listed under SKIPPED"


@rule(SignOff)
def _sign_off(state: State, command: SignOff, context: CommandContext) -> Outcome:
    phase = _known(state, command.phase)
    if phase == CLOSING_ID:
        raise Refusal("The closing list is not signed off", do="Its last line ends the sprint")
    if phase in state.signed_off:
        raise Refusal("Signed off already")
    rows = [row for gate in gate_rows(state, phase) for row in gate.cells]
    counted = [row for row in rows if state.reached(row)]
    if rows and not counted:
        stage = min(row.item.stage for row in rows)
        raise Refusal(
            f"This gate can only be checked from {stage} on", do="Press P when you get there"
        )
    still = [row for row in counted if not row.closed]
    if still:
        them, more = ("them", f" + {len(still) - 1} more") if len(still) > 1 else ("it", "")
        raise Refusal(
            f"Gate not closed: {still[0].short}{more}",
            do=f"Close {them}, waive {them} with a reason, or move on without signing off",
        )
    return [PhaseSignedOff(phase=phase)], ""


@rule(JoinLate)
def _join_late(state: State, command: JoinLate, context: CommandContext) -> Outcome:
    phase = _known(state, command.phase)
    if phase == CLOSING_ID or phase in state.drawn_before:
        raise Refusal("Nothing to join here")
    return [PhaseDrawn(phase=phase)], "Drawn already; walk its items to confirm them"


@rule(ReachStage)
def _reach(state: State, command: ReachStage, context: CommandContext) -> Outcome:
    check_known("stage", command.stage, list(Stage))
    wanted = Stage(command.stage)
    if wanted in state.stages:
        raise Refusal(f"{wanted.capitalize()} is reached already")
    # A stage cannot be reached without the ones before it.
    new = [stage for stage in Stage if stage <= wanted and stage not in state.stages]
    return [StageReached(stage=stage) for stage in new], ""


@rule(FinishWalk)
def _walked(state: State, command: FinishWalk, context: CommandContext) -> Outcome:
    if command.of not in (*Stage, LAST_WALK):
        _known(state, command.of)
    if not 0 <= command.closed <= command.asked:
        raise Refusal("A walk closes no more items than it asks")
    return [Walked(of=command.of, asked=command.asked, closed=command.closed)], ""


@rule(SetStepByStep)
def _step_by_step(state: State, command: SetStepByStep, context: CommandContext) -> Outcome:
    return [StepByStepSet(phase=_known(state, command.phase), on=command.on)], ""
