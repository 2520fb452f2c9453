"""What to drop: more checks first, never a gate item, the cheapest set that restores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.chances import in_ten
from coach.sprint.commands import Defer, DropFeature, EnterPhase, JoinLate
from coach.sprint.durations import duration
from coach.sprint.pace.descope import Proposal, propose
from coach.sprint.pace.finishing import Draws, draw_finishing
from coach.sprint.pace.pace import pace_of
from coach.sprint.pace.work import Work, work_of
from phases.kit.items import PHASE_IDS
from tests.sprint.conftest import Begin, Bench

DRAWS = 4000


@pytest.fixture
def meter(begin: Begin) -> Bench:
    return begin(load_brief("usb-bench-meter"))


def drawn(bench: Bench) -> tuple[Work, Draws]:
    state, t = bench.state, bench.session.t
    work = work_of(state, t)
    return work, draw_finishing(work, pace_of(state, t).ahead(), DRAWS)


def proposed(bench: Bench, wanted: float | None = None) -> Proposal:
    return propose(bench.state, bench.session.t, *drawn(bench), wanted=wanted)


def chance(bench: Bench) -> float:
    _, draws = drawn(bench)
    return float((draws.essentials <= bench.state.deadline - bench.session.t).mean())


def test_only_further_items_and_optional_features_can_go(meter: Bench) -> None:
    for option in proposed(meter).options:
        for key in option.items:
            row = meter.row(key)
            assert not row.essential
            assert not row.item.essential
        if option.feature:
            feature = meter.state.feature(option.feature)
            assert feature is not None
            assert not feature.required
    offered = {option.feature for option in proposed(meter).options}
    assert {"show", "console"} <= offered


def test_what_an_option_buys_is_shown(meter: Bench) -> None:
    now = chance(meter)
    for option in proposed(meter).options:
        assert option.seconds > 0
        assert option.chance >= now
    show = next(o for o in proposed(meter).options if o.feature == "show")
    assert (show.points, show.command) == (15, DropFeature("show"))
    assert show.seconds == pytest.approx(6 * 60 * 1.3, rel=0.15)  # its minutes at the pace known


@pytest.mark.parametrize("feature", ["show", "console"])
def test_what_a_feature_buys_is_what_dropping_it_brings(meter: Bench, feature: str) -> None:
    option = next(o for o in proposed(meter).options if o.feature == feature)
    meter.session.do(option.command)
    assert chance(meter) == pytest.approx(option.chance, abs=0.002)


def test_what_further_items_buy_is_what_setting_them_aside_brings(meter: Bench) -> None:
    option = max((o for o in proposed(meter).options if o.items), key=lambda o: o.seconds)
    assert isinstance(option.command, Defer)
    meter.session.do(option.command)
    assert chance(meter) == pytest.approx(option.chance, abs=0.002)


def test_further_items_go_before_any_feature(meter: Bench) -> None:
    little = proposed(meter, wanted=chance(meter) + 0.05)
    assert little.restores
    assert little.chosen
    assert all(option.items for option in little.chosen)
    assert little.points == 0


def test_a_feature_goes_where_further_items_are_not_enough(meter: Bench) -> None:
    much = proposed(meter, wanted=chance(meter) + 0.2)
    assert much.restores
    assert [option.feature for option in much.chosen if option.feature] == ["console"]
    assert much.points == 5


def test_doing_what_is_proposed_restores_the_chance(meter: Bench) -> None:
    proposal = proposed(meter)
    assert chance(meter) < 0.8 <= proposal.chance
    for option in proposal.chosen:
        meter.session.do(option.command)
    assert chance(meter) == pytest.approx(proposal.chance, abs=0.01)


def test_where_nothing_restores_it_the_minutes_that_are_missing_are_said(meter: Bench) -> None:
    meter.at(60)
    proposal = proposed(meter)
    assert not proposal.restores
    assert proposal.chosen == proposal.options
    assert proposal.short > 10 * 60
    assert proposal.message.startswith(f"Short by {duration(proposal.short)} even if you defer ")
    # With so much more time it would be enough.
    state, t = meter.state, meter.session.t
    work, draws = drawn(meter)
    more = replace(state, deadline=state.deadline + proposal.short + 1)
    assert propose(more, t, work, draws).restores


def test_a_feature_something_hangs_on_is_not_offered(begin: Begin) -> None:
    brief = load_brief("usb-bench-meter")
    features = [
        f.model_copy(update={"required": False, "subjects": ("3v3",)}) if f.id == "measure" else f
        for f in brief.features
    ]
    bench = begin(brief.model_copy(update={"features": tuple(features)}))
    assert "measure" not in {option.feature for option in proposed(bench).options}


def test_what_was_dropped_or_set_aside_is_not_offered_again(meter: Bench) -> None:
    first = proposed(meter)
    for option in first.options:
        meter.session.do(option.command)
    again = proposed(meter)
    assert [option.feature for option in again.options if option.feature] == []
    assert not {k for o in first.options for k in o.items} & {
        k for o in again.options for k in o.items
    }
    assert again.message.startswith("Nothing is left to drop: short by ")


def test_of_phases_that_are_drawn_nothing_is_to_be_won(meter: Bench) -> None:
    for phase in PHASE_IDS[:5]:
        meter.session.do(JoinLate(phase))
    meter.session.do(EnterPhase("layout"))
    phases = {meter.row(key).item.phase for o in proposed(meter).options for key in o.items}
    assert phases == {"layout", "labelling"}


def test_it_is_said_in_a_sentence(meter: Bench) -> None:
    proposal = proposed(meter, wanted=chance(meter) + 0.2)
    further = sum(len(option.items) for option in proposal.chosen)
    assert proposal.message == (
        f"Defer {further} more checks and drop Serial console (5 points): "
        f"chance {in_ten(proposal.chance)}."
    )
