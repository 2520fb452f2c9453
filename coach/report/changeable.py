"""What can still be changed: before the order is accepted; before production; on the boards.

The worst first: open hazards and dead-board items, items in doubt, calculations that fail, parts
never drawn, other open essentials, open lines of the closing list, what the bench found. Here each
open item is named in full, and nowhere else. What is done about alike is one entry.
What a fault costs at each stage, and so what is worth doing about it, is common practice; so is
that nothing is powered that power would harm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from coach.report.account import Account
from coach.report.afterwards import board_words, outside
from coach.report.calculations import fails_by, harms
from coach.report.items import habit_words, item_key, reopenings, short_name, to_fix
from coach.report.sections import Point, Section
from coach.sprint.board import grouped
from coach.sprint.durations import elapsed
from coach.sprint.state import Row, Saved
from phases.kit.bounds import FAIL
from phases.kit.grammar import are, capital, clause, count, listed, sentence, sentences, was
from phases.kit.items import CLOSING_ID, Severity, Stage

APART = 3
"""Open hazards that get an entry each; the rest share one."""

FEW = 2
"""Entries of one kind up to which each is by itself."""

NO_POWER = "Do not apply power until it is changed or its data sheet allows it."
CHANGE_FIRST = "Change the part before power-on; do not power the board until then."
"""Of a calculation that fails once the board is ordered: where power is not what harms, and where
it is."""


def changeable(account: Account) -> Section:
    title = "Still changeable before production"
    if not account.state.ended:
        title = "Still changeable before the order is accepted"
    elif account.boards_are_here:
        title = "To change on the boards and in the next revision"
    points = tuple(_all(account))
    lead = "" if points else "Nothing in this journal is left to change."
    return Section("changeable", title, lead, points, numbered=True)


def _all(account: Account) -> Iterator[Point]:
    if account.state.accepted and not account.boards_are_here:
        yield from _message(account)
    hazards = [row for row in account.open_by_now if row.item.severity == Severity.HAZARD]
    fatal = [row for row in account.open_by_now if row.item.grave and row not in hazards]
    yield from (_item(account, row) for row in hazards[:APART])
    yield from _items(account, hazards[APART:], "more hazard")
    yield from _items(account, fatal, *_FATAL)
    yield from _reopened(account)
    yield from _failing(account)
    yield from _undrawn(account)
    others = [row for row in account.open_by_now if not row.item.grave]
    yield from _items(account, others, "other essential")
    yield from _to_come(account)
    yield from _closing(account)
    yield from _found_on_the_bench(account)


_FATAL = ("item that can kill the board", "items that can kill the board")


# ---- the message -------------------------------------------------------------------------------


def _message(account: Account) -> Iterator[Point]:
    """The one thing to do at once where the order is paid and the boards are not made yet."""
    still = account.open_by_now
    hazards = sum(row.item.severity == Severity.HAZARD for row in still)
    fatal = sum(row.item.grave for row in still) - hazards
    parts = sum(map(len, account.undrawn.values()))
    kinds = (
        (hazards, ("hazard",)),
        (fatal, _FATAL),
        (len(account.reopened), ("item open again", "items open again")),
        (len(_not_holding(account)), ("failing calculation",)),
        (parts, ("part never drawn", "parts never drawn")),
        (len(still) - hazards - fatal, ("other essential",)),
    )
    said = [count(number, *words) for number, words in kinds if number]
    if said:
        yield Point(
            "Ask the fabricator and the assembler whether the files can still be replaced: "
            f"{listed(said, len(said))}.",
            f"accepted and paid at {elapsed(account.end)}; production may not have begun",
            grave=bool(hazards or fatal),
            brief="Ask fabricator and assembler whether the files can still be replaced",
        )


# ---- open items --------------------------------------------------------------------------------


def _items(account: Account, rows: Sequence[Row], *kind: str) -> Iterator[Point]:
    """Each by itself where they are few, else one entry for each thing to do about them."""
    ways: dict[str, list[Row]] = {}
    for row in rows:
        ways.setdefault(_way(account, row), []).append(row)
    for way, alike in ways.items():
        if len(alike) == 1 or len(rows) <= FEW:
            yield from (_item(account, row) for row in alike)
            continue
        number = f"{count(len(alike), *kind)} {are(len(alike))} open"
        yield Point(
            f"{number}. {way}".rstrip(),
            to_fix(alike),
            grave=rows[0].item.grave,
            below=_named(account, alike),
            brief=f"{number}: {listed([short_name(row) for row in alike], 9)}",
        )


def _item(account: Account, row: Row) -> Point:
    severity = capital(row.item.severity)
    return Point(
        f"{severity}: {sentence(row.name)} {_way(account, row)}".rstrip(),
        _what_it_takes(account, [row]),
        grave=row.item.grave,
        key=item_key(row),
        brief=f"{severity}: {short_name(row)}",
    )


def _named(account: Account, rows: Sequence[Row]) -> tuple[Point, ...]:
    """Each by name, with why it matters; an item at several subjects once."""
    mixed = len({row.item.severity for row in rows}) > 1
    found = []
    for one in grouped(tuple(rows)):
        titles = listed([row.title for row in one.cells], len(one.cells))
        found.append(
            Point(
                f"{one.item.statement} ({titles})" if titles else one.item.statement,
                _what_it_takes(account, one.cells),
                one.item.severity if mixed else "",
                grave=one.item.grave,
                key=item_key(one.cells[0]),
            )
        )
    return tuple(found)


def _what_it_takes(account: Account, rows: Sequence[Row]) -> str:
    """Of an item, at one subject or several."""
    item = rows[0].item
    phase = "" if item.phase == CLOSING_ID else account.names.phase(item.phase)
    asked = "not known whether it is needed" if rows[0].applies is None else ""
    takes = ", ".join(part for part in (phase, asked, to_fix(rows)) if part)
    return sentences(takes, item.why, habit_words(account.state, rows[0]))


def _way(account: Account, row: Row) -> str:
    """What can be done about an open item at this stage; before the order, it is closed."""
    if not account.ordered:
        return ""
    here, stage = account.boards_are_here, row.item.stage
    if row.item.severity == Severity.HAZARD:
        look = "Check the boards" if here else "Check"
        return f"{look} before power-on; do not power a board where it is missing."
    if here and stage in (Stage.SCHEMATIC, Stage.FILES):
        return "Check the boards; fix by hand where it is missing, and in the next revision."
    if here:
        return "Check the boards; a wire or a cut track may do, else the next revision."
    if stage == Stage.FILES:
        return "A message with the right file may do."
    when = "before power-on" if row.item.grave else "at bring-up"
    if stage == Stage.SCHEMATIC:
        return f"Else fix by hand {when}, and in the next revision."
    return f"Else a wire or a cut track {when}, or the next revision."


def _reopened(account: Account) -> Iterator[Point]:
    rows = account.reopened
    when = ""
    if account.ordered:
        grave = any(row.item.grave for row in rows)
        when = " before power-on" if grave else " at bring-up at the latest"
    if len(rows) > FEW:
        number = f"{len(rows)} items are open again"
        yield Point(
            f"{number}. Confirm or close each{when}.",
            to_fix(rows),
            grave=rows[0].item.grave,
            below=tuple(_again(account, row) for row in rows),
            brief=f"{number}: {listed([short_name(row) for row in rows], 9)}",
        )
        return
    for row in rows:
        one = _again(account, row)
        do = "Confirm it" if row.state and row.state.doubt else "Close it"
        yield Point(
            f"Open again: {sentence(row.name)} {do}{when}.",
            one.evidence,
            grave=row.item.grave,
            key=one.key,
            brief=f"Open again: {short_name(row)}",
        )


def _again(account: Account, row: Row) -> Point:
    """An item that is open again, and because of what."""
    last = reopenings(account, row)[-1:]
    said = [f"{row.item.severity}, since {elapsed(one.t)}" for one in last]
    because = [f"Because: {one.because}" for one in last if one.because]
    return Point(row.name, sentences(*said, *because), grave=row.item.grave, key=item_key(row))


def _to_come(account: Account) -> Iterator[Point]:
    """Of a sprint that is running: what no phase has come to yet."""
    rows = [row for row in account.forgotten if row.item.phase in account.to_come]
    if rows:
        phases = count(len({row.item.phase for row in rows}), "phase")
        said = f"Still to come: {count(len(rows), 'essential')} of {phases} not begun"
        yield Point(f"{said}.", to_fix(rows), below=_named(account, rows), brief=said)


def _closing(account: Account) -> Iterator[Point]:
    rows = account.closing_open
    if rows:
        of = sum(row.item.phase == CLOSING_ID for row in account.rows)
        may = account.state.accepted and not account.boards_are_here
        said = f"Closing list: {len(rows)} of {count(of, 'line')} open"
        yield Point(
            f"{said}.{' A message may still do.' if may else ''}",
            to_fix(rows),
            below=_named(account, rows),
            brief=f"{said}: {listed([short_name(row) for row in rows], 9)}",
        )


# ---- calculations and parts --------------------------------------------------------------------


def _not_holding(account: Account) -> list[Saved]:
    """What fails or cannot be run again; what harms under power first."""
    saved = account.state.calculations.values()
    found = [one for one in saved if one.stale or one.record.verdict == FAIL]
    return sorted(found, key=lambda one: not harms(account, one))


def _failing(account: Account) -> Iterator[Point]:
    ways: dict[str, list[Saved]] = {}
    for one in _not_holding(account):
        ways.setdefault(_way_of(account, one), []).append(one)
    for way, alike in ways.items():
        if len(alike) <= FEW:
            yield from (_fails(account, one, way) for one in alike)
            continue
        failing = sum(one.record.verdict == FAIL for one in alike)
        kinds = ["fail"] if failing else []
        kinds += ["are out of date"] if failing < len(alike) else []
        many = f"{len(alike)} calculations {' or '.join(kinds)}"
        below = tuple(_fails(account, one) for one in alike)
        yield Point(
            f"{many}. {way}".rstrip(),
            below=below,
            grave=any(one.grave for one in below),
            brief=f"{many}: {listed([account.names.calculation(one.id) for one in alike], 9)}",
        )


def _fails(account: Account, one: Saved, way: str = "") -> Point:
    kind = "Fails" if one.record.verdict == FAIL else "Out of date"
    said = f"{kind}: {account.names.calculation(one.id)}. {sentence(fails_by(one))}"
    evidence = f"saved at {elapsed(one.t)}"
    return Point(f"{said} {way}".rstrip(), evidence, grave=harms(account, one), brief=said)


def _way_of(account: Account, one: Saved) -> str:
    if not account.ordered:
        return ""
    if one.record.verdict != FAIL:
        return "Calculate it again before power-on."
    return CHANGE_FIRST if harms(account, one) else NO_POWER


def _undrawn(account: Account) -> Iterator[Point]:
    """Parts of one calculation together."""
    number = sum(map(len, account.undrawn.values()))
    if number:
        way = "Draw what is meant."
        if account.ordered:
            way = "Fit them by hand before power-on, and draw them in the next revision."
        said = f"{count(number, 'part')} {was(number)} calculated and never drawn"
        below = tuple(
            Point(f"{name}: {'; '.join(part.says for part in parts)}")
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
            said = f"Next revision: {clause(one.fault)}"
            yield Point(
                f"{said}.",
                f"finding {one.number}, {board_words(one)}",
                brief=said,
                key=f"finding/{one.number}",
            )
    yield from _readings(outside(account))


def _readings(found: Iterable[tuple[str, str]]) -> Iterator[Point]:
    said = list(found)
    if len(said) > FEW:
        text = f"{len(said)} readings are out of limits. Find out why."
        yield Point(text, below=tuple(Point(*one) for one in said), brief=text)
        return
    for text, expected in said:
        yield Point(f"Find out why: {text}.", expected, brief=f"Find out why: {text}")
