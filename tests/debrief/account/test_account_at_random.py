"""Commands at random: there is always an account, and its counts are those of the state."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from coach.debrief.account.data import Account
from coach.sprint.board import open_essentials
from coach.sprint.commands import End
from coach.sprint.state import MET, NOT_HERE, REOPENED, WAIVED, State
from coach.sprint.to_draw import to_draw
from phases.kit.items import CLOSING_ID
from phases.kit.refusals import Refusal
from tests.debrief.account.forging import outlandish, unsound
from tests.debrief.conftest import told_of
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
    """What the account counts is what the state has."""
    assert account.faults == ()
    assert unsound(account) == []
    assert outlandish(account) == []
    there = Counter(row.status for row in state.rows if row.status != NOT_HERE)
    counted = Counter(one.outcome for one in account.items if one.outcome != NOT_HERE)
    assert counted == there
    assert {e.key for e in account.waived} == {r.key for r in state.rows if r.status == WAIVED}
    open_keys = {
        e.key for e in account.items
        if e.essential and e.phase != CLOSING_ID and e.outcome in ("open", REOPENED)
    }  # fmt: skip
    assert open_keys == {row.key for row in open_essentials(state)}
    late = {
        row.key for row in state.rows
        if row.status in (MET, WAIVED) and row.state and row.state.late
    }  # fmt: skip
    assert {e.key for e in account.late} == late
    assert len(account.calculations) == len(state.calculations)
    assert len(account.undrawn) == len(to_draw(state))
    assert len(account.calls) == len(state.calls)
    assert sum(one.used for one in account.phases) == pytest.approx(sum(state.used.values()))
    for one in account.items:
        assert (one.outcome == REOPENED) == bool(
            one.reopenings and one.reopenings[-1].closed_again is None
            and one.outcome != NOT_HERE
        ), one  # fmt: skip


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
    assert len({one.text for one in account.sentences}) == 3
    assert len(account.differently) <= 7
