"""Every benchmark hands its comparison to one recorder; at the end they are a table, and a file."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict
from itertools import zip_longest

import pytest

from tests.benchmarks.measuring import Compared
from tests.imports.sources import ROOT

_FILE = ROOT / "build" / "bench.json"
_KEY: pytest.StashKey[list[Compared]] = pytest.StashKey()
_TITLES = ("what", "figure", "floor", "ratio", "quartiles", "at most")

Record = Callable[[Compared], Compared]


@pytest.fixture
def record(pytestconfig: pytest.Config) -> Record:
    """Keeps a comparison for the table, and fails the test where its ratio is over its limit."""

    def keep(made: Compared) -> Compared:
        pytestconfig.stash.setdefault(_KEY, []).append(made)
        assert made.limit is None or made.ratio <= made.limit
        return made

    return keep


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    made = terminalreporter.config.stash.get(_KEY, [])
    if not made:
        return
    rows = [_TITLES, *(one.cells for one in made)]
    widths = [max(map(len, column)) for column in zip_longest(*rows, fillvalue="")]
    terminalreporter.section("benchmarks")
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        terminalreporter.line("  ".join(cells).rstrip())
    _FILE.parent.mkdir(exist_ok=True)
    _FILE.write_text(json.dumps([asdict(one) for one in made], indent=2) + "\n", encoding="utf-8")
    terminalreporter.line(f"\nAlso in {_FILE.relative_to(ROOT)}")
