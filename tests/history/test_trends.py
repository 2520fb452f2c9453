"""Counts over many sprints, each with what it is out of."""

from __future__ import annotations

from random import Random

import pytest

from coach.history.ended import ended_sprint
from coach.history.habits import habits_from
from coach.history.trends import ItemCount, Trends, trends_of
from coach.history.trends_text import trends_text
from coach.sprint.events.summary import ForecastOutcome, LateFinding
from coach.sprint.pace.scoring import wilson
from tests.history.conftest import Script
from tests.history.lines import MISSED, THERE, sprint


def of(trends: Trends, item: str) -> ItemCount:
    return next(one for one in trends.items if one.item == item)


def strap(missed: str) -> Trends:
    """A sprint for each character: x for forgotten, o for met, . for not on the board."""
    past = {"x": {"strap-level": MISSED}, "o": {"strap-level": THERE}, ".": {}}
    return trends_of([sprint(number, past[one]) for number, one in enumerate(missed)])


def test_an_item_is_counted_out_of_the_sprints_that_had_it() -> None:
    one = of(strap("xo.xo.oxo"), "strap-level")
    assert (one.sprints, one.forgotten, one.again) == (7, 3, 2)
    assert one.interval == wilson(3, 7)
    assert one.cautious == 4 / 16
    assert one.recent == (2, 6)  # the first is more than eight sprints ago


def test_a_sprint_in_which_its_turn_never_came_is_in_no_rate_of_an_essential() -> None:
    never = {"here": 1, "open": 1}
    past = [sprint(1, {"strap-level": MISSED}), sprint(2, {"strap-level": never})]
    one = of(trends_of(past), "strap-level")
    assert (one.sprints, one.forgotten) == (1, 1)
    assert one.cautious == 1 / 5  # of one due sprint, not of two


def test_of_a_further_item_nothing_is_said_to_be_forgotten() -> None:
    one = of(trends_of([sprint(1, {"spare-pads": {"here": 1, "open": 1}})]), "spare-pads")
    assert (one.sprints, one.forgotten, one.interval) == (1, 0, None)


@pytest.mark.parametrize(
    ("missed", "yours"),
    [
        ("x", False),
        ("xx", True),
        ("xoooo", False),
        ("xooox", True),
        ("xoooox", False),
        ("xoooxoox", True),
        ("xooooxox", True),
        ("xxxooooo", True),
        ("xxxoooooo", False),
        ("xxoooooo", False),
        ("x.......x", False),
        ("x......x", False),
    ],
)
def test_it_is_a_habit_after_two_misses_in_five_sprints_or_three_in_eight(
    missed: str, yours: bool
) -> None:
    assert of(strap(missed), "strap-level").yours is yours


def test_the_worst_stand_first_and_one_miss_in_one_sprint_is_not_the_worst() -> None:
    past = [{"strap-level": MISSED, "debug-pins": THERE} for _ in range(3)]
    past += [{"strap-level": THERE} for _ in range(5)]
    past += [{"strap-level": THERE, "other-thing": MISSED}]
    trends = trends_of([sprint(number, items) for number, items in enumerate(past)])
    assert [one.item for one in trends.items] == ["strap-level", "other-thing", "debug-pins"]
    assert of(trends, "other-thing").cautious < of(trends, "strap-level").cautious


def test_late_waived_reopened_and_dismissed_count_sprints_and_escapes_count_faults() -> None:
    many = {"here": 3, "due": 3, "late": 2, "waived": 2, "reopened": 4, "met": 1}
    gone = {"here": 0, "dismissed": 3}
    faults = (LateFinding("A", "debug-pins"), LateFinding("B", "debug-pins"), LateFinding("C"))
    lines = [
        sprint(1, {"debug-pins": many}, findings=faults),
        sprint(2, {"debug-pins": gone}),
    ]
    one = of(trends_of(lines), "debug-pins")
    assert (one.sprints, one.late, one.waived, one.reopened) == (1, 1, 1, 1)
    assert (one.dismissed, one.escapes) == (1, 2)


