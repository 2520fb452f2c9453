"""Sprints whose script is known: a simulated engineer who counts as a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.rehearsal.engineer import Engineer
from coach.sprint.rehearsal.ground_truth import GroundTruth
from coach.sprint.session import start_sprint
from coach.sprint.state import State
from tests.history.copies import FIRST
from tests.once import once_a_run
from tests.sprint.conftest import begin, bench  # noqa: F401  # fixtures


@dataclass(frozen=True)
class Script:
    """What really happened. forgotten: keys that were not thought of, and never closed."""

    path: Path
    forgotten: frozenset[str]
    state: State


def worked(
    path: Path,
    started: datetime,
    *,
    seed: int,
    forget: float,
    overlook: float = 0.0,
    pace: float = 0.9,
    brief: str = "orchard-radio-tag",
    rehearsed: bool = False,
) -> Script:
    """A whole sprint of a simulated engineer."""
    clock = ManualClock(started)
    truth = GroundTruth(seed, pace, forget, overlook=overlook)
    with start_sprint(load_brief(brief), path, clock, rehearsed=rehearsed) as session:
        engineer = Engineer(session, clock, truth)
        engineer.work()
        state = session.state
    still = {key for key in engineer.forgotten if key in state.by_key}
    open_ones = frozenset(key for key in still if not state.by_key[key].closed)
    return Script(path, open_ones, state)


@pytest.fixture(scope="session")
def scripts(tmp_path_factory: pytest.TempPathFactory) -> list[Script]:
    """Six sprints of one person, a week apart; what the first forgot is forgotten again."""
    return once_a_run(tmp_path_factory, "own-sprints", _six_sprints)


def _six_sprints(folder: Path) -> list[Script]:
    plans = [
        ("orchard-radio-tag", 5, 0.2, 0.0),
        ("usb-bench-meter", 3, 0.1, 0.1),
        ("orchard-radio-tag", 5, 0.1, 0.1),
        ("usb-bench-meter", 5, 0.25, 0.0),
        ("orchard-radio-tag", 6, 0.0, 0.15),
        ("orchard-radio-tag", 5, 0.2, 0.05),
    ]
    return [
        worked(
            folder / f"{number}.toml",
            FIRST + timedelta(weeks=number),
            seed=seed,
            forget=forget,
            overlook=overlook,
            brief=brief,
        )
        for number, (brief, seed, forget, overlook) in enumerate(plans)
    ]
