"""Journals with values in them that no coach wrote, their checks in order all the same."""

from __future__ import annotations

import copy
import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from coach.sprint.journal.file import Journal

ODD: tuple[Any, ...] = (
    math.nan,
    math.inf,
    -math.inf,
    1e308,
    -1e308,
    -1.0,
    0,
    2**63 - 1,
    -(2**63),
    True,
    "",
    "nan",
    "x" * 400,
    "<script>alert(1)</script>",
    "[bold]$x^2$[/] | # *a*",
    "\x1b[2J\x1b]0;t\x07a",
    "a\nb\tc",
    "\u202eabc",
    [],
    {},
    [1, "a"],
    {"a": 1},
    [{}],
    datetime(1, 1, 1, tzinfo=UTC),
)
"""What stands in a forged journal for a number, a text or a table."""


def forged(
    source: Path, target: Path, change: Callable[[dict[str, Any], list[dict[str, Any]]], None]
) -> Path:
    """A copy of a journal after `change` had its way with its header and its events."""
    reading = Journal.look(source)
    header = copy.deepcopy(dict(reading.header))
    events = [copy.deepcopy(dict(one)) for one in reading.events]
    change(header, events)
    return written(target, header, events)


def written(target: Path, header: Mapping[str, Any], events: list[dict[str, Any]]) -> Path:
    """A journal of just these, each block with its proper check."""
    target.unlink(missing_ok=True)
    with Journal.create(target, header) as journal:
        journal.append(events)
    return target


def added(*events: Mapping[str, Any], by: int = 0) -> Callable[[Any, list[dict[str, Any]]], None]:
    """Adds events at the end, a second after the last."""

    def change(header: Any, known: list[dict[str, Any]]) -> None:
        for event in events:
            n, t = len(known) + 1, float(known[-1]["t"]) + 1 if known else 1.0
            at = known[-1]["at"] if known else header["run"]["started"]
            stamp = {"n": n, "at": at + timedelta(seconds=1), "t": t, "by": by}
            known.append({**stamp, **event})

    return change


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where in plain data there is something, from the outside in."""
    inner: list[tuple[Any, Any]] = []
    if isinstance(value, Mapping):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    for key, one in inner:
        yield (*path, key)
        yield from places(one, (*path, key))


def put(data: Any, path: tuple[Any, ...], value: Any) -> None:
    for key in path[:-1]:
        data = data[key]
    data[path[-1]] = value


def odd_values(chance: Random, most: int) -> Callable[[dict[str, Any], list[dict[str, Any]]], None]:
    """Puts odd values in some places of some events; now and then in the header's run."""

    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        for _ in range(chance.randint(0, 3)):
            _out_of_order(chance, events)
        for _ in range(chance.randint(1, most)):
            target: Any = header["run"] if chance.random() < 0.1 else chance.choice(events)
            named = [path for path in places(target) if path[0] not in ("n", "at", "what")]
            if named:
                put(target, chance.choice(named), copy.deepcopy(chance.choice(ODD)))

    return change


def _out_of_order(chance: Random, events: list[dict[str, Any]]) -> None:
    """An event is lost, comes twice, or stands where another should."""
    at = chance.randrange(len(events))
    match chance.randrange(3):
        case 0 if len(events) > 1:
            del events[at]
        case 1:
            events.insert(chance.randrange(len(events)), copy.deepcopy(events[at]))
        case _:
            other = chance.randrange(len(events))
            events[at], events[other] = events[other], events[at]


def unsound(value: Any, where: str = "report") -> list[str]:
    """Figures that are none or no time, and texts that could do something on a screen."""
    found = []
    if isinstance(value, float) and not (math.isfinite(value) and abs(value) <= 1e300):
        found.append(f"{where}: {value}")
    if isinstance(value, str) and not value.isprintable():
        found.append(f"{where}: {value!r}")
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            found += unsound(getattr(value, field.name), f"{where}.{field.name}")
    elif isinstance(value, Mapping):
        for key, one in value.items():
            found += unsound(one, f"{where}[{key!r}]")
    elif isinstance(value, tuple | list):
        for n, one in enumerate(value):
            found += unsound(one, f"{where}[{n}]")
    return found
