"""A sprint read from its journal, to be told and not to be gone on with.

Needs no lock and never writes. What is damaged, edited or of no coach's making is left out and
said in a sentence each; whatever is whole is still there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coach.sprint.events.event import Event, Stamped, stamped
from coach.sprint.fold import begin, step, taken_back
from coach.sprint.journal.file import Journal
from coach.sprint.journal.reading import Reading
from coach.sprint.setup import Setup, setup_from
from coach.sprint.state import State
from phases.kit.refusals import Refusal
from phases.kit.text import line

FORGED = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""What telling a journal raises that no coach wrote: a phase there is not, a text for a number."""


@dataclass(frozen=True)
class SprintRead:
    """history: every event that could be read, those taken back included. state: after them.
    faults: what is not whole, a sentence each."""

    path: Path
    setup: Setup
    history: tuple[Stamped, ...]
    state: State
    faults: tuple[str, ...]

    @property
    def counted(self) -> tuple[Stamped, ...]:
        """The events that count: without those of commands that were taken back."""
        undone = taken_back(self.history)
        return tuple(one for one in self.history if not one.is_void(undone))

    def events(self, *kinds: type[Event]) -> list[Stamped]:
        """The counted events of some kinds, in order."""
        return [one for one in self.counted if isinstance(one.event, kinds)]


def read_sprint(path: Path) -> SprintRead:
    """The sprint of the journal at `path`. Raises Refusal where there is nothing to tell."""
    return sprint_of(Journal.look(path), path)


def sprint_of(reading: Reading, path: Path) -> SprintRead:
    """The sprint of a journal that was read already. Raises Refusal as `read_sprint` does."""
    where = line(str(path))
    faults = [fault.says for fault in reading.faults]
    try:
        setup = setup_from(reading.header, where=where)
        state = begin(setup)
    except FORGED as fault:
        raise Refusal(
            f"The journal's header cannot be used ({type(fault).__name__})",
            where=where,
            do="See what is whole with coach verify",
        ) from None
    events = _known(reading.events, where, faults)
    undone = taken_back(events)
    history = []
    for one in events:
        try:
            after = step(state, one, void=one.is_void(undone))
            _ = after.rows  # unfolds what was just taken
        except FORGED:
            faults.append(f"Event {one.n} contradicts itself or what is before it; it is left out.")
            continue
        state = after
        history.append(one)
    return SprintRead(path, setup, tuple(history), state, tuple(faults))


def _known(plain: Sequence[Mapping[str, Any]], where: str, faults: list[str]) -> list[Stamped]:
    found: list[Stamped] = []
    for one in plain:
        try:
            found.append(stamped(one, where=where))
        except Refusal as refusal:
            faults.append(f"{refusal.what}; it is left out.")
    return found
