"""The forecast in the words of the screens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.sprint.brief.document import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.pace.forecast import Forecast, forecast
from coach.sprint.session import Session
from coach.sprint.starting import start_sprint
from coach.terminal.drawing.forecast_lines import (
    band_words,
    chance_words,
    forecast_spans,
    in_ten,
    proposal_lines,
    why_lines,
)
from coach.terminal.drawing.lines import width_of

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
    return forecast(session.state, 60.0, draws=1000)


@pytest.mark.parametrize(
    ("chance", "says"),
    [
        (0.0, "under 1 in 20"), (0.049, "under 1 in 20"), (0.06, "1 in 10"), (0.449, "4 in 10"),
        (0.71, "7 in 10"), (0.949, "9 in 10"), (0.95, "over 19 in 20"), (1.0, "over 19 in 20"),
    ],
)  # fmt: skip
def test_a_chance_is_said_as_a_person_would(chance: float, says: str) -> None:
    assert in_ten(chance) == says


def test_the_head_says_chance_and_band(made: Forecast) -> None:
    one = replace(made, chance_essentials=0.72, low=6 * 3600.0, high=6.25 * 3600)
    assert chance_words(one) == "on time 7 in 10"
    assert band_words(one, at) == "ends 15:00 .. 15:15"
    assert band_words(replace(one, high=one.low), at) == "ends 15:00"


def test_a_chance_under_the_threshold_is_due(made: Forecast) -> None:
    low, high = (replace(made, chance_essentials=chance) for chance in (0.5, 0.9))
    assert forecast_spans(low, at)[0].role == "due"
    assert forecast_spans(high, at)[0].role == "done"


@pytest.mark.parametrize("width", [40, 80, 120])
def test_why_and_what_to_drop_fit_their_width(made: Forecast, width: int) -> None:
    assert made.proposal is not None
    lines = why_lines(made, width) + proposal_lines(made.proposal, width)
    assert all(width_of(one.text) <= width for one in lines)
    words = " ".join(one.text.strip() for one in why_lines(made, width))
    assert words == made.why()


def test_every_option_says_what_it_buys_and_costs(made: Forecast) -> None:
    assert made.proposal is not None
    lines = [one for one in proposal_lines(made.proposal, 120) if one.key]
    assert [one.key for one in lines] == [str(i) for i in range(len(made.proposal.options))]
    show = next(one.text for one in lines if "Readings on a display" in one.text)
    assert re.search(r"buys \d+ min, then \d\d%, costs 15 points", show)
    marked = sum(one.text.startswith(" * ") for one in lines)
    assert marked == len(made.proposal.chosen)
