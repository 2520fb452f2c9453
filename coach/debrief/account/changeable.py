"""What can still be changed: before the order is accepted; before production; on the boards.

The worst first: open hazards and dead-board items, items in doubt, calculations that do not hold,
parts never drawn, other open essentials, open lines of the closing list, what the bench found.
What is done about alike is one entry that names each. What a fault costs at each stage, and so what
is worth doing about it, is common practice; so is that nothing is powered that power would harm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from coach.debrief.account.data import Account, CalculationTold, ItemTold, Said, worst_first
from coach.debrief.account.words import to_make_good
from coach.sprint.durations import duration, elapsed
from coach.sprint.state import REOPENED
from phases.kit.bounds import FAIL
from phases.kit.grammar import are, capital, clause, count, listed, listed_clauses, was
from phases.kit.items import CLOSING_ID, Severity, Stage

APART = 3
"""Open hazards that get an entry each, with what comes of them; the rest share one."""

FEW = 2
"""Entries of one kind up to which each stands for itself."""

FATAL = ("item that can kill the board", "items that can kill the board")
FURTHER = ("further essential", "further essentials")

NO_POWER = "Do not apply power until it is changed or its data sheet allows it."
CHANGE_FIRST = "Change the part before power is put on; until then do not power it."
"""Of a calculation that fails once the board is ordered: where power is not what harms, and where
it is (`CalculationTold.harms`)."""


def changeable_of(account: Account) -> tuple[Said, ...]:
    """Each with its evidence; empty where nothing is open."""
    paid = account.accepted and not account.boards_are_here
    first = _message(account) if paid else ()
    return (*first, *_open_work(account), *_found_on_the_bench(account))


def _open_work(account: Account) -> Iterator[Said]:
    essentials = open_essentials(account)
    hazards = [one for one in essentials if one.severity == Severity.HAZARD]
    fatal = [one for one in essentials if one.grave and one not in hazards]
    yield from _items(account, hazards[:APART])
    yield from _items(account, hazards[APART:], ("more hazard", "more hazards"))
    yield from _items(account, fatal, FATAL)
    yield from _reopened(account)
    yield from _not_holding_any_more(account)
    yield from _undrawn(account)
    yield from _items(account, [e for e in essentials if not e.grave], FURTHER)
    come = to_come(account) - {CLOSING_ID}
    if ahead := [one for one in account.forgotten if one.phase in come]:
        yield Said(
            f"Still to come: {count(len(ahead), 'essential')} of "
            f"{count(len(come), 'phase')} not begun.",
            listed_clauses([one.name for one in account.phases if one.phase in come], len(come)),
        )
    if account.closing_open:
        yield _closing(account)


def open_essentials(account: Account) -> list[ItemTold]:
    """Essentials of the board that nobody closed, worst first; without the closing list.

    While the sprint goes on, only of phases that were begun: the others are still to come.
    """
    come = to_come(account)
    return [one for one in account.forgotten if one.phase not in come]


def _ordered(account: Account) -> bool:
    """Whether files can no longer simply be changed: paid, or the boards have come."""
    return account.accepted or account.boards_are_here


def never_entered(account: Account) -> set[str]:
    return {one.phase for one in account.phases if not one.stretches and not one.drawn_before}


def to_come(account: Account) -> set[str]:
    """Phases not begun of a sprint that goes on; none once it has ended."""
    return never_entered(account) if account.ended_at is None else set()


# ---- the message -------------------------------------------------------------------------------


def _message(account: Account) -> Iterator[Said]:
    """The one thing to do at once where the order is paid and the boards are not made yet."""
    essentials = open_essentials(account)
    hazards = sum(one.severity == Severity.HAZARD for one in essentials)
    fatal = sum(one.grave for one in essentials) - hazards
    again = sum(one.outcome == REOPENED for one in account.items)
    failing = len(_not_holding(account))
    kinds = (
        (hazards, "hazard is open", "hazards are open"),
        (fatal, "item that can kill the board is open", "items that can kill the board are open"),
        (again, "item is open again", "items are open again"),
        (failing, "calculation does not hold", "calculations do not hold"),
        (len(account.undrawn), "part was never drawn", "parts were never drawn"),
        (len(essentials) - hazards - fatal, "further essential is open",
         "further essentials are open"),
    )  # fmt: skip
    parts = [count(number, one, several) for number, one, several in kinds if number]
    if parts:
        yield Said(
            "Ask the fabricator and the assembler whether the files can still be replaced: "
            f"{listed(parts, len(parts))}.",
            f"accepted and paid at {elapsed(account.ended_at or account.last)}; production may not "
            "have begun",
            grave=bool(hazards or fatal),
        )


# ---- open items --------------------------------------------------------------------------------


def _items(
    account: Account, items: Sequence[ItemTold], kind: tuple[str, str] | None = None
) -> Iterator[Said]:
    """Each by itself where they are few or of no kind, else one entry for each thing to do."""
    ways: dict[str, list[ItemTold]] = {}
    for one in items:
        ways.setdefault(_way(account, one), []).append(one)
    if kind is None or len(items) <= FEW:
        yield from (_item(account, one) for one in items)
        return
    for way, alike in ways.items():
        yield _item(account, alike[0]) if len(alike) == 1 else _alike(alike, kind, way)


def _item(account: Account, one: ItemTold) -> Said:
    known = "open now" if account.ended_at is None else "open at the end"
    if one.asked:
        known = "not known whether it is needed"
    return Said(
        f"{capital(one.severity)}: {clause(one.name)}. {_way(account, one)}".rstrip(),
        f"{known}; looking takes {one.confirm_s:g} s, "
        f"{to_make_good(duration(one.left_out_min * 60))}. {capital(clause(one.why))}.",
        grave=one.grave,
    )


def _alike(items: Sequence[ItemTold], kind: tuple[str, str], way: str) -> Said:
    """Items that the same is done about, each named."""
    seconds, minutes = sum(e.confirm_s for e in items), sum(e.left_out_min for e in items)
    asked = sum(one.asked for one in items)
    needed = "it is needed" if asked == 1 else "they are needed"
    known = f"of {asked} it is not known whether {needed}; " if asked else ""
    return Said(
        f"{count(len(items), *kind)} {are(len(items))} open. {way}".rstrip(),
        f"{known}looking takes {duration(seconds)}, "
        f"{to_make_good(duration(minutes * 60), len(items))}",
        tuple(clause(one.name) for one in items),
        grave=items[0].grave,
    )


def _way(account: Account, one: ItemTold) -> str:
    """What can be done about an open item at this stage; before the order, it is closed."""
    if not _ordered(account):
        return ""
    if one.severity == Severity.HAZARD:
        look = "Look on the boards" if account.boards_are_here else "Look"
        return f"{look} before power is put on; do not power a board where it is missing."
    if account.boards_are_here:
        if one.stage in (Stage.SCHEMATIC, Stage.FILES):
            return "Look on the boards; by hand where it is missing, and in the next revision."
        return "Look on the boards; a wire or a cut track may do, else the next revision."
    if one.stage == Stage.FILES:
        return "A message with the right file may do."
    when = "before power is put on" if one.grave else "at bring-up"
    if one.stage == Stage.SCHEMATIC:
        return f"Else by hand {when}, and in the next revision."
    return f"Else a wire or a cut track {when}, or the next revision."


def _reopened(account: Account) -> Iterator[Said]:
    again = worst_first([e for e in account.items if e.outcome == REOPENED])
    if len(again) <= FEW:
        yield from (_one_reopened(account, one) for one in again)
        return
    doubts = sum(bool(one.reopenings and one.reopenings[-1].doubt) for one in again)
    do = {0: "Close them again", len(again): "Look whether they still hold"}.get(
        doubts, "Look whether they still hold, or close them again"
    )
    yield Said(
        f"{count(len(again), 'item')} are open again. {do}{_by_when(account, again)}.",
        f"{doubts} of {len(again)} as a doubt",
        tuple(f"{clause(one.name)}{_cause(one, ', because ')}" for one in again),
        grave=again[0].grave,
    )


def _one_reopened(account: Account, one: ItemTold) -> Said:
    last = one.reopenings[-1] if one.reopenings else None
    because = f"{_cause(one, ' Because: ')}." if _cause(one) else ""
    do = "Look whether it still holds" if last and last.doubt else "Close it again"
    return Said(
        f"Open again: {clause(one.name)}.{because} {do}{_by_when(account, [one])}.",
        f"{one.severity}; open again since {elapsed(last.t)}" if last else one.severity,
        grave=one.grave,
    )


def _cause(one: ItemTold, before: str = "") -> str:
    because = one.reopenings[-1].because if one.reopenings else ""
    return f"{before}{clause(because)}" if because else ""


def _by_when(account: Account, items: Iterable[ItemTold]) -> str:
    if not _ordered(account):
        return ""
    if any(one.grave for one in items):
        return ", before power is put on"
    return ", at bring-up at the latest"


# ---- calculations and parts --------------------------------------------------------------------


def _not_holding(account: Account) -> list[CalculationTold]:
    return [one for one in account.calculations if one.stale or one.verdict == FAIL]


def _not_holding_any_more(account: Account) -> Iterator[Said]:
    """What harms under power first; what is done about it decides what stands together."""
    ways: dict[str, list[CalculationTold]] = {}
    for one in sorted(_not_holding(account), key=lambda e: not e.harms):
        ways.setdefault(_way_of(account, one), []).append(one)
    for way, alike in ways.items():
        if len(alike) <= FEW:
            yield from (_does_not_hold(one, way) for one in alike)
            continue
        failing = sum(not one.stale for one in alike)
        stale = len(alike) - failing
        parts = [f"{failing} failing"] if failing else []
        parts += [f"{stale} not run again after a change"] if stale else []
        yield Said(
            f"{count(len(alike), 'calculation')} do not hold. {_several(way)}".rstrip(),
            ", ".join(parts),
            tuple(f"{one.name}: {clause(_fails_by(one))}" for one in alike),
            grave=any(one.harms for one in alike),
        )


def _way_of(account: Account, one: CalculationTold) -> str:
    if not _ordered(account):
        return ""
    if one.verdict != FAIL:
        return "Work it out anew before power is put on."
    return CHANGE_FIRST if one.harms else NO_POWER


def _several(way: str) -> str:
    """The same sentence of several calculations."""
    return {
        CHANGE_FIRST: "Change the parts before power is put on; until then do not power the board.",
        NO_POWER: "Do not apply power until each is changed or its data sheet allows it.",
    }.get(way, way.replace("it out", "them out"))  # fmt: skip


def _fails_by(one: CalculationTold) -> str:
    if one.stale:
        saved = "It failed as it was saved, and" if one.verdict == FAIL else "It"
        return f"{saved} cannot be run again: {clause(one.stale)}."
    return next((limit.says for limit in one.limits if limit.verdict == FAIL), "It fails.")


def _does_not_hold(one: CalculationTold, way: str) -> Said:
    fails = sum(limit.verdict == FAIL for limit in one.limits)
    evidence = f"{count(fails, 'limit')} of {len(one.limits)} fail" if fails else "as it was saved"
    return Said(
        f"Does not hold: {one.name}. {_fails_by(one)} {way}".rstrip(),
        "saved before a change" if one.stale else evidence,
        grave=one.harms,
    )


def _undrawn(account: Account) -> Iterator[Said]:
    """Parts of one calculation together."""
    by_calculation: dict[str, list[str]] = {}
    for part in account.undrawn:
        by_calculation.setdefault(part.calculation, []).append(part.says)
    way = "Draw what is meant."
    if _ordered(account):
        way = "By hand before power is put on, and in the next revision."
    if len(by_calculation) > FEW:
        number = len(account.undrawn)
        yield Said(
            f"{count(number, 'part')} {was(number)} calculated and never drawn. {way}",
            f"of {len(by_calculation)} calculations, not marked as drawn",
            tuple(f"{listed_clauses(parts, 4)} ({name})" for name, parts in by_calculation.items()),
        )
        return
    for calculation, parts in by_calculation.items():
        words = f"Calculated and never drawn: {listed_clauses(parts, 4)}. {way}"
        yield Said(words, f"{calculation}: {count(len(parts), 'part')} not marked as drawn")


def _closing(account: Account) -> Said:
    lines = account.closing_open
    way = " A message may still do." if account.accepted and not account.boards_are_here else ""
    return Said(
        f"Closing list, {count(len(lines), 'line')} open: "
        f"{listed_clauses([one.name for one in lines], 4)}.{way}",
        f"{len(lines)} of {sum(e.phase == CLOSING_ID for e in account.items)} lines not closed",
    )


# ---- what the bench found ----------------------------------------------------------------------


def _found_on_the_bench(account: Account) -> Iterator[Said]:
    for finding in account.findings:
        board = f"board {finding.board}" if finding.board else "every board"
        cost = f", {finding.minutes:g} min" if finding.minutes else ""
        bodge = f"; bodge: {clause(finding.bodge)}" if finding.bodge else ""
        yield Said(
            f"Next revision: {clause(finding.fault)}.",
            f"finding {finding.number}, {board}{cost}{bodge}",
        )
    outside = [one for one in account.measured if one.verdict == "outside"]
    found = [
        (f"board {one.board}, {clause(one.title)} is {clause(one.text)}",
         f"expected {one.expected}" if one.expected else "outside what was expected")
        for one in outside
    ]  # fmt: skip
    if len(found) > FEW:
        yield Said(
            f"Find out why: {len(found)} readings are outside what was expected.",
            f"of {len(account.measured)} readings",
            tuple(f"{capital(words)}; {expected}" for words, expected in found),
        )
        return
    for words, expected in found:
        yield Said(f"Find out why: {words}.", expected)
