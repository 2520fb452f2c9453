"""How long a forecast takes, against the plain beta draws it is made of."""

from __future__ import annotations

import numpy as np

from coach.sprint.brief.loading import load_brief
from coach.sprint.fold import begin
from coach.sprint.pace.finishing import DRAWS, draw_finishing
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.pace.pace import PRIOR
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import PhaseWork, Work
from tests.benchmarks.conftest import Record
from tests.benchmarks.measuring import compared, timed
from tests.sprint.conftest import bench_setup

ITEMS = 120
RUNS = 9


def estimates() -> list[ThreePoint]:
    chance = np.random.default_rng(1)
    return [
        ThreePoint(low, low * 1.4, low * chance.uniform(2.0, 4.0))
        for low in chance.uniform(60, 600, ITEMS)
    ]


def test_draws_over_120_items_cost_little_more_than_their_beta_draws(record: Record) -> None:
    points = estimates()
    shapes = [1 + 4 * (p.likely - p.low) / (p.high - p.low) for p in points]
    chance = np.random.default_rng(2)

    def plain() -> None:
        for alpha in shapes:
            chance.beta(alpha, 6 - alpha, DRAWS)

    work = Work(drawing=tuple(PhaseWork(f"part {i}", point) for i, point in enumerate(points)))
    draws = timed(lambda: draw_finishing(work, PRIOR))
    name = f"draws over {ITEMS} items"
    record(compared(name, draws, "numpy's beta draws", timed(plain), rounds=RUNS, limit=1.5))


def test_a_whole_forecast_of_a_bundled_brief_takes_tenths_of_a_second(record: Record) -> None:
    """With what to drop, latest starts and all; it runs off the event loop, once a minute."""
    state = begin(bench_setup(load_brief("usb-bench-meter")))
    forecast = timed(lambda: forecast_of(state, 600.0))
    plain = timed(lambda: np.random.default_rng(2).beta(2.0, 4.0, (9, DRAWS)))
    made = record(compared("a forecast", forecast, "numpy's beta draws", plain, rounds=RUNS))
    assert made.figure < 1.0
