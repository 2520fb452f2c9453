"""The simulated engineer: the same seed the same journal, and what was forgotten is really open."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from coach.sprint.brief.document import Deadline
from coach.sprint.brief.loading import load_brief
from coach.sprint.events.calculations import CalculationSaved
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import CallMade, ForecastMade
from coach.sprint.fold import fold
from coach.sprint.journal.file import Journal
from coach.sprint.rehearsal.rehearse import Report, rehearse
from coach.sprint.session import events_of
from coach.sprint.setup import setup_from
from phases.kit.bounds import FAIL
from phases.kit.refusals import Refusal
from tests.imports.sources import ROOT
from tests.rehearsals import FORGETS_NOTHING, HOUR, SAMPLES, SCRIPTS, Rehearsals, Script

Meter = Callable[..., Report]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "rehearsed.toml"


def told(path: Path) -> list[Stamped]:
    return events_of(Journal.look(path).events, where=str(path))


def kinds(path: Path) -> set[str]:
    return {event["what"] for event in Journal.look(path).events}


def rehearsed(path: Path, **more: Any) -> Report:
    return rehearse(load_brief("usb-bench-meter"), path=path, **more)


@pytest.fixture
def meter(rehearsed_once: Rehearsals) -> Meter:
    """Who draws the bench meter so, with hours to spare after the cut-off."""
    return partial(rehearsed_once, "usb-bench-meter", patience=6 * HOUR)


# --- the journal ------------------------------------------------------------------------------


@pytest.mark.parametrize("script", SAMPLES, ids=str)
def test_the_journal_is_whole_marked_and_folds_to_the_state(
    script: Script, rehearsed_once: Rehearsals
) -> None:
    report = rehearsed_once(**script.options)
    path = report.path
    reading = Journal.look(path)
    assert reading.whole
    assert len(reading.events) == report.events
    assert setup_from(reading.header, where="").rehearsed
    # By a TOML reader that knows nothing of journals (TOML 1.0.0).
    plain = tomllib.loads(path.read_text(encoding="utf-8"))
    setup = setup_from(plain["journal"], where="")
    assert fold(setup, events_of(plain["event"], where="")) == report.state
    assert report.state.ended


@pytest.fixture(scope="module")
def fifth(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The journal of seed 5."""
    return rehearsed(tmp_path_factory.mktemp("fifth") / "5.toml", seed=5).path.read_bytes()


def test_the_same_seed_gives_the_same_bytes(path: Path, fifth: bytes) -> None:
    rehearsed(path, seed=5)
    assert path.read_bytes() == fifth
    path.unlink()
    rehearsed(path, seed=6)
    assert path.read_bytes() != fifth


