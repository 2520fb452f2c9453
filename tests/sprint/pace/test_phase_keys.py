"""A phase key by itself moves no forecast: going to another phase is no work.

The items that are open cost the same before the key and after it, or neither forecast can be
believed.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import EnterPhase, ReachStage, SetFact, Waive
from coach.sprint.pace.finishing import draw_finishing
from coach.sprint.pace.pace import pace_of
from coach.sprint.pace.plan import plan_of
from coach.sprint.pace.work import work_of
from phases.kit.items import CLOSING_ID, PHASE_IDS
from phases.kit.shared_data import list_shared
from tests.sprint.conftest import Begin, Bench

MINUTE = 60.0
PAIRS = [
    pytest.param(
        name,
        (0.3, 1.0, 1.5)[(i + k) % 3],
        closed,
        marks=[pytest.mark.long] * ((i + k) % 2),
    )
    for i, name in enumerate(list_shared("briefs"))
    for k, closed in enumerate((0.0, 0.5, 0.85, 1.0))
]
"""Briefs, shares of the box and of the gate: each value meets each of the others."""

REACHED = {"layout": ("placement", "routing"), "labelling": ("files", "")}
"""The stages reached at the beginning and in the end of a phase."""


def seen(bench: Bench) -> tuple[float, float]:
    """The chance of all essentials in time, and the median end in elapsed minutes."""
    state, t = bench.state, bench.session.t
    drawn = draw_finishing(work_of(state, t), pace_of(state, t).ahead(), draws=3000).essentials
    chance = float((drawn <= state.deadline - t).mean())
    return chance, (t + float(np.median(drawn))) / MINUTE


def enter(bench: Bench, phase: str) -> None:
    """Presses the key of a phase; nothing may come of it."""
    before = seen(bench)
    bench.session.do(EnterPhase(phase))
    after = seen(bench)
    assert abs(after[0] - before[0]) < 0.05, phase
    assert abs(after[1] - before[1]) < 2, phase


def reach(bench: Bench, stage: str) -> None:
    if stage:
        bench.session.do(ReachStage(stage))


def close(bench: Bench, phase: str, share: float) -> None:
    """Closes so much of what can be closed of a gate."""
    rows = [r for r in bench.state.rows_of(phase) if r.item.essential and bench.state.reached(r)]
    there = [row for row in rows if row.applies is not False]
    for row in there[: round(share * len(there))]:
        if not bench.row(row.key).closed:
            bench.session.do(Waive(row.key, "made on paper"))


@pytest.mark.parametrize(("name", "boxes", "closed"), PAIRS)
def test_a_phase_key_alone_moves_no_forecast(
    begin: Begin, name: str, boxes: float, closed: float
) -> None:
    """Through a whole sprint, each phase given so much of its box and so much of its gate closed,
    with a look back now and then; parts chosen in a minute."""
    bench = begin(load_brief(name))
    bench.at(1)
    for number, phase in enumerate(PHASE_IDS):
        enter(bench, phase)
        first, last = REACHED.get(phase, ("", ""))
        reach(bench, first)
        bench.clock.advance(boxes * plan_of(bench.state).box(phase).seconds)
        reach(bench, last)
        close(bench, phase, closed)
        if number % 2:
            enter(bench, PHASE_IDS[number - 1])
            bench.clock.advance(20)
            enter(bench, phase)
    enter(bench, CLOSING_ID)
    bench.clock.advance(MINUTE)
    enter(bench, "layout")
    enter(bench, CLOSING_ID)


def test_a_used_up_box_with_nothing_closed_counts_its_items_before_it_is_left(
    begin: Begin,
) -> None:
    """Power entry, its box used up and nothing closed: the chance falls while one is in it, as
    time is used up, and not by the key that leaves it."""
    bench = begin(load_brief("usb-bench-meter"))
    bench.session.do(SetFact("parts_chosen", True))
    bench.session.do(EnterPhase("power-entry"))
    box = plan_of(bench.state).box("power-entry").seconds
    chances = []
    for share in (0.0, 0.5, 1.0, 1.5):
        bench.at(share * box / MINUTE)
        chances.append(seen(bench)[0])
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0.6
    assert 0.2 < chances[2] < 0.45
    enter(bench, "regulation")
    piece = work_of(bench.state, bench.session.t).piece("power-entry")
    assert piece is not None
    assert len(piece.open.own) >= 6
    assert piece.weight_of_items(1.3) == 1.0
    assert piece.expected(1.3) == pytest.approx(piece.open.bound(1.3 * piece.whole.expected))


@pytest.mark.parametrize("name", list_shared("briefs"))
def test_in_whatever_order_phases_are_looked_into_the_end_stays(begin: Begin, name: str) -> None:
    bench = begin(load_brief(name))
    bench.at(6)
    order = [*PHASE_IDS[::-1], CLOSING_ID, *PHASE_IDS]
    for one, other in pairwise(order):
        for phase in (one, other):
            if bench.state.phase != phase:
                enter(bench, phase)
