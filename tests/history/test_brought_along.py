"""The pace a person brings along: earlier sprints count, rehearsed ones never."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.history.brought_along import BETWEEN, brought_along, pace_from
from coach.history.ended import ended_sprint
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, EnterPhase, SetFact, SignOff, Waive
from coach.sprint.pace.pace import PRIOR, Pace
from coach.sprint.pace.work import whole_of
from coach.sprint.rehearsal.rehearse import rehearse
from coach.sprint.session import start_sprint
from coach.sprint.summing_up import LEAST_PHASES
from phases.kit.items import PHASE_IDS

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
Worked = Callable[..., Path]


def earlier_pace(folder: Path, **which: Path) -> Pace:
    return brought_along(folder, **which).pace


def pace_in(path: Path) -> Pace | None:
    """The pace one sprint shows by itself."""
    shown = ended_sprint(path).summary.pace
    return None if shown is None else Pace(*shown)


@pytest.fixture
def worked(tmp_path: Path) -> Worked:
    """A sprint in which each phase took `pace` times its expected drawing work."""

    def make(
        name: str, pace: float, *, phases: int = 5, end: bool = True, rehearsed: bool = False
    ) -> Path:
        begun = NINE + timedelta(days=len([*tmp_path.glob("*.toml")]))
        path, clock = tmp_path / f"{name}.toml", ManualClock(begun)
        brief = load_brief("orchard-radio-tag")
        with start_sprint(brief, path, clock, rehearsed=rehearsed) as session:
            session.do(SetFact("parts_chosen", True))
            for phase in PHASE_IDS[:phases]:
                session.do(EnterPhase(phase))
                clock.advance(pace * whole_of(session.state, phase).expected)
                while still := [
                    row
                    for row in session.state.rows_of(phase)
                    if row.item.essential and not row.closed and session.state.reached(row)
                ]:
                    clock.advance(still[0].item.confirm_s)
                    session.do(Waive(still[0].key, "made on paper"))
                session.do(SignOff(phase))
            session.do(EnterPhase("closing"))
            if end:
                session.do(End(True))
        return path

    return make


def test_without_journals_the_pace_is_the_prior(tmp_path: Path) -> None:
    assert earlier_pace(tmp_path).log_mean == PRIOR.log_mean
    assert earlier_pace(tmp_path).log_sd == pytest.approx(PRIOR.log_sd)
    assert earlier_pace(tmp_path / "not there").median == pytest.approx(PRIOR.median)


def test_a_sprint_tells_the_pace_it_was_worked_at(worked: Worked) -> None:
    told = pace_in(worked("one", 1.8))
    assert told is not None
    assert told.median == pytest.approx(1.8, rel=0.02)
    assert told.log_sd < PRIOR.log_sd


def test_each_sprint_brings_the_start_nearer_to_ones_own_pace(
    worked: Worked, tmp_path: Path
) -> None:
    medians, spreads = [PRIOR.median], [PRIOR.log_sd]
    for number in range(4):
        worked(f"sprint-{number}", 1.9)
        pace = earlier_pace(tmp_path)
        medians.append(pace.median)
        spreads.append(pace.log_sd)
    assert medians == sorted(medians)
    assert spreads == sorted(spreads, reverse=True)
    assert 1.6 < medians[-1] < 1.9
    assert spreads[-1] > BETWEEN  # no sprint is quite like the others


def test_the_hierarchy_is_the_conjugate_one() -> None:
    """Person's mean: precisions of the prior and of each sprint, its own variance and that
    between sprints, add (normal-normal)."""
    seen = Pace(math.log(2.0), 0.1)
    one = pace_from([seen, seen])
    before = 1 / (PRIOR.log_sd**2 - BETWEEN**2)
    each = 1 / (BETWEEN**2 + 0.1**2)
    mean = (before * PRIOR.log_mean + 2 * each * math.log(2.0)) / (before + 2 * each)
    assert one.log_mean == pytest.approx(mean)
    assert one.log_sd**2 == pytest.approx(1 / (before + 2 * each) + BETWEEN**2)


def test_rehearsed_sprints_never_count(worked: Worked, tmp_path: Path) -> None:
    worked("marked", 2.5, rehearsed=True)
    rehearse(load_brief("orchard-radio-tag"), seed=1, pace=2.5, path=tmp_path / "rehearsed.toml")
    assert earlier_pace(tmp_path).median == pytest.approx(PRIOR.median)


def test_a_sprint_that_goes_on_or_shows_little_does_not_count(
    worked: Worked, tmp_path: Path
) -> None:
    worked("going-on", 2.0, end=False)
    assert earlier_pace(tmp_path).median == pytest.approx(PRIOR.median)
    assert pace_in(worked("short", 2.0, phases=LEAST_PHASES - 1)) is None
    assert pace_in(worked("enough", 2.0, phases=LEAST_PHASES)) is not None


def test_what_is_no_journal_is_passed_over(worked: Worked, tmp_path: Path) -> None:
    worked("good", 1.9)
    alone = earlier_pace(tmp_path)
    (tmp_path / "notes.toml").write_text("title = 'notes'\n", encoding="utf-8")
    (tmp_path / "empty.toml").touch()
    (tmp_path / "folder.toml").mkdir()
    torn = (tmp_path / "good.toml").read_bytes()
    (tmp_path / "torn.toml").write_bytes(torn[:400])
    assert earlier_pace(tmp_path) == alone


def test_the_sprint_that_goes_on_is_left_out(worked: Worked, tmp_path: Path) -> None:
    path = worked("this", 1.9)
    assert earlier_pace(tmp_path, without=path).median == pytest.approx(PRIOR.median)
