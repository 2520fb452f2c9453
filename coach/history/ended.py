"""Sprints that have ended, each by the figures it was summed up to.

Of a journal only the run's block, the items' block and the last summary are parsed; the items are
alike in most journals of a person, and made once for the same bytes. A journal without a summary
(killed before the end), or damaged there or in its header, is read from its beginning, and then
summed up the same way; damage in between is named, and what is so of it `coach verify` says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from coach.history.listing import (
    UNREADABLE,
    Listed,
    NeedsAllError,
    deduplicate,
    list_folder,
    listed,
    newest,
    run_of,
    summary_block,
)
from coach.history.read_sprint import sprint_of
from coach.sprint.events.event import stamped
from coach.sprint.events.summary import SummedUp
from coach.sprint.journal.file import journal_bytes
from coach.sprint.journal.reading import examine, follow, from_end, tables
from coach.sprint.setup import Catalogue, Run
from coach.sprint.summing_up import summed_up
from phases.kit.grammar import are, count
from phases.kit.items import Item
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

Progress = Callable[[int, int], None]
"""Called with (how many are read, of how many)."""


@dataclass(frozen=True, slots=True)
class EndedSprint:
    path: Path
    run: Run
    summary: SummedUp
    items: Mapping[str, Item]
    """Every item of its header, by id."""
    faults: tuple[str, ...] = ()
    """What of the journal is damaged, a sentence each."""

    @property
    def own(self) -> bool:
        """Whether a person ran it, as fast as in life."""
        return not self.run.rehearsed


@dataclass(frozen=True, slots=True)
class ManyRead:
    sprints: tuple[EndedSprint, ...]
    """By their start."""
    going_on: tuple[Path, ...]
    """Journals whose sprint has not ended."""
    unread: Mapping[Path, str]
    """Files that are not journals, or that nothing can be told from; why, in a sentence."""
    copies: tuple[Path, ...]
    """Journals of a sprint that a longer one tells, or one as long."""


def ended_sprint(path: Path) -> EndedSprint:
    """The sprint of the journal at `path`. Raises Refusal where it goes on, or cannot be told."""
    where = one_line(str(path))
    data = journal_bytes(path)
    try:
        return _by_its_summary(path, data, where)
    except (Refusal, *UNREADABLE):
        read = sprint_of(examine(data, where), path)
    if not read.state.ended:
        raise Refusal("The sprint goes on", where=where, do="Count it when it has ended")
    summary = summed_up(read.state, read.history)
    return EndedSprint(path, read.setup, summary, read.setup.items, read.faults)


def _by_its_summary(path: Path, data: bytes, where: str) -> EndedSprint:
    chain = follow(data)
    header = sum(not one.is_event for one in chain.blocks)
    if any(fault.block <= header + 1 for fault in chain.faults):
        raise NeedsAllError
    block = summary_block(data, from_end(data))
    event = stamped(tables(block.data)[1][0], where=where).event if block else None
    if not isinstance(event, SummedUp):
        raise NeedsAllError
    faults = tuple(fault.message for fault in chain.faults)
    return EndedSprint(path, run_of(chain, where), event, _items(chain.part("items")), faults)


@lru_cache(maxsize=32)
def _items(block: bytes) -> Mapping[str, Item]:
    """The items that a header's block holds, by id."""
    return Catalogue.model_validate(tables(block)[0]["items"]).items


def read_many(paths: Iterable[Path], *, progress: Progress | None = None) -> ManyRead:
    """The sprints of these journals, each once. Nothing is raised for a file that cannot be told
    from: it is in `unread`. progress: told after each file."""
    every = sorted(set(paths))
    seen: list[Listed] = []
    sprints: dict[Path, EndedSprint] = {}
    unread: dict[Path, str] = {}
    for number, path in enumerate(every, start=1):
        try:
            one = listed(path)
            if one.ended:
                sprints[path] = ended_sprint(path)
            seen.append(one)
        except Refusal as fault:
            unread[path] = one_line(str(fault))
        if progress is not None:
            progress(number, len(every))
    once = [one.path for one in deduplicate(seen)]
    ended = [sprints[path] for path in once if path in sprints]
    return ManyRead(
        tuple(sorted(ended, key=lambda one: (one.run.started, str(one.path)))),
        tuple(path for path in once if path not in sprints),
        unread,
        tuple(one.path for one in seen if one.path not in set(once)),
    )


def newest_worked_on(folder: Path) -> tuple[Path, int]:
    """The last written journal whose sprint has ended and was not given up at once, and how many
    newer ones were; where all were, the newest. Raises Refusal where none has ended."""
    ended = [one.path for one in list_folder(folder) if one.ended]
    for passed_over, path in enumerate(ended):
        if not ended_sprint(path).summary.given_up:
            return path, passed_over
    return newest(folder, ended=True), 0


def passed_over_words(passed_over: int) -> list[str]:
    """That newer journals were passed over, in a line; none where none was."""
    if not passed_over:
        return []
    newer = count(passed_over, "newer sprint")
    return [f"{newer}, given up at once, {are(passed_over)} passed over"]
