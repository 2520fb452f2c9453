"""What was forgotten, in figures: the items themselves are named where it is said what to do."""

from __future__ import annotations

from collections import Counter

from coach.report.account import Account
from coach.report.items import habit_words, item_key, short_name
from coach.report.sections import Point, Section, Table, TableRow
from coach.sprint.gates.forgotten import left_open_words
from phases.kit.grammar import count, listed, sentences
from phases.kit.items import CLOSING_ID, Severity


def forgotten(account: Account) -> Section:
    """What was forgotten and what else stayed open, by number, and the more checks. Of a sprint
    that is running, what is open: nothing is forgotten yet."""
    ended = account.state.ended
    rows = account.forgotten if ended else account.still_open
    kinds = Counter(row.item.severity for row in rows)
    said = listed([f"{kinds[one]} {one}" for one in reversed(Severity) if kinds[one]], len(kinds))
    closing = f"{count(len(account.closing_open), 'line')} of the closing list open"
    checks = _more_checks(account)
    return Section(
        "forgotten",
        "Forgotten" if ended else "Open essentials",
        sentences(
            left_open_words(account.state, said) if ended else _open_so_far(account, said),
            closing if account.closing_open else "",
        ),
        tuple(
            Point(
                row.name,
                habit,
                row.item.severity,
                grave=row.item.grave,
                key=item_key(row),
                brief=f"{short_name(row)}: {habit}",
            )
            for row in {row.key: row for row in (*rows, *account.still_open)}.values()
            if (habit := habit_words(account.state, row))
        ),
        (checks,) if checks.rows else (),
    )


def _open_so_far(account: Account, kinds: str) -> str:
    if not account.still_open:
        return "No essential open."
    number = count(len(account.essentials), "essential")
    later = sum(row.item.phase in account.to_come for row in account.still_open)
    return sentences(
        f"{len(account.still_open)} of {number} open: {kinds}",
        f"{later} of them in phases not begun" if later else "",
    )


def _more_checks(account: Account) -> Table:
    rows = [
        row
        for row in account.rows
        if not row.essential
        and not row.closed
        and row.item.phase != CLOSING_ID
        and row not in account.reopened
    ]
    return Table(
        "More checks, not essential",
        ("phase", "check"),
        tuple(
            TableRow(
                (
                    account.names.phase(row.item.phase),
                    f"{row.name}{' (deferred)' if row.deferred else ''}",
                ),
                quiet=True,
                key=item_key(row),
            )
            for row in rows
        ),
        names=1,
        folds="still open",
    )