def test_the_same_seed_gives_the_same_bytes_in_another_process(path: Path, fifth: bytes) -> None:
    """Whose words are hashed in another order: the order of a set may reach no journal."""
    words = ["rehearse", "usb-bench-meter", "--seed", "5", "--journal", str(path)]
    subprocess.run(
        [sys.executable, "-m", "coach", *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": "1"},
        check=True,
        capture_output=True,
        timeout=120,
    )
    assert path.read_bytes() == fifth


def test_a_journal_is_never_overwritten(path: Path) -> None:
    path.write_bytes(b"mine")
    with pytest.raises(Refusal, match="There is a file of that name"):
        rehearse(load_brief("usb-bench-meter"), path=path)
    assert path.read_bytes() == b"mine"


# --- what is forgotten ------------------------------------------------------------------------


@pytest.mark.parametrize("script", FORGETS_NOTHING, ids=str)
def test_who_forgets_nothing_leaves_no_essential_open(
    script: Script, rehearsed_once: Rehearsals
) -> None:
    report = rehearsed_once(**script.options)
    assert report.accepted
    assert report.elapsed <= report.deadline
    assert report.open_essentials == ()
    assert report.forgotten == ()


def test_who_forgets_everything_closes_nothing_but_the_order(path: Path) -> None:
    report = rehearsed(path, forget=1.0)
    closed = [key for key, item in report.state.items.items() if item.status in ("met", "waived")]
    assert closed == ["accepted-and-paid"]
    assert len(report.open_essentials) > 30
    assert set(report.open_essentials) <= set(report.forgotten)
    assert report.state.signed_off == frozenset()


def test_in_time_only_what_was_forgotten_is_open(meter: Meter) -> None:
    report = meter(seed=4, pace=1.0, forget=0.3)
    assert report.accepted
    assert 3 < len(report.open_essentials) < 30
    assert set(report.open_essentials) <= set(report.forgotten)
    for key in report.forgotten:
        assert not report.state.by_key[key].closed


def test_who_forgets_more_forgets_the_same_and_some_besides(meter: Meter) -> None:
    few = set(meter(seed=4, pace=1.0, forget=0.1).open_essentials)
    many = set(meter(seed=4, pace=1.0, forget=0.3).open_essentials)
    assert few < many


@pytest.mark.long
def test_what_is_passed_over_at_first_is_found_by_a_later_walk(meter: Meter) -> None:
    none = meter(seed=1, pace=0.8, forget=0.0)
    some = meter(seed=1, pace=0.8, forget=0.0, overlook=0.3)
    assert some.open_essentials == none.open_essentials == ()
    assert some.elapsed > none.elapsed
    assert len(some.state.signed_off) < len(none.state.signed_off)
    late = [key for key, item in some.state.items.items() if item.late]
    assert len(late) > sum(item.late for item in none.state.items.values())


# --- time -------------------------------------------------------------------------------------


@pytest.mark.long
def test_a_slower_engineer_takes_longer(meter: Meter) -> None:
    quick, slow = (meter(seed=1, pace=pace, forget=0.0) for pace in (0.8, 1.0))
    assert quick.elapsed < slow.elapsed
    assert quick.pace < slow.pace


def test_who_is_too_slow_misses_the_order_and_ends_it(path: Path) -> None:
    report = rehearsed(path, pace=4.0)
    assert not report.accepted
    assert report.state.ended
    assert report.deadline < report.elapsed <= report.deadline + 200
    assert len(report.open_essentials) > 5


@pytest.mark.long
def test_who_has_patience_works_on_after_the_cut_off(meter: Meter) -> None:
    report = meter(pace=2.4, forget=0.0)
    assert report.accepted
    assert report.elapsed > report.deadline + 600


@pytest.mark.long
def test_who_ticks_in_bursts_ticks_more_at_a_time(meter: Meter) -> None:
    def gaps(burst: float) -> int:
        path = meter(seed=2, pace=1.0, forget=0.0, burst=burst).path
        times = [s.t for s in told(path) if s.by]
        return sum(later - earlier > 90 for earlier, later in itertools.pairwise(times))

    assert gaps(8.0) < gaps(1.0)


def test_forecasts_are_kept_and_forecast_the_engineers_own_truth(meter: Meter) -> None:
    report = meter(seed=1, forget=0.0)
    kept = [one.event.checkpoint for one in report.state.of(ForecastMade) if one.event.checkpoint]
    assert kept == [25, 50, 75]
    last = next(one.event for one in report.state.of(ForecastMade) if one.event.checkpoint == 75)
    assert last.low - 600 < report.elapsed < last.high + 600


def test_ticks_come_in_bursts_with_drawing_between(meter: Meter) -> None:
    times = [stamped.t for stamped in told(meter(seed=1, pace=1.0, forget=0.0).path) if stamped.by]
    gaps = [later - earlier for earlier, later in itertools.pairwise(times)]
    assert sum(gap < 20 for gap in gaps) > len(gaps) / 2
    assert sum(gap > 120 for gap in gaps) > 8


def test_the_calls_of_the_clock_are_made_at_their_time(meter: Meter) -> None:
    report = meter(seed=1, pace=1.0, forget=0.0)
    half = next(one for one in report.state.of(CallMade) if one.event.cause == "half")
    assert report.deadline / 2 <= half.t <= report.deadline / 2 + 60


@pytest.mark.parametrize(
    ("deadline", "at"),
    [
        (Deadline(cut_off="15:36"), (15, 36)),
        pytest.param(Deadline(cut_off="2028-02-29 12:00"), (12, 0), marks=pytest.mark.long),
        (Deadline(cut_off="2041-01-01 00:10"), (0, 10)),
    ],
)
def test_a_cut_off_at_a_time_of_day_is_worked_up_to(
    deadline: Deadline, at: tuple[int, int], path: Path
) -> None:
    brief = load_brief("orchard-radio-tag").model_copy(update={"deadline": deadline})
    report = rehearse(brief, pace=1.0, path=path)
    assert report.accepted
    setup = report.state.setup
    assert setup.at_an_instant
    ends = datetime.fromtimestamp(setup.started.timestamp() + setup.deadline, UTC)
    assert (ends.hour, ends.minute) == at


# --- the work ---------------------------------------------------------------------------------


def test_the_phases_are_worked_in_order_and_the_places_reached(meter: Meter) -> None:
    report = meter(seed=1, pace=1.0, forget=0.0)
    order = [phase.id for phase in report.state.setup.phases]
    first: dict[str, float] = {}
    for stamped in told(report.path):
        phase = getattr(stamped.event, "phase", None)
        if stamped.event.what == "phase-entered":  # type: ignore[attr-defined]
            first.setdefault(str(phase), stamped.t)
    assert list(first) == [*order, "closing"]
    assert report.state.stages == {"schematic", "placement", "routing", "files"}
    assert report.state.signed_off == set(order)


def test_everything_a_person_does_comes_up_within_a_few_scripts(
    rehearsed_once: Rehearsals,
) -> None:
    wanted = {
        "started",
        "phase-entered",
        "phase-signed-off",
        "stage-reached",
        "walked",
        "item-met",
        "item-waived",
        "item-reopened",
        "fact-set",
        "calculation-saved",
        "calculation-recomputed",
        "part-drawn",
        "note-parked",
        "note-settled",
        "call-made",
        "interrupted",
        "undone",
        "change-noted",
        "feature-dropped",
        "ended",
    }
    for script in SCRIPTS:
        wanted -= kinds(rehearsed_once(**script.options).path)
    assert wanted == set()


def test_calculations_are_saved_and_their_parts_drawn(meter: Meter) -> None:
    report = meter(seed=1, pace=1.0, forget=0.0)
    saved = {one.calculator for one in report.state.calculations.values()}
    assert saved >= {"linear-regulator", "load-budget", "type-c-sink"}
    met = report.state.items["cc-pull-downs@j-usb"]
    assert (met.evidence, met.auto) == ("calculated", True)


def test_a_calculation_that_fails_is_adjusted_by_its_remedy(path: Path) -> None:
    brief = load_brief("usb-bench-meter")
    heavy = [
        load.model_copy(update={"peak": "380 mA"}) if load.id == "mcu" else load
        for load in brief.loads
    ]
    hot = brief.model_copy(update={"loads": tuple(heavy)})
    report = rehearse(hot, seed=1, pace=0.8, forget=0.0, path=path)
    runs = [s.event for s in told(path) if isinstance(s.event, CalculationSaved)]
    regulator = [run.record for run in runs if run.id == "linear-regulator@3v3"]
    verdicts = [record.verdict for record in regulator]
    assert verdicts[0] == FAIL
    assert verdicts[-1] != FAIL
    changed = [f for f, entry in regulator[-1].inputs.items() if entry.origin == "hand"]
    assert changed
    assert report.state.by_key["linear-heat@3v3"].closed
    assert report.open_essentials == ()


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"pace": 0.0}, "pace"),
        ({"pace": 99.0}, "pace"),
        ({"pace": float("nan")}, "pace"),
        ({"forget": -0.1}, "probability"),
        ({"forget": 1.1}, "probability"),
        ({"forget": float("nan")}, "probability"),
    ],
)
def test_values_that_mean_nothing_are_refused(
    values: dict[str, float], says: str, path: Path
) -> None:
    with pytest.raises(Refusal, match=says):
        rehearsed(path, **values)
    assert not path.exists()
