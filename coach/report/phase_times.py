"""Planned against actual, phase by phase, and why the two differ: only what the journal shows."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from coach.sprint.durations import against, apart, between, duration, elapsed, minutes_of
from coach.sprint.events.calculations import PartDrawn
from coach.sprint.events.event import Stamped
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.events.run import Interrupted, Resumed
from coach.sprint.fold import begin
from coach.sprint.pace.plan import CHOOSING, PRIOR_PACE, Box, Plan, plan_of
from coach.sprint.pace.work import drawing_seconds, whole_of
from coach.sprint.setup import Setup
from coach.sprint.state import State
from phases.kit.grammar import are, count, listed, sentences, times, was
from phases.kit.items import CLOSING_ID

HARDLY = 120.0
HARDLY_SHARE = 0.1
"""A box and what was used of it hardly differ by less than two minutes or a tenth of the box."""

SILENCE = 20 * 60.0
"""Seconds without an entry that are worth naming where a box was overrun."""

_MOST_REASONS = 3

Span = tuple[float, float]
"""From and to, in elapsed seconds."""


@dataclass(frozen=True, slots=True)
class Planned:
    """The plan as it was at the start."""

    plan: Plan
    spans: Mapping[str, Span]
    """Of each part, one after the other, its box in whole minutes as it is shown; the closing list
    ends at the cut-off."""
    deadline: float
    """The cut-off as it was then."""


@dataclass(frozen=True, slots=True)
class Away:
    """Time that was no work: the coach was closed, or something else was going on."""

    since: float
    to: float
    why: str
    """ "coach closed" or "interrupted"."""

    @property
    def seconds(self) -> float:
        return apart(self.since, self.to)


@dataclass(frozen=True, slots=True)
class PhaseActual:
    """A phase, choosing parts or the closing list: its box, and the time that went into it."""

    box: Box
    planned: Span
    elsewhere: float
    """Of the seconds spent in it, those that went into items of other phases."""
    stretches: tuple[Span, ...]
    """When it was worked in: without the time that was no work."""
    entered: int
    """How often."""
    silences: tuple[Span, ...]
    """Long times without an entry: nobody knows what they went into."""
    signed_off: bool
    drawn_before: bool
    """Drawn before the sprint was joined."""
    why: str = ""
    """Why box and use differ, in sentences; "" where they hardly do."""

    @property
    def phase(self) -> str:
        return self.box.phase

    @property
    def name(self) -> str:
        return self.box.name

    @property
    def used(self) -> float:
        """Seconds spent in it, as a reader adds them up: of its stretches as they are shown."""
        shown = 60.0 * sum(minutes_of(to) - minutes_of(since) for since, to in self.stretches)
        return shown or sum(to - since for since, to in self.stretches)

    @property
    def over(self) -> float:
        """Seconds over the box; negative under it."""
        return self.used - self.box.seconds

    @property
    def silent(self) -> float:
        return sum(apart(*silence) for silence in self.silences)

    @property
    def against_box(self) -> str:
        """ "+14 min", "never entered"."""
        if self.stretches:
            return against(self.used, self.box.seconds)
        return "drawn before" if self.drawn_before else "never entered"

    @property
    def in_a_box(self) -> str:
        """ "layout took 52 min in a box of 38 min"."""
        return f"{self.name} took {duration(self.used)} in a box of {duration(self.box.seconds)}"


def planned_of(setup: Setup) -> Planned:
    """The plan before anything happened."""
    plan = plan_of(begin(setup))
    spans, end = {}, 0.0
    for box in plan.boxes:
        takes = 60.0 * minutes_of(box.seconds)
        end = setup.deadline if box.phase == CLOSING_ID else end + takes
        spans[box.phase] = (max(end - takes, 0.0), end)
    return Planned(plan, spans, setup.deadline)


def away_in(counted: Iterable[Stamped]) -> tuple[Away, ...]:
    """When the coach was closed, and what was taken out as interrupted, in order."""
    found = []
    for one in counted:
        if isinstance(one.event, Resumed) and one.event.gap > 0:
            found.append(Away(max(one.t - one.event.gap, 0.0), one.t, "coach closed"))
        if isinstance(one.event, Interrupted) and 0 <= one.event.since < one.t:
            found.append(Away(one.event.since, one.t, "interrupted"))
    return tuple(sorted(found, key=lambda away: away.since))


def phases_of(
    state: State, counted: Sequence[Stamped], away: Sequence[Away], planned: Planned
) -> tuple[PhaseActual, ...]:
    """Choosing parts, the seven phases, the closing list."""
    entered = _entered(state)
    own = sorted(one.t for one in counted if one.by)
    found = []
    for box in planned.plan.boxes:
        stretches = tuple(
            piece for stretch in entered.get(box.phase, ()) for piece in _without(stretch, away)
        )
        one = PhaseActual(
            box=box,
            planned=planned.spans[box.phase],
            elsewhere=state.elsewhere.get(box.phase, 0.0),
            stretches=stretches,
            entered=len(entered.get(box.phase, ())),
            silences=tuple(_silences(own, box, stretches)),
            signed_off=box.phase in state.signed_off,
            drawn_before=box.phase in state.drawn_before,
        )
        found.append(replace(one, why=_why(state, counted, one)))
    return tuple(found)


def _entered(state: State) -> dict[str, list[Span]]:
    """From entering each phase to leaving it; two times that touch are one. The last may be
    empty: a phase that was entered just now is begun."""
    end = state.t if state.ended_at is None else state.ended_at
    found: dict[str, list[Span]] = {}
    last = len(state.stretches) - 1
    for number, ((phase, start), (_, stop)) in enumerate(pairwise((*state.stretches, ("", end)))):
        own = found.setdefault(phase, [])
        if own and own[-1][1] == start:
            own[-1] = (own[-1][0], max(stop, start))
        elif stop > start or number == last:
            own.append((start, max(stop, start)))
    return found


def _without(stretch: Span, away: Iterable[Away]) -> Iterator[Span]:
    """What is left of a time without what was no work."""
    start, stop = stretch
    for one in away:
        if start < one.to and one.since < stop:
            if start < one.since:
                yield start, one.since
            start = min(one.to, stop)
    if start < stop or stretch[0] == stretch[1]:
        yield start, stop


def _silences(own: Sequence[float], box: Box, stretches: Iterable[Span]) -> Iterator[Span]:
    """own: the moments of the person's entries, in order."""
    least = max(SILENCE, box.seconds / 2)
    for start, stop in stretches:
        moments = [start, *own[bisect_right(own, start) : bisect_left(own, stop)], stop]
        yield from (pair for pair in pairwise(moments) if pair[1] - pair[0] >= least)


