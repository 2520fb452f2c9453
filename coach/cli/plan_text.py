"""A plan as text: the boxes with where they end, then the items phase by phase."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from coach.cli.columns import columns
from coach.sprint.cut_off import after
from coach.sprint.durations import between, duration, elapsed, minutes_of
from coach.sprint.gates.gates import GateRow, gate_rows, grouped
from coach.sprint.pace.plan import PRIOR_PACE, Plan, plan_of
from coach.sprint.state import Row, State
from phases.kit.facts import find_fact
from phases.kit.grammar import count
from phases.kit.items import Phase

_OPEN, _ASKED = "-", "?"
_SHOWS_ALL = "(--all shows them)"


def plan_lines(state: State, *, everything: bool = False, house: str = "") -> list[str]:
    """The whole plan. everything: more checks and the closing list one by one. house: how many
    house rules are among the items, and where they come from."""
    plan = plan_of(state)
    lines = [state.setup.brief.title, _cut_off(state), *([f"{house}."] if house else [])]
    lines += ["", *_boxes(plan), "", _where_it_ends(state, plan)]
    lines.append(f"{_OPEN} needed, {_ASKED} depends on the answer")
    for phase in state.setup.phases:
        lines += ["", *_phase(state, phase, everything=everything)]
    return [*lines, "", *_closing(state, everything=everything)]


def _cut_off(state: State) -> str:
    setup = state.setup
    when = f"{duration(setup.deadline)} from the start"
    if setup.at_an_instant:
        at = after(setup.started, setup.deadline)
        when = f"{at:%Y-%m-%d %H:%M}, {duration(setup.deadline)} from now"
    return f"Cut-off {when}; the last {duration(setup.reserve)} are the reserve."


def _boxes(plan: Plan) -> list[str]:
    rows = [
        (box.name, duration(box.seconds), elapsed(end))
        for box, end in zip(plan.boxes, _ends(plan), strict=True)
    ]
    return columns([("", "box", "ends at"), *rows], right=frozenset((1, 2)))


def _ends(plan: Plan) -> list[float]:
    """When each box ends, of the boxes as they are shown."""
    return [*accumulate(60.0 * minutes_of(box.seconds) for box in plan.boxes)]


def _where_it_ends(state: State, plan: Plan) -> str:
    ends = _ends(plan)[-1]
    spare = between(ends, state.deadline)
    said = f"{spare} to spare" if ends <= state.deadline else f"short by {spare}"
    return f"At pace {PRIOR_PACE:g} it ends at {elapsed(ends)}: {said}."


def _phase(state: State, phase: Phase, *, everything: bool) -> list[str]:
    lines = [phase.title, *_items(gate_rows(state, phase.id))]
    rows = state.rows_of(phase.id)
    more = grouped(row for row in rows if not row.essential and row.applies is not False)
    if everything and more:
        lines += ["  More checks", *_items(more)]
    elif more:
        lines.append(f"  + {count(len(more), 'more check')} {_SHOWS_ALL}")
    return lines


def _items(gates: Sequence[GateRow]) -> list[str]:
    """Each item with its subjects, below it what decides whether it is needed."""
    rows = []
    for gate in gates:
        mark = _ASKED if any(row.applies is None for row in gate.cells) else _OPEN
        subjects = ", ".join(row.title for row in gate.cells if row.subject)
        words = f"{gate.item.statement} ({subjects})" if subjects else gate.item.statement
        rows.append((mark, str(gate.item.stage), str(gate.item.severity), words))
    listed = zip(columns(rows), gates, strict=True)
    return [told for line, gate in listed for told in (line, *_questions(gate.cells))]


def _questions(cells: Sequence[Row]) -> list[str]:
    """What decides whether the item is needed, once for each subject where it is not known."""
    found: dict[str, list[str]] = {}
    for row in cells:
        if row.applies is None and row.question is not None:
            found.setdefault(find_fact(row.question).question, []).append(row.title)
    return [
        f"       {question} ({', '.join(titles)})" if any(titles) else f"       {question}"
        for question, titles in found.items()
    ]


def _closing(state: State, *, everything: bool) -> list[str]:
    closing = state.setup.closing
    head = f"{closing.title}: {count(len(closing.items), 'step')}, {duration(60 * closing.minutes)}"
    if not everything:
        return [f"{head} {_SHOWS_ALL}"]
    rows = [(str(item.step), duration(60 * item.minutes), item.statement) for item in closing.items]
    return [head, *columns(rows, right=frozenset((0, 1)))]
