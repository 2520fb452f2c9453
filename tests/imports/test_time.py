"""Only coach/sprint/clock.py reads the time or waits: everything else is handed a clock."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.imports.sources import ROOT, sources

CLOCK = Path("coach/sprint/clock.py")

_READERS = frozenset({"now", "utcnow", "today"})


def readings(tree: ast.AST) -> list[str]:
    """Each place in `tree` that reads a clock or sleeps, as "line N: what"."""
    dates = _names_of_date_types(tree)
    found: list[tuple[int, str]] = []
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                found += [(node.lineno, "import time") for name in names if name.name == "time"]
            case ast.ImportFrom(module="time", names=names):
                found += [(node.lineno, f"from time import {name.name}") for name in names]
            case ast.ImportFrom(module="asyncio", names=names):
                found += [(node.lineno, "sleep") for name in names if name.name == "sleep"]
            case ast.Attribute(attr="sleep"):
                found.append((node.lineno, "sleep"))
            case ast.Attribute(attr=attr, value=value) if attr in _READERS:
                owner = ast.unparse(value)
                if owner in dates:
                    found.append((node.lineno, f"{owner}.{attr}"))
    return [f"line {line}: {what}" for line, what in sorted(found)]


def _names_of_date_types(tree: ast.AST) -> set[str]:
    """How this source can spell the classes datetime and date."""
    spelt: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for name in node.names:
                if name.name == "datetime":
                    module = name.asname or name.name
                    spelt |= {f"{module}.datetime", f"{module}.date"}
        elif isinstance(node, ast.ImportFrom) and node.module == "datetime":
            spelt |= {
                name.asname or name.name for name in node.names if name.name in ("datetime", "date")
            }
    return spelt


def test_nothing_but_the_clock_reads_the_time() -> None:
    texts = {path: (ROOT / path).read_text(encoding="utf-8") for path in sources("coach", "phases")}
    found = {path: readings(ast.parse(text)) for path, text in texts.items()}
    assert found.pop(CLOCK), "the clock is where time is read"
    assert {str(path): said for path, said in found.items() if said} == {}


@pytest.mark.parametrize(
    "source",
    [
        "import time\ntime.time()",
        "import time as t\nt.monotonic()",
        "from time import perf_counter",
        "from time import sleep as wait\nwait(1)",
        "import datetime\ndatetime.datetime.now()",
        "import datetime as dt\ndt.date.today()",
        "from datetime import datetime\ndatetime.now(tz)",
        "from datetime import datetime as D\nread = D.utcnow",
        "import asyncio\nasync def f():\n    await asyncio.sleep(1)",
        "from asyncio import sleep",
        "def f():\n    import time\n    return time.monotonic_ns()",
    ],
)
def test_each_way_of_reading_the_time_is_seen(source: str) -> None:
    assert readings(ast.parse(source))


@pytest.mark.parametrize(
    "source",
    [
        "def f(clock):\n    return clock.now()",
        "from datetime import datetime, time\nd = datetime.fromisoformat(s)\nt = time(15, 36)",
        "today = record.today",
    ],
)
def test_a_clock_that_was_handed_over_may_be_read(source: str) -> None:
    assert readings(ast.parse(source)) == []
