"""The forecast: sensible at minute one, the same for the same seed, and honest when stuck."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    End,
    EnterPhase,
    JoinLate,
    Meet,
    MoveCutOff,
    Reopen,
    SetFact,
    SignOff,
    Waive,
)
from coach.sprint.pace.forecast import Forecast, forecast_of
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.pace.plan import CHOOSING
from phases.kit.items import PHASE_IDS
from phases.kit.refusals import Refusal
from phases.kit.shared_data import list_shared
from tests.sprint.at_random import any_command
from tests.sprint.conftest import Begin, Bench, changed

MINUTE = 60.0
BRIEFS = list_shared("briefs")


def made(bench: Bench, pace: Pace = PRIOR, draws: int = 4000) -> Forecast:
    return forecast_of(bench.state, bench.session.t, pace=pace, draws=draws)


@pytest.mark.parametrize("name", BRIEFS)
def test_at_minute_one_an_average_engineer_has_a_fair_chance(begin: Begin, name: str) -> None:
    bench = begin(load_brief(name))
    bench.at(1)
    first = forecast_of(bench.state, bench.session.t)
    assert 0.6 <= first.chance_essentials <= 0.9
    assert 0.1 < first.chance_all <= first.chance_essentials
    assert first.low < first.expected < first.high
    assert first.costliest == "layout"
    assert first.draws >= 20_000


def test_the_same_state_time_and_seed_give_the_same_forecast(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    assert made(bench) == made(bench)
    other = forecast_of(bench.state, bench.session.t, draws=4000, seed=2)
    assert other.chance_essentials == pytest.approx(made(bench).chance_essentials, abs=0.05)


def test_more_time_is_a_better_chance(bench: Bench) -> None:
    before = made(bench)
    bench.session.do(MoveCutOff("+30 min"))
    after = made(bench)
    assert after.chance_essentials > before.chance_essentials
    assert (after.expected, after.low) == (before.expected, before.low)


def test_who_is_known_to_be_slow_has_a_worse_one(bench: Bench) -> None:
    slow, fast = made(bench, Pace(0.6, 0.2)), made(bench, Pace(-0.2, 0.2))
    assert slow.chance_essentials < fast.chance_essentials
    assert slow.expected > fast.expected


def test_who_is_stuck_sees_it_come(bench: Bench) -> None:
    bench.session.do(SetFact("parts_chosen", True))
    bench.session.do(EnterPhase("power-entry"))
    chances, ends = [], []
    for minutes in (2, 10, 20, 40):
        bench.at(minutes)
        chances.append(made(bench).chance_essentials)
        ends.append(made(bench).expected)
    assert chances == sorted(chances, reverse=True)
    assert ends == sorted(ends)
    # Each minute lost costs more than itself: the pace of all that is to come is in doubt too.
    assert ends[-1] - ends[0] > 38 * MINUTE


def test_work_that_goes_as_planned_keeps_the_end(bench: Bench) -> None:
    bench.session.do(SetFact("parts_chosen", True))
    before = made(bench, Pace(0.0, 0.1)).expected
    for phase, minutes in (("power-entry", 6), ("regulation", 6), ("debug-access", 4)):
        bench.session.do(EnterPhase(phase))
        bench.clock.advance(minutes * MINUTE)
        for row in bench.state.rows_of(phase):
            if row.item.essential and not row.closed:
                bench.session.do(Waive(row.key, "made on paper"))
        bench.session.do(SignOff(phase))
    assert made(bench, Pace(0.0, 0.1)).expected == pytest.approx(before, rel=0.05)


def test_what_was_drawn_before_is_time_won(bench: Bench) -> None:
    before = made(bench)
    bench.session.do(JoinLate("layout"))
    after = made(bench)
    assert after.chance_essentials >= before.chance_essentials
    assert before.expected - after.expected > 20 * MINUTE
    assert after.costliest != "layout"


def test_the_band_narrows_as_the_work_is_done(bench: Bench) -> None:
    wide = made(bench)
    bench.session.do(SetFact("parts_chosen", True))
    for phase in PHASE_IDS:
        bench.session.do(JoinLate(phase))
    bench.session.do(EnterPhase("closing"))
    narrow = made(bench)
    assert narrow.high - narrow.low < (wide.high - wide.low) / 5
    assert narrow.costliest is None


def test_only_the_closing_list_left_is_nearly_certain(bench: Bench) -> None:
    bench.session.do(SetFact("parts_chosen", True))
    for phase in PHASE_IDS:
        bench.session.do(JoinLate(phase))
    for row in bench.state.rows:
        if row.item.phase != "closing" and not row.closed:
            bench.session.do(Waive(row.key, "made on paper"))
    bench.session.do(EnterPhase("closing"))
    last = made(bench)
    assert last.chance_essentials == last.chance_all == 1.0
    assert last.expected == pytest.approx(bench.session.t + 6 * MINUTE, rel=0.01)


def test_after_the_cut_off_there_is_no_chance_while_work_is_left(bench: Bench) -> None:
    bench.at(121)
    late = made(bench)
    assert late.chance_essentials == 0.0
    assert late.expected > bench.state.deadline


@pytest.mark.parametrize(("accepted", "chance"), [(True, 1.0), (False, 0.0)])
def test_after_the_end_the_forecast_is_what_happened(
    bench: Bench, accepted: bool, chance: float
) -> None:
    bench.at(100)
    bench.session.do(End(accepted))
    over = made(bench)
    assert over.chance_essentials == chance
    assert over.expected == pytest.approx(100 * MINUTE, abs=6)
    assert (over.proposal, over.latest) == (None, ())


def test_a_proposal_comes_where_the_chance_is_under_the_threshold(bench: Bench) -> None:
    good = made(bench)
    assert (good.fallen, good.proposal) == (False, None)
    bench.at(60)
    bad = made(bench)
    assert bad.fallen
    assert bad.proposal is not None
    deadline = bench.state.setup.brief.deadline.model_copy(update={"threshold": 0.05})
    brief = bench.state.setup.brief.model_copy(update={"deadline": deadline})
    easy = replace(bench.state, setup=changed(bench.state.setup, brief=brief))
    assert forecast_of(easy, 30 * MINUTE, draws=2000).proposal is None


def test_it_says_why(bench: Bench) -> None:
    assert made(bench).why().startswith("Biggest part left: layout, ")
    assert "pace 1.3 (default until seen)." in made(bench).why()
    bench.session.do(EnterPhase("debug-access"))
    bench.clock.advance(6 * MINUTE)
    bench.session.do(EnterPhase("layout"))
    words = made(bench).why()
    assert "Debug access: 3 min of that, 1 essential open." in words
    assert words.endswith("closing list 6 min.")
    bench.session.do(Meet("debug-pins"))
    assert "(seen in 1 phase)" in made(bench).why()
    assert "open" not in made(bench).why()
    bench.session.do(SignOff("debug-access"))
    bench.session.do(Reopen("debug-pins"))
    assert "1 essential left open in drawn phases: 4 min." in made(bench).why()


def test_choosing_can_be_what_costs_most(bench: Bench) -> None:
    for phase in PHASE_IDS:
        bench.session.do(JoinLate(phase))
    first = made(bench)
    assert (first.costliest, first.costliest_name) == (CHOOSING, "choosing parts")


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("name", ["", "pump-driver-24v"])
def test_whatever_happens_there_is_a_forecast(begin: Begin, name: str, seed: int) -> None:
    bench, chance = begin(load_brief(name) if name else None), Random(seed)
    for _ in range(40):
        bench.clock.advance(chance.choice((1, 20, 200, 600)))
        try:
            bench.session.do(any_command(chance, bench.state))
        except Refusal:
            continue
        one = forecast_of(bench.state, bench.session.t, draws=50)
        assert 0 <= one.chance_all <= one.chance_essentials <= 1
        assert bench.session.t <= one.low <= one.high
        assert math.isfinite(one.expected)
        assert one.why()
        bench.session.take_forecast(one)
        bench.session.tick()


def test_a_phase_without_work_is_no_trouble(bench: Bench) -> None:
    """A journal may hold phases whose work all grows with what this board has none of."""
    phases = tuple(
        phase.model_copy(
            update={"drawing": phase.drawing.model_copy(update={"grows_with": {"interfaces": 1.0}})}
        )
        for phase in bench.state.setup.phases
    )
    setup = changed(bench.state.setup, phases=phases)
    alone = {k: v for k, v in bench.state.subjects.items() if v.kind != "bus"}
    for phase in ("", "layout"):
        state = replace(bench.state, setup=setup, subjects=alone, phase=phase)
        assert forecast_of(state, 600.0, draws=50).chance_essentials > 0
