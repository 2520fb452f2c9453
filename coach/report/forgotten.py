"""What was forgotten, in figures: the items themselves are named where it is said what to do."""

from __future__ import annotations

from collections import Counter

from coach.report.account import Account
from coach.report.items import habit_words, item_key, short_name
from coach.report.sections import Point, Section, Table, TableRow
from phases.kit.grammar import count, listed, sentences
from phases.kit.items import CLOSING_ID, Severity


def forgotten(account: Account) -> Section:
    """Essentials and lines of the closing list that nobody closed, and the more checks."""
    running = not account.state.ended
    rows = account.forgotten
    kinds = Counter(row.item.severity for row in rows)
    said = listed([f"{kinds[one]} {one}" for one in reversed(Severity) if kinds[one]], len(kinds))
    when = "open" if running else "open at the end"
    lead = f"no essential {when}"
    if rows:
        lead = f"{len(rows)} of {count(len(account.essentials), 'essential')} {when}: {said}"
    unseen = sum(row.item.phase in account.never_entered for row in rows)
    closing = f"{count(len(account.closing_open), 'line')} of the closing list"
    checks = _more_checks(account)
    return Section(
        "forgotten",
        "Open essentials" if running else "Forgotten",
        sentences(
            lead,
            f"{unseen} of them in phases {'not begun' if running else 'never entered'}"
            if unseen
            else "",
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
            for row in rows
            if (habit := habit_words(account.state, row))
        ),
        (checks,) if checks.rows else (),
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
