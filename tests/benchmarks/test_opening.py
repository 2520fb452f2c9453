"""How long the sprint screen takes to open, against a bare Textual app in the same run.

Both are whole processes in a pseudo-terminal, timed from their start to the first frame that
shows their words. No time is tested, only their ratio.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import pexpect

RUNS = 7
WANTED = 3.5

BARE = """
from textual.app import App
from textual.widgets import Static

class Bare(App[None]):
    def compose(self):
        yield Static("ready now", markup=False)

Bare().run()
"""


def seconds_to(words: str, arguments: list[str], folder: Path) -> float:
    """From the start of the process to its first frame with `words`."""
    begun = time.perf_counter()
    child = pexpect.spawn(
        sys.executable, arguments, dimensions=(24, 80), timeout=30, cwd=str(folder)
    )
    child.expect_exact(words)
    taken = time.perf_counter() - begun
    child.close(force=True)
    return taken


def test_the_sprint_screen_opens_within_three_and_a_half_times_a_bare_app(
    tmp_path: Path,
) -> None:
    bare, sprint = [], []
    for run in range(RUNS):
        bare.append(seconds_to("ready", ["-c", BARE], tmp_path))
        journal = str(tmp_path / f"{run}.toml")
        opening = ["-m", "coach", "sprint", "usb-bench-meter", "--journal", journal]
        sprint.append(seconds_to("NEXT", opening, tmp_path))
    ratios = [s / b for s, b in zip(sprint, bare, strict=True)]
    print(
        f"\nbare app {statistics.median(bare):.3f} s, sprint screen "
        f"{statistics.median(sprint):.3f} s, ratio {statistics.median(ratios):.2f} "
        f"({min(ratios):.2f} to {max(ratios):.2f}), wanted at most {WANTED}"
    )
    assert statistics.median(ratios) <= WANTED
