"""What holds for every test: a home of its own, one zone, and examples that do not change."""

from __future__ import annotations

import gc
import os
import time
from pathlib import Path

import pytest

from tests import depth
from tests.rehearsals import SAMPLES, Rehearsals, rehearsals

depth.register()

_HERE = Path(__file__).parent
_BENCHMARKS = _HERE / "benchmarks"
_LONG = [_HERE / "journeys", _HERE / "report" / "browser"]
_number = [1]


def pytest_configure() -> None:
    # Thousands of apps and models are made: looking for cycles at each turn is much of the time.
    gc.set_threshold(100_000, 20, 50)
    os.environ["TZ"] = "UTC"
    time.tzset()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if _BENCHMARKS in item.path.parents:
            item.add_marker(pytest.mark.benchmark)
        if any(folder in item.path.parents for folder in _LONG):
            item.add_marker(pytest.mark.long)
        if item.get_closest_marker("pty"):
            item.add_marker(pytest.mark.long)
        if hasattr(getattr(item, "obj", None), "hypothesis"):
            item.add_marker(pytest.mark.deeper)


@pytest.fixture(scope="session")
def rehearsed_once(tmp_path_factory: pytest.TempPathFactory) -> Rehearsals:
    """Whole sprints of the simulated engineer, each made once a run; their journals are read."""
    return rehearsals(tmp_path_factory)


@pytest.fixture(scope="session")
def samples(rehearsed_once: Rehearsals) -> tuple[bytes, ...]:
    """The journals of three of them, one of each bundled brief."""
    return tuple(rehearsed_once(**script.options).path.read_bytes() for script in SAMPLES)


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def own_home(homes: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home folder, so that no test reads or writes what this person has kept.

    One that nobody has put anything into serves the next test too.
    """
    home = homes / str(_number[0])
    if home.exists() and any(home.iterdir()):
        _number[0] += 1
        home = homes / str(_number[0])
    home.mkdir(exist_ok=True)
    monkeypatch.setenv("HOME", str(home))
    for name in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)
    return home
