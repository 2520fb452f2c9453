"""What holds for every test: a home of its own, one zone, and examples that do not change."""

from __future__ import annotations

import gc
import os
import time
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, database=None)
settings.load_profile("steady")

_BENCHMARKS = Path(__file__).parent / "benchmarks"


def pytest_configure() -> None:
    # Thousands of apps and models are made: looking for cycles at each turn is much of the time.
    gc.set_threshold(100_000, 20, 50)
    os.environ["TZ"] = "UTC"
    time.tzset()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if _BENCHMARKS in item.path.parents:
            item.add_marker(pytest.mark.benchmark)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home folder, so that no test reads or writes what this person has kept."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("HOME", str(home))
    for name in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)
    return home
