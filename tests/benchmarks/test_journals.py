"""How long journals take, against reading their bytes as TOML and doing nothing with it.

The floor is tomllib.loads of the same bytes; both are processor time.
"""

from __future__ import annotations

import tomllib
from datetime import timedelta
from pathlib import Path

import pytest

from coach.cli import main
from coach.history.ended import read_many
from coach.history.listing import list_folder
from coach.history.trends import trends_of
from coach.sprint.clock import ManualClock
from coach.sprint.session import Session
from tests.benchmarks.conftest import Record
from tests.benchmarks.measuring import Seconds, compared, processor
from tests.history.copies import copies
from tests.history.long import START, long_journal

JOURNALS = 1000
FLOOR_OF = 30
LISTED = 100
EVENTS = 100_000
ROUNDS = 3
FEW = 9


def toml_of(paths: list[Path]) -> Seconds:
    """What tomllib takes for one of these journals, on average."""
    texts = [path.read_text(encoding="utf-8") for path in paths[:FLOOR_OF]]
    every = processor(lambda: [tomllib.loads(text) for text in texts])
    return lambda: every() / len(texts)


def test_trends_of_a_thousand_journals_take_less_than_half_of_what_their_toml_takes(
    tmp_path: Path, samples: tuple[bytes, ...], record: Record
) -> None:
    paths = copies(samples, tmp_path / "many", JOURNALS)
    counted: list[int] = []
    every = processor(lambda: counted.append(trends_of(read_many(paths).sprints).sprints))
    record(
        compared(
            f"trends of {JOURNALS}, a journal",
            lambda: every() / JOURNALS,
            "tomllib",
            toml_of(paths),
            rounds=ROUNDS,
            limit=0.5,
            warm=False,
        )
    )
    assert set(counted) == {JOURNALS}


def test_a_list_of_a_hundred_journals_takes_no_more_than_the_toml_of_one(
    tmp_path: Path, samples: tuple[bytes, ...], record: Record
) -> None:
    paths = copies(samples, tmp_path / "many", LISTED)
    listed: list[int] = []
    work = processor(lambda: listed.append(len([*list_folder(tmp_path / "many")])))
    name = f"a list of {LISTED} journals"
    record(compared(name, work, "tomllib, of one", toml_of(paths), rounds=FEW, limit=1.0))
    assert set(listed) == {LISTED}


@pytest.fixture(scope="module", params=["of every kind", "calls alone"])
def long(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A journal of very many events; its stem says of which kinds."""
    path = tmp_path_factory.mktemp("long") / f"{request.param}.toml"
    return long_journal(path, EVENTS, alike=request.param == "calls alone")


@pytest.fixture(scope="module")
def toml(long: Path) -> Seconds:
    return toml_of([long])


def test_a_long_journal_is_verified_in_three_times_what_its_toml_takes(
    long: Path, toml: Seconds, record: Record, capsys: pytest.CaptureFixture[str]
) -> None:
    work = processor(lambda: main(["verify", str(long)]))
    name = f"verify, {EVENTS} events, {long.stem}"
    record(compared(name, work, "tomllib", toml, rounds=ROUNDS, limit=3.0, warm=False))
    assert capsys.readouterr().out.startswith(f"Intact: all {EVENTS + 4} blocks verify")


def test_a_long_journal_has_its_debrief_in_three_times_what_its_toml_takes(
    long: Path, toml: Seconds, record: Record, capsys: pytest.CaptureFixture[str]
) -> None:
    work = processor(lambda: main(["debrief", "--text", str(long)]))
    name = f"debrief, {EVENTS} events, {long.stem}"
    record(compared(name, work, "tomllib", toml, rounds=ROUNDS, limit=3.0, warm=False))
    assert "USB bench meter" in capsys.readouterr().out


def test_a_long_journal_is_taken_up_again_in_three_times_what_its_toml_takes(
    long: Path, toml: Seconds, record: Record
) -> None:
    path, whole = long.with_suffix(".copy"), long.read_bytes()
    clock = ManualClock(START + timedelta(hours=3))

    def resumed() -> None:
        path.write_bytes(whole)
        Session.resume(path, clock).close()

    name = f"resume, {EVENTS} events, {long.stem}"
    record(
        compared(name, processor(resumed), "tomllib", toml, rounds=ROUNDS, limit=3.0, warm=False)
    )
