"""Many journals read in a few seconds: a line of figures of each, or why it has none.

Where there are many, processes of their own share them. Which journal was read by whom, and in
what order, changes nothing in what comes out.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import TypeVar

from coach.debrief.trends.line import SprintLine, line_of
from coach.sprint.past.quick_reading import quick_read
from coach.sprint.past.read_sprint import FORGED
from coach.sprint.past.which_count import Identity, each_once, identity
from phases.kit.refusals import Refusal
from phases.kit.text import line

MANY = 150
"""Journals from which on other processes are worth their start."""

_CHUNK = 25
_MOST_PROCESSES = 8

Progress = Callable[[int, int], None]
"""Called with (how many are read, of how many)."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A file that is no journal, or one that nothing can be told from. says: a sentence."""

    path: Path
    says: str


@dataclass(frozen=True, slots=True)
class Lines:
    """sprints: ended ones, by their start. going_on: journals whose sprint has not ended.
    unread: what is none. copies: journals of a sprint that a longer one tells, or one as long."""

    sprints: tuple[SprintLine, ...]
    going_on: tuple[Path, ...]
    unread: tuple[Unread, ...]
    copies: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """A journal. line: None where its sprint goes on. same: what its copies have in common with
    it; length: what tells the one to keep, an ended one before others, then the longest."""

    path: Path
    line: SprintLine | None
    same: Identity
    length: tuple[float, ...]


Told = Seen | Unread
"""What a file is: a journal, or none."""

T = TypeVar("T")


def read_lines(
    paths: Sequence[Path], *, progress: Progress | None = None, processes: int | None = None
) -> Lines:
    """The lines of these journals. progress: told every few journals, and at the end.

    processes: how many share the work; left out, as many as there are processors where that is
    worth it. Nothing is raised for a file that cannot be told from: it is in `unread`.
    """
    paths = list(dict.fromkeys(paths))
    if processes is None:
        processes = _processors() if len(paths) >= MANY else 1
    found: list[Told] = []
    for some in _read(paths, processes):
        found += some
        if progress is not None:
            progress(len(found), len(paths))
    seen = sorted(_of(found, Seen), key=lambda one: one.path)
    once = each_once(seen, lambda one: one.same, lambda one: one.length)
    kept = {one.path for one in once}
    lines = [one.line for one in once if one.line is not None]
    return Lines(
        tuple(sorted(lines, key=lambda one: (one.started, str(one.path)))),
        tuple(sorted(one.path for one in once if one.line is None)),
        tuple(sorted(_of(found, Unread), key=lambda one: one.path)),
        tuple(one.path for one in seen if one.path not in kept),
    )


def _of(found: Sequence[Told], kind: type[T]) -> list[T]:
    return [one for one in found if isinstance(one, kind)]


def _processors() -> int:
    try:
        count = len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        count = os.cpu_count() or 1
    return min(count, _MOST_PROCESSES)


def _read(paths: Sequence[Path], processes: int) -> Iterator[list[Told]]:
    chunks = [list(paths[at : at + _CHUNK]) for at in range(0, len(paths), _CHUNK)]
    if processes > 1:
        yield from _shared(chunks, processes)
    while chunks:  # all of them, or what a process that died left over
        yield told(chunks.pop(0))


def _shared(chunks: list[list[Path]], processes: int) -> Iterator[list[Told]]:
    """What other processes tell; each chunk that was told is taken out of `chunks`."""
    # Spawned: a fork of a process that has threads may hang.
    pool = ProcessPoolExecutor(processes, get_context("spawn"), initializer=_start)
    try:
        running = {pool.submit(told, chunk): chunk for chunk in chunks}
        while running:
            done, _ = wait(running, return_when="FIRST_COMPLETED")
            for one in done:
                yield _taken(one, running.pop(one), chunks)
    except (BrokenProcessPool, OSError):
        return
    finally:
        pool.shutdown(cancel_futures=True)  # a chunk that is begun takes a moment


def _taken(one: Future[list[Told]], chunk: list[Path], chunks: list[list[Path]]) -> list[Told]:
    result = one.result()
    chunks.remove(chunk)
    return result


def _start() -> None:
    # Ctrl+C is for the one that was called; it ends the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def told(paths: Sequence[Path]) -> list[Told]:
    """What each of these files is: a journal with its line, one that goes on, or none."""
    return [_one(path) for path in paths]


def _one(path: Path) -> Told:
    try:
        read = quick_read(path)
        found = line_of(read)
        length = (found is not None, len(read.history), not read.faults)
        return Seen(path, found, identity(read.setup, read.history), length)
    except Refusal as refusal:
        return Unread(path, line(str(refusal)))
    except (OSError, RecursionError, MemoryError, *FORGED) as fault:
        says = f"{path}: The journal contradicts itself ({type(fault).__name__})."
        return Unread(path, line(says))
