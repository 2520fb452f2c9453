"""A sprint driven from outside: twenty lines, with the names that `coach.sprint` gives."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import coach.sprint
from coach.sprint import Session, State, commands, forecast_of, load_brief, start_sprint
from coach.sprint.clock import ManualClock
from tests.sprint.conftest import NINE


def test_a_sprint_is_driven_from_its_brief_to_its_end(tmp_path: Path) -> None:
    clock, journal = ManualClock(NINE), tmp_path / "sprint.toml"
    with start_sprint(load_brief("usb-bench-meter"), journal, clock) as session:
        clock.advance(600)
        session.do(commands.EnterPhase("power-entry"))
        clock.advance(300)
        made = forecast_of(session.state, session.t, draws=500)
        assert made.t == pytest.approx(900)
        assert 0.0 <= made.chance_all <= made.chance_essentials <= 1.0
        session.take_forecast(made)
        session.tick()
    with Session.resume(journal, clock) as session:
        assert isinstance(session.state, State)
        assert session.state.phase == "power-entry"
        session.do(commands.End(accepted=False))
        assert session.state.ended


def test_public_names_are_there_and_others_are_not() -> None:
    assert all(getattr(coach.sprint, name) for name in coach.sprint.__all__)
    with pytest.raises(AttributeError, match="no attribute 'sprints'"):
        coach.sprint.sprints  # noqa: B018


def test_the_names_are_not_imported_before_they_are_asked_for() -> None:
    code = "import sys, coach.sprint; print([m for m in sys.modules if 'coach.sprint.' in m])"
    made = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert made.stdout.strip() == "[]"
