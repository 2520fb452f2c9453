"""The time line: phases as they were and are to come, the cut-off, and when it will be done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from coach.sprint.commands import End, EnterPhase
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.pace.plan import plan_of, progress_of
from coach.sprint.session import Session
from coach.terminal.drawing.lines import Line
from coach.terminal.drawing.time_line import time_line
from tests.terminal.driving import begun, clock_of

WIDTHS = [40, 80, 120, 160]
SHORTS = {"prt", "pwr", "reg", "dbg", "clk", "dec", "lay", "lab", "end", "now"}


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    with begun(tmp_path) as session:
        yield session


def worked(session: Session, minutes: float, *phases: str) -> None:
    """So long in each of these phases, the last one still being worked in."""
    for phase in phases:
        session.do(EnterPhase(phase))
        clock_of(session).advance(minutes * 60)


def drawn(session: Session, width: int, **ends: float) -> list[Line]:
    """The line; `ends` replace those of a forecast, in minutes."""
    state, t = session.state, session.t
    plan = plan_of(state)
    made = None
    if ends:
        made = replace(forecast_of(state, t, draws=200), **{k: v * 60 for k, v in ends.items()})
    return time_line(state, plan, progress_of(state, t, plan), width, forecast=made)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("minutes", [0.2, 2, 4, 7, 11, 15])
def test_every_word_on_it_is_whole(session: Session, width: int, minutes: float) -> None:
    worked(session, minutes, "power-entry", "regulation", "debug-access", "clock-boot")
    above, below = drawn(session, width, low=100, expected=110, high=130)
    assert len(above.text) == len(below.text) == width
    letters = "".join(c if c.isalpha() else " " for c in above.text).split()
    assert set(letters) <= SHORTS, above.text


@pytest.mark.parametrize("width", WIDTHS)
def test_what_was_is_double_and_what_comes_single_up_to_the_cut_off(
    session: Session, width: int
) -> None:
    worked(session, 20, "power-entry", "regulation")
    above, _ = drawn(session, width)
    past, _, coming = above.text.partition("╸")
    assert "═" in past and "─" not in past
    assert "═" not in coming and "─" in coming
    assert above.text.count("┃") == 1


def test_the_finish_is_a_band_with_its_middle(session: Session) -> None:
    worked(session, 20, "power-entry", "regulation")
    above, below = drawn(session, 120, low=90, expected=100, high=110)
    low, middle, high = (below.text.index(mark) for mark in "├●┤")
    assert low < middle < high < above.text.index("┃")


def test_a_finish_beyond_the_line_is_an_arrow(session: Session) -> None:
    worked(session, 20, "power-entry", "regulation")
    _, below = drawn(session, 80, low=100, expected=120, high=400)
    assert below.text.endswith("→") and "●" in below.text
    _, below = drawn(session, 80, low=300, expected=350, high=400)
    assert below.text.endswith("●→")
    _, below = drawn(session, 80, low=100, expected=110, high=130)
    assert "→" not in below.text


def test_after_the_end_nothing_is_expected(session: Session) -> None:
    worked(session, 20, "power-entry")
    session.do(End(False))
    _, below = drawn(session, 80)
    assert not set(below.text) & set("├●┤→")
