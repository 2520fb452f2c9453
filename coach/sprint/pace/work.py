"""What is left to do, in pieces, as a state shows it.

- Drawing work of each phase that is not drawn: three points, scaled to the board, taken at the
  person's pace. Dropped features and further items set aside take their share off it.
- Essentials that were skipped, and the closing list, with their own minutes; walks with their
  seconds. These take no pace.
"Everything" has the further items besides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from coach.sprint.board import gate_rows, skipped
from coach.sprint.brief.document import Feature
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.plan import CHOOSING, CHOOSING_MINUTES, done, used_of
from coach.sprint.state import MET, WAIVED, Row, State
from phases.kit.items import CLOSING_ID, REFERENCE_BOARD, Drawing, Place, Size

FURTHER_SHARE = 0.2
"""The part of a phase's drawing that goes into its further items. Our own estimate."""

PARTS_OF_A_FEATURE = 0.06
"""The share of the parts that goes with an optional feature; as in the plan."""

WORKED = 0.5
"""A phase left behind counts as drawn when half of its gate is closed, or half its expected time
was spent in it; less was a look into it, and its work is to come."""

_OWN = (0.5, 1.0, 1.5)  # spread of an item's own minutes: our own estimate
_CLOSING = (0.7, 1.0, 1.3)  # of the whole list, because one person does all of it


