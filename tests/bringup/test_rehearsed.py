"""A simulated bench measures the boards of a rehearsed sprint and finds what was really missing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from shutil import copy

import pytest

from coach.bringup.planning import sheet_of
from coach.bringup.rehearsed import bring_up
from coach.history.read_sprint import SprintRead, read_sprint
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.session import start_sprint
from coach.sprint.state import MET
from phases.kit.refusals import Refusal
from tests.rehearsals import Rehearsals
from tests.sprint.conftest import NINE

Benched = Callable[[Path, int], SprintRead]


@pytest.fixture(scope="module")
def benched(rehearsed_once: Rehearsals) -> Benched:
    """Takes one rehearsed sprint to a bench of this seed."""

    def taken(path: Path, seed: int) -> SprintRead:
        copy(rehearsed_once("pump-driver-24v", seed=1, pace=1.3, forget=0.15).path, path)
        bring_up(path, seed=seed, boards=2)
        return read_sprint(path)

    return taken


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory, benched: Benched) -> SprintRead:
    return benched(tmp_path_factory.mktemp("bench") / "a.toml", 1)


def test_every_board_is_measured_at_every_point(read: SprintRead) -> None:
    sheet = sheet_of(read)
    points = {point for board, point in sheet.readings if board == "2"}
    assert points == {point for board, point in sheet.readings if board == "1"}
    # What was found afterwards is looked at first on the next board: steps of its own.
    assert {step.id for step in sheet.steps} - points <= {
        step.id for step in sheet.steps if step.section == "look"
    }


def test_one_reading_is_outside_where_something_was_found(read: SprintRead) -> None:
    outside = [one for one in read.state.measured.values() if one.verdict == "outside"]
    assert len(outside) == 1
    assert outside[0].unit == "V"


def test_what_let_a_fault_through_was_open_or_met_by_looking(read: SprintRead) -> None:
    found = [one for one in read.state.findings.values() if one.item]
    assert found
    for one in found:
        row = read.state.by_key[one.item]
        by_looking = row.state is not None and row.state.evidence == "inspected"
        assert not row.closed or (row.status == MET and by_looking)


def test_one_fault_is_of_no_item(read: SprintRead) -> None:
    assert sum(not one.item for one in read.state.findings.values()) == 1


def test_the_same_seed_finds_the_same_byte_for_byte(
    read: SprintRead, benched: Benched, tmp_path: Path
) -> None:
    again = benched(tmp_path / "b.toml", 1)
    assert again.path.read_bytes() == read.path.read_bytes()
    assert benched(tmp_path / "c.toml", 2).state.findings != read.state.findings


def test_only_rehearsed_sprints_come_to_this_bench(tmp_path: Path) -> None:
    path = tmp_path / "real.toml"
    start_sprint(load_brief("usb-bench-meter"), path, ManualClock(NINE)).close()
    with pytest.raises(Refusal, match="not a rehearsal"):
        bring_up(path, seed=1, boards=1)
    with pytest.raises(Refusal, match="7 boards"):
        bring_up(path, seed=1, boards=7)
