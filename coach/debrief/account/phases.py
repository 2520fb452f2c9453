"""Planned against actual, phase by phase, and why the two differ: only what the journal shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from coach.debrief.account.data import PhaseTold
from coach.debrief.account.soundness import Soundness
from coach.history.read_sprint import SprintRead
from coach.sprint.board import gate_rows
from coach.sprint.durations import duration, elapsed
from coach.sprint.events.calculations import PartDrawn
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.fold import begin
from coach.sprint.pace.work import drawing_seconds, whole_of
from coach.sprint.plan import CHOOSING, PRIOR_PACE, Box, Plan, plan_of, planned_ends
from coach.sprint.state import State
from phases.kit.grammar import are, capital, count, listed, times
from phases.kit.items import CLOSING_ID

HARDLY = 120.0
HARDLY_SHARE = 0.1
"""A box and what was used of it hardly differ by less than two minutes or a tenth of the box."""

SILENCE = 20 * 60.0
"""Seconds without an entry that are worth naming where a box was overrun."""

_MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class Planned:
    """The plan as it stood at the start. spans: (from, to) of each part; the boxes follow one
    another, and the closing list ends at the cut-off. deadline: the cut-off as it was then."""

    plan: Plan
    spans: Mapping[str, tuple[float, float]]
    deadline: float

    @property
    def short(self) -> float:
        """Seconds by which the plan did not fit."""
        return self.plan.seconds - self.deadline

    @property
    def due(self) -> dict[str, float]:
        """When each part was to end."""
        return {phase: end for phase, (_, end) in self.spans.items()}


def planned_of(read: SprintRead, sound: Soundness) -> Planned:
    """The plan before anything happened."""
    plan = plan_of(begin(read.setup))
    deadline = sound.seconds(read.setup.deadline, "The cut-off")
    spans = {}
    for box, end in zip(plan.boxes, planned_ends(plan), strict=True):
        due = deadline if box.phase == CLOSING_ID else end
        spans[box.phase] = (max(due - box.seconds, 0.0), due)
    return Planned(plan, spans, deadline)


def phases_told(read: SprintRead, planned: Planned, sound: Soundness) -> tuple[PhaseTold, ...]:
    """Choosing parts, the seven phases, the closing list."""
    stretches = _stretches(read.state, sound)
    return tuple(
        _told(read, box, planned, stretches.get(box.phase, ()), sound)
        for box in planned.plan.boxes
    )  # fmt: skip


def _stretches(state: State, sound: Soundness) -> dict[str, tuple[tuple[float, float], ...]]:
    """When each phase was worked in; two stretches that touch are one. The last may be empty: a
    phase that was entered just now is begun."""
    end = state.ended_at if state.ended_at is not None else state.t
    found: dict[str, list[tuple[float, float]]] = {}
    last = len(state.stretches) - 1
    begun = (*state.stretches, ("", end))
    for number, ((phase, start), (_, stop)) in enumerate(pairwise(begun)):
        at = sound.seconds(start, "The begin of a phase")
        to = max(sound.seconds(stop, "The end of a phase"), at)
        own = found.setdefault(phase, [])
        if own and own[-1][1] == at:
            own[-1] = (own[-1][0], to)
        elif to > at or number == last:
            own.append((at, to))
    return {phase: tuple(own) for phase, own in found.items()}


def _told(
    read: SprintRead, box: Box, planned: Planned, stretches: Sequence[tuple[float, float]],
    sound: Soundness,
) -> PhaseTold:  # fmt: skip
    state = read.state
    used = sound.seconds(state.used.get(box.phase, 0.0), f"The time spent in {box.name}")
    elsewhere = sound.seconds(state.elsewhere.get(box.phase, 0.0), "The time spent elsewhere")
    told = PhaseTold(
        phase=box.phase, name=box.name, box=box.seconds, used=max(used, 0.0),
        elsewhere=elsewhere, planned=planned.spans[box.phase], stretches=tuple(stretches),
        signed_off=box.phase in state.signed_off, drawn_before=box.phase in state.drawn_before,
        why="", silences=_silences(read, box, stretches),
    )  # fmt: skip
    why = sound.section(f"Why {box.name} differs from its plan", lambda: _why(read, told), "")
    return replace(told, why=why)


# ---- why -------------------------------------------------------------------------------------


def _why(read: SprintRead, told: PhaseTold) -> str:
    """In words with numbers; empty where the two hardly differ."""
    if told.drawn_before and told.used < told.box / 2:
        return "Drawn before the sprint was joined."
    if not told.stretches:
        return _never_entered(read.state, told)
    if abs(told.over) < max(HARDLY, HARDLY_SHARE * told.box):
        return ""
    reasons = _reasons_over(read, told) if told.over > 0 else _reasons_under(read.state, told)
    if not reasons:
        return "The journal does not show why."
    return " ".join(f"{capital(reason)}." for reason in reasons[:_MOST_REASONS])


def _never_entered(state: State, told: PhaseTold) -> str:
    if not told.box:
        return ""
    if not state.ended:
        return "Not begun."
    return "Never entered."


def _reasons_over(read: SprintRead, told: PhaseTold) -> list[str]:
    state = read.state
    found = [
        _silence_words(told),
        _pace_words(state, told),
        f"{duration(told.elsewhere)} went into items of other phases"
        if told.elsewhere >= HARDLY else "",
        _again_words(read, told),
        f"it was entered {times(len(told.stretches))}" if len(told.stretches) > 1 else "",
    ]  # fmt: skip
    return [reason for reason in found if reason]


def _reasons_under(state: State, told: PhaseTold) -> list[str]:
    found = [reason for reason in (_open_words(state, told), _pace_words(state, told)) if reason]
    dropped = _dropped_words(state)
    return found or ([dropped] if dropped and told.phase not in (CHOOSING, CLOSING_ID) else [])


def _pace_words(state: State, told: PhaseTold) -> str:
    """Drawing against its estimate at pace 1; the plan has its own pace in it. What a long silence
    went into nobody knows: it is no drawing."""
    if told.phase == CLOSING_ID:
        return ""
    what, expected, spent = "drawing", 0.0, told.used
    if told.phase == CHOOSING:
        what, expected = "choosing", told.box / PRIOR_PACE
    else:
        expected = whole_of(state, told.phase).expected
        spent = drawing_seconds(state, state.t, told.phase)
    spent -= told.silent
    if expected <= 0 or spent <= 0 or (told.over > 0) != (spent > PRIOR_PACE * expected):
        return ""
    return (
        f"{what} took {duration(spent)}, {spent / expected:.1f} times its estimate; "
        f"the plan had {PRIOR_PACE:g} times"
    )


def _open_words(state: State, told: PhaseTold) -> str:
    """Gate rows that were left open: work that was not done."""
    gate = gate_rows(state, told.phase)
    still = sum(bool(row.open_cells) for row in gate)
    if told.phase == CLOSING_ID:
        rows = [row for row in state.rows_of(CLOSING_ID) if row.applies is not False]
        gate_size, still = len(rows), sum(not row.closed for row in rows)
        return f"{still} of its {gate_size} lines are open" if still else ""
    if not still:
        return ""
    return f"{still} of {count(len(gate), 'gate row')} {are(still)} open"


def _dropped_words(state: State) -> str:
    if not state.dropped:
        return ""
    titles = [f.title or f.id for f in state.setup.brief.features if f.id in state.dropped]
    return f"dropped: {listed(titles)}" if titles else ""


def _again_words(read: SprintRead, told: PhaseTold) -> str:
    """What was done here a second time: parts whose value had changed, items opened again."""
    drawn: set[tuple[str, str]] = set()
    opened: set[str] = set()
    closed_again: set[str] = set()
    again = 0
    for stamped in read.counted:
        here = any(begin < stamped.t <= end for begin, end in told.stretches)
        match stamped.event:
            case PartDrawn(id=calculation, role=role):
                again += here and (calculation, role) in drawn
                drawn.add((calculation, role))
            case ItemReopened(item=key):
                opened.add(key)
            case ItemMet(item=key) | ItemWaived(item=key) if key in opened:
                opened.discard(key)
                if here:
                    closed_again.add(key)
    words = []
    if again:
        words.append(f"{count(again, 'part')} {'was' if again == 1 else 'were'} drawn again")
    if closed_again:
        words.append(f"{count(len(closed_again), 'item')} had to be closed again")
    return " and ".join(words)


def _silences(
    read: SprintRead, box: Box, stretches: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """Long times without an entry of the person's; nobody knows what they went into."""
    found: list[tuple[float, float]] = []
    for start, stop in stretches:
        moments = [start, *(s.t for s in read.counted if s.by and start < s.t < stop), stop]
        found += [
            (before, after) for before, after in pairwise(moments)
            if after - before >= max(SILENCE, box.seconds / 2)
        ]  # fmt: skip
    return tuple(found)


def _silence_words(told: PhaseTold) -> str:
    if not told.silences:
        return ""
    since, to = max(told.silences, key=lambda one: one[1] - one[0])
    return f"from {elapsed(since)} on nothing was entered for {duration(to - since)}"
