"""What can still be changed: before the order is accepted; before production; on the boards.

The worst first: open hazards and dead-board items, items in doubt, calculations that do not hold,
parts never drawn, other open essentials, open lines of the closing list, what the bench found.
What a fault costs at each stage, and so what is worth doing about it, is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.debrief.account.data import Account, CalculationTold, ItemTold, Said
from coach.debrief.account.words import count, listed, named, unended, upper
from coach.sprint.past.retell import h_mm
from coach.sprint.state import OPEN, REOPENED
from phases.kit.bounds import FAIL
from phases.kit.items import CLOSING_ID, Place, Severity


def changeable_of(account: Account) -> tuple[Said, ...]:
    """Each with its evidence; empty where nothing is open."""
    paid = account.accepted and not _boards_are_here(account)
    first = _message(account) if paid else ()
    return (*first, *_open_work(account), *_found_on_the_bench(account))


def _boards_are_here(account: Account) -> bool:
    return bool(account.findings or account.measured)


def _open_work(account: Account) -> Iterator[Said]:
    essentials = open_essentials(account)
    for one in essentials:
        if is_grave(one):
            yield _item(account, one)
    for one in worst_first([e for e in account.items if e.outcome == REOPENED]):
        yield _reopened(account, one)
    for calculation in _not_holding(account):
        yield _does_not_hold(account, calculation)
    yield from _undrawn(account)
    for one in essentials:
        if not is_grave(one):
            yield _item(account, one)
    come = to_come(account) - {CLOSING_ID}
    if ahead := [one for one in account.forgotten if one.phase in come]:
        yield Said(
            f"Still to come: {count(len(ahead), 'essential')} of "
            f"{count(len(come), 'phase')} not begun.",
            named([one.name for one in account.phases if one.phase in come], len(come)),
        )
    if lines := open_closing_lines(account):
        yield _closing(account, lines)


def open_essentials(account: Account) -> list[ItemTold]:
    """Essentials of the board that nobody closed, worst first; without the closing list.

    While the sprint goes on, only of phases that were begun: the others are still to come.
    """
    come = to_come(account)
    return worst_first(
        [one for one in account.forgotten if one.phase not in (CLOSING_ID, *come)]
    )  # fmt: skip


def never_entered(account: Account) -> set[str]:
    return {one.phase for one in account.phases if not one.stretches and not one.drawn_before}


def to_come(account: Account) -> set[str]:
    """Phases not begun of a sprint that goes on; none once it has ended."""
    return never_entered(account) if account.ended_at is None else set()


def open_closing_lines(account: Account) -> list[ItemTold]:
    return [e for e in account.items if e.phase == CLOSING_ID and e.outcome in (OPEN, REOPENED)]


def is_grave(one: ItemTold) -> bool:
    """Whether missing it hurts somebody or kills the board."""
    return one.severity in (Severity.HAZARD, Severity.DEAD_BOARD)


def worst_first(items: Sequence[ItemTold]) -> list[ItemTold]:
    """By severity, known before asked, then the longest to make good."""
    return sorted(
        items, key=lambda e: (-Severity(e.severity).rank, e.asked, -e.left_out_min, e.key)
    )


# ---- one sentence each -------------------------------------------------------------------------


def _message(account: Account) -> Iterator[Said]:
    """The one thing to do at once where the order is paid and the boards are not made yet."""
    essentials = open_essentials(account)
    hazards = sum(one.severity == Severity.HAZARD for one in essentials)
    fatal = sum(is_grave(one) for one in essentials) - hazards
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
            f"accepted and paid at {h_mm(account.ended_at or account.last)}; production may not "
            "have begun",
        )


def _not_holding(account: Account) -> list[CalculationTold]:
    return [one for one in account.calculations if one.stale or one.verdict == FAIL]


def _item(account: Account, one: ItemTold) -> Said:
    known = "not known whether it is needed" if one.asked else "open at the end"
    if account.ended_at is None:
        known = "not known whether it is needed" if one.asked else "open now"
    return Said(
        f"{upper(one.severity)}: {unended(one.name)}. {_way(account, one)}".rstrip(),
        f"{known}; looking takes {one.confirm_s:g} s, left out it costs {one.left_out_min:g} min: "
        f"{unended(one.why)}",
    )


def _way(account: Account, one: ItemTold) -> str:
    """What can be done about an open item at this stage; before the order, it is closed."""
    if not account.accepted:
        return ""
    if _boards_are_here(account):
        if one.place in (Place.SHEET, Place.FILES):
            return "Look on the boards; by hand where it is missing, and in the next revision."
        return "Look on the boards; a wire or a cut track may do, else the next revision."
    if one.place == Place.FILES:
        return "A message with the right file may do."
    if one.place == Place.SHEET:
        return "Else by hand at bring-up, and in the next revision."
    return "Else a wire or a cut track at bring-up, or the next revision."


def _reopened(account: Account, one: ItemTold) -> Said:
    last = one.reopenings[-1] if one.reopenings else None
    because = f" Because: {unended(last.because)}." if last and last.because else ""
    doubt = "Look whether it still holds" if last and last.doubt else "Close it again"
    way = f"{doubt}." if not account.accepted else f"{doubt}, at bring-up at the latest."
    return Said(
        f"Open again: {unended(one.name)}.{because} {way}",
        f"{one.severity}; open again since {h_mm(last.t)}" if last else one.severity,
    )


def _does_not_hold(account: Account, one: CalculationTold) -> Said:
    if one.stale:
        words, evidence = f"It cannot be run again: {unended(one.stale)}.", "saved before a change"
    else:
        failing = [limit for limit in one.limits if limit.verdict == FAIL]
        words = failing[0].says if failing else "It fails."
        evidence = f"{count(len(failing), 'limit')} of {len(one.limits)} fail" if failing else ""
    way = "" if not account.accepted else " Measure it at bring-up."
    return Said(f"Does not hold: {one.name}. {words}{way}", evidence or "as it was saved")


def _undrawn(account: Account) -> Iterator[Said]:
    """Parts of one calculation together."""
    by_calculation: dict[str, list[str]] = {}
    for part in account.undrawn:
        by_calculation.setdefault(part.calculation, []).append(part.says)
    way = "Draw what is meant." if not account.accepted else "Fit by hand, or the next revision."
    for calculation, parts in by_calculation.items():
        words = f"Calculated and never drawn: {named(parts, 4)}. {way}"
        yield Said(words, f"{calculation}: {count(len(parts), 'part')} not marked as drawn")


def _closing(account: Account, lines: Sequence[ItemTold]) -> Said:
    names = named([one.name for one in lines], 4)
    way = " A message may still do." if account.accepted else ""
    return Said(
        f"Closing list, {count(len(lines), 'line')} open: {names}.{way}",
        f"{len(lines)} of {sum(e.phase == CLOSING_ID for e in account.items)} lines not closed",
    )


def _found_on_the_bench(account: Account) -> Iterator[Said]:
    for finding in account.findings:
        board = f"board {finding.board}" if finding.board else "every board"
        cost = f", {finding.minutes:g} min" if finding.minutes else ""
        bodge = f"; bodge: {unended(finding.bodge)}" if finding.bodge else ""
        yield Said(
            f"Next revision: {unended(finding.fault)}.",
            f"finding {finding.number}, {board}{cost}{bodge}",
        )
    for one in account.measured:
        if one.verdict == "outside":
            expected = f"expected {one.expected}" if one.expected else "outside what was expected"
            yield Said(
                f"Find out why: board {one.board}, {unended(one.title)} is {unended(one.text)}.",
                expected,
            )