# ---- why -------------------------------------------------------------------------------------


def _why(state: State, counted: Sequence[Stamped], one: PhaseActual) -> str:
    """In sentences with numbers; empty where the two hardly differ."""
    if one.drawn_before and one.used < one.box.seconds / 2:
        return "Drawn before the sprint was joined."
    if not one.stretches:
        never = "Never entered." if state.ended else "Not begun."
        return never if one.box.seconds else ""
    if abs(one.over) < max(HARDLY, HARDLY_SHARE * one.box.seconds):
        return ""
    reasons = _over(state, counted, one) if one.over > 0 else _under(state, one)
    found = [reason for reason in reasons if reason][:_MOST_REASONS]
    return sentences(*found) or "The journal does not show why."


def _over(state: State, counted: Sequence[Stamped], one: PhaseActual) -> Iterator[str]:
    if one.silences:
        since, to = max(one.silences, key=lambda pair: pair[1] - pair[0])
        yield f"from {elapsed(since)} on nothing was entered for {between(since, to)}"
    yield _pace(state, one)
    if one.elsewhere >= HARDLY:
        yield f"{duration(one.elsewhere)} went into items of other phases"
    yield _again(counted, one)
    if one.entered > 1:
        yield f"it was entered {times(one.entered)}"


def _under(state: State, one: PhaseActual) -> list[str]:
    found = [reason for reason in (_left_open(state, one), _pace(state, one)) if reason]
    if (titles := dropped(state)) and not found and one.phase not in (CHOOSING, CLOSING_ID):
        found.append(f"dropped: {listed(titles)}")
    return found


def dropped(state: State) -> list[str]:
    """The features that were dropped, in words."""
    return [f.title or f.id for f in state.setup.brief.features if f.id in state.dropped]


def _pace(state: State, one: PhaseActual) -> str:
    """Drawing against its estimate at pace 1; the plan has its own pace in it. What a long silence
    went into nobody knows: it is no drawing."""
    if one.phase == CLOSING_ID:
        return ""
    what, expected, spent = "drawing", 0.0, one.used
    if one.phase == CHOOSING:
        what, expected = "choosing", one.box.seconds / PRIOR_PACE
    else:
        expected = whole_of(state, one.phase).expected
        spent = min(drawing_seconds(state, state.t, one.phase), one.used)
    spent -= one.silent
    if expected <= 0 or spent <= 0 or (one.over > 0) != (spent > PRIOR_PACE * expected):
        return ""
    return (
        f"{what} took {duration(spent)}, {spent / expected:.1f} times its estimate; "
        f"the plan had {PRIOR_PACE:g} times"
    )


def _left_open(state: State, one: PhaseActual) -> str:
    """Essentials, or lines of the closing list, that were left open: work that was not done."""
    closing = one.phase == CLOSING_ID
    rows = [
        row
        for row in state.rows_of(one.phase)
        if (row.essential or closing) and row.applies is not False
    ]
    still = sum(not row.closed for row in rows)
    of = count(len(rows), "line" if closing else "essential")
    return f"{still} of {of} {are(still)} open" if still else ""


def _again(counted: Sequence[Stamped], one: PhaseActual) -> str:
    """What was done here a second time: parts whose value had changed, items opened again."""
    drawn: set[tuple[str, str]] = set()
    opened: set[str] = set()
    closed_again: set[str] = set()
    again = 0
    begins = [start for start, _ in one.stretches]
    for stamped in counted:
        at = bisect_left(begins, stamped.t) - 1  # the last stretch that began before it
        here = at >= 0 and stamped.t <= one.stretches[at][1]
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
    words = [f"{count(again, 'part')} {was(again)} drawn again"] if again else []
    if closed_again:
        words.append(f"{count(len(closed_again), 'item')} had to be closed again")
    return " and ".join(words)
