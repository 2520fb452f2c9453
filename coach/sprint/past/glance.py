"""A glance at a journal: what it is of, how long it still has, and whether it has ended.

For a list of many journals: only the first table of the header is parsed and the rest is
searched, so that a hundred of them cost what one costs to be read. It believes what it finds;
opening the journal checks it. Only where a move of the cut-off may have been taken back is all
of it folded.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from coach.sprint.cut_off import seconds_between
from coach.sprint.journal.reading import examine, recognise
from coach.sprint.past.which_count import given_up_at_once
from phases.kit.refusals import Refusal
from phases.kit.text import line

# Within a text line ends are escaped: what stands on a line of its own is a key of its table.
_RUN = re.compile(rb"^\[journal\.run\]\r?\n((?:[^\[#\r\n][^\r\n]*\r?\n)*)", re.MULTILINE)
_ENDED = re.compile(rb'^what = "ended"\r?$', re.MULTILINE)
_ACCEPTED = re.compile(rb"\r?\naccepted = true\r?$", re.MULTILINE)
_UNDONE = re.compile(rb'^what = "undone"\r?$', re.MULTILINE)
_DEADLINE = re.compile(rb"^deadline = ([-+0-9.e]+)\r?$", re.MULTILINE)
_STAMP = re.compile(
    rb"^\[\[event\]\]\r?\nn = \d+\r?\nat = ([^\r\n]+)\r?\nt = ([-0-9.e+]+)\r?$", re.MULTILINE
)


@dataclass(frozen=True, slots=True)
class Glance:
    """started, last_at: wall times of the start and of the last event. last_t, deadline: seconds
    from the start. speed: of its clock. given_up: it was, at once."""

    path: Path
    title: str
    started: datetime
    deadline: float
    last_at: datetime
    last_t: float
    speed: float
    rehearsed: bool
    ended: bool
    given_up: bool = False

    def left(self, now: datetime) -> float:
        """Seconds to the cut-off at the wall time `now`. A rehearsal's clock stood still since."""
        since = seconds_between(self.last_at, now)
        passed = 0.0 if self.speed != 1.0 else max(since, 0.0)
        return self.deadline - self.last_t - passed


def glance(path: Path) -> Glance:
    """What can be seen of the journal at `path`. Raises Refusal where it is none of ours."""
    where = line(str(path))
    try:
        if not path.is_file():
            raise Refusal("This is not a file", where=where)
        data = path.read_bytes()
    except OSError:
        raise Refusal("The journal cannot be read", where=where) from None
    recognise(data[:4096], where)
    found = _RUN.search(data)
    if found is None:
        raise Refusal("The journal does not say what sprint it is of", where=where)
    try:
        run = tomllib.loads(found[1].decode())
        at, t = _last_stamp(data, run["started"])
        deadline, end = _deadline(data, found.end(), run, where), _ENDED.search(data)
        return Glance(
            path, line(str(run["title"])), run["started"], deadline, at, t, float(run["speed"]),
            bool(run["rehearsed"]), end is not None,
            end is not None and _given_up(data, end.end(), deadline),
        )  # fmt: skip
    except (KeyError, TypeError, ValueError):
        raise Refusal("The journal's header cannot be used", where=where) from None


def _deadline(data: bytes, begin: int, run: Mapping[str, Any], where: str) -> float:
    """The cut-off that counts. Where one was moved and something taken back, the journal is folded
    to find out: what of it stands is for the fold to say."""
    moved = _DEADLINE.findall(data, begin)
    if not moved:
        return float(run["deadline"])
    if _UNDONE.search(data, begin) is None:
        return float(moved[-1])
    from coach.sprint.fold import fold
    from coach.sprint.session import events_of
    from coach.sprint.setup import setup_from

    read = examine(data, where)
    past = events_of(read.events, where=where)
    return fold(setup_from(read.header, where=where), past).deadline


def _given_up(data: bytes, end: int, deadline: float) -> bool:
    """Whether the sprint that ended in the block before `end` was given up at once."""
    begin = data.rfind(b"\n[[event]]", 0, end)
    stamp = _STAMP.match(data, begin + 1) if begin >= 0 else None
    accepted = _ACCEPTED.match(data, end) is not None
    ended_at = float(stamp[2]) if stamp is not None else None
    return given_up_at_once(ended_at, deadline, accepted=accepted)


def _last_stamp(data: bytes, started: datetime) -> tuple[datetime, float]:
    """Wall time and elapsed seconds of the last event that is whole; of the start without one."""
    whole = data[: data.rfind(b"\n# check ") + 1]
    begin = whole.rfind(b"\n[[event]]")
    stamp = _STAMP.match(whole, begin + 1) if begin >= 0 else None
    if stamp is None:
        return started, 0.0
    return datetime.fromisoformat(stamp[1].decode()), float(stamp[2])
