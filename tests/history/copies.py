"""Many journals made of a few: copies with a start of their own, sealed anew."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach.sprint.journal.writing import FIRST_CHECK, seal

_CHECKS = re.compile(rb"^# check .*\n", re.MULTILINE)
_BEGINNINGS = re.compile(
    rb"^(?=\[\[event\]\]$|\[journal\.(?:run|brief|items|letter|opening)\]$)", re.MULTILINE
)
FIRST = datetime(2028, 1, 3, 9, 0, tzinfo=UTC)


def sealed(blocks: Sequence[bytes]) -> bytes:
    """A journal of these blocks, every check right."""
    check = FIRST_CHECK
    found = []
    for number, block in enumerate(blocks, start=1):
        whole, check = seal(block, number, check)
        found.append(whole)
    return b"".join(found)


def blocks_of(data: bytes) -> list[bytes]:
    """The blocks of a whole journal, without their checks."""
    return _CHECKS.split(data)[:-1]


def forged(data: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """The journal changed by somebody who knows how to make its checks right."""
    return sealed(_BEGINNINGS.split(_CHECKS.sub(b"", change(data))))


def begun_at(data: bytes, started: datetime, *, own: bool = True) -> bytes:
    """A copy of a journal that began at another time; own: as if it had not been rehearsed."""

    def change(data: bytes) -> bytes:
        moment = started.isoformat(sep=" ").encode()
        data = re.sub(rb"(?m)^started = [^\n]*", b"started = " + moment, data, count=1)
        return data.replace(b"rehearsed = true", b"rehearsed = false", 1) if own else data

    return forged(data, change)


def copies(sources: Sequence[bytes], folder: Path, number: int) -> list[Path]:
    """So many journals in `folder`, a day apart, the sources in turn."""
    folder.mkdir(exist_ok=True)
    paths = [folder / f"{at:04d}.toml" for at in range(number)]
    for at, path in enumerate(paths):
        data = begun_at(sources[at % len(sources)], FIRST + timedelta(days=at))
        path.write_bytes(data)
    return paths
