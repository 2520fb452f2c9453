"""What came after production: faults found late, with what would have caught them, and what the
bench measured; beside it what was dropped and parked."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from coach.report.account import Account
from coach.report.phase_times import dropped
from coach.report.sections import Point, Section, Table, TableRow
from coach.sprint.durations import duration
from coach.sprint.events.afterwards import AS_EXPECTED, FindingNoted, PointMeasured
from coach.sprint.events.board import FactSet
from coach.sprint.events.items import ItemMet
from coach.sprint.ledger.proof import calculations_for
from coach.sprint.state import MET, NOT_HERE, REOPENED, WAIVED, ItemState, Row, State
from phases.kit.expected import Expected
from phases.kit.grammar import clause, count, listed, sentences, was
from phases.kit.items import Evidence
from phases.kit.text import one_line

_BURST = 0.5
"""An item closed in less than this share of the seconds it takes was hardly looked at."""


# ---- late findings -----------------------------------------------------------------------------


def findings(account: Account) -> Section:
    found = account.state.findings.values()
    lost = minutes_lost(account)
    cost = f", which cost {duration(lost * 60)}" if lost else ""
    number = f"{count(len(found), 'fault')} {was(len(found))}"
    lead = f"{number} found after the sprint{cost}." if found else ""
    points = tuple(_finding(account, one) for one in found)
    return Section("findings", "Late findings", lead, points)


def _finding(account: Account, one: FindingNoted) -> Point:
    made = account.state.made_items.get(one.number)
    let_through = clause(account.names.item(one.item)) if one.item else ""
    said = sentences(
        board_words(one),
        f"let through by: {let_through}" if one.item else "",
        would_catch(account, one),
        f"now a house rule: {made.item}" if made else "",
    )
    return Point(one.fault, said, f"{one.number}", key=f"finding/{one.number}")


def minutes_lost(account: Account) -> float:
    return sum(one.minutes or 0.0 for one in account.state.findings.values())


def board_words(one: FindingNoted) -> str:
    """ "board 2, 25 min lost, reworked: 10 kΩ on the back"."""
    said = [f"board {one.board}" if one.board else "every board"]
    said += [f"{duration(one.minutes * 60)} lost"] if one.minutes else []
    said += [f"reworked: {clause(one.bodge)}"] if one.bodge else []
    return ", ".join(said)


def would_catch(account: Account, one: FindingNoted) -> str:
    """The evidence that would have shown the fault in time, in a sentence."""
    if not one.item:
        if made := account.state.made_items.get(one.number):
            return f"No item asked for it then; {made.item} does from now on."
        return f"No item asks for it: coach finding with --as-item {one.number} makes one."
    row = account.state.by_key.get(one.item)
    if row is None:
        return "The item named is not of this sprint."
    if row.status == NOT_HERE:
        return "It was taken as not on this board: asking once more would have caught it."
    if row.status == MET and row.state:
        return _better_evidence(account, row, row.state)
    said = "open at the end"
    if row.state and row.status == WAIVED:
        said = f"waived ({clause(row.state.reason)})"
    if row.state and row.status == REOPENED:
        said = f"open again ({clause(row.state.because)})"
    return f"It was {said}; confirming it takes {duration(row.item.confirm_s)}."


def _better_evidence(account: Account, row: Row, state: ItemState) -> str:
    allowed = row.item.met_by
    if state.evidence == Evidence.CALCULATED:
        defaults = _defaults(account.state, row)
        were = f" ({listed(defaults)} by default)" if defaults else ""
        return f"Closed by calculation: checking its inputs against the board{were} would do."
    if state.evidence == Evidence.DATA_SHEET:
        other = " or a calculation" if Evidence.CALCULATED in allowed else ""
        page = f", {state.page}" if state.page else ""
        return f"Closed by data sheet{page}: checking the drawing against it{other} would do."
    if state.evidence == Evidence.MEASURED:
        figure = f" as {state.figure}" if state.figure else ""
        return f"Measured{figure}: checking that against its limit would have caught it."
    better = {
        Evidence.CALCULATED: "a calculation",
        Evidence.DATA_SHEET: "its data sheet page",
        Evidence.MEASURED: "a measured figure",
    }
    others = [words for kind, words in better.items() if kind in allowed]
    closed = f"Closed by inspection{_hasty(account, row)}"
    if others:
        return f"{closed}: {' or '.join(others)} would have caught it."
    takes = f"checking for this fault takes {duration(row.item.confirm_s)}."
    return f"{closed}, the only evidence possible; {takes}"


def _defaults(state: State, row: Row) -> list[str]:
    """What its calculations were fed with that nobody had given."""
    return [
        f"{name} {entry.text}"
        for saved in calculations_for(state, row)
        for name, entry in saved.record.inputs.items()
        if entry.origin == "default" and entry.text
    ]


def _hasty(account: Account, row: Row) -> str:
    """That it was closed quicker than one can look; empty where it was not."""
    own = [one for one in account.counted if one.by]
    pairs = [
        (before, after)
        for before, after in pairwise(own)
        if isinstance(after.event, ItemMet) and after.event.item == row.key
    ]
    if not pairs or isinstance(pairs[-1][0].event, FactSet):
        return ""
    seconds = pairs[-1][1].t - pairs[-1][0].t
    if not 0 <= seconds < _BURST * row.item.confirm_s:
        return ""
    takes = duration(row.item.confirm_s)
    return f" {duration(seconds)} after the entry before, where it takes {takes}"


# ---- measured ----------------------------------------------------------------------------------


def measured(account: Account) -> Section:
    """Readings in the words and units of the bring-up sheet, those out of limits first."""
    found = _by_board(account)
    if not found:
        return Section("measured", "Measured at bring-up")
    rows = tuple(
        TableRow(
            (one.board, one.title, one.text, _expected(one) or "–", one.verdict),
            one.verdict if one.verdict == "outside" else "",
            quiet=one.verdict == "inside" or one.text == AS_EXPECTED,
        )
        for one in found
    )
    out = sum(one.verdict == "outside" for one in found)
    table = Table(
        "Readings at power-on",
        ("board", "point", "measured", "expected", "verdict"),
        rows,
        names=1,
        folds="inside or as expected",
    )
    lead = f"{count(len(rows), 'reading')}, {out} out of limits."
    return Section("measured", "Measured at bring-up", lead, tables=(table,))


def _by_board(account: Account) -> list[PointMeasured]:
    return sorted(
        account.state.measured.values(),
        key=lambda one: (one.verdict != "outside", len(one.board), one.board),
    )


def outside(account: Account) -> Iterator[tuple[str, str]]:
    """Each reading out of limits, with what was expected."""
    for one in _by_board(account):
        if one.verdict == "outside":
            expected = _expected(one)
            yield (
                f"board {one.board}, {clause(one.title)} is {clause(one.text)}",
                f"expected {expected}" if expected else "out of limits",
            )


def _expected(one: PointMeasured) -> str:
    return Expected(low=one.low, high=one.high, unit=one.unit).window


# ---- put aside ---------------------------------------------------------------------------------


def put_aside(account: Account) -> Section:
    parked = [one_line(one.text) for one in account.state.notes if not one.settled]
    points = (
        *(Point(text, mark="dropped") for text in dropped(account.state)),
        *(Point(text, mark="parked") for text in parked),
    )
    return Section("aside", "Dropped and parked", points=points)
