"""How long a forecast's draws take, against the plain beta draws they are made of.

The floor, measured in the same run: numpy draws as many beta variates of the same shapes, and
does nothing with them.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

from coach.sprint.brief.loading import load_brief
from coach.sprint.fold import begin
from coach.sprint.pace.finishing import DRAWS, draw_finishing
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.pace.pace import PRIOR
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import PhaseWork, Work
from tests.sprint.conftest import bench_setup

ITEMS = 120
RUNS = 9
WANTED = 1.5


def seconds(work: Callable[[], object]) -> float:
    work()
    taken = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def estimates() -> list[ThreePoint]:
    chance = np.random.default_rng(1)
    return [
        ThreePoint(low, low * 1.4, low * chance.uniform(2.0, 4.0))
        for low in chance.uniform(60, 600, ITEMS)
    ]


def test_draws_over_120_items_cost_little_more_than_their_beta_draws() -> None:
    points = estimates()
    shapes = [1 + 4 * (p.likely - p.low) / (p.high - p.low) for p in points]
    chance = np.random.default_rng(2)

    def plain() -> None:
        for alpha in shapes:
            chance.beta(alpha, 6 - alpha, DRAWS)

    work = Work(drawing=tuple(PhaseWork(f"part {i}", point) for i, point in enumerate(points)))
    floor, took = seconds(plain), seconds(lambda: draw_finishing(work, PRIOR))
    print(
        f"\n{DRAWS} draws over {ITEMS} items: {took * 1e3:.0f} ms; plain numpy beta draws "
        f"{floor * 1e3:.0f} ms; ratio {took / floor:.2f}, wanted at most {WANTED}"
    )
    assert took <= WANTED * floor


def test_a_whole_forecast_of_a_bundled_brief_takes_tenths_of_a_second() -> None:
    """With what to drop, latest starts and all; it runs off the event loop, once a minute."""
    state = begin(bench_setup(load_brief("usb-bench-meter")))
    took = seconds(lambda: forecast_of(state, 600.0))
    floor = seconds(lambda: np.random.default_rng(2).beta(2.0, 4.0, (9, DRAWS)))
    print(f"\nforecast {took * 1e3:.0f} ms; its beta draws alone {floor * 1e3:.0f} ms")
    assert took < 1.0
