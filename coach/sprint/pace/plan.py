"""The plan: time boxes from drawing work, scaled to the brief, and where the plan ends.

Time goes into drawing, not into ticking. A phase's box is its expected drawing work at the
pace assumed, plus the seconds of its walk. The closing list and the walks take no pace, and
are never shrunk: a plan that does not fit says by how many minutes.

Expected drawing work of three points: (o + 4 m + p) / 6, the mean of a beta-PERT
(Anderson, Sweeney, Williams, An Introduction to Management Science, chapter 9).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coach.sprint.brief.document import Brief, Feature
from coach.sprint.gates.gates import closing_seconds, gate_rows, skipped_in
from coach.sprint.state import State
from phases.kit.items import CLOSING_ID, REFERENCE_BOARD, Drawing, Size, Stage

PRIOR_PACE = 1.3
"""How much longer drawing takes than people plan, before anything is known of this person.

Our own estimate; Buehler, Griffin and Ross, J. Pers. Soc. Psychol. 67 (1994) 366-381, found
1.64 (55.5 days against 33.9) for work of weeks.
"""

CHOOSING = ""
"""The part of the plan before the first phase: choosing parts."""

CHOOSING_MINUTES = 5.0
"""Expected minutes for choosing parts for the reference board, at pace 1."""


@dataclass(frozen=True, slots=True)
class Box:
    """The time box of one phase, of choosing parts ("") or of the closing list; seconds.

    drawing: expected, pace included. walk: seconds to confirm its gate.
    """

    phase: str
    name: str
    short: str
    drawing: float
    walk: float

    @property
    def seconds(self) -> float:
        return self.drawing + self.walk


@dataclass(frozen=True, slots=True)
class Plan:
    boxes: tuple[Box, ...]

    @property
    def seconds(self) -> float:
        return sum(box.seconds for box in self.boxes)

    def box(self, phase: str) -> Box:
        return next(box for box in self.boxes if box.phase == phase)


def sizes(state: State) -> Mapping[Size, float]:
    """What the brief counts, as the board stands now.

    Subjects of a dropped feature that states its minutes still count: those minutes go instead.
    """
    brief: Brief = state.setup.brief
    stated = {s for f in _dropped_with_minutes(state) for s in f.subjects}
    kinds = [s.kind for s in state.subjects.values()]
    kinds += [s.kind for s in brief.subjects() if s.id in stated - set(state.subjects)]
    return {
        "parts": float(brief.board.parts),
        "rails": float(kinds.count("rail")),
        "interfaces": float(kinds.count("bus")),
        "layers": float(state.knowledge.get("layers") or brief.board.layers),
    }


def _dropped_with_minutes(state: State) -> list[Feature]:
    return [f for f in state.setup.brief.features if f.id in state.dropped and f.minutes]


def _kept_share(state: State, by: Mapping[Size, float]) -> float:
    """The share of the drawing work that is left after features were dropped."""
    whole = sum(expected_minutes(phase.drawing, by) for phase in state.setup.phases)
    gone = sum(f.minutes or 0.0 for f in _dropped_with_minutes(state))
    return max(1 - gone / whole, 0.0)


def expected_minutes(drawing: Drawing, by: Mapping[Size, float]) -> float:
    """Expected drawing work in minutes at pace 1 for a board of these sizes."""
    mean = (drawing.optimistic + 4 * drawing.likely + drawing.pessimistic) / 6
    return mean * drawing.factor(by)


def plan_of(state: State, pace: float = PRIOR_PACE) -> Plan:
    """The time boxes of this sprint."""
    by = sizes(state)
    chosen = state.knowledge.get("parts_chosen") is True
    choosing = CHOOSING_MINUTES * by["parts"] / REFERENCE_BOARD["parts"]
    boxes = [
        Box(
            CHOOSING,
            "choosing parts",
            "prt",
            0.0 if chosen else choosing * 60 * pace,
            0.0,
        )
    ]
    kept = _kept_share(state, by)
    for phase in state.setup.phases:
        walk = sum(row.item.confirm_s for gate in gate_rows(state, phase.id) for row in gate.cells)
        drawing = expected_minutes(phase.drawing, by) * 60 * pace * kept
        boxes.append(Box(phase.id, phase.name, phase.short, drawing, walk))
    closing = sum(i.minutes for i in state.setup.closing.items) * 60
    boxes.append(Box(CLOSING_ID, "closing list", "end", 0.0, closing))
    return Plan(tuple(boxes))


def planned_ends(plan: Plan) -> tuple[float, ...]:
    """Elapsed seconds at which each box of a plan was to end, the sprint begun at zero."""
    ends, at = [], 0.0
    for box in plan.boxes:
        at += box.seconds
        ends.append(at)
    return tuple(ends)


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the sprint stands at one moment, in seconds.

    remaining: what is still to do by the plan. ends: elapsed time at which that is done.
    spare: how long before the cut-off that is; negative where the plan is short.
    phases: what is left of each box. overrun: by how much the present box is overrun.
    """

    t: float
    left: float
    remaining: float
    phases: Mapping[str, float]
    overrun: float

    @property
    def ends(self) -> float:
        return self.t + self.remaining

    @property
    def spare(self) -> float:
        return self.left - self.remaining


