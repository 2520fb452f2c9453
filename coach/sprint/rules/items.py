"""Rules of items: met by evidence, waived with a reason, not on this board, reopened, deferred."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coach.sprint.commands import (
    Affirm,
    ConfirmFigures,
    Defer,
    Dismiss,
    Meet,
    Reopen,
    TakeUp,
    Waive,
)
from coach.sprint.events.board import FactSet
from coach.sprint.events.event import Event
from coach.sprint.events.items import (
    Closed,
    ItemDeferred,
    ItemMet,
    ItemReopened,
    ItemTakenUp,
    ItemWaived,
)
from coach.sprint.keys import Key
from coach.sprint.ledger.assumed_figures import assumed_parts
from coach.sprint.ledger.proof import proof_of
from coach.sprint.rules.dependence import Snapshot
from coach.sprint.rules.rule import CommandContext, Outcome, provisional, rule, rule_of
from coach.sprint.state import ASSUMED, MET, NOT_HERE, REOPENED, WAIVED, ItemState, Row, State
from phases.kit.bounds import MARGINAL
from phases.kit.facts import Fact, FactValue, Knowledge, check_value, find_fact
from phases.kit.grammar import capital, count
from phases.kit.items import CLOSING_ID, Evidence, Stage
from phases.kit.refusals import Refusal, check_known
from phases.kit.text import one_line


def row_of(state: State, key: str) -> Row:
    """The row of that key. Raises Refusal with the nearest where there is none."""
    check_known("item", key, state.by_key)
    return state.by_key[key]


def _there(row: Row) -> Row:
    if row.applies is False:
        raise Refusal("Not on this board", where=row.short, do="Change the fact first")
    return row


# ---- met -------------------------------------------------------------------------------------


@rule(Meet)
def _meet(state: State, command: Meet, context: CommandContext) -> Outcome:
    row = _there(row_of(state, command.item))
    earlier = row.state.was if row.state and row.status == REOPENED and row.state.doubt else None
    if earlier is not None and not command.evidence:
        return [_confirmed(state, row, earlier, command)], "Confirmed"
    if row.status == ASSUMED and not command.evidence:
        return _no_worse(state, row, context)
    evidence = command.evidence or by_looking(row)
    if evidence not in [str(kind) for kind in row.item.met_by]:
        raise Refusal(
            f"Cannot be met as {evidence}",
            where=row.short,
            do="Met by: " + ", ".join(row.item.met_by),
        )
    page, figure = one_line(command.page), one_line(command.figure)
    if row.state and row.status == MET and _says_nothing_new(row.state, evidence, page, figure):
        raise Refusal("Met already", where=row.short)
    if evidence == Evidence.CALCULATED:
        return [_by_calculation(state, row)], ""
    if evidence == Evidence.DATA_SHEET and not page:
        raise Refusal("Data sheet evidence needs its page", do="Give the data sheet and the page")
    answered = _answered_by_meeting(state, row)
    depends_on = Snapshot(provisional(state, *answered)).of(row)
    met = ItemMet(item=row.key, evidence=evidence, page=page, figure=figure, depends_on=depends_on)
    return [*answered, met], ""


def _no_worse(state: State, row: Row, context: CommandContext) -> Outcome:
    """One key confirms the figures shown of one part: those that have most of the margin."""
    first = next(iter(assumed_parts(state, row)), None)
    if first is None:
        raise Refusal("Nothing of it can be confirmed", where=row.short, do="Calculate it again")
    confirm = ConfirmFigures(first.calculation, first.fields)
    return rule_of(confirm)(state, confirm, context)


def _confirmed(state: State, row: Row, earlier: ItemState, command: Meet) -> Event:
    """One key confirms a doubt: what it was closed by still holds, as things stand now."""
    if earlier.status == WAIVED:
        return ItemWaived(item=row.key, reason=earlier.reason, depends_on=Snapshot(state).of(row))
    if earlier.evidence == Evidence.CALCULATED:
        return _by_calculation(state, row)
    return ItemMet(
        item=row.key,
        evidence=earlier.evidence,
        page=one_line(command.page) or earlier.page,
        figure=one_line(command.figure) or earlier.figure,
        depends_on=Snapshot(state).of(row),
    )


def _by_calculation(state: State, row: Row) -> Event:
    """No hand ticks what is calculated; it can only say that the proof it has is good."""
    proof = proof_of(state, row)
    if not proof.holds:
        raise Refusal(
            f"Needs a calculation that passes, and its parts drawn: {proof.message}",
            where=row.short,
            do="Calculate it and draw it, or waive it with a reason",
        )
    return ItemMet(
        item=row.key,
        evidence="calculated",
        figure=proof.message,
        marginal=proof.verdict == MARGINAL,
        assumed=proof.assumed,
        depends_on=Snapshot(state).of(row, calculated=True),
    )


def needs_page(row: Row) -> bool:
    """Whether an open row is met by a page of a data sheet and by nothing shorter."""
    settled = row.closed or row.doubtful or row.status == ASSUMED
    return not settled and by_looking(row) == Evidence.DATA_SHEET


def by_looking(row: Row) -> str:
    """The kind of evidence that one key gives: what the item allows without a page or a number."""
    for kind in (Evidence.INSPECTED, Evidence.MEASURED):
        if kind in row.item.met_by:
            return str(kind)
    return str(row.item.met_by[0])


def _says_nothing_new(item: ItemState, evidence: str, page: str, figure: str) -> bool:
    return item.evidence == evidence and page in ("", item.page) and figure in ("", item.figure)


def _answered_by_meeting(state: State, row: Row) -> list[Event]:
    """Meeting an item whose question was open says that the thing is there."""
    answers: list[Event] = []
    known = state.knowledge
    while (name := row.item.question(known, row.subject)) is not None:
        fact = find_fact(name)
        place = row.subject if fact.per != "board" else ""
        value = _answer_on(row, fact, known, place)
        answers.append(FactSet(subject=place, fact=fact.id, value=value))
        known = known.with_value(fact.id, value, place)
    return answers


def _answer_on(row: Row, fact: Fact, known: Knowledge, place: str) -> FactValue:
    """The one answer with which the item stays on this board."""
    on = [
        value
        for value in fact.values
        if row.item.applies(known.with_value(fact.id, value, place), row.subject) is not False
    ]
    if fact.kind == "yes/no" and True in on:
        return True
    if len(on) != 1:
        raise Refusal(f'"{fact.question}" is not answered yet', do="Answer it first")
    return on[0]


# ---- waived and reopened ---------------------------------------------------------------------


@rule(Waive)
def _waive(state: State, command: Waive, context: CommandContext) -> Outcome:
    row = _there(row_of(state, command.item))
    reason = one_line(command.reason)
    if not reason:
        raise Refusal("A waiver needs its reason", do="Say in a few words why it may be left")
    return [ItemWaived(item=row.key, reason=reason, depends_on=Snapshot(state).of(row))], ""


@rule(Reopen)
def _reopen(state: State, command: Reopen, context: CommandContext) -> Outcome:
    row = row_of(state, command.item)
    if row.status not in (MET, WAIVED):
        raise Refusal(f"{capital(row.status)} already", where=row.short)
    because = one_line(command.because) or "by hand"
    return [ItemReopened(item=row.key, because=because)], ""


# ---- on this board or not --------------------------------------------------------------------


@rule(Dismiss)
def _dismiss(state: State, command: Dismiss, context: CommandContext) -> Outcome:
    row = row_of(state, command.item)
    if row.status == NOT_HERE:
        raise Refusal("Not on this board already", where=row.short)
    answer = row.item.taken_off_by(state.knowledge, row.subject)
    if answer is None:
        raise Refusal(_why_it_stays(row), where=row.short, do="Meet it, or waive it with a reason")
    subject, fact, value = answer
    known = state.knowledge.with_value(fact, value, subject)
    also = sum(
        other.applies is not False
        and other.key != row.key
        and other.item.applies(known, other.subject) is False
        for other in state.rows
    )
    says = "Not on this board" + (f", and {also} more with it" if also else "")
    return [FactSet(subject=subject, fact=fact, value=value)], says


def _why_it_stays(row: Row) -> str:
    if row.item.asks is None:
        return "Every board needs it"
    return f'"{find_fact(row.question or row.item.asks).question}" has more than one answer'


@rule(Affirm)
def _affirm(state: State, command: Affirm, context: CommandContext) -> Outcome:
    row = row_of(state, command.item)
    name = row.question or row.item.asks
    if name is None:
        raise Refusal("Nothing to answer: every board needs this item")
    fact = find_fact(name)
    value = check_value(fact, command.value)
    subject = row.subject if fact.per != "board" else ""
    if state.knowledge.get(name, subject) == value:
        raise Refusal("Already set", where=f'"{fact.question}"')
    return [FactSet(subject=subject, fact=name, value=value)], ""


# ---- deferred --------------------------------------------------------------------------------


@rule(Defer)
def _defer(state: State, command: Defer, context: CommandContext) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if row.essential or row.item.phase == CLOSING_ID:
            kind = "part of the closing list" if row.item.phase == CLOSING_ID else "an essential"
            raise Refusal(f"It is {kind}", where=row.short, do="Meet it, or waive it with a reason")
        if row.closed or row.deferred:
            status = "Deferred" if row.deferred else capital(row.status)
            raise Refusal(f"{status} already", where=row.short)
    return [ItemDeferred(item=row.key) for row in rows], f"{_checks(rows)} deferred"


@rule(TakeUp)
def _take_up(state: State, command: TakeUp, context: CommandContext) -> Outcome:
    rows = _rows(state, command.items)
    for row in rows:
        if not row.deferred:
            raise Refusal("Not deferred", where=row.short)
    return [ItemTakenUp(item=row.key) for row in rows], f"{_checks(rows)} taken up again"


def _rows(state: State, keys: Iterable[str]) -> list[Row]:
    rows = [row_of(state, key) for key in dict.fromkeys(keys)]
    if not rows:
        raise Refusal("No item is named", do="Say which more checks")
    return rows


def _checks(rows: list[Row]) -> str:
    return count(len(rows), "more check")


# ---- what a closing is journalled with -------------------------------------------------------


def in_force(state: State, events: Iterable[Event], context: CommandContext) -> Iterator[Event]:
    """The events of one command, its closings with the cut-off in force, whether they came behind
    the work, and the time that went into them from elsewhere. What of this makes one late is a
    function of the event."""
    passed = max(context.t - state.t, 0.0)
    for event in events:
        if isinstance(event, Closed):
            spent = _elsewhere(state, event, passed)
            passed -= spent
            yield event.model_copy(
                update={
                    "deadline": state.deadline,
                    "behind": _behind(state, Key(event.item)),
                    "elsewhere": round(spent, 3),
                }
            )
        else:
            yield event


def _elsewhere(state: State, event: Closed, passed: float) -> float:
    """Time before an item of another phase was closed went into that, up to its own minutes."""
    item = state.setup.items.get(Key(event.item).item)
    if item is None or item.phase == state.phase:
        return 0.0
    return min(passed, item.left_out_min * 60)


def _behind(state: State, key: Key) -> bool:
    """Closed for the first time when its phase was left, its stage is passed and another phase is
    being worked in."""
    before = state.items.get(key)
    if before is not None and before.status == REOPENED:
        return before.was is not None and before.was.late
    item = state.setup.items.get(key.item)
    if item is None or item.phase not in state.exited or item.phase == state.phase:
        return False
    # What is on the schematic is passed with its phase; nothing comes after the files.
    beyond = [stage for stage in Stage if stage > item.stage] or [Stage.FILES]
    return item.stage == Stage.SCHEMATIC or any(stage in state.stages for stage in beyond)
