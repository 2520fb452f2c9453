"""Scores of forecasts against worked figures of the definitions they are taken from."""

from __future__ import annotations

import pytest

from coach.sprint.pace.scoring import brier, pinball


def test_the_brier_score_of_four_forecasts() -> None:
    """0.9, 0.7, 0.4, 0.2 against 1, 1, 0, 1: (0.01 + 0.09 + 0.16 + 0.64) / 4 = 0.225. Definition:
    G. W. Brier, Verification of forecasts expressed in terms of probability, Monthly Weather
    Review 78 (1950) 1-3, for two classes halved, as in the handbook of scikit-learn 1.6,
    brier_score_loss; the figure recomputed by hand."""
    pairs = [(0.9, True), (0.7, True), (0.4, False), (0.2, True)]
    assert brier(pairs) == pytest.approx(0.225)


@pytest.mark.parametrize(("actual", "loss"), [(132, 9.6), (110, 2.0), (120, 0.0)])
def test_the_pinball_loss_of_a_quantile(actual: float, loss: float) -> None:
    """The 0.8 quantile said to be 120: 0.8 x 12 = 9.6 above it, 0.2 x 10 = 2.0 below. Definition:
    R. Koenker, G. Bassett, Regression quantiles, Econometrica 46 (1978) 33-50; so in the handbook
    of scikit-learn 1.6, mean_pinball_loss; the figures recomputed by hand."""
    assert pinball(0.8, 120, actual) == pytest.approx(loss)
