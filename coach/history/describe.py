"""A journal in plain lines: a sentence for each event, and how the sprint came out.

Items go by their statement as the journal's header has it, subjects by their title, so that a
journal can be read without knowing its ids. Nothing is computed again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.sprint.durations import since_start
from coach.sprint.ending import how_it_ended
from coach.sprint.events.event import Stamped
from coach.sprint.events.naming import Naming
from coach.sprint.fold import taken_back
from coach.sprint.gates.forgotten import left_open_words
from coach.sprint.gates.gates import open_essentials
from coach.sprint.setup import Setup
from coach.sprint.state import MET, NOT_HERE, WAIVED, State
from phases.kit.bounds import FAIL
from phases.kit.grammar import count
from phases.kit.items import CLOSING_ID


@dataclass(frozen=True, slots=True)
class Described:
    """One event in words."""

    stamped: Stamped
    message: str
    void: bool
    """It was taken back later."""

    @property
    def line(self) -> str:
        """The event as a line of a list, with its elapsed time."""
        return f"{since_start(self.stamped.t):>5}  {self.message}" + (
            " (undone later)" if self.void else ""
        )


def described(setup: Setup, history: Sequence[Stamped]) -> list[Described]:
    """Every event of a sprint in words, in order."""
    undone, names = taken_back(history), Naming(setup, history)
    return [Described(one, one.event.told(names), one.is_void(undone)) for one in history]


# ---- the end ---------------------------------------------------------------------------------


def outcome(state: State) -> list[str]:
    """How the sprint came out, or how it is after its last event, in a few lines."""
    lines = [how_it_ended(state)]
    if state.setup.kind:
        lines.append(state.setup.kind)
    lines.append(_essentials(state))
    if state.ended:
        lines.append(left_open_words(state))
    lines += [f"Open: {row.name} ({row.item.severity})." for row in open_essentials(state)]
    if state.calculations:
        failing = sum(saved.record.verdict == FAIL for saved in state.calculations.values())
        rest = f", {failing} of them failing" if failing else ""
        lines.append(f"{count(len(state.calculations), 'calculation')} saved{rest}.")
    return lines


def _essentials(state: State) -> str:
    rows = [r for r in state.rows if r.essential and r.item.phase != CLOSING_ID]
    counts = {status: sum(r.status == status for r in rows) for status in (MET, WAIVED, NOT_HERE)}
    still = len(rows) - sum(counts.values())
    return (
        f"Essentials: {counts[MET]} met, {counts[WAIVED]} waived, {still} open; "
        f"{counts[NOT_HERE]} not on this board."
    )
