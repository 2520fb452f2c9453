"""Scores of forecasts, against the check values of common libraries and tables."""

from __future__ import annotations

import pytest

from coach.sprint.commands import End, Waive
from coach.sprint.events.run import ForecastMade
from coach.sprint.events.summary import ForecastOutcome
from coach.sprint.pace.scoring import (
    all_essentials_in_time,
    brier,
    brier_of_base_rate,
    calibration_of,
    scored,
    wilson,
)
from tests.sprint.conftest import Bench, with_kept

AT_HALF = ForecastMade(
    checkpoint=50,
    chance_essentials=0.7,
    chance_all=0.4,
    expected=6000.0,
    low=5400.0,
    high=6600.0,
    pace=1.2,
    draws=2000,
    seed=1,
)


def ended(bench: Bench, minutes: float, *, accepted: bool = True) -> None:
    for row in bench.state.rows:
        if row.item.phase != "closing" and not row.closed:
            bench.session.do(Waive(row.key, "made on paper"))
    bench.at(minutes)
    bench.session.do(End(accepted))


def test_always_saying_the_base_rate_scores_rate_times_its_complement() -> None:
    outcomes = [True, True, False, True]
    assert brier((0.75, one) for one in outcomes) == pytest.approx(brier_of_base_rate(outcomes))


def test_the_share_of_bands_that_held_is_of_those_that_can_be_told() -> None:
    went = [ForecastOutcome(50, 0.5, True, held) for held in (True, False, None, True, False)]
    at_half, in_all = calibration_of(went)
    assert (at_half.forecasts, at_half.covered, at_half.judged) == (5, 2, 4)
    assert at_half.share == in_all.share == 0.5


def test_ten_sprints_say_little() -> None:
    """8 of 10 is compatible with 49 to 94 % (Wilson, 95 %; recomputed)."""
    assert wilson(8, 10) == pytest.approx((0.49, 0.943), abs=0.005)


def test_no_interval_of_a_rate_leaves_nought_and_one() -> None:
    for count in range(1, 60):
        assert 0.0 <= wilson(0, count)[0] < 1e-12
        assert 1.0 - 1e-12 < wilson(count, count)[1] <= 1.0


def test_nothing_has_no_score() -> None:
    with pytest.raises(ValueError, match="to score"):
        brier([])
    assert calibration_of([]) == ()


def test_a_sprint_that_goes_on_has_no_score(bench: Bench) -> None:
    assert scored(with_kept(bench.state, AT_HALF)) == ()


def test_an_order_in_time_with_everything_closed_counts_as_it(bench: Bench) -> None:
    ended(bench, 95)
    state = with_kept(
        bench.state, AT_HALF, AT_HALF.model_copy(update={"checkpoint": 0, "because": "x"})
    )
    (one,) = scored(state)
    assert (one.happened, one.covered, one.chance) == (True, True, 0.7)
    assert one.loss == pytest.approx(0.1 * 300 + 0.1 * 900)


def test_the_ends_of_a_band_belong_to_it(bench: Bench) -> None:
    ended(bench, 95)
    finish = bench.state.ended_at or 0.0
    bands = [(5400.0, finish), (finish, 6600.0), (5400.0, finish - 1), (finish + 1, 6600.0)]
    kept = [AT_HALF.model_copy(update={"low": low, "high": high}) for low, high in bands]
    assert [one.covered for one in scored(with_kept(bench.state, *kept))] == [
        True,
        True,
        False,
        False,
    ]


def test_an_open_essential_or_a_late_order_does_not(bench: Bench) -> None:
    bench.at(90)
    bench.session.do(End(True))
    assert not all_essentials_in_time(bench.state)
    (one,) = scored(with_kept(bench.state, AT_HALF))
    assert (one.happened, one.covered) == (False, True)


def test_a_finish_after_the_cut_off_is_outside_the_chance_but_may_be_in_the_band(
    bench: Bench,
) -> None:
    ended(bench, 121)
    (one,) = scored(with_kept(bench.state, AT_HALF.model_copy(update={"high": 7300.0})))
    assert (one.happened, one.covered) == (False, True)


@pytest.mark.parametrize(("minutes", "covered"), [(100, None), (115, False)])
def test_of_a_sprint_that_was_given_up_the_band_is_told_where_it_can_be(
    bench: Bench, minutes: float, covered: bool | None
) -> None:
    ended(bench, minutes, accepted=False)
    (one,) = scored(with_kept(bench.state, AT_HALF))
    assert (one.happened, one.covered, one.loss) == (False, covered, None)
