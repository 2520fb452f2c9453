"""Finishing times: draws that are the same for the same seed, and each piece on its own."""

from __future__ import annotations

import numpy as np
import pytest

from coach.sprint.pace.finishing import LEAST_LEFT, draw_finishing
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import Piece, Work

ONE = ThreePoint(300, 600, 1140)
KNOWN = Pace(0.0, 1e-6)


def layout(**more: object) -> Work:
    return Work(drawing=(Piece("layout", ONE, **more),))  # type: ignore[arg-type]


def test_the_same_seed_gives_the_same_draws() -> None:
    work = Work(drawing=(Piece("layout", ONE, spent=200, now=True),), skipped=(ONE,), closing=ONE)
    one, other = (draw_finishing(work, PRIOR, draws=500, seed=4) for _ in range(2))
    assert (one.essentials == other.essentials).all()
    different = draw_finishing(work, PRIOR, draws=500, seed=5)
    assert (one.essentials != different.essentials).any()


def test_a_piece_less_leaves_the_draws_of_the_others() -> None:
    both = Work(drawing=(Piece("layout", ONE), Piece("labelling", ONE)))
    alone = Work(drawing=(Piece("layout", ONE),))
    first = draw_finishing(both, PRIOR, draws=500)
    second = draw_finishing(alone, PRIOR, draws=500)
    assert (first.drawing["layout"] == second.drawing["layout"]).all()
    assert first.essentials - first.drawing["labelling"] == pytest.approx(second.essentials)


def test_only_drawing_takes_the_pace() -> None:
    fixed = Work(skipped=(ONE,), closing=ONE, walks=90.0, further=(ONE,), further_walks=30.0)
    slow, fast = (draw_finishing(fixed, Pace(m, 0.3), draws=500) for m in (1.0, -1.0))
    assert (slow.essentials == fast.essentials).all()
    assert (slow.everything - slow.essentials).min() > 30.0
    slow, fast = (draw_finishing(layout(), Pace(m, 0.3), draws=500) for m in (1.0, -1.0))
    assert (slow.essentials > fast.essentials).all()


def test_work_that_goes_on_takes_longer_than_it_took_so_far() -> None:
    """The rest is drawn under the condition that the whole is longer: for who spent 700 s on
    work of 300 to 1140 s, the share of draws above 700 s alone counts."""
    whole = draw_finishing(layout(), KNOWN, draws=20_000).essentials
    rest = draw_finishing(layout(spent=700.0, now=True), KNOWN, draws=20_000).essentials
    longer = whole[whole > 700] - 700
    assert rest.min() > 0
    assert rest.mean() == pytest.approx(longer.mean(), rel=0.03)
    assert np.quantile(rest, 0.9) == pytest.approx(np.quantile(longer, 0.9), rel=0.05)


def test_beyond_the_longest_that_was_thought_of_something_is_left_still() -> None:
    rest = draw_finishing(layout(spent=5000.0, now=True), KNOWN, draws=500).essentials
    longest = draw_finishing(layout(), KNOWN, draws=500).essentials.max()
    assert rest == pytest.approx(np.full(500, LEAST_LEFT * longest), rel=1e-4)


def test_closed_items_shorten_what_is_left() -> None:
    means = [
        draw_finishing(layout(spent=200.0, shown=s, now=True), PRIOR, draws=2000).essentials.mean()
        for s in (0.0, 0.3, 0.6, 0.9, 1.0)
    ]
    assert means == sorted(means, reverse=True)
    assert means[-1] == 0


def test_what_is_dropped_is_not_drawn() -> None:
    whole = draw_finishing(layout(), PRIOR, draws=500).essentials
    kept = draw_finishing(layout(keep=0.75), PRIOR, draws=500).essentials
    assert kept == pytest.approx(0.75 * whole)


def test_without_work_the_end_is_now() -> None:
    nothing = draw_finishing(Work(), PRIOR, draws=50)
    assert (nothing.essentials == 0).all()
    assert (nothing.everything == 0).all()
