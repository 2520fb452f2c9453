"""Each room of the house comes up without the rooms, and without the weight, it must not need.

The contracts in pyproject.toml read the sources; here a fresh interpreter imports every
module and says what it brought with it, detours and late surprises included.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from phases.kit.catalogue import PHASE_PACKAGES
from tests.imports.sources import ROOT, modules

HEAVY = ("numpy", "pint", "textual", "jinja2")
HEAVY_BUT_THE_SCREEN = ("numpy", "pint", "jinja2")

# What a layer must not bring in: its folder, and the roots that stay out.
LAYERS = {
    "phases": (*HEAVY, "coach"),
    "coach/sprint": (
        *HEAVY,
        "coach.terminal",
        "coach.history",
        "coach.bringup",
        "coach.report",
        "coach.pages",
        "coach.cli",
    ),
    "coach/report": (*HEAVY, "coach.terminal", "coach.bringup", "coach.cli"),
    "coach/bringup": (*HEAVY, "coach.terminal", "coach.report", "coach.cli"),
    "coach/history": (*HEAVY, "coach.terminal", "coach.report", "coach.bringup", "coach.cli"),
    "coach/pages": (*HEAVY, "coach.terminal", "coach.sprint", "coach.cli"),
}

# One interpreter imports a whole layer; each new arrival is put down to the module that was
# being imported, so that every module has an answer of its own for the price of one start.
# A module that cannot be imported says so in its own answer.
_IMPORT_EACH = """
import importlib, json, sys
names, barred = json.loads(sys.stdin.read())
seen, arrivals = set(), {}
for name in names:
    fault = []
    try:
        importlib.import_module(name)
    except Exception as raised:
        fault = [f"{type(raised).__name__}: {raised}"]
    now = {b for b in barred if b in sys.modules}
    arrivals[name] = fault + sorted(now - seen)
    seen |= now
print(json.dumps(arrivals))
"""

# The last line of stdout is what the command left in sys.modules.
_RUN_COMMAND = """
import sys
from coach.cli import main
try:
    main()
except SystemExit:
    pass
print()
print(" ".join(sorted({name.partition(".")[0] for name in sys.modules})))
"""

# The last line of stdout is what is in sys.modules once the screen has been painted; what computing
# needs would come a moment later.
_PAINT_ONCE = """
import asyncio, pathlib, sys
from coach.cli import main, sprint
from coach.sprint.journal import sessions_folder
from coach.terminal import app as terminal

async def painted(app):
    async with app.run_test() as pilot:
        await pilot.pause()
        assert app.screen.NAME == sys.argv[2]
        print(*sys.modules)

sprint.has_terminal = lambda: True
terminal.CoachApp.warm_up = lambda self: None
terminal._run = lambda app, command: asyncio.run(painted(app)) or 0
sessions_folder.sessions_folder = lambda: pathlib.Path(sys.argv[1])
main(sys.argv[3:])
"""

# What the first frame does not wait for: computing, rules, forecasts, sprints that are over, the
# rooms beside, and every other screen. "." at the end: what is below.
LATER = (
    *HEAVY_BUT_THE_SCREEN,
    "coach.bringup.",
    "coach.report.",
    "coach.sprint.pace.forecast",
    "coach.sprint.rehearsal.",
    "coach.sprint.rules.decide",
    "coach.sprint.summing_up",
    "coach.terminal.screens.board",
    "coach.terminal.screens.calculator",
    "coach.terminal.screens.debrief",
    "coach.terminal.screens.help",
    "coach.terminal.screens.new",
    "coach.terminal.screens.walk",
    "coach.terminal.widgets.calculator_pane",
    "phases.kit.calculator",
    "phases.kit.judging",
    "phases.kit.record",
    *(f"phases.{phase}." for phase in PHASE_PACKAGES),
)
MOST_OWN = 110
"""Modules of ours that a first frame may import."""


def fresh(code: str, *arguments: str, given: str = "") -> str:
    """What `code` prints in an interpreter of its own."""
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        input=given,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def brought_in(folder: str) -> dict[str, list[str]]:
    """For each module under `folder`, what of the barred it was the first to bring in."""
    printed = fresh(_IMPORT_EACH, given=json.dumps([modules(folder), LAYERS[folder]]))
    arrivals: dict[str, list[str]] = json.loads(printed)
    return arrivals


@pytest.mark.parametrize("folder", LAYERS)
def test_a_module_stays_within_its_layer_and_light(folder: str) -> None:
    brought = brought_in(folder)
    assert {module: what for module, what in brought.items() if what} == {}
    assert folder.replace("/", ".") in brought
    assert list(brought) == modules(folder)


def test_a_module_that_does_bring_something_in_is_named() -> None:
    names = ["json", "fractions", "decimal", "json.nothing"]
    printed = fresh(_IMPORT_EACH, given=json.dumps([names, ["numbers"]]))
    fault = "ModuleNotFoundError: No module named 'json.nothing'"
    assert json.loads(printed) == {
        "json": [],
        "fractions": ["numbers"],
        "decimal": [],
        "json.nothing": [fault],
    }


@pytest.mark.parametrize("arguments", [("--help",), ("calc",)])
def test_the_command_line_answers_before_anything_heavy_is_loaded(
    arguments: tuple[str, ...],
) -> None:
    loaded = fresh(_RUN_COMMAND, *arguments).splitlines()[-1].split()
    assert "coach" in loaded
    assert not set(HEAVY) & set(loaded)


def test_the_command_line_is_imported_without_screen_and_without_weight() -> None:
    code = "import sys, coach.cli; print(*sys.modules)"
    loaded = fresh(code).split()
    assert "coach.cli" in loaded
    assert not {*HEAVY, "coach.terminal", "coach.report"} & set(loaded)


@pytest.mark.parametrize(
    ("screen", "arguments"), [("sprint", ("sprint", "usb-bench-meter")), ("start", ())]
)
def test_the_first_frame_waits_for_nothing_it_does_not_show(
    screen: str, arguments: tuple[str, ...], tmp_path: Path
) -> None:
    loaded = fresh(_PAINT_ONCE, str(tmp_path), screen, *arguments).splitlines()[-1].split()
    others = {f"coach.terminal.screens.{name}" for name in ("sprint", "start")}
    shown = f"coach.terminal.screens.{screen}"
    assert [name for name in loaded if name in others] == [shown]
    assert [name for name in loaded if name in LATER or name.startswith(LATER)] == []
    assert sum(name.startswith(("coach.", "phases.")) for name in loaded) <= MOST_OWN