def test_rehearsed_sprints_are_no_habit_though_they_are_trends_of() -> None:
    lines = [sprint(n, {"strap-level": MISSED}, rehearsed=True) for n in range(4)]
    one = of(trends_of(lines), "strap-level")
    assert (one.forgotten, one.yours) == (4, False)
    assert trends_of(lines).rehearsed == 4


def test_rehearsed_and_own_sprints_are_told_apart() -> None:
    lines = [sprint(n, {"strap-level": MISSED}, rehearsed=True) for n in range(4)]
    lines += [sprint(5, {"strap-level": MISSED}, speed=60.0)]
    lines += [sprint(n, {"strap-level": THERE}, accepted=n == 6) for n in (6, 7)]
    trends = trends_of(lines)
    assert (trends.sprints, trends.rehearsed, trends.faster) == (7, 5, 1)
    assert trends.own == (2, 1, 0, 2)
    assert trends.mixed
    one = of(trends, "strap-level")
    assert (one.forgotten, one.sprints, one.own) == (5, 7, (0, 2))
    assert not trends_of(lines[:5]).mixed
    assert not trends_of(lines[5:]).mixed


def test_a_claim_is_made_of_ones_own_sprints_alone() -> None:
    own = [sprint(n, pace=1.0 + 0.01 * (n % 2)) for n in range(1, 12)]
    quick = [sprint(n, pace=3 / n, rehearsed=True) for n in range(20, 40)]
    mixed = trends_of([*own, *quick])
    assert mixed.pace == trends_of(own).pace
    assert mixed.missing == trends_of(own).missing
    assert not trends_of([*own[:9], *quick]).enough_for_a_trend
    assert trends_of(quick).pace is None


def test_a_sprint_given_up_at_once_is_in_no_rate_pace_or_claim() -> None:
    mark = ForecastOutcome(25, 0.9, False, None, None)
    fault = LateFinding("A", "debug-pins", 5.0)
    lines = [sprint(n, {"strap-level": THERE}, pace=1.0) for n in range(3)]
    missed = {"strap-level": MISSED, "debug-pins": {"here": 1}}
    at_once = sprint(
        9, missed, pace=9.0, forecasts=(mark,), accepted=False, given_up=True, findings=(fault,)
    )
    trends, without = trends_of([*lines, at_once]), trends_of(lines)
    assert (trends.sprints, trends.given_up, trends.forgotten) == (3, 1, (0, 3))
    assert of(trends, "strap-level") == of(without, "strap-level")
    assert (trends.phases, trends.pace, trends.calibration) == (without.phases, without.pace, ())
    # What was found on its boards is a fault all the same.
    assert trends.findings == (fault,)
    assert (of(trends, "debug-pins").escapes, of(trends, "debug-pins").sprints) == (1, 0)


def test_what_was_only_asked_is_counted_apart() -> None:
    only = {"strap-level": {"here": 0, "asked": 1}}
    trends = trends_of([sprint(1, only), sprint(2, {"strap-level": MISSED}), sprint(3, only)])
    one = of(trends, "strap-level")
    assert (one.sprints, one.forgotten, one.asked) == (1, 1, 2)
    assert (trends.asked, trends.forgotten) == (2, (1, 1))


def test_what_counts_is_what_the_script_forgot_over_all_sprints(scripts: list[Script]) -> None:
    trends = trends_of([ended_sprint(script.path) for script in scripts])
    due = [{key.partition("@")[0] for key in script.forgotten} for script in scripts]
    accepted = [script.state.accepted for script in scripts]
    for one in trends.items:
        if one.about.essential and (all(accepted) or one.about.phase != "closing"):
            assert one.forgotten == sum(one.item in forgot for forgot in due), one.item
    assert any(one.forgotten >= 3 for one in trends.items)


def test_the_next_sprint_is_asked_by_the_same_rule(scripts: list[Script]) -> None:
    lines = [ended_sprint(script.path) for script in scripts]
    trends = trends_of(lines)
    habits = habits_from([one.summary for one in reversed(lines)])
    assert habits
    assert {one.item for one in trends.items if one.yours} == habits.keys()
    assert {one.item: one.recent for one in trends.items if one.yours} == habits


def test_the_order_in_which_journals_come_changes_nothing(scripts: list[Script]) -> None:
    lines = [ended_sprint(script.path) for script in scripts]
    mixed = Random(1).sample(lines, len(lines))
    assert trends_of(mixed) == trends_of(lines)


