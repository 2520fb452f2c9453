"""A plan as text: the boxes with where they end, then the items phase by phase."""

from __future__ import annotations

from collections.abc import Sequence

from coach.cli.columns import columns
from coach.sprint.board import GateRow, gate_rows, grouped
from coach.sprint.cut_off import after
from coach.sprint.plan import PRIOR_PACE, Plan, course_of, plan_of
from coach.sprint.state import Row, State
from phases.kit.facts import find_fact
from phases.kit.items import Phase

_OPEN, _ASKED = "-", "?"


def plan_lines(state: State, *, everything: bool = False, house: str = "") -> list[str]:
    """The whole plan. everything: more checks and the closing list one by one. house: how many
    house rules are among the items, and where they come from."""
    plan = plan_of(state)
    told = [f"{house}."] if house else []
    lines = [state.setup.brief.title, _cut_off(state), *told, "", *_boxes(state, plan), ""]
    lines += [_where_it_ends(state, plan), f"{_OPEN} needed, {_ASKED} depends on the answer"]
    for phase in state.setup.phases:
        lines += ["", *_phase(state, phase, everything=everything)]
    return [*lines, "", *_closing(state, everything=everything)]


def _cut_off(state: State) -> str:
    setup = state.setup
    reserve = setup.brief.deadline.reserve
    if setup.at_an_instant:
        at = after(setup.started, setup.deadline)
        when = f"Cut-off {at:%Y-%m-%d %H:%M}, {setup.deadline / 60:.0f} min from now"
    else:
        when = f"Cut-off {setup.deadline / 60:.0f} min from the start"
    return f"{when}; the last {reserve} min are the reserve."


def _boxes(state: State, plan: Plan) -> list[str]:
    rows = [("", "min", "ends at")]
    passed = 0.0
    for box in plan.boxes:
        passed += box.seconds
        rows.append((box.name, f"{box.seconds / 60:.0f}", f"{passed / 60:.0f}"))
    return columns(rows, right=frozenset((1, 2)))


def _where_it_ends(state: State, plan: Plan) -> str:
    course = course_of(state, 0.0, plan)
    spare = round(course.spare / 60)
    ends = f"At pace {PRIOR_PACE:g} it ends at {course.ends / 60:.0f} min"
    return f"{ends}: {spare} min to spare." if spare >= 0 else f"{ends}: short by {-spare} min."


def _phase(state: State, phase: Phase, *, everything: bool) -> list[str]:
    lines = [phase.title]
    lines += _items(gate_rows(state, phase.id))
    further = grouped(
        tuple(r for r in state.rows_of(phase.id) if not r.essential and r.applies is not False)
    )
    if everything and further:
        lines += ["  More checks", *_items(further)]
    elif further:
        lines.append(f"  + {len(further)} more checks (--all shows them)")
    return lines


def _items(gates: Sequence[GateRow]) -> list[str]:
    rows = [(_mark(g), str(g.item.stage), str(g.item.severity), _words(g)) for g in gates]
    lines = columns(rows)
    asked = []
    for line, gate in zip(lines, gates, strict=True):
        asked += [line, *(f"       {question}" for question in _questions(gate.cells))]
    return asked


def _mark(gate: GateRow) -> str:
    return _ASKED if any(row.applies is None for row in gate.cells) else _OPEN


def _words(gate: GateRow) -> str:
    subjects = ", ".join(row.title for row in gate.cells if row.subject)
    return f"{gate.item.statement} ({subjects})" if subjects else gate.item.statement


def _questions(cells: Sequence[Row]) -> list[str]:
    """What decides whether the item is needed, once for each subject where it is not known."""
    found: dict[str, list[str]] = {}
    for row in cells:
        if row.applies is None and row.question is not None:
            found.setdefault(find_fact(row.question).question, []).append(row.title)
    return [
        f"{question} ({', '.join(titles)})" if any(titles) else question
        for question, titles in found.items()
    ]


def _closing(state: State, *, everything: bool) -> list[str]:
    closing = state.setup.closing
    head = f"{closing.title}: {len(closing.items)} steps, {closing.minutes:.0f} min"
    if not everything:
        return [f"{head} (--all shows them)"]
    rows = [(str(item.step), f"{item.minutes:g} min", item.statement) for item in closing.items]
    return [head, *columns(rows, right=frozenset((0, 1)))]
