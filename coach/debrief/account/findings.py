"""What came after production: faults that were found late, with what would have caught them, and
what the bench measured."""

from __future__ import annotations

from itertools import pairwise

from coach.debrief.account.data import FindingTold, MeasuredTold
from coach.debrief.account.soundness import number
from coach.history.read_sprint import SprintRead
from coach.sprint.events.afterwards import FindingNoted, PointMeasured
from coach.sprint.events.board import FactSet
from coach.sprint.events.event import Stamped
from coach.sprint.events.items import ItemMet
from coach.sprint.naming import Naming
from coach.sprint.rules.proof import calculations_for
from coach.sprint.state import MET, NOT_HERE, REOPENED, WAIVED, Row, State
from phases.kit.expected import Expected
from phases.kit.grammar import clause, listed
from phases.kit.items import Evidence

_BURST = 0.5
"""An item closed in less than this share of the seconds it takes was hardly looked at."""


def findings_told(read: SprintRead, whole: State) -> tuple[FindingTold, ...]:
    """The late findings in their order. whole: the state with its sound records alone."""
    teller = Naming(read.setup)
    found = []
    for one in read.state.findings.values():
        found.append(
            FindingTold(
                number=one.number, fault=one.fault, board=one.board, minutes=one.minutes,
                bodge=one.bodge, item=one.item,
                let_through=clause(teller.item(one.item)) if one.item else "",
                would_catch=_would_catch(read, whole, one), made_item=_made(read, one),
            )
        )  # fmt: skip
    return tuple(found)


def _made(read: SprintRead, one: FindingNoted) -> str:
    made = read.state.made_items.get(one.number)
    return made.item if made else ""


# ---- what would have caught it -----------------------------------------------------------------


def _would_catch(read: SprintRead, whole: State, one: FindingNoted) -> str:
    """The evidence that would have shown the fault in time, in words."""
    if not one.item:
        if made := _made(read, one):
            return f"No item asked for it then; {made} asks for it from now on."
        return f"No item asks for it: coach finding with --as-item {one.number} makes one."
    row = whole.by_key.get(one.item)
    if row is None:
        return "The item it was put down to is not of this sprint."
    if row.status == NOT_HERE:
        return "It was taken as not on this board: its question, asked once more, would have."
    if row.status == WAIVED:
        reason = row.state.reason if row.state else ""
        return f"It was waived ({clause(reason)}); confirming it costs {row.item.confirm_s:g} s."
    if row.status != MET:
        because = f" ({clause(row.state.because)})" if row.status == REOPENED and row.state else ""
        way = "reopened and not closed again" if row.status == REOPENED else "open at the end"
        return f"It was {way}{because}; confirming it costs {row.item.confirm_s:g} s."
    return _by_better_evidence(read, whole, row)


def _by_better_evidence(read: SprintRead, whole: State, row: Row) -> str:
    assert row.state is not None
    evidence, allowed = row.state.evidence, row.item.met_by
    if evidence == Evidence.CALCULATED:
        return _inputs(whole, row)
    if evidence == Evidence.DATA_SHEET:
        other = " or a calculation" if Evidence.CALCULATED in allowed else ""
        page = f" ({row.state.page})" if row.state.page else ""
        return (
            f"It was met by the data sheet{page}: the drawing held against that page"
            f"{other} would have caught it."
        )
    if evidence == Evidence.MEASURED:
        figure = f" as {row.state.figure}" if row.state.figure else ""
        return f"It was measured{figure}: the figure held against its limit would have caught it."
    better = {
        Evidence.CALCULATED: "a calculation", Evidence.DATA_SHEET: "its data sheet page",
        Evidence.MEASURED: "a measured figure",
    }  # fmt: skip
    others = [words for kind, words in better.items() if kind in allowed]
    hasty = _hasty(read, row)
    if others:
        return f"It was met by looking{hasty}: {' or '.join(others)} would have caught it."
    return (
        f"It was met by looking{hasty}, and nothing else meets it: looking for this very fault "
        f"costs {row.item.confirm_s:g} s."
    )


def _inputs(whole: State, row: Row) -> str:
    """What a calculation was fed with that nobody had given: that is what to hold against it."""
    defaults = []
    for saved in calculations_for(whole, row):
        for name, entry in saved.record.inputs.items():
            if entry.origin == "default" and entry.text:
                defaults.append(f"{name} {entry.text}")
    rest = f": {listed(defaults)} {'was a default' if len(defaults) == 1 else 'were defaults'}"
    return (
        "It was met by calculation: the inputs of its record held against the board would have "
        f"caught it{rest if defaults else ''}."
    )


def _hasty(read: SprintRead, row: Row) -> str:
    """That it was closed quicker than one can look; empty where it was not."""
    own = [s for s in read.counted if s.by]
    last: tuple[Stamped, Stamped] | None = None
    for before, after in pairwise(own):
        event = after.event
        if isinstance(event, ItemMet) and event.item == row.key:
            last = (before, after)
    if last is None or isinstance(last[0].event, FactSet):
        return ""
    seconds = last[1].t - last[0].t
    if not 0 <= seconds < _BURST * row.item.confirm_s:
        return ""
    return f", {seconds:.0f} s after the entry before, where it takes {row.item.confirm_s:g} s"


# ---- measured ----------------------------------------------------------------------------------


def measured_told(read: SprintRead) -> tuple[MeasuredTold, ...]:
    """Readings of the bench in the words and units of the bring-up sheet, those outside first,
    board by board."""
    found = [_measured(one) for one in read.state.measured.values()]
    return tuple(
        sorted(found, key=lambda one: (one.verdict != "outside", len(one.board), one.board))
    )


def _measured(one: PointMeasured) -> MeasuredTold:
    expected = Expected(low=number(one.low), high=number(one.high), unit=one.unit)
    return MeasuredTold(one.board, one.title, one.text, expected.window, one.verdict)
