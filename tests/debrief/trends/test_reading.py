"""Many journals read at once: the same whoever reads them, with progress, whatever lies there."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest

from coach.debrief.trends import reading
from coach.debrief.trends.line import line_of
from coach.debrief.trends.reading import Lines, read_lines
from coach.sprint.brief.document import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import NoteFinding
from coach.sprint.fold import begin
from coach.sprint.past.quick_reading import Beginning, QuickRead
from coach.sprint.past.read_sprint import read_sprint
from coach.sprint.rehearsal.rehearse import rehearse
from coach.sprint.session import Session
from tests.debrief.trends.conftest import SAMPLES
from tests.debrief.trends.copies import FIRST, begun_at, copies, forged
from tests.debrief.trends.small import small_journal


@pytest.fixture
def small(tmp_path: Path) -> bytes:
    return small_journal(tmp_path / "small.toml")


def test_a_thousand_journals_are_read_by_two_with_progress(tmp_path: Path, small: bytes) -> None:
    paths = copies([small], tmp_path / "many", 1000)
    said: list[tuple[int, int]] = []
    found = read_lines(paths, progress=lambda done, of: said.append((done, of)), processes=2)
    assert [one.path for one in found.sprints] == paths
    assert {one.forgotten for one in found.sprints} == {found.sprints[0].forgotten}
    assert found.sprints[0].started == FIRST
    assert found.sprints[-1].started == FIRST + timedelta(days=999)
    assert (found.going_on, found.unread) == ((), ())
    assert said == sorted(said)
    assert said[-1] == (1000, 1000)
    assert len(said) >= 20


def test_it_is_the_same_by_one_by_two_and_in_any_order(tmp_path: Path, small: bytes) -> None:
    paths = copies([small, *SAMPLES], tmp_path / "some", 40)
    alone = read_lines(paths, processes=1)
    assert len(alone.sprints) == 40
    mixed = Random(2).sample(paths, len(paths))
    assert read_lines(mixed, processes=2) == alone


def test_a_line_is_that_of_the_patient_reader(tmp_path: Path) -> None:
    chance = Random(3)
    paths = []
    for number in range(24):
        sample = begun_at(chance.choice(SAMPLES), FIRST + timedelta(days=number))
        data = bytearray(sample)
        if number % 3:
            at = chance.randrange(200, len(data))
            data[at : at + chance.randrange(40)] = chance.choice((b"", b"x", b"\n"))
        paths.append(tmp_path / f"{number}.toml")
        paths[-1].write_bytes(data)
    quick = read_lines(paths)
    assert len(quick.sprints) >= 12
    assert any(one.faults for one in quick.sprints)
    for one in quick.sprints:
        read = read_sprint(one.path)
        patient = QuickRead(
            read.path, read.setup, read.history, read.state, read.faults,
            Beginning(begin(read.setup)),
        )  # fmt: skip
        assert line_of(patient) == one


def kinds(found: Lines) -> tuple[int, int, int]:
    return len(found.sprints), len(found.going_on), len(found.unread)


def test_whatever_lies_in_the_folder_is_told_apart(tmp_path: Path, small: bytes) -> None:
    def put(name: str, data: bytes) -> None:
        (tmp_path / name).write_bytes(data)

    other = begun_at(small, FIRST + timedelta(days=1))
    put("b-empty.toml", b"")
    put("c-brief.toml", b'title = "A board"\n[deadline]\nminutes = 90\n')
    put("d-newer.toml", small.replace(b"version = 1", b"version = 7", 1))
    put("e-torn-in-its-header.toml", small[:400])
    put("f-torn.toml", begun_at(small, FIRST)[:-30])
    put("g-not-utf-8.toml", small.replace(b"Bench lamp", b"Bench \xff\xfe"))
    put("h-bytes.toml", bytes(range(256)) * 40)
    (tmp_path / "i-folder.toml").mkdir()
    put("j-huge-number.toml", forged(small, lambda d: d.replace(b"7200.0", b"9" * 400, 1)))
    put("k-time.toml", forged(other, lambda d: d.replace(b"\nt = 240.0", b"\nt = 1e308")))
    (tmp_path / "l-gone.toml").symlink_to(tmp_path / "nowhere")
    paths = sorted(tmp_path.glob("*.toml"))
    found = read_lines(paths)
    assert sum(kinds(found)) == len(paths)
    assert found.copies == ()
    says = {one.path.name: one.says for one in found.unread}
    assert says["b-empty.toml"].endswith("The file is empty, no journal.")
    assert "not the journal of a sprint" in says["c-brief.toml"]
    assert "newer coach" in says["d-newer.toml"]
    assert "breaks off within its header" in says["e-torn-in-its-header.toml"]
    assert "a folder, not a journal" in says["i-folder.toml"]
    assert "no journal here" in says["l-gone.toml"]
    assert all(text.endswith(".") and "\n" not in text for text in says.values())
    # Torn before its end was written down, the sprint goes on.
    assert [path.name for path in found.going_on] == ["f-torn.toml"]
    told = {one.path.name: one for one in found.sprints}
    assert told["small.toml"].faults == ()
    assert told["k-time.toml"].ended_at is None


def test_an_edited_journal_counts_and_says_that_it_was_edited(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "edited.toml"
    path.write_bytes(small.replace(b'phase = "debug-access"', b'phase = "regulation"', 1))
    one = read_lines([path]).sprints[0]
    assert "was changed after it was written" in one.faults[0]


def test_the_same_file_named_twice_counts_once(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "small.toml"
    assert kinds(read_lines([path, path])) == (1, 0, 0)


def test_a_copy_of_a_journal_is_the_same_sprint(tmp_path: Path, small: bytes) -> None:
    (tmp_path / "copy.toml").write_bytes(small)
    (tmp_path / "moved.toml").write_bytes(begun_at(small, FIRST))
    found = read_lines(sorted(tmp_path.glob("*.toml")))
    assert kinds(found) == (2, 0, 0)
    assert [path.name for path in found.copies] == ["small.toml"]  # alike: the first is kept


def test_of_copies_the_longer_is_kept_and_one_that_was_whole(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "small.toml"
    (tmp_path / "a-early.toml").write_bytes(small[: small.rfind(b"[[event]]")])  # still goes on
    edited = small.replace(b'phase = "debug-access"', b'phase = "regulation"', 1)
    (tmp_path / "b-edited.toml").write_bytes(edited)
    (tmp_path / "c-bench.toml").write_bytes(small)
    with Session.afterwards(path, ManualClock(FIRST + timedelta(days=9999))) as session:
        session.do(NoteFinding("The lead is too thin"))
    found = read_lines(sorted(tmp_path.glob("*.toml")))
    assert [(one.path, one.faults) for one in found.sprints] == [(path, ())]
    assert found.going_on == ()
    names = [one.name for one in found.copies]
    assert names == ["a-early.toml", "b-edited.toml", "c-bench.toml"]
    path.unlink()
    found = read_lines(sorted(tmp_path.glob("*.toml")))
    assert [one.path.name for one in found.sprints] == ["c-bench.toml"]


def test_simulated_engineers_who_begin_on_one_morning_are_no_copies(tmp_path: Path) -> None:
    brief = load_brief("orchard-radio-tag")
    for number, pace in enumerate((0.9, 1.3)):
        rehearse(brief, seed=5, pace=pace, forget=0.1, path=tmp_path / f"{number}.toml")
    found = read_lines(sorted(tmp_path.glob("*.toml")))
    assert len({one.started for one in found.sprints}) == 1
    assert (len(found.sprints), found.copies) == (2, ())


def test_of_no_journal_nothing_is_read() -> None:
    assert kinds(read_lines([])) == (0, 0, 0)


def test_where_no_process_can_be_started_one_reads_all(
    tmp_path: Path, small: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Nobody:
        def __init__(self, *_: object, **__: object) -> None:
            pass

        def submit(self, *_: object) -> None:
            raise OSError("no more processes")

        def shutdown(self, **_: object) -> None:
            pass

    monkeypatch.setattr(reading, "ProcessPoolExecutor", Nobody)
    paths = copies([small], tmp_path / "many", 60)
    assert len(read_lines(paths, processes=2).sprints) == 60


def _dies(paths: Sequence[Path]) -> list[reading.Told]:
    if multiprocessing.parent_process() is not None and any(p.stem == "0030" for p in paths):
        os._exit(9)
    return reading.told(paths)


def test_what_a_process_that_died_left_over_is_read_all_the_same(
    tmp_path: Path, small: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = copies([small], tmp_path / "many", 80)
    original = reading.ProcessPoolExecutor.submit
    monkeypatch.setattr(
        reading.ProcessPoolExecutor,
        "submit",
        lambda pool, _, chunk: original(pool, _dies, chunk),
    )
    said: list[int] = []
    found = read_lines(paths, progress=lambda done, _: said.append(done), processes=2)
    assert [one.path for one in found.sprints] == paths
    assert said[-1] == 80


def test_processes_are_gone_when_it_is_read(tmp_path: Path, small: bytes) -> None:
    read_lines(copies([small], tmp_path / "many", 60), processes=2)
    assert not multiprocessing.active_children()


def test_a_copy_that_began_another_day_is_another_sprint(tmp_path: Path) -> None:
    path = tmp_path / "copy.toml"
    path.write_bytes(begun_at(SAMPLES[0], FIRST))
    one = read_lines([path]).sprints[0]
    assert (one.started, one.rehearsed, one.faults) == (FIRST, False, ())