# ---- phases ----------------------------------------------------------------------------------


def test_a_phase_has_its_median_and_its_quartiles() -> None:
    trends = trends_of([sprint(n, pace=pace) for n, pace in enumerate((1.0, 1.2, 1.4, 1.6, 3.0))])
    layout = next(one for one in trends.phases if one.phase == "layout")
    assert (layout.sprints, layout.name) == (5, "layout")
    assert (layout.middle, layout.low, layout.high) == pytest.approx((1.4, 1.2, 1.6))
    assert (layout.used, layout.planned) == pytest.approx((840.0, 600.0))


def test_a_phase_drawn_once_has_no_spread_and_one_never_drawn_is_left_out() -> None:
    trends = trends_of([sprint(1, pace=1.3), sprint(2)])
    assert [(one.low, one.high) for one in trends.phases] == [(1.3, 1.3)] * 3
    assert trends_of([sprint(1)]).phases == ()


# ---- forecasts -------------------------------------------------------------------------------


def test_forecasts_are_scored_at_each_mark_and_together() -> None:
    """The chances and outcomes of the published Brier score, spread over two marks."""
    marks = [
        ForecastOutcome(25, 0.9, True, True, 60.0),
        ForecastOutcome(25, 0.7, True, False, 20.0),
        ForecastOutcome(75, 0.4, False, None, None),
        ForecastOutcome(75, 0.2, True, True, None),
    ]
    trends = trends_of([sprint(n, forecasts=(mark,)) for n, mark in enumerate(marks)])
    quarter, late, every = trends.calibration
    assert (quarter.checkpoint, late.checkpoint, every.checkpoint) == (25, 75, 0)
    assert every.brier == pytest.approx(0.225)
    assert every.base == pytest.approx(0.75 * 0.25)
    assert (every.forecasts, every.happened, every.covered, every.judged) == (4, 3, 2, 3)
    assert quarter.interval == wilson(1, 2)
    assert quarter.loss == 40.0
    assert late.loss is None
    assert every.interval is None  # the forecasts of one sprint are no separate trials


def test_without_forecasts_there_is_no_calibration() -> None:
    assert trends_of([sprint(1)]).calibration == ()


# ---- findings and the whole ------------------------------------------------------------------


def test_faults_that_no_item_asks_for_are_told_apart_from_what_a_house_rule_asks_now() -> None:
    found = (LateFinding("A", "debug-pins"), LateFinding("B"), LateFinding("C", made="house-c"))
    said = trends_text(trends_of([sprint(1, findings=found)]))
    at = said.index("  3 faults found late, 1 let through by an item.")
    assert said[at + 1 : at + 5] == [
        "  No item asked for; a house rule of yours asks for it now:",
        "    C: house-c",
        "  No item asks for:",
        "    B",
    ]


def test_of_no_sprint_there_is_nothing_and_nothing_fails() -> None:
    trends = trends_of([])
    assert (trends.sprints, trends.first, trends.items, trends.pace) == (0, None, (), None)
    assert not trends.enough_for_a_trend


def test_orders_are_counted_accepted_and_in_time() -> None:
    trends = trends_of([sprint(1), sprint(2, accepted=False), sprint(3, {"a": MISSED})])
    assert (trends.sprints, trends.accepted, trends.in_time) == (3, 2, 2)
    assert trends.forgotten == (1, 1)


def test_a_number_of_forgotten_ones_that_falls_is_a_curve_that_falls() -> None:
    def of_ten(missed: int) -> dict[str, dict[str, int]]:
        return {f"item-{i}": MISSED if i < missed else THERE for i in range(10)}

    better = trends_of([sprint(n, of_ten(round(8 / n))) for n in range(1, 13)])
    assert better.missing is not None
    assert better.missing.claim == "better"
    worse = trends_of([sprint(n, of_ten(min(n, 9))) for n in range(1, 13)])
    assert worse.missing is not None
    assert worse.missing.claim == "worse"
    short = trends_of([sprint(n, of_ten(round(8 / n))) for n in range(1, 10)])
    assert short.missing is not None
    assert short.missing.claim == ""
