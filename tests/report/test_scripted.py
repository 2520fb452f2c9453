"""The debrief names what the script of a rehearsed sprint left out, and nothing else.

The simulated engineer keeps its own record of what it did not think of, passed over and waived,
by what it decided, not by what the state says.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from coach.report.account import Account
from coach.report.item_outcomes import (
    AFTER_A_CALL,
    IN_A_WALK,
    UNPROMPTED,
    found_again,
    opened_again,
    waived,
)
from coach.report.markdown import markdown_of
from coach.report.three_sentences import sentences
from coach.report.timeline import TimeChart
from coach.report.to_change import to_change
from coach.sprint.durations import minutes_of
from phases.kit.items import Severity
from tests.rehearsals import MORE_SCRIPTS, SCRIPTS, Script
from tests.report.conftest import Debriefed, Rehearsed, reported, texts, words_of

every_script = pytest.mark.parametrize(
    "script",
    [*SCRIPTS, *(pytest.param(script, marks=pytest.mark.long) for script in MORE_SCRIPTS)],
    ids=str,
)


def essentials(account: Account) -> set[str]:
    return {row.key for row in account.rows if row.essential}


@every_script
def test_what_the_script_forgot_is_named_and_nothing_else(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    named = {row.key for row in (*account.still_open, *account.closing_open) if row.essential}
    forgotten = set(report.forgotten) & essentials(account)
    if report.accepted:
        assert named == forgotten == {row.key for row in account.forgotten}
    else:  # given up: besides, what nobody came to
        assert forgotten <= named


@every_script
def test_what_is_open_at_the_end_is_what_the_state_has_open(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    of_the_board = {row.key for row in account.essentials if row.status in ("open", "reopened")}
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
    named = {p.key.removeprefix("item/"): p.evidence for p in waived(account).points}
    assert named == {key: f"Reason: {reason}" for key, reason in report.waived.items()}


@every_script
def test_each_late_one_says_how_it_came_up_again(script: Script, rehearsed: Rehearsed) -> None:
    _, account = rehearsed(script)
    ways = {found_again(account, row) for row in account.late}
    assert ways <= {IN_A_WALK, AFTER_A_CALL, UNPROMPTED}


@every_script
def test_the_times_of_the_phases_are_all_the_time_there_was(
    script: Script, rehearsed: Rehearsed
) -> None:
    report, account = rehearsed(script)
    away = [(one.since, one.to) for one in account.away]
    every = [span for one in account.phases for span in one.stretches] + away
    shown = sum(minutes_of(to) - minutes_of(since) for since, to in every)
    assert shown == minutes_of(report.elapsed)
    used = sum(one.used for one in account.phases)
    exact = sum(account.state.used.values())
    assert abs(used - exact) <= 60 * len(every)
    stretches = sorted((*(s for one in account.phases for s in one.stretches), *away))
    assert stretches[0][0] == 0
    assert all(before[1] == after[0] for before, after in pairwise(stretches))
    assert stretches[-1][1] == pytest.approx(report.elapsed, abs=0.01)


@every_script
def test_three_sentences_of_three_kinds_and_at_most_seven_things_to_change(
    script: Script, debriefed: Debriefed
) -> None:
    report = debriefed(script)
    assert report.faults == ()
    said = report.section("sentences").points
    assert len({one.text for one in said}) == 3
    assert all(one.text and one.evidence for one in said)
    more = report.section("recommendations").points
    assert len(more) <= 7
    assert all(one.text and one.evidence for one in more)


@every_script
def test_every_open_item_of_weight_is_named_where_it_is_still_changeable(
    script: Script, rehearsed: Rehearsed
) -> None:
    _, account = rehearsed(script)
    said = words_of(to_change(account))
    still = [*account.open_by_now, *account.closing_open]
    assert [row.key for row in still if row.item.statement.rstrip(".") not in said] == []
    assert [row.key for row in still if row.title not in said] == []
    if not (still or account.reopened or account.failing or account.undrawn):
        assert to_change(account).points == ()


@every_script
def test_an_open_item_is_named_in_full_once(
    script: Script, rehearsed: Rehearsed, debriefed: Debriefed
) -> None:
    """Beside the three sentences and what to do differently, which name a few again."""
    _, account = rehearsed(script)
    report = debriefed(script)
    named = [
        name
        for section in report.sections
        if section.id not in ("sentences", "recommendations")
        for name in (
            *(one.text for point in section.points for one in (point, *point.below)),
            *(row.cells[table.names] for table in section.tables for row in table.rows),
        )
    ]
    for row in account.open_by_now:
        alike = [one for one in named if row.item.statement in one and row.title in one]
        assert len(alike) == 1, row.key


def test_the_scripts_are_not_idle(rehearsed: Rehearsed) -> None:
    """Some forget, some are late, some waive, some are given up, and some do nothing of it."""
    pairs = [rehearsed(script) for script in SCRIPTS]
    assert any(not report.accepted for report, _ in pairs)
    assert any(report.accepted and not report.forgotten for report, _ in pairs)
    assert sum(len(account.forgotten) for report, account in pairs if report.accepted) > 30
    assert sum(len(account.late) for _, account in pairs) > 60
    assert sum(len(waived(account).points) for _, account in pairs) > 10
    assert sum(len(opened_again(account)) for _, account in pairs) > 5


def test_who_forgets_a_hazard_or_what_kills_the_board_hears_it_first(rehearsed: Rehearsed) -> None:
    heard = 0
    for script in SCRIPTS:
        _, account = rehearsed(script)
        grave = {row.item.severity for row in account.forgotten}
        first = texts(sentences(account))[0]
        if Severity.HAZARD in grave:
            assert "hazard" in first
            heard += 1
        elif Severity.DEAD_BOARD in grave and account.in_time:
            assert "can kill the board" in first
            heard += 1
    assert heard >= 3


def test_the_same_journal_gives_the_same_report(rehearsed: Rehearsed) -> None:
    known, _ = rehearsed(SCRIPTS[1])
    assert reported(known.path) == reported(known.path)


# ---- numbers side by side ----------------------------------------------------------------------

_BOX = re.compile(
    r"was (?P<by>[\dhmins ]+) (?P<way>over|under): (?P<used>[\dhmins ]+) in a box of "
    r"(?P<box>[\dhmins ]+)\."
)


def minutes(words: str) -> int:
    """ "1 h 12 min" and "45 s" in whole minutes."""
    found = {unit: int(number) for number, unit in re.findall(r"(\d+) (h|min|s)", words)}
    return 60 * found.get("h", 0) + found.get("min", 0) + round(found.get("s", 0) / 60)


@every_script
def test_a_difference_is_that_of_the_figures_beside_it(
    script: Script, debriefed: Debriefed
) -> None:
    report = debriefed(script)
    for text in texts(report.section("variance")):
        if found := _BOX.search(text):
            sign = 1 if found["way"] == "over" else -1
            assert minutes(found["used"]) - minutes(found["box"]) == sign * minutes(found["by"])
    (table,) = report.section("timeline").tables
    for row in table.rows:
        _, _, _, box, used, difference, _ = row.cells
        if difference[0] in "+−":
            sign = 1 if difference[0] == "+" else -1
            assert minutes(used) - minutes(box) == sign * minutes(difference[1:])
        elif difference == "as planned":
            assert minutes(used) == minutes(box)


@every_script
def test_what_is_counted_twice_is_counted_alike_and_no_chance_is_a_certainty(
    script: Script, rehearsed: Rehearsed, debriefed: Debriefed
) -> None:
    _, account = rehearsed(script)
    report = debriefed(script)
    chart = report.section("timeline").chart
    assert isinstance(chart, TimeChart)
    closing = len(account.closing_open)
    assert chart.left["closing"] == (closing, 0)
    if closing:
        assert f"Closing list: {closing} of " in words_of(report.section("to-change"))
    told_here = replace(
        report,
        sections=tuple(
            # What the coach said in the sprint is quoted as it was said.
            one
            for one in report.sections
            if one.id not in ("calls", "sentences", "recommendations")
        ),
    )
    every = markdown_of(told_here)
    assert not re.search(r"\d%", every), "per cent has its blank"
    assert not re.search(r"\b(100|0) % (for|at|of the time)", every)
    assert "acted on, 0 of" not in every and "because A" not in every
    assert not re.search(r"closed (\d:\d\d) to \1\b", every)
