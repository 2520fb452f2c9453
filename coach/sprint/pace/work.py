"""What is left to do, in pieces, as a state shows it.

- Drawing work of each phase that is not drawn: three points, scaled to the board, taken at the
  person's pace. Dropped features and deferred more checks take their share off it. The more
  of its time is used up, the more its open essentials count instead, each by its own minutes.
- Essentials left open in a phase that is drawn, and the closing list, with their own minutes;
  walks with their seconds. These take no pace.
"Everything" has the more checks besides.

Open essentials of a phase never take longer than drawing it anew, until layout is built on it.
Which phase one is in decides nothing of this: going to another one is no work, and a forecast
that moved with that key alone could be believed neither before nor after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from coach.sprint.brief.document import Feature
from coach.sprint.gates.gates import by_severity, closing_seconds, gate_rows, skipped
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.plan import CHOOSING, CHOOSING_MINUTES, PRIOR_PACE, used_of
from coach.sprint.state import MET, WAIVED, Row, State
from phases.kit.items import CLOSING_ID, REFERENCE_BOARD, Drawing, Size, Stage

FURTHER_SHARE = 0.2
"""The part of a phase's drawing that goes into its more checks. Our own estimate."""

PARTS_OF_A_FEATURE = 0.06
"""The share of the parts that goes with an optional feature; as in the plan."""

DRAWN = 0.8
"""The share of a phase that its closed items have to show for it to count as drawn without being
signed off; what is open then is looked for item by item."""

BY_ITEMS = (0.5, DRAWN)
"""The shares between which its open items come to count for what is left of a phase, instead of
its time. Our own estimate, like the next."""

USED_UP = (0.75, 1.25)
"""The same for the time that went into a phase, over what it was expected to take."""

WORKED = 0.5
"""A phase that was left counts as worked in when half of its gate is closed, or half its expected
time was spent in it; less was a look into it."""

_LAYOUT = "layout"
_OWN = (0.5, 1.0, 1.5)  # spread of an item's own minutes: our own estimate
_CLOSING = (0.7, 1.0, 1.3)  # of the whole list, because one person does all of it


