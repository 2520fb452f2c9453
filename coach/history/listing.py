"""The list of journals: what each is of, how long it still has, and whether it has ended.

Of a journal only the block of its run and the first lines of its last events are read, and the
checks of its two ends are followed, so that a hundred journals cost less than one costs to be
parsed; damage between them is the business of `coach verify`. Where the ends do not tell enough
(damage there, a cut-off that was moved, an end that was not summed up) all of it is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from coach.history.read_sprint import sprint_of
from coach.sprint.clock import moment
from coach.sprint.cut_off import seconds_between
from coach.sprint.events.event import kinds
from coach.sprint.events.summary import SummedUp
from coach.sprint.journal.file import journal_bytes
from coach.sprint.journal.reading import Block, Chain, examine, follow, from_end, tables
from coach.sprint.journal.sessions_folder import journals
from coach.sprint.setup import Run, run_from
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

_LOOKED_AT = 20
"""Journals looked at for a sprint that goes on, the last written first: a sprint begins at once."""

_FIRST_EVENTS = 4
_FRONT = 4 + _FIRST_EVENTS
"""Blocks of the header, and the events after it."""

# Only the end of a sprint has the first; without the others its cut-off is that of its header.
_ENDED = b'\nwhat = "ended"\n'
_MOVED = (b'\nwhat = "cut-off-moved"\n', b"\nshift = ")

Identity = tuple[datetime, str, bytes]
"""What a journal and its copies have in common."""

UNREADABLE = (LookupError, TypeError, ValueError)
"""What reading a part of a journal raises that another program has sealed."""


class NeedsAllError(ValueError):
    """Checks and last blocks do not tell enough: all of the journal has to be read."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A journal as a list shows it."""

    path: Path
    run: Run
    deadline: float
    """The cut-off in force, in seconds from the start."""
    at: datetime
    """Wall time of its last event."""
    t: float
    """Elapsed seconds then."""
    ended: bool
    same: Identity
    length: tuple[bool, int]
    """Whether it has ended, and its number of events."""

    def outdoes(self, copy: Listed) -> bool:
        """Of two copies an ended one is kept, then the longer, then an intact one."""
        if self.length != copy.length:
            return self.length > copy.length
        return self._intact and not copy._intact

    @property
    def _intact(self) -> bool:
        """Whether all its checks hold, not only those at its ends."""
        return not follow(journal_bytes(self.path)).faults

    def left(self, now: datetime) -> float:
        """Seconds to the cut-off at the wall time `now`. A rehearsal's clock stood still since."""
        since = seconds_between(self.at, now)
        passed = 0.0 if self.run.speed != 1.0 else max(since, 0.0)
        return self.deadline - self.t - passed


def listed(path: Path) -> Listed:
    """What a list shows of the journal at `path`. Raises Refusal where it is none of ours."""
    where = one_line(str(path))
    data = journal_bytes(path)
    front = follow(data, _FRONT)
    try:
        if front.faults:
            raise NeedsAllError
        ended = summary_block(data, from_end(data)) is not None
        if not ended and any(sign in data for sign in _MOVED):
            raise NeedsAllError
        run, last = run_of(front, where), next(from_end(data))
        deadline, (at, t) = run.deadline, _moment(last) if last.is_event else (run.started, 0.0)
        events = last.number - sum(not one.is_event for one in front.blocks)
    except (Refusal, *UNREADABLE):
        reading = examine(data, where)
        read = sprint_of(reading, path)
        run, deadline, ended = read.setup, read.state.deadline, read.state.ended
        at, t = (read.history[-1].at, read.state.t) if read.history else (run.started, 0.0)
        events = sum(one.is_event for one in reading.chain.blocks)
    return Listed(path, run, deadline, at, t, ended, _identity(run, front), (ended, events))


def summary_block(data: bytes, last_first: Iterable[Block]) -> Block | None:
    """The block that says what a sprint came to; None where it goes on. Raises NeedsAllError."""
    for block in last_first:
        kind = kinds()[block.stamp()["what"]]
        if kind is SummedUp:
            return block
        if kind.counts:
            break
    if _ENDED in data:
        raise NeedsAllError
    return None


def run_of(chain: Chain, where: str) -> Run:
    """The run that the header of a journal holds. Raises Refusal."""
    header, _ = tables(chain.part("run"))
    return run_from(header, where=where)


def _moment(block: Block) -> tuple[datetime, float]:
    stamp = block.stamp()
    return moment(stamp["at"]), float(stamp["t"])


def _identity(run: Run, front: Chain) -> Identity:
    """The instant of the start and the title. Simulated engineers begin on a few fixed mornings, so
    that the check over the first events of theirs is part of it."""
    first = [one for one in front.blocks if one.is_event][:_FIRST_EVENTS]
    return run.started, run.title, first[-1].check if run.simulated and first else b""


def deduplicate(found: Iterable[Listed]) -> list[Listed]:
    """Of every sprint the longest journal, in the order given; of alike ones the first. A journal
    is copied for safekeeping, or sent to somebody and taken back: that is the same sprint."""
    kept: dict[Identity, Listed] = {}
    for one in found:
        other = kept.get(one.same)
        if other is None or one.outdoes(other):
            kept[one.same] = one
    return [*kept.values()]


# ---- a folder of them ------------------------------------------------------------------------


def list_folder(folder: Path, most: int | None = None) -> Iterator[Listed]:
    """The journals in a folder, the last written first; what cannot be read is passed over."""
    for path in journals(folder)[:most]:
        try:
            one = listed(path)
        except Refusal:
            continue
        yield one


def newest(folder: Path, *, ended: bool) -> Path:
    """The last written journal whose sprint has ended, or goes on. Raises Refusal where there is
    none."""
    for one in list_folder(folder):
        if one.ended == ended:
            return one.path
    if ended:
        what, do = "There is no sprint here that has ended", "Name its journal"
    else:
        what = "There is no sprint to go on with"
        do = "Start one with coach sprint BRIEF, or name its journal"
    raise Refusal(what, where=str(folder), do=do)


def going_on(folder: Path, title: str, now: datetime) -> Listed | None:
    """The last written sprint of this title that has not ended and whose cut-off is still ahead;
    a rehearsal's is as long as its own clock, which stood still, has not reached it."""
    for one in list_folder(folder, _LOOKED_AT):
        if one.run.title == title and not one.ended and one.left(now) > 0:
            return one
    return None
