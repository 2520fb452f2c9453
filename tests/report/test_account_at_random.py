"""Commands at random: there is always an account, and its counts are those of the state."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from coach.report.account import Account
from coach.report.item_outcomes import reopenings, waived
from coach.report.report import report_of
from coach.report.three_sentences import sentences
from coach.sprint.commands import End
from coach.sprint.events.run import CallMade
from coach.sprint.gates.gates import open_essentials
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, WAIVED, State
from phases.kit.refusals import Refusal
from tests.report.conftest import told_of
from tests.report.forging import unsound
from tests.sprint.at_random import any_command
from tests.sprint.conftest import Bench


def at_random(bench: Bench, chance: Random, commands: int) -> None:
    for _ in range(commands):
        bench.clock.advance(chance.choice((0, 1, 5, 60, 400)))
        bench.session.tick()
        try:
            bench.session.do(any_command(chance, bench.state))
        except Refusal:
            continue


def check(account: Account, state: State) -> None:
    """What is counted is what the state has."""
    report = report_of(account.read)
    assert report.faults == ()
    assert unsound(report) == []
    there = Counter(row.status for row in state.rows if row.status != NOT_HERE)
    counted = Counter(row.status for row in account.rows if row.status != NOT_HERE)
    assert counted == there
    tables = report.section("items").tables
    assert sum(f", {len(t.rows)} closed" in t.caption for t in tables) == len(tables)
    assert len(waived(account).points) == there[WAIVED]
    still = {row.key for row in account.essentials if row.status in (OPEN, REOPENED)}
    assert still == {row.key for row in open_essentials(state)}
    late = {
        row.key
        for row in state.rows
        if row.status in (MET, WAIVED) and row.state and row.state.late
    }
    assert {row.key for row in account.late} == late
    assert len(account.undrawn) <= len(to_draw(state))
    assert sum(map(len, account.undrawn.values())) == len(to_draw(state))
    assert len(account.calls) == len(state.of(CallMade))
    # What is shown adds up as it is shown: each stretch begins and ends at a whole minute.
    rounding = 60.0 * sum(len(one.stretches) for one in account.phases)
    shown = sum(one.used for one in account.phases)
    assert shown == pytest.approx(sum(state.used.values()), abs=rounding)
    for row in account.rows:
        last = reopenings(account, row)[-1:]
        is_open = bool(last) and last[0].closed_again is None and row.status != NOT_HERE
        assert (row.status == REOPENED) == is_open, row


@pytest.mark.parametrize("seed", range(12))
def test_commands_at_random_have_an_account_that_agrees_with_the_state(
    seed: int, bench: Bench
) -> None:
    chance = Random(f"account:{seed}")
    for _ in range(3):
        at_random(bench, chance, 40)
        check(told_of(bench), bench.state)
    bench.session.do(End(chance.random() < 0.5))
    account = told_of(bench)
    check(account, bench.state)
    assert len({one.text for one in sentences(account).points}) == 3
