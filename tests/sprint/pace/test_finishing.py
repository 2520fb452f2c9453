"""Finishing times: draws that are the same for the same seed, and each piece on its own."""

from __future__ import annotations

import numpy as np
import pytest

from coach.sprint.pace.finishing import LEAST_LEFT, draw_finishing
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import LeftOpen, Open, PhaseWork, Work

ONE = ThreePoint(300, 600, 1140)
KNOWN = Pace(0.0, 1e-6)
LEFT = LeftOpen("decoupling", ("a",), Open((ONE,), built_on=1.0), ONE)


def layout(**more: object) -> Work:
    return Work(drawing=(PhaseWork("layout", ONE, **more),))  # type: ignore[arg-type]


def test_the_same_seed_gives_the_same_draws() -> None:
    work = Work(drawing=(PhaseWork("layout", ONE, spent=200),), left_open=(LEFT,), closing=ONE)
    one, other = (draw_finishing(work, PRIOR, draws=500, seed=4) for _ in range(2))
    assert (one.essentials == other.essentials).all()
    different = draw_finishing(work, PRIOR, draws=500, seed=5)
    assert (one.essentials != different.essentials).any()


def test_a_piece_less_leaves_the_draws_of_the_others() -> None:
    both = Work(drawing=(PhaseWork("layout", ONE), PhaseWork("labelling", ONE)))
    alone = Work(drawing=(PhaseWork("layout", ONE),))
    first = draw_finishing(both, PRIOR, draws=500)
    second = draw_finishing(alone, PRIOR, draws=500)
    assert (first.drawing["layout"] == second.drawing["layout"]).all()
    assert first.essentials - first.drawing["labelling"] == pytest.approx(second.essentials)


def test_only_drawing_takes_the_pace() -> None:
    fixed = Work(left_open=(LEFT,), closing=ONE, walks=90.0, further=(ONE,), further_walks=30.0)
    slow, fast = (draw_finishing(fixed, Pace(m, 0.3), draws=500) for m in (1.0, -1.0))
    assert (slow.essentials == fast.essentials).all()
    assert (slow.everything - slow.essentials).min() > 30.0
    slow, fast = (draw_finishing(layout(), Pace(m, 0.3), draws=500) for m in (1.0, -1.0))
    assert (slow.essentials > fast.essentials).all()


def test_work_that_goes_on_takes_longer_than_it_took_so_far() -> None:
    """The rest is drawn under the condition that the whole is longer: for who spent 700 s on
    work of 300 to 1140 s, the share of draws above 700 s alone counts."""
    whole = draw_finishing(layout(), KNOWN, draws=20_000).essentials
    rest = draw_finishing(layout(spent=700.0), KNOWN, draws=20_000).essentials
    longer = whole[whole > 700] - 700
    assert rest.min() > 0
    assert rest.mean() == pytest.approx(longer.mean(), rel=0.03)
    assert np.quantile(rest, 0.9) == pytest.approx(np.quantile(longer, 0.9), rel=0.05)


def test_beyond_the_longest_that_was_thought_of_something_is_left_still() -> None:
    rest = draw_finishing(layout(spent=5000.0), KNOWN, draws=500).essentials
    longest = draw_finishing(layout(), KNOWN, draws=500).essentials.max()
    assert rest == pytest.approx(np.full(500, LEAST_LEFT * longest), rel=1e-4)


def test_closed_items_shorten_what_is_left() -> None:
    means = [
        draw_finishing(layout(spent=200.0, shown=s), PRIOR, draws=2000).essentials.mean()
        for s in (0.0, 0.3, 0.6, 0.9, 1.0)
    ]
    assert means == sorted(means, reverse=True)
    assert means[-1] == 0


def test_the_more_of_its_time_is_used_up_the_more_its_open_items_count() -> None:
    """Three items of 900 s by themselves, in work of some 640 s."""
    items = Open((ThreePoint(800, 900, 1000),) * 3)

    def left(spent: float, still: Open) -> float:
        return float(
            draw_finishing(layout(spent=spent, open=still), KNOWN, draws=4000).essentials.mean()
        )

    assert left(300.0, items) == left(300.0, Open((ONE,) * 3))  # too early to tell
    assert left(480.0, items) < left(640.0, items) < left(900.0, items)
    # No longer than drawn anew, which takes more than the 900 s that were not enough.
    anew = draw_finishing(layout(spent=900.0), KNOWN, draws=4000).essentials.mean() + 900.0
    assert left(900.0, items) == pytest.approx(anew, rel=0.02)
    few = Open((ThreePoint(50, 60, 70),))
    assert left(900.0, few) == pytest.approx(60.0, rel=0.02)


def test_what_was_left_open_takes_no_longer_than_drawing_it_anew() -> None:
    items = (ThreePoint(800, 900, 1000),) * 3

    def left(built_on: float, pace: Pace) -> float:
        left_open = (LeftOpen("decoupling", ("a", "b", "c"), Open(items, built_on), ONE),)
        return float(draw_finishing(Work(left_open=left_open), pace, draws=4000).essentials.mean())

    anew = draw_finishing(layout(), KNOWN, draws=4000).essentials.mean()
    assert left(0.0, KNOWN) == pytest.approx(anew, rel=0.03)
    assert left(0.0, Pace(0.5, 1e-6)) == pytest.approx(anew * np.exp(0.5), rel=0.03)
    # Beyond layout it is rework: each takes what it takes.
    assert left(0.0, KNOWN) < left(0.3, KNOWN) < left(1.0, KNOWN) == pytest.approx(2700, rel=0.02)


def test_what_is_dropped_is_not_drawn() -> None:
    whole = draw_finishing(layout(), PRIOR, draws=500).essentials
    kept = draw_finishing(layout(keep=0.75), PRIOR, draws=500).essentials
    assert kept == pytest.approx(0.75 * whole)


def test_without_work_the_end_is_now() -> None:
    nothing = draw_finishing(Work(), PRIOR, draws=50)
    assert (nothing.essentials == 0).all()
    assert (nothing.everything == 0).all()
