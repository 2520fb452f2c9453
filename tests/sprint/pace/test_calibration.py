"""Forecasts against what came of rehearsed sprints; the long run is `make calibrate`."""

from __future__ import annotations

import statistics
from itertools import islice

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.calls import MOST_RINGING
from coach.sprint.pace.checkpoints import CHECKPOINTS
from coach.sprint.pace.pace import PRIOR
from coach.sprint.pace.scoring import wilson
from coach.sprint.rehearsal.many import Sprint, calibration, engineers, in_words, rehearse_many

COUNT = 16


@pytest.fixture(scope="module")
def sprints() -> list[Sprint]:
    return list(rehearse_many([load_brief("orchard-radio-tag")], COUNT, seed=300))


@pytest.mark.long
def test_the_bands_hold_about_as_much_as_they_say(sprints: list[Sprint]) -> None:
    """Of so few sprints a true 80 % is compatible with this much (binomial, three forecasts of a
    sprint hanging together)."""
    in_all = calibration(sprints)[-1]
    assert in_all.forecasts > 2 * COUNT
    assert 0.6 <= in_all.share <= 0.97
    low, high = wilson(in_all.covered, in_all.judged)
    assert low < in_all.share < high
    assert f"{100 * low:.0f} to {100 * high:.0f} %" in in_words(in_all)


@pytest.mark.long
def test_the_chances_are_better_than_the_base_rate(sprints: list[Sprint]) -> None:
    in_all = calibration(sprints)[-1]
    assert 0 < in_all.base <= 0.25
    assert in_all.brier < in_all.base


@pytest.mark.long
def test_every_mark_that_was_reached_is_judged(sprints: list[Sprint]) -> None:
    marks = [one.checkpoint for one in calibration(sprints)]
    assert marks == [*CHECKPOINTS, 0]
    assert calibration([]) == ()


@pytest.mark.long
def test_no_sprint_rings_more_than_eight_times(sprints: list[Sprint]) -> None:
    assert max(sprint.rung for sprint in sprints) <= MOST_RINGING
    assert min(sprint.rung for sprint in sprints) >= 1


def test_engineers_differ_and_their_paces_lie_about_the_prior() -> None:
    kinds = list(islice(engineers(1), 400))
    assert len({kind.seed for kind in kinds}) == 400
    assert kinds[:3] == list(islice(engineers(1), 3))
    paces = [kind.pace for kind in kinds]
    # What they spend on looking and calculating comes on top of drawing.
    assert 0.8 < statistics.median(paces) / PRIOR.median < 1.0
    assert statistics.stdev(paces) / statistics.mean(paces) == pytest.approx(0.3, abs=0.05)
    assert len({round(kind.burst) for kind in kinds}) > 4
    assert max(kind.overlook for kind in kinds) > 0.1
