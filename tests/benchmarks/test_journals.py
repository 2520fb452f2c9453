"""How long journals take, against reading their bytes as TOML and doing nothing with it.

The floor, measured in the same run: tomllib.loads of the same bytes. Processor time is tested,
because it does not depend on what else the machine does.
"""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from coach.cli import main
from coach.history.ended import read_many
from coach.history.listing import list_folder
from coach.history.trends import trends_of
from coach.sprint.clock import ManualClock
from coach.sprint.session import Session
from tests.history.copies import copies
from tests.history.long import START, long_journal

JOURNALS = 1000
FLOOR_OF = 30
LISTED = 100
EVENTS = 100_000


def processor_seconds(work: Callable[[], object]) -> float:
    before = time.process_time()
    work()
    return time.process_time() - before


def said(what: str, seconds: float, floor: float, wanted: float) -> None:
    print(
        f"\n{what}: {seconds * 1e3:.1f} ms, tomllib {floor * 1e3:.1f} ms, "
        f"ratio {seconds / floor:.2f}, wanted at most {wanted}"
    )
    assert seconds <= wanted * floor


def floor_of(paths: list[Path]) -> float:
    """What tomllib takes for one of these journals, on average."""
    texts = [path.read_text(encoding="utf-8") for path in paths[:FLOOR_OF]]
    return processor_seconds(lambda: [tomllib.loads(text) for text in texts]) / len(texts)


def test_trends_of_a_thousand_journals_take_less_than_half_of_what_their_toml_takes(
    tmp_path: Path, samples: tuple[bytes, ...]
) -> None:
    paths = copies(samples, tmp_path / "many", JOURNALS)
    counted: list[int] = []
    seconds = processor_seconds(lambda: counted.append(trends_of(read_many(paths).sprints).sprints))
    assert counted == [JOURNALS]
    said("trends, a journal", seconds / JOURNALS, floor_of(paths), 0.5)


def test_a_list_of_a_hundred_journals_takes_no_more_than_the_toml_of_two(
    tmp_path: Path, samples: tuple[bytes, ...]
) -> None:
    paths = copies(samples, tmp_path / "many", LISTED)
    listed: list[int] = []
    seconds = processor_seconds(lambda: listed.append(len([*list_folder(tmp_path / "many")])))
    assert listed == [LISTED]
    said(f"a list of {LISTED} journals", seconds, floor_of(paths), 2.0)


@pytest.fixture(scope="module")
def long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return long_journal(tmp_path_factory.mktemp("long") / "long.toml", EVENTS)


@pytest.fixture(scope="module")
def floor(long: Path) -> float:
    return floor_of([long])


def test_a_long_journal_is_verified_in_three_times_what_its_toml_takes(
    long: Path, floor: float, capsys: pytest.CaptureFixture[str]
) -> None:
    seconds = processor_seconds(lambda: main(["verify", str(long)]))
    assert capsys.readouterr().out.startswith(f"Intact: all {EVENTS + 4} blocks")
    said("verify", seconds, floor, 3.0)


def test_a_long_journal_has_its_debrief_in_three_times_what_its_toml_takes(
    long: Path, floor: float, capsys: pytest.CaptureFixture[str]
) -> None:
    seconds = processor_seconds(lambda: main(["debrief", "--text", str(long)]))
    assert "USB bench meter" in capsys.readouterr().out
    said("debrief", seconds, floor, 3.0)


def test_a_long_journal_is_taken_up_again_in_three_times_what_its_toml_takes(
    long: Path, floor: float
) -> None:
    clock = ManualClock(START + timedelta(hours=3))
    said("resume", processor_seconds(lambda: Session.resume(long, clock).close()), floor, 3.0)
