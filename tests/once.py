"""What is dear to make and only read is made once a run, for all workers together."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest
from filelock import FileLock

T = TypeVar("T")


def once_a_run(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], T]) -> T:
    """What `make` gives for an empty folder, which stays. Whoever comes second waits for it.

    It goes from one worker to another as a pickle, so each has a copy of its own; the files in
    the folder are everybody's and only to be read.
    """
    root = factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent  # a worker has a folder in that of the run
    folder = root / "once" / name
    folder.parent.mkdir(exist_ok=True)
    kept = folder.with_suffix(".pickle")
    with FileLock(folder.with_suffix(".lock")):
        if not kept.exists():
            folder.mkdir()
            kept.write_bytes(pickle.dumps(make(folder)))
        made: T = pickle.loads(kept.read_bytes())
    return made
