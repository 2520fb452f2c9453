"""How long the first frame takes, against a bare Textual app.

Both are whole processes in a pseudo-terminal, timed from their start to the frame that shows their
words: a new sprint and a sprint taken up again to the next thing, the start screen to its briefs.
One that is taken up again reads, checks and folds its journal besides.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pexpect
import pytest

from tests.benchmarks.conftest import Record
from tests.benchmarks.measuring import Seconds, compared
from tests.imports.sources import ROOT

RUNS = 9

BARE = """
from textual.app import App
from textual.widgets import Static

class Bare(App[None]):
    def compose(self):
        yield Static("ready now", markup=False)

Bare().run()
"""


def opening(words: str, arguments: Callable[[], list[str]], folder: Path) -> Seconds:
    """From the start of a process to its first frame with `words`."""

    def once() -> float:
        given = arguments()
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color"}
        begun = time.perf_counter()
        child = pexpect.spawn(
            sys.executable,
            given,
            dimensions=(24, 80),
            timeout=30,
            cwd=str(folder),
            env=environment,
        )
        child.expect_exact(words)
        taken = time.perf_counter() - begun
        child.close(force=True)
        return taken

    return once


def a_new_sprint(folder: Path) -> Callable[[], list[str]]:
    journals = (str(folder / f"{number}.toml") for number in count())
    return lambda: ["-m", "coach", "sprint", "usb-bench-meter", "--journal", next(journals)]


def a_sprint_taken_up(folder: Path) -> Callable[[], list[str]]:
    """Half of a sample, so that items are met, calculations saved and calls made."""
    path = folder / "half.toml"
    data = (ROOT / "sessions" / "sample-usb-bench-meter.toml").read_bytes()
    events = data.split(b"[[event]]")
    half = b"[[event]]".join(events[: len(events) // 2])

    def arguments() -> list[str]:
        path.write_bytes(half)
        return ["-m", "coach", "resume", str(path)]

    return arguments


@pytest.mark.parametrize(
    ("name", "words", "kind", "limit"),
    [
        ("a new sprint", "NEXT", a_new_sprint, 2.5),
        ("a sprint taken up again", "NEXT", a_sprint_taken_up, 3.0),
        ("the start screen", "USB bench meter", lambda _: lambda: ["-m", "coach"], 2.5),
    ],
    ids=["new", "resumed", "start"],
)
def test_the_first_frame_takes_no_more_than_a_few_bare_apps(
    *,
    name: str,
    words: str,
    kind: Callable[[Path], Callable[[], list[str]]],
    limit: float,
    tmp_path: Path,
    record: Record,
) -> None:
    bare = opening("ready", lambda: ["-c", BARE], tmp_path)
    coach = opening(words, kind(tmp_path), tmp_path)
    record(compared(f"first frame, {name}", coach, "bare app", bare, rounds=RUNS, limit=limit))
