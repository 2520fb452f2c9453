"""The debrief names what the script of a rehearsed sprint left out, and nothing else.

The simulated engineer keeps its own record of what it did not think of, passed over and waived,
by what it decided, not by what the state says.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from coach.debrief.account.data import Account
from phases.kit.items import CLOSING_ID
from tests.debrief.conftest import SCRIPTS, Rehearsed, Script, told

every_script = pytest.mark.parametrize("script", SCRIPTS, ids=str)


def essentials(account: Account) -> set[str]:
    return {one.key for one in account.items if one.essential}


@every_script
def test_what_the_script_forgot_is_named_and_nothing_else(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    named = {one.key for one in (*account.forgotten, *account.closing_open) if one.essential}
    forgotten = set(report.forgotten) & essentials(account)
    if report.accepted:
        assert named == forgotten
    else:  # given up: besides, what nobody came to
        assert forgotten <= named


@every_script
def test_what_is_open_at_the_end_is_what_the_state_has_open(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    of_the_board = {
        one.key for one in account.items
        if one.essential and one.outcome in ("open", "reopened") and one.phase != CLOSING_ID
    }  # fmt: skip
    assert of_the_board == set(report.open_essentials)


@every_script
def test_what_was_passed_over_and_made_good_later_is_late_and_nothing_else(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    assert {one.key for one in account.late} == set(report.late)


@every_script
def test_waivers_are_named_with_the_reasons_given(script: Script, rehearsed: Rehearsed) -> None:
    report, account = rehearsed(script)
    assert {one.key: one.reason for one in account.waived} == report.waived


@every_script
def test_each_late_one_says_how_it_came_up_again(script: Script, rehearsed: Rehearsed) -> None:
    _, account = rehearsed(script)
    assert all(one.found in ("a walk", "a call", "by itself") for one in account.late)
    assert all(not one.found for one in account.items if not one.late)


@every_script
def test_the_times_of_the_phases_are_all_the_time_there_was(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    used = sum(one.used for one in account.phases)
    assert used + account.interrupted == pytest.approx(report.elapsed, abs=1.0)
    stretches = sorted(stretch for one in account.phases for stretch in one.stretches)
    assert stretches[0][0] == 0
    assert all(before[1] == after[0] for before, after in pairwise(stretches))
    assert stretches[-1][1] == pytest.approx(report.elapsed, abs=0.01)


@every_script
def test_three_sentences_of_three_kinds_and_at_most_seven_things_to_change(
    script: Script, rehearsed: Rehearsed
) -> None:
    _, account = rehearsed(script)
    assert account.faults == ()
    assert len({one.text for one in account.sentences}) == 3
    assert len(account.differently) <= 7
    said = (*account.sentences, *account.differently, *account.changeable)
    assert all(one.text and one.evidence for one in said)


@every_script
def test_every_open_hazard_and_dead_board_item_is_still_changeable(
    script: Script, rehearsed: Rehearsed
) -> None:
    _, account = rehearsed(script)
    texts = " ".join(words for one in account.changeable for words in (one.text, *one.names))
    grave = [one for one in account.forgotten if one.severity in ("hazard", "dead board")]
    assert all(one.name.rstrip(".") in texts for one in grave if one.phase != CLOSING_ID)
    essential_open = any(e.outcome in ("open", "reopened") for e in account.items if e.essential)
    fails = any(one.verdict == "fail" or one.stale for one in account.calculations)
    if not (essential_open or fails or account.undrawn):
        assert account.changeable == ()


def test_the_scripts_are_not_idle(rehearsed: Rehearsed) -> None:
    """Some forget, some are late, some waive, some are given up, and some do nothing of it."""
    pairs = [rehearsed(script) for script in SCRIPTS]
    assert any(not report.accepted for report, _ in pairs)
    assert any(report.accepted and not report.forgotten for report, _ in pairs)
    assert sum(len(account.forgotten) for report, account in pairs if report.accepted) > 30
    assert sum(len(account.late) for _, account in pairs) > 60
    assert sum(len(account.waived) for _, account in pairs) > 10
    assert sum(len(account.reopened) for _, account in pairs) > 5


def test_who_forgets_a_hazard_or_what_kills_the_board_hears_it_first(rehearsed: Rehearsed) -> None:
    heard = 0
    for script in SCRIPTS:
        _, account = rehearsed(script)
        grave = {e.severity for e in account.forgotten if e.phase != CLOSING_ID}
        if "hazard" in grave:
            assert "hazard" in account.sentences[0].text
            heard += 1
        elif "dead board" in grave and account.in_time:
            assert "can kill the board" in account.sentences[0].text
            heard += 1
    assert heard > 3


def test_the_same_journal_gives_the_same_account(rehearsed: Rehearsed) -> None:
    report, account = rehearsed(SCRIPTS[1])
    assert told(report.path) == account
