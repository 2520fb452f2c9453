"""The forecast in the words of the screens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.chances import in_ten
from coach.sprint.clock import ManualClock
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.pace.forecast import Forecast, forecast_of
from coach.sprint.pace.plan import plan_of, progress_of
from coach.sprint.session import Session, start_sprint
from coach.terminal.drawing.head import Moment, band_words, chance_words, will_it_do
from coach.terminal.drawing.lines import width_of
from coach.terminal.screens.sprint_dialogs import option_columns

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


def at(t: float) -> datetime:
    return NINE + timedelta(seconds=t)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    clock = ManualClock(NINE)
    with start_sprint(load_brief("usb-bench-meter"), tmp_path / "a.toml", clock) as session:
        yield session


@pytest.fixture
def made(session: Session) -> Forecast:
    return forecast_of(session.state, 60.0, draws=1000)


@pytest.mark.parametrize(
    ("chance", "says"),
    [
        (0.0, "under 1 in 20"),
        (0.049, "under 1 in 20"),
        (0.06, "1 in 10"),
        (0.449, "4 in 10"),
        (0.71, "7 in 10"),
        (0.949, "9 in 10"),
        (0.95, "over 19 in 20"),
        (1.0, "over 19 in 20"),
    ],
)
def test_a_chance_is_said_as_a_person_would(chance: float, says: str) -> None:
    assert in_ten(chance) == says


def test_the_head_says_chance_and_band(made: Forecast) -> None:
    one = replace(made, chance_essentials=0.72, low=6 * 3600.0, high=6.25 * 3600)
    assert chance_words(one) == "on time 7 in 10"
    assert band_words(one, at) == "ends 15:00 .. 15:15"
    assert band_words(replace(one, high=one.low), at) == "ends 15:00"


def moment(session: Session, forecast: Forecast | None) -> Moment:
    state = session.state
    plan, thing = plan_of(state), next_thing(state, 60.0)
    return Moment(state, plan, progress_of(state, 60.0, plan), thing, NINE, at, forecast=forecast)


def test_a_chance_under_the_threshold_is_due(session: Session, made: Forecast) -> None:
    low, high = (replace(made, chance_essentials=chance) for chance in (0.5, 0.9))
    assert will_it_do(moment(session, low))[0].role == "due"
    assert will_it_do(moment(session, high))[0].role == "done"


def test_before_the_first_forecast_it_says_where_the_plan_ends(session: Session) -> None:
    ends, spare = will_it_do(moment(session, None))
    assert re.fullmatch(r"plan ends \d\d:\d\d, ", ends.text)
    assert re.fullmatch(r"(\d h )?\d+ min to spare", spare.text) and spare.role == "done"


@pytest.mark.parametrize("width", [31, 52, 67])
def test_every_option_has_its_numbers_in_columns_whatever_its_words(
    made: Forecast, width: int
) -> None:
    assert made.proposal is not None
    options = made.proposal.options
    chosen = made.proposal.chosen
    lines = [option_columns(one, width, chosen=one in chosen) for one in options]
    assert {width_of(one) for one in lines} == {width}
    points = r"(no points|\d+ points)" if width > 56 else r"\d+p"
    for option, words in zip(options, lines, strict=True):
        numbers = re.search(rf" (\d+) min +(\d) in 10 +{points}$", words)
        assert numbers is not None, words
        assert int(numbers[1]) == max(round(option.seconds / 60), 1)
        assert f"{numbers[2]} in 10" == in_ten(option.chance)
    assert len({words.index(" in 10") for words in lines}) == 1
    assert sum(words.startswith("* ") for words in lines) == len(chosen)


def test_an_option_is_named_whole_where_there_is_room(made: Forecast) -> None:
    assert made.proposal is not None
    show = next(one for one in made.proposal.options if one.points)
    words = option_columns(show, 67)
    assert words.startswith(f"  {show.title} ")
    assert words.endswith(f" {show.points} points")