NOTHING = ThreePoint(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Piece:
    """The drawing work of one phase, or of choosing parts (""), that is not done.

    whole: seconds of all of it at pace 1, nothing dropped. keep: the share that is not dropped or
    set aside. spent: seconds that went into it so far. shown: the share its closed items show.
    now: it is being worked on.
    """

    phase: str
    whole: ThreePoint
    keep: float = 1.0
    spent: float = 0.0
    shown: float = 0.0
    now: bool = False

    def expected(self, pace: float) -> float:
        """Expected seconds that are left at a pace, by the mean alone; see `finishing`."""
        whole = self.whole.expected * pace
        rest = max(whole - self.spent, 0.0)
        return self.keep * (1 - self.shown) * (rest + self.shown * whole)


@dataclass(frozen=True, slots=True)
class Work:
    """All that is left. drawing: takes the person's pace. skipped, closing: their own minutes in
    seconds. walks, further_walks: seconds to confirm essentials, and further items. further: own
    minutes, in seconds, of further items that were left behind.
    """

    drawing: tuple[Piece, ...] = ()
    skipped: tuple[ThreePoint, ...] = ()
    closing: ThreePoint = NOTHING
    walks: float = 0.0
    further: tuple[ThreePoint, ...] = ()
    further_walks: float = 0.0

    def piece(self, phase: str) -> Piece | None:
        return next((piece for piece in self.drawing if piece.phase == phase), None)

    @property
    def closing_seconds(self) -> float:
        return self.closing.expected

    @property
    def skipped_seconds(self) -> float:
        return sum(one.expected for one in self.skipped)


def work_of(state: State, t: float) -> Work:
    """What is left at elapsed time `t`; nothing after the end."""
    if state.ended:
        return Work()
    passed = {row.key for row in behind(state)}
    ahead = {phase.id for phase in state.setup.phases if not was_drawn(state, t, phase.id)}
    rows = [r for r in state.rows if r.item.phase != CLOSING_ID and not r.closed and not r.aside]
    own: list[ThreePoint] = []
    walks = 0.0
    further: list[ThreePoint] = []
    further_walks = 0.0
    for row in rows:
        if row.essential and row.key in passed and row.item.phase not in ahead:
            own.append(_own_minutes(row))
        elif row.essential:
            walks += row.item.confirm_s
        elif row.item.phase in ahead or row.item.phase == state.phase or not state.reached(row):
            further_walks += row.item.confirm_s
        elif row.applies:
            further.append(_own_minutes(row))
    return Work(
        tuple(_drawing(state, t)), tuple(own), _closing_list(state, t), walks,
        tuple(further), further_walks,
    )  # fmt: skip


def behind(state: State) -> list[Row]:
    """Skipped essentials whose place is passed, worst first. Those of the place one works at come
    with the next walk; for what is on the sheet, leaving the phase is enough."""
    last = max(Place(place) for place in state.places)
    return [
        row
        for row in skipped(state)
        if row.item.place == Place.SHEET or row.item.place < last or last == Place.FILES
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
    minutes = {item.id: item.minutes for item in state.setup.closing.items}
    still = [60 * minutes[row.item.id] for row in state.rows_of(CLOSING_ID) if not row.closed]
    left = sum(still)
    if state.phase == CLOSING_ID and still:
        since = used_of(state, t, CLOSING_ID) - state.ticked.get(CLOSING_ID, 0.0)
        left -= min(max(since, 0.0), still[0])
    return ThreePoint(*_CLOSING).times(left)


# ---- drawing work ----------------------------------------------------------------------------


def _drawing(state: State, t: float) -> Iterable[Piece]:
    if not state.phase and state.knowledge.get("parts_chosen") is not True:
        yield Piece(CHOOSING, choosing(state), spent=used_of(state, t, CHOOSING), now=True)
    for phase in state.setup.phases:
        if not was_drawn(state, t, phase.id):
            yield piece_of(state, t, phase.id)


def piece_of(state: State, t: float, phase_id: str) -> Piece:
    """The whole drawing work of a phase and how far it is, done or not."""
    return Piece(
        phase_id, whole_of(state, phase_id), keep=_kept(state, phase_id),
        spent=drawing_seconds(state, t, phase_id), shown=shown(state, phase_id),
        now=phase_id == state.phase,
    )  # fmt: skip


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
    """The share of a phase's drawing that is neither dropped nor set aside."""
    dropped = sum(
        feature_share(state, feature, phase_id)
        for feature in state.setup.brief.features
        if feature.id in state.dropped
    )
    return max(1 - dropped - aside_share(state, phase_id), 0.0)


def feature_share(state: State, feature: Feature, phase_id: str) -> float:
    """The share of a phase's drawing that goes with a feature: its own minutes over the drawing of
    the whole board, else what the board's sizes say."""
    drawing = state.setup.phase(phase_id).drawing
    if feature.minutes is not None:
        board = sum(whole_of(state, phase.id).expected for phase in state.setup.phases)
        return min(feature.minutes * 60 / board, 1.0) if board > 0 else 0.0
    now = drawing.factor(sizes(state))
    return 1 - drawing.factor(sizes(state, without=feature)) / now if now > 0 else 0.0


def aside_share(state: State, phase_id: str) -> float:
    """The share of a phase's drawing that goes with its further items set aside."""
    aside = [row for row in state.rows_of(phase_id) if row.aside and row.applies is not False]
    return further_share(state, phase_id, aside)


def further_share(state: State, phase_id: str, rows: Iterable[Row]) -> float:
    """The share of a phase's drawing that goes into these of its further items."""
    further = [r for r in state.rows_of(phase_id) if not r.essential and r.applies is not False]
    minutes = sum(row.item.left_out_min for row in further)
    theirs = sum(row.item.left_out_min for row in rows)
    return FURTHER_SHARE * theirs / minutes if minutes else 0.0


# ---- how far a phase is ----------------------------------------------------------------------


def was_drawn(state: State, t: float, phase_id: str) -> bool:
    """Whether a phase's drawing counts as done: signed off, drawn before, or worked in and left."""
    if done(state, phase_id):
        return True
    if phase_id == state.phase or phase_id not in state.left:
        return False
    expected = whole_of(state, phase_id).expected * _kept(state, phase_id)
    spent = drawing_seconds(state, t, phase_id)
    return shown(state, phase_id) >= WORKED or spent >= WORKED * expected


def counted_rows(state: State, phase_id: str) -> list[Row]:
    """The rows of a gate that show how far its phase is: those that can be seen now, unless none
    of them is on the sheet; then the work itself lies at places still to come."""
    rows = [row for gate in gate_rows(state, phase_id) for row in gate.cells]
    on_sheet = any(row.item.place == Place.SHEET for row in rows)
    return [row for row in rows if not on_sheet or state.reached(row)]


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
