"""A sprint read from its journal, to be described and not to be gone on with.

Needs no lock and never writes. What is damaged, edited or not made by a coach is left out and said
in a sentence each; whatever is intact is still there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from coach.sprint.events.event import Event, Stamped, of_kind, stamped
from coach.sprint.fold import CONTRADICTION, begin, counted, step, taken_back
from coach.sprint.journal.file import Journal
from coach.sprint.journal.reading import Reading
from coach.sprint.setup import Setup, setup_from
from coach.sprint.state import State
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

FORGED = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""What telling a journal may raise that no coach wrote."""


@dataclass(frozen=True)
class SprintRead:
    path: Path
    setup: Setup
    history: tuple[Stamped, ...]
    """Every event that could be read, those taken back included."""
    state: State
    """After them."""
    faults: tuple[str, ...]
    """What is damaged, a sentence each."""

    @cached_property
    def counted(self) -> tuple[Stamped, ...]:
        """The events that count: without those of commands that were taken back."""
        return tuple(counted(self.history))

    def events(self, *kinds: type[Event]) -> list[Stamped]:
        """The counted events of some kinds, in order."""
        return of_kind(self.counted, *kinds)


def read_sprint(path: Path) -> SprintRead:
    """The sprint of the journal at `path`. Raises Refusal where there is nothing to tell."""
    return sprint_of(Journal.look(path), path)


def sprint_of(reading: Reading, path: Path) -> SprintRead:
    """The sprint of a journal that was read already. Raises Refusal as `read_sprint` does."""
    where = one_line(str(path))
    faults = [fault.message for fault in reading.faults]
    setup = setup_from(reading.header, where=where)
    events = [*_known(reading.events, where, faults)]
    undone = taken_back(events)
    state = begin(setup)
    history = []
    for one in events:
        try:
            state = step(state, one, void=one.is_void(undone))
        except CONTRADICTION:
            faults.append(f"Event {one.n} contradicts itself or what is before it; it is left out.")
        else:
            history.append(one)
    return SprintRead(path, setup, tuple(history), state, tuple(faults))


def _known(plain: Sequence[Mapping[str, Any]], where: str, faults: list[str]) -> Iterator[Stamped]:
    """The events that this coach knows; a sentence into `faults` for each other one."""
    for one in plain:
        try:
            yield stamped(one, where=where)
        except Refusal as refusal:
            faults.append(f"{refusal.what}; it is left out.")
