"""What the sprint screen costs while nobody touches it, against a bare Textual app.

Both are whole processes in a pseudo-terminal, which measure the processor time of their own
idling, over the same seconds: the bare app with one interval of a second, the coach with its
clock, its calls and its screen, once its first forecast is made.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pexpect
import pytest

from tests.benchmarks.conftest import Record
from tests.benchmarks.measuring import compared

SETTLED, IDLE = 10.0, 20.0
WANTED = 0.01
"""Of one core: seconds of processor time a second."""

MEASURED = """
import sys, threading, time
from pathlib import Path

def measure():
    time.sleep({settled})
    used, begun = time.process_time(), time.perf_counter()
    time.sleep({idle})
    share = (time.process_time() - used) / (time.perf_counter() - begun)
    Path({told!r}).write_text(repr(share))

threading.Thread(target=measure, daemon=True).start()
"""

BARE = """
from textual.app import App
from textual.widgets import Static

class Bare(App[None]):
    ticks = 0

    def compose(self):
        yield Static("ready now", markup=False)

    def on_mount(self):
        self.set_interval(1.0, self.tick)

    def tick(self):
        self.ticks += 1

Bare().run()
"""

COACH = """
from coach.cli import main
main(["sprint", "usb-bench-meter", "--journal", {journal!r}])
"""


def begun(name: str, program: str, size: tuple[int, int], folder: Path) -> pexpect.spawn:
    told = str(folder / f"{name}.share")
    code = MEASURED.format(settled=SETTLED, idle=IDLE, told=told) + program
    columns, rows = size
    return pexpect.spawn(sys.executable, ["-c", code], dimensions=(rows, columns), timeout=30)


def read(child: pexpect.spawn) -> None:
    """Takes what was written, so that nobody waits for a full terminal."""
    try:
        child.read_nonblocking(65536, timeout=0.2)
    except pexpect.TIMEOUT:
        return


def shares(children: dict[str, pexpect.spawn], folder: Path) -> dict[str, float]:
    """The share of a core that each took while idling."""
    told = {name: folder / f"{name}.share" for name in children}
    until = time.monotonic() + SETTLED + IDLE + 30.0
    while not all(path.exists() and path.read_text() for path in told.values()):
        assert time.monotonic() < until, "nothing was measured"
        for child in children.values():
            read(child)
    return {name: float(path.read_text()) for name, path in told.items()}


@pytest.mark.parametrize("size", [(80, 24), (160, 48)])
def test_idling_on_the_sprint_screen_takes_less_than_a_hundredth_of_a_core(
    tmp_path: Path, size: tuple[int, int], record: Record
) -> None:
    program = COACH.format(journal=str(tmp_path / "sprint.toml"))
    children = {
        "bare": begun("bare", BARE, size, tmp_path),
        "coach": begun("coach", program, size, tmp_path),
    }
    children["bare"].expect_exact("ready")
    children["coach"].expect_exact("NEXT")
    children["coach"].send("4")
    found = shares(children, tmp_path)
    for child in children.values():
        child.close(force=True)
    columns, rows = size
    made = record(
        compared(
            f"a second of idling, {columns}x{rows}",
            lambda: found["coach"],
            "bare app",
            lambda: found["bare"],
            rounds=1,
            warm=False,
        )
    )
    assert made.figure < WANTED