NOTHING = ThreePoint(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Open:
    """Essentials left open in a phase. own: what each takes by itself, seconds. built_on: how much
    of the layout stands on that phase, 0 to 1; the more, the less does drawing it anew do."""

    own: tuple[ThreePoint, ...] = ()
    built_on: float = 0.0

    @property
    def expected(self) -> float:
        """Expected seconds of all of them by themselves."""
        return sum(one.expected for one in self.own)

    def bound(self, anew: float) -> float:
        """Expected seconds, where drawing the phase anew takes `anew`."""
        return min(self.expected, anew + self.built_on * self.expected)


@dataclass(frozen=True, slots=True)
class PhaseWork:
    """The drawing work of one phase, or of choosing parts (""), that is not done.

    whole: seconds of all of it at pace 1, nothing dropped. keep: the share that is not dropped or
    deferred. spent: seconds that went into it so far. shown: the share its closed items show.
    open: its essentials that are not closed.
    """

    phase: str
    whole: ThreePoint
    keep: float = 1.0
    spent: float = 0.0
    shown: float = 0.0
    open: Open = Open()

    def expected(self, pace: float) -> float:
        """Expected seconds that are left at a pace, by the mean alone; see `finishing`."""
        whole = self.whole.expected * pace
        rest = max(whole - self.spent, 0.0)
        by_time = self.keep * (1 - self.shown) * (rest + self.shown * whole)
        by_items = self.weight_of_items(pace)
        if not by_items:
            return by_time
        return (1 - by_items) * by_time + by_items * self.open.bound(self.keep * whole)

    def weight_of_items(self, pace: float) -> float:
        """How much its open items count for what is left, at a pace; 0 where it was not begun, or
        nothing shows what is open."""
        takes = self.whole.expected * self.keep * pace
        if not self.open.own or not self.spent or takes <= 0:
            return 0.0
        return max(rise(self.shown, BY_ITEMS), rise(self.spent / takes, USED_UP))


def rise(value: float, between: tuple[float, float]) -> float:
    """0 up to the first of two values, 1 from the second on, straight in between."""
    first, last = between
    return min(max((value - first) / (last - first), 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """What was left open in a phase that is drawn. anew: drawing all of it, seconds at pace 1."""

    phase: str
    keys: tuple[str, ...]
    open: Open
    anew: ThreePoint

    def expected(self, pace: float) -> float:
        """Expected seconds at a pace, by the mean alone; see `finishing`."""
        return self.open.bound(self.anew.expected * pace)


@dataclass(frozen=True, slots=True)
class Work:
    """All that is left. drawing: takes the person's pace. left_open: what was left open in phases
    that are drawn. closing: its own minutes in seconds. walks, further_walks: seconds to confirm
    essentials, and more checks. further: own minutes, in seconds, of more checks that were
    left behind.
    """

    drawing: tuple[PhaseWork, ...] = ()
    left_open: tuple[LeftOpen, ...] = ()
    closing: ThreePoint = NOTHING
    walks: float = 0.0
    further: tuple[ThreePoint, ...] = ()
    further_walks: float = 0.0

    def piece(self, phase: str) -> PhaseWork | None:
        return next((piece for piece in self.drawing if piece.phase == phase), None)

    @property
    def closing_seconds(self) -> float:
        return self.closing.expected

    @property
    def left_open_count(self) -> int:
        return sum(len(one.keys) for one in self.left_open)


def work_of(state: State, t: float) -> Work:
    """What is left at elapsed time `t`; nothing after the end."""
    if state.ended:
        return Work()
    built_on = layout_begun(state, t)
    drawn = [phase for phase in state.setup.phase_ids if is_drawn(state, phase)]
    left_open = tuple(one for one in (_left_open(state, phase, built_on) for phase in drawn) if one)
    alone = {key for one in left_open for key in one.keys}
    rows = [r for r in state.rows if r.item.phase != CLOSING_ID and not r.closed and not r.deferred]
    walks = 0.0
    further: list[ThreePoint] = []
    further_walks = 0.0
    for row in rows:
        if row.essential:
            walks += 0.0 if row.key in alone else row.item.confirm_s
        elif row.item.phase not in drawn or not state.reached(row):
            further_walks += row.item.confirm_s
        elif row.applies:
            further.append(_own_minutes(row))
    return Work(
        tuple(_drawing(state, t, built_on)),
        left_open,
        _closing_list(state, t),
        walks,
        tuple(further),
        further_walks,
    )


def _left_open(state: State, phase_id: str, built_on: float) -> LeftOpen | None:
    """The essentials left open in a phase that is drawn, worst first. Those of the place one works
    at come with the next walk; what is on the sheet is left when the phase is drawn."""
    last = max(Stage(stage) for stage in state.stages)
    here = (Stage.SCHEMATIC,) if phase_id not in state.drawn_before else ()
    rows = by_severity(
        [
            row
            for row in state.rows_of(phase_id)
            if row.essential
            and not row.closed
            and state.reached(row)
            and (row.item.stage < last or row.item.stage in here or last == Stage.FILES)
        ]
    )
    if not rows:
        return None
    own = tuple(_own_minutes(row) for row in rows)
    on_it = built_on if _before_layout(state, phase_id) else 0.0
    anew = whole_of(state, phase_id).times(_kept(state, phase_id))
    return LeftOpen(phase_id, tuple(row.key for row in rows), Open(own, on_it), anew)


def layout_begun(state: State, t: float) -> float:
    """How far the layout is, 0 to 1: as much of it is to be done again with what is drawn anew."""
    if Stage.PLACEMENT not in state.stages:
        return 0.0
    expected = whole_of(state, _LAYOUT).expected * _kept(state, _LAYOUT) * PRIOR_PACE
    spent = drawing_seconds(state, t, _LAYOUT)
    by_time = min(spent / expected, 1.0) if expected > 0 else 1.0
    return 1.0 if is_drawn(state, _LAYOUT) else max(by_time, shown(state, _LAYOUT))


def _before_layout(state: State, phase_id: str) -> bool:
    ids = state.setup.phase_ids
    return ids.index(phase_id) < ids.index(_LAYOUT)


def skipped_past_stage(state: State) -> list[Row]:
    """Skipped essentials whose place is passed, worst first. Those of the place one works at come
    with the next walk; for what is on the sheet, leaving the phase is enough."""
    last = max(Stage(stage) for stage in state.stages)
    return [
        row
        for row in skipped(state)
        if row.item.stage == Stage.SCHEMATIC or row.item.stage < last or last == Stage.FILES
    ]


def left_behind_at(state: State, row: Row) -> float:
    """Elapsed time since when an open row has been left behind: when its phase was left last, or
    where nobody was in it, when the present one was entered."""
    ends = [end for (phase, _), (_, end) in pairwise(state.stretches) if phase == row.item.phase]
    return ends[-1] if ends else state.stretches[-1][1]


def _own_minutes(row: Row) -> ThreePoint:
    low, likely, high = _OWN
    return ThreePoint(low, likely, high).times(row.item.left_out_min * 60)


def _closing_list(state: State, t: float) -> ThreePoint:
    """What the closing list still takes; of the line that is being seen to, the rest."""
    still = closing_seconds(state)
    left = sum(still)
    if still:
        since = used_of(state, t, CLOSING_ID) - state.ticked.get(CLOSING_ID, 0.0)
        left -= min(max(since, 0.0), still[0])
    return ThreePoint(*_CLOSING).times(left)


# ---- drawing work ----------------------------------------------------------------------------


def _drawing(state: State, t: float, built_on: float) -> Iterable[PhaseWork]:
    chosen = _choosing_left(state, t)
    if chosen > 0:
        yield PhaseWork(CHOOSING, choosing(state), chosen, used_of(state, t, CHOOSING))
    for phase in state.setup.phases:
        if not is_drawn(state, phase.id):
            yield phase_work(state, t, phase.id, built_on)


def _choosing_left(state: State, t: float) -> float:
    """The share of choosing parts that may be left. Who goes on to a phase may still have some to
    choose; the longer they work on, the less."""
    if state.knowledge.get("parts_chosen") is True:
        return 0.0
    worked = sum(used_of(state, t, phase) for phase in {*state.used, state.phase} - {CHOOSING})
    return max(1 - worked / choosing(state).expected, 0.0)


def phase_work(state: State, t: float, phase_id: str, built_on: float = 0.0) -> PhaseWork:
    """The whole drawing work of a phase and how far it is, done or not."""
    spent = drawing_seconds(state, t, phase_id)
    rows = _open_rows(state, phase_id) if spent else ()
    on_it = built_on if rows and _before_layout(state, phase_id) else 0.0
    return PhaseWork(
        phase_id,
        whole_of(state, phase_id),
        keep=_kept(state, phase_id),
        spent=spent,
        shown=shown(state, phase_id),
        open=Open(tuple(map(_own_minutes, rows)), on_it),
    )


def _open_rows(state: State, phase_id: str) -> list[Row]:
    """The essentials of a phase that drawing it is to close, as far as it can be seen now."""
    counted = {row.key for row in counted_rows(state, phase_id)}
    return [
        row
        for row in state.rows_of(phase_id)
        if row.essential and not row.closed and (row.key in counted or state.reached(row))
    ]


def choosing(state: State) -> ThreePoint:
    """Choosing parts for this board, with the spread that the phases have."""
    likely = CHOOSING_MINUTES / 1.1 * 60 * sizes(state)["parts"] / REFERENCE_BOARD["parts"]
    return ThreePoint(0.7 * likely, likely, 1.9 * likely)


def whole_of(state: State, phase_id: str) -> ThreePoint:
    """The drawing work of a phase for this board with all its features, seconds at pace 1."""
    drawing = state.setup.phase(phase_id).drawing
    return _points(drawing).times(60 * drawing.factor(sizes(state)))


@cache
def _points_of(low: float, likely: float, high: float) -> ThreePoint:
    return ThreePoint(low, likely, high)


def _points(drawing: Drawing) -> ThreePoint:
    return _points_of(drawing.optimistic, drawing.likely, drawing.pessimistic)


def sizes(state: State, without: Feature | None = None) -> Mapping[Size, float]:
    """What the board counts with the features of its brief, dropped or not; `without` one."""
    brief = state.setup.brief
    there = dict(state.subjects)
    for feature in brief.features:
        if feature.id in state.dropped:
            there |= {s.id: s for s in brief.subjects() if s.id in feature.subjects}
    gone = set(without.subjects) if without else set()
    kinds = [subject.kind for subject in there.values() if subject.id not in gone]
    return {
        "parts": brief.board.parts * (1 - PARTS_OF_A_FEATURE * (without is not None)),
        "rails": float(kinds.count("rail")),
        "interfaces": float(kinds.count("bus")),
        "layers": float(state.knowledge.get("layers") or brief.board.layers),
    }


def _kept(state: State, phase_id: str) -> float:
    """The share of a phase's drawing that is neither dropped nor deferred."""
    dropped = sum(
        feature_share(state, feature, phase_id)
        for feature in state.setup.brief.features
        if feature.id in state.dropped
    )
    return max(1 - dropped - deferred_share(state, phase_id), 0.0)


def feature_share(state: State, feature: Feature, phase_id: str) -> float:
    """The share of a phase's drawing that goes with a feature: its own minutes over the drawing of
    the whole board, else what the board's sizes say."""
    drawing = state.setup.phase(phase_id).drawing
    if feature.minutes is not None:
        board = sum(whole_of(state, phase.id).expected for phase in state.setup.phases)
        return min(feature.minutes * 60 / board, 1.0) if board > 0 else 0.0
    now = drawing.factor(sizes(state))
    return 1 - drawing.factor(sizes(state, without=feature)) / now if now > 0 else 0.0


def deferred_share(state: State, phase_id: str) -> float:
    """The share of a phase's drawing that goes with its deferred more checks."""
    deferred = [row for row in state.rows_of(phase_id) if row.deferred and row.applies is not False]
    return further_share(state, phase_id, deferred)


def further_share(state: State, phase_id: str, rows: Iterable[Row]) -> float:
    """The share of a phase's drawing that goes into these of its more checks."""
    further = [r for r in state.rows_of(phase_id) if not r.essential and r.applies is not False]
    minutes = sum(row.item.left_out_min for row in further)
    theirs = sum(row.item.left_out_min for row in rows)
    return FURTHER_SHARE * theirs / minutes if minutes else 0.0


# ---- how far a phase is ----------------------------------------------------------------------


def is_drawn(state: State, phase_id: str) -> bool:
    """Whether a phase's drawing counts as done: signed off, drawn before, or so many of its items
    closed that the open ones are looked for one by one. Being in it or not makes no difference."""
    if phase_id in state.signed_off or phase_id in state.drawn_before:
        return True
    return shown(state, phase_id) >= DRAWN


def was_drawn(state: State, t: float, phase_id: str) -> bool:
    """Whether a phase counts as drawn for whoever looks back: it is, or was worked in and left."""
    if is_drawn(state, phase_id):
        return True
    if phase_id == state.phase or phase_id not in state.exited:
        return False
    expected = whole_of(state, phase_id).expected * _kept(state, phase_id)
    spent = drawing_seconds(state, t, phase_id)
    return shown(state, phase_id) >= WORKED or spent >= WORKED * expected


def counted_rows(state: State, phase_id: str) -> list[Row]:
    """The rows of a gate that show how far its phase is: those that can be seen now, unless none
    of them is on the schematic; then the work itself lies at stages still to come."""
    rows = [row for gate in gate_rows(state, phase_id) for row in gate.cells]
    on_schematic = any(row.item.stage == Stage.SCHEMATIC for row in rows)
    return [row for row in rows if not on_schematic or state.reached(row)]


def shown(state: State, phase_id: str) -> float:
    """The share of a phase that its closed items show, each by its own minutes."""
    rows = counted_rows(state, phase_id)
    minutes = sum(row.item.left_out_min for row in rows)
    closed = sum(row.item.left_out_min for row in rows if row.closed)
    return closed / minutes if minutes else 0.0


def drawing_seconds(state: State, t: float, phase_id: str) -> float:
    """Seconds spent in a phase, less what confirming its closed items takes, and what went into
    items of other phases."""
    confirmed = sum(
        row.item.confirm_s for row in state.rows_of(phase_id) if row.status in (MET, WAIVED)
    )
    elsewhere = state.elsewhere.get(phase_id, 0.0)
    return max(used_of(state, t, phase_id) - confirmed - elsewhere, 0.0)