def done(state: State, phase: str) -> bool:
    """Whether a phase's drawing counts as done: signed off, joined late, or left with its gate
    closed as far as it can be seen."""
    if phase in state.signed_off or phase in state.drawn_before:
        return True
    return phase in state.exited and phase != state.phase and _open_share(state, phase) == 0


def _open_share(state: State, phase: str) -> float:
    """The share of a gate that is open, of the rows whose stage is reached; 1 without a gate.

    Where none of them is on the schematic, the work itself lies at stages that are still to come.
    """
    gate = gate_rows(state, phase)
    on_schematic = any(row.item.stage == Stage.SCHEMATIC for row in gate)
    counted = [row for row in gate if not on_schematic or state.reached(row.cells[0])]
    return sum(bool(row.open_cells) for row in counted) / len(counted) if counted else 1.0


def progress_of(state: State, t: float, plan: Plan | None = None) -> Progress:
    """Remaining boxes, skipped items included, and the closing list, against the clock.

    What is being worked on counts for at least what its open gate still takes, so that an
    overrun box does not look finished.
    """
    plan = plan or plan_of(state)
    phases: dict[str, float] = {}
    overrun = 0.0
    for box in plan.boxes:
        phases[box.phase] = _left_of(state, t, box)
        if box.phase == state.phase and not state.ended:
            overrun = max(used_of(state, t, box.phase) - box.seconds, 0.0)
    remaining = 0.0 if state.ended else sum(phases.values())
    return Progress(t, state.deadline - t, remaining, phases, overrun)


def used_of(state: State, t: float, phase: str) -> float:
    """Seconds spent in a phase up to now."""
    running = max(t - state.t, 0.0) if phase == state.phase else 0.0
    return state.used.get(phase, 0.0) + running


def _left_of(state: State, t: float, box: Box) -> float:
    if box.phase == CLOSING_ID:
        return sum(closing_seconds(state))
    if box.phase == CHOOSING:
        return 0.0 if state.phase else max(box.seconds - used_of(state, t, CHOOSING), 0.0)
    if done(state, box.phase):
        return 0.0
    spare = max(box.seconds - used_of(state, t, box.phase), 0.0)
    if box.phase in state.exited and box.phase != state.phase:
        # Going to another phase is no work and must not move the end of the plan. Only where the
        # box is used up do skipped items count by themselves, and never for more than the box.
        return spare or min(_skipped_seconds(state, box.phase), box.seconds)
    if box.phase == state.phase:
        still = sum(
            row.item.confirm_s
            for gate in gate_rows(state, box.phase)
            for row in gate.open_cells
            if state.reached(row)
        )
        return max(spare, still)
    return box.seconds


def _skipped_seconds(state: State, phase: str) -> float:
    return sum(60 * row.item.left_out_min for row in skipped_in(state, phase))
