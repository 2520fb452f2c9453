"""What can still be changed: before the order is accepted; before production; on the boards.

The worst first: open hazards and dead-board items, items in doubt, calculations that fail, parts
never drawn, other open essentials, open lines of the closing list, what the bench found. Here each
open item is named in full, and nowhere else. What is done about alike is one entry.
What a fault costs at each stage, and so what is worth doing about it, is common practice; so is
that nothing is powered that power would harm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from coach.report.account import Account
from coach.report.after_production import board_words, outside
from coach.report.item_outcomes import (
    at_subjects,
    habit_words,
    item_key,
    reopenings,
    short_name,
    to_fix,
)
from coach.report.margins import fails_by, harms
from coach.report.sections import Point, Section
from coach.sprint.durations import elapsed
from coach.sprint.gates.gates import grouped
from coach.sprint.state import Row, SavedCalculation
from phases.kit.bounds import FAIL
from phases.kit.grammar import are, capital, count, listed, listed_clauses, sentence, sentences, was
from phases.kit.items import CLOSING_ID, Item, Severity, Stage

APART = 3
"""Open hazards that get an entry each; the rest share one."""

FEW = 2
"""Things of one kind up to which each is an entry of its own."""

NO_POWER = "Do not apply power until the part is changed or its data sheet allows it."
CHANGE_FIRST = "Change the part before power-on; do not power the board until then."
"""Of a calculation that fails once the board is ordered: where power is not what harms, and where
it is."""

AGAIN = "Calculate it again before power-on."

_FATAL = ("item that can kill the board", "items that can kill the board")


@dataclass(frozen=True, slots=True)
class _Thing:
    """One thing to change."""

    kind: str
    """What is said before its name: "Hazard", "Fails", "Open again"."""
    point: Point
    """It by name, as it is told among others of its kind."""
    way: str = ""
    """What is done about it."""
    rows: Sequence[Row] = ()
    """Of an item: at each of its subjects."""


def to_change(account: Account) -> Section:
    title = "Still changeable before production"
    if not account.state.ended:
        title = "Still changeable before the order is accepted"
    elif account.boards_are_here:
        title = "To change on the boards and in the next revision"
    points = tuple(_all(account))
    lead = "" if points else "Nothing in this journal is left to change."
    return Section("to-change", title, lead, points, numbered=True)


def _all(account: Account) -> Iterator[Point]:
    still = account.open_by_now
    hazards = [row for row in still if row.item.severity == Severity.HAZARD]
    fatal = [row for row in still if row.item.grave and row not in hazards]
    others = [row for row in still if not row.item.grave]
    if account.state.accepted and not account.boards_are_here:
        yield from _message(account, len(hazards), len(fatal), len(others))
    yield from map(_alone, _items(account, hazards[:APART]))
    yield from _entries(_items(account, hazards[APART:]), "open", "more hazard")
    yield from _entries(_items(account, fatal), "open", *_FATAL)
    yield from _entries(_reopened(account), "open again", "item")
    yield from _entries(_failing(account), "failing or out of date", "calculation")
    yield from _undrawn(account)
    yield from _entries(_items(account, others), "open", "other essential")
    yield from _together(account, *_to_come(account))
    yield from _together(account, *_closing(account))
    yield from _found_on_the_bench(account)


def _message(account: Account, hazards: int, fatal: int, others: int) -> Iterator[Point]:
    """The one thing to do at once where the order is paid and the boards are not made yet."""
    parts = sum(map(len, account.undrawn.values()))
    kinds = (
        (hazards, "hazard", "hazards"),
        (fatal, *_FATAL),
        (len(account.reopened), "item open again", "items open again"),
        (len(_not_holding(account)), "failing calculation", "failing calculations"),
        (parts, "part never drawn", "parts never drawn"),
        (others, "other essential", "other essentials"),
    )
    said = [count(number, one, several) for number, one, several in kinds if number]
    if said:
        ask = "Ask the fabricator and the assembler whether the files can still be replaced"
        yield Point(
            f"{ask}: {listed(said, len(said))}.",
            f"accepted and paid at {elapsed(account.end)}; production may not have begun",
            grave=bool(hazards or fatal),
            brief=ask,
        )


def _entries(things: Iterable[_Thing], state: str, one: str, several: str = "") -> Iterator[Point]:
    """Each by itself where they are few, else one entry for each thing to do about them."""
    found = list(things)
    ways: dict[str, list[_Thing]] = {}
    for thing in found:
        ways.setdefault(thing.way, []).append(thing)
    for way, alike in ways.items():
        rows = [row for thing in alike for row in thing.rows]
        many = len(rows) or len(alike)
        number = f"{count(many, one, several)} {are(many)} {state}"
        if len(alike) == 1 or len(found) <= FEW:
            yield from map(_alone, alike)
        else:
            yield Point(
                f"{number}. {way}".rstrip(),
                to_fix(rows) if rows else "",
                below=tuple(thing.point for thing in alike),
                grave=any(thing.point.grave for thing in alike),
                brief=f"{number}: {listed_clauses([thing.point.brief for thing in alike], 9)}",
            )


def _alone(thing: _Thing) -> Point:
    text = f"{thing.kind}: {sentence(thing.point.text)} {thing.way}".rstrip()
    return replace(thing.point, text=text, mark="", brief=f"{thing.kind}: {thing.point.brief}")


# ---- items -------------------------------------------------------------------------------------


def _items(account: Account, rows: Sequence[Row]) -> Iterator[_Thing]:
    """Open items, one at several subjects once; where they differ in what they cost, with that."""
    mixed = len({row.item.severity for row in rows}) > 1
    for one in grouped(tuple(rows)):
        item, cells = one.item, one.cells
        phase = "" if item.phase == CLOSING_ID else account.names.phase(item.phase)
        asked = "not known whether it is needed" if cells[0].applies is None else ""
        takes = ", ".join(part for part in (phase, asked, to_fix(cells)) if part)
        point = Point(
            f"{item.statement}{at_subjects(*cells)}",
            sentences(takes, item.why, habit_words(account.state, cells[0])),
            item.severity if mixed else "",
            grave=item.grave,
            brief=short_name(*cells),
            key=item_key(cells[0]),
        )
        yield _Thing(capital(item.severity), point, _way(account, item), cells)


def _way(account: Account, item: Item) -> str:
    """What can be done about an open item at this stage; before the order, it is closed."""
    if not account.ordered or item.phase == CLOSING_ID:
        return ""
    here = account.boards_are_here
    if item.severity == Severity.HAZARD:
        look = "Check the boards" if here else "Check"
        return f"{look} before power-on; do not power a board where it is missing."
    if here and item.stage in (Stage.SCHEMATIC, Stage.FILES):
        return "Check the boards; fix by hand where it is missing, and in the next revision."
    if here:
        return "Check the boards; a wire or a cut track may do, else the next revision."
    if item.stage == Stage.FILES:
        return "A message with the right file may do."
    when = "before power-on" if item.grave else "at bring-up"
    if item.stage == Stage.SCHEMATIC:
        return f"Else fix by hand {when}, and in the next revision."
    return f"Else a wire or a cut track {when}, or the next revision."


def _reopened(account: Account) -> Iterator[_Thing]:
    for row in account.reopened:
        when = " before power-on" if row.item.grave else " at bring-up at the latest"
        do = "confirmed" if row.state and row.state.doubt else "closed again"
        last = reopenings(account, row)[-1:]
        said = [f"{row.item.severity}, since {elapsed(one.t)}" for one in last]
        because = [f"Because: {one.because}" for one in last if one.because]
        point = Point(
            row.name,
            sentences(*said, *because),
            grave=row.item.grave,
            brief=short_name(row),
            key=item_key(row),
        )
        yield _Thing("Open again", point, f"To be {do}{when if account.ordered else ''}.", [row])


def _together(account: Account, said: str, rows: Sequence[Row], way: str = "") -> Iterator[Point]:
    """Items that are one entry whatever their number."""
    if rows:
        below = tuple(thing.point for thing in _items(account, rows))
        brief = f"{said}: {listed_clauses([one.brief for one in below], 9)}"
        yield Point(f"{said}.{way}", to_fix(rows), below=below, brief=brief)


def _to_come(account: Account) -> tuple[str, list[Row]]:
    """Of a sprint that is running: what no phase has come to yet."""
    rows = [row for row in account.still_open if row.item.phase in account.to_come]
    phases = count(len({row.item.phase for row in rows}), "phase")
    return f"Still to come: {count(len(rows), 'essential')} of {phases} not begun", rows


def _closing(account: Account) -> tuple[str, list[Row], str]:
    rows = account.closing_open
    lines = count(sum(row.item.phase == CLOSING_ID for row in account.rows), "line")
    may = account.state.accepted and not account.boards_are_here
    way = " A message may still do." if may else ""
    return f"Closing list: {len(rows)} of {lines} open", rows, way


# ---- calculations and parts --------------------------------------------------------------------


def _not_holding(account: Account) -> list[SavedCalculation]:
    """What fails or cannot be run again; what harms under power first."""
    saved = account.state.calculations.values()
    found = [one for one in saved if one.stale or one.record.verdict == FAIL]
    return sorted(found, key=lambda one: not harms(account, one))


def _failing(account: Account) -> Iterator[_Thing]:
    for one in _not_holding(account):
        fails, harm = one.record.verdict == FAIL, harms(account, one)
        name = account.names.calculation(one.id)
        text = f"{name}. {sentence(fails_by(one))}"
        way = AGAIN if not fails else CHANGE_FIRST if harm else NO_POWER
        point = Point(text, f"saved at {elapsed(one.t)}", grave=harm, brief=text)
        yield _Thing("Fails" if fails else "Out of date", point, way if account.ordered else "")


def _undrawn(account: Account) -> Iterator[Point]:
    """Parts of one calculation together."""
    number = sum(map(len, account.undrawn.values()))
    if number:
        way = "Draw what is meant."
        if account.ordered:
            way = "Fit them by hand before power-on, and draw them in the next revision."
        said = f"{count(number, 'part')} {was(number)} calculated and never drawn"
        below = tuple(
            Point(f"{name}: {'; '.join(part.message for part in parts)}")
            for name, parts in account.undrawn.items()
        )
        yield Point(f"{said}. {way}", below=below, brief=said)


# ---- what the bench found ----------------------------------------------------------------------


def _found_on_the_bench(account: Account) -> Iterator[Point]:
    findings = account.state.findings.values()
    if len(findings) > FEW:
        said = f"Next revision: {len(findings)} faults found on the boards"
        yield Point(f"{said}, each under Late findings.", brief=said)
    else:
        for one in findings:
            said = f"finding {one.number}, {board_words(one)}"
            point = Point(one.fault, said, brief=one.fault, key=f"finding/{one.number}")
            yield _alone(_Thing("Next revision", point))
    readings = (
        _Thing("Find out why", Point(text, expected, brief=text))
        for text, expected in outside(account)
    )
    yield from _entries(readings, "out of limits", "reading")
