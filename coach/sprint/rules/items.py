"""Rules of items: met by evidence, waived with a reason, not on this board, reopened."""

from __future__ import annotations

from coach.sprint.commands import Affirm, Dismiss, Meet, Reopen, Waive
from coach.sprint.events import Event, FactSet, ItemMet, ItemReopened, ItemWaived
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.state import MET, NOT_HERE, REOPENED, WAIVED, Row, State
from phases.kit.facts import check_value, find_fact
from phases.kit.items import Evidence
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import line


def row_of(state: State, key: str) -> Row:
    """The row of that key. Raises Refusal with the nearest where there is none."""
    if key not in state.by_key:
        raise unknown("item", line(key), state.by_key)
    return state.by_key[key]


def _there(row: Row) -> Row:
    if row.applies is False:
        raise Refusal(f"{row.item.id} is not on this board", do="Change the fact first")
    return row


@rule(Meet)
def _meet(state: State, command: Meet, asked: Asked) -> Outcome:
    row = _there(row_of(state, command.item))
    item = row.item
    earlier = row.state.was if row.state and row.status == REOPENED and row.state.doubt else None
    if earlier is not None and not command.evidence and earlier.evidence:
        # One key confirms a doubt: what it was met by before still holds.
        return [
            ItemMet(
                item=row.key, evidence=earlier.evidence, page=earlier.page,
                figure=command.figure or earlier.figure, marginal=earlier.marginal or _thin(row),
            )
        ], "Confirmed"  # fmt: skip
    evidence = command.evidence or _by_looking(row)
    if evidence not in [str(kind) for kind in item.met_by]:
        raise Refusal(
            f"{item.id} cannot be met as {evidence}", do="Met by: " + ", ".join(item.met_by)
        )
    if evidence == Evidence.CALCULATED:
        raise Refusal(
            f"{item.id} is met by a calculation that passes and its parts drawn",
            do="Calculate it, or waive it with a reason",
        )
    if evidence == Evidence.DATA_SHEET and not line(command.page):
        raise Refusal("Data sheet evidence needs its page", do="Give the sheet and the page")
    answered = _answered_by_meeting(row)
    met = ItemMet(
        item=row.key, evidence=evidence, page=line(command.page), figure=line(command.figure)
    )
    return [*answered, met], ""


def _thin(row: Row) -> bool:
    return bool(row.state and "marginal" in row.state.because)


def _by_looking(row: Row) -> str:
    """The kind of evidence that one key gives: what the item allows without a page or a number."""
    for kind in (Evidence.INSPECTED, Evidence.MEASURED):
        if kind in row.item.met_by:
            return str(kind)
    return str(row.item.met_by[0])


def _answered_by_meeting(row: Row) -> list[Event]:
    """Meeting an item whose question was open says that the thing is there."""
    if row.applies is not None or row.question is None:
        return []
    fact = find_fact(row.question)
    if fact.kind != "yes/no":
        raise Refusal(f"It is not known yet: {fact.question}", do="Answer the question first")
    subject = row.subject if fact.per != "board" else ""
    return [FactSet(subject=subject, fact=fact.id, value=True)]


@rule(Waive)
def _waive(state: State, command: Waive, asked: Asked) -> Outcome:
    row = _there(row_of(state, command.item))
    reason = line(command.reason)
    if not reason:
        raise Refusal("A waiver needs its reason", do="Say in a few words why it may be left")
    return [ItemWaived(item=row.key, reason=reason)], ""


@rule(Reopen)
def _reopen(state: State, command: Reopen, asked: Asked) -> Outcome:
    row = row_of(state, command.item)
    if row.status not in (MET, WAIVED):
        raise Refusal(f"{row.item.id} is {row.status} already")
    because = line(command.because) or "by hand"
    return [ItemReopened(item=row.key, because=because)], ""


@rule(Dismiss)
def _dismiss(state: State, command: Dismiss, asked: Asked) -> Outcome:
    row = row_of(state, command.item)
    if row.status == NOT_HERE:
        raise Refusal(f"{row.item.id} is not on this board already")
    answer = row.item.taken_off_by(state.knowledge, row.subject)
    if answer is None:
        raise Refusal(_why_it_stays(row), do="Meet it, or waive it with a reason")
    subject, fact, value = answer
    also = sum(
        1
        for other in state.rows
        if other.applies is not False
        and other.key != row.key
        and _taken_off(state, other, subject, fact, value)
    )
    says = "Not on this board" + (f", and {also} more with it" if also else "")
    return [FactSet(subject=subject, fact=fact, value=value)], says


def _taken_off(
    state: State, other: Row, subject: str, fact: str, value: bool | str | float
) -> bool:
    known = state.knowledge.with_value(fact, value, subject)
    return other.item.applies(known, other.subject) is False


def _why_it_stays(row: Row) -> str:
    if row.item.asks is None:
        return f"{row.item.id} is needed on every board"
    return f"{find_fact(row.question or row.item.asks).question} has more than one answer"


@rule(Affirm)
def _affirm(state: State, command: Affirm, asked: Asked) -> Outcome:
    row = row_of(state, command.item)
    name = row.question or row.item.asks
    if name is None:
        raise Refusal(f"{row.item.id} asks nothing: it is needed on every board")
    fact = find_fact(name)
    value = check_value(fact, command.value)
    subject = row.subject if fact.per != "board" else ""
    return [FactSet(subject=subject, fact=name, value=value)], ""
