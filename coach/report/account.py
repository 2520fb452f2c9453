"""One sprint as it is told: what was read of it, and what several sections rest on, found once."""

from __future__ import annotations

from functools import cached_property

from coach.history.call_outcomes import CallOutcome, call_outcomes
from coach.history.read_sprint import SprintRead
from coach.report.phase_times import Away, PhaseActual, Planned, away_in, phases_of, planned_of
from coach.sprint.events.board import SubjectAdded
from coach.sprint.events.event import Stamped
from coach.sprint.events.items import ItemMet, ItemReopened, ItemWaived
from coach.sprint.events.naming import Naming
from coach.sprint.gates.forgotten import forgotten
from coach.sprint.gates.gates import by_severity, doubts
from coach.sprint.keys import Key
from coach.sprint.ledger.to_draw import ToDraw, to_draw
from coach.sprint.state import MET, NOT_HERE, OPEN, WAIVED, Row, SavedCalculation
from phases.kit.bounds import FAIL
from phases.kit.items import CLOSING_ID


class Account:
    """Facts, no words; what the state holds itself is asked of it."""

    def __init__(self, read: SprintRead) -> None:
        self.read, self.setup, self.state = read, read.setup, read.state

    @cached_property
    def counted(self) -> tuple[Stamped, ...]:
        """The events that count: without those of commands that were undone."""
        return self.read.counted

    @cached_property
    def names(self) -> Naming:
        return Naming(self.setup, self.read.history)

    # ---- time ----------------------------------------------------------------------------------

    @property
    def end(self) -> float:
        """When it ended, else its last moment so far. What comes after the end may come years
        later, and is no moment of the sprint."""
        return self.state.t if self.state.ended_at is None else self.state.ended_at

    @property
    def in_time(self) -> bool:
        return self.state.accepted and self.end <= self.state.deadline

    @property
    def reserve_begins(self) -> float:
        return self.state.deadline - self.setup.reserve

    @cached_property
    def planned(self) -> Planned:
        return planned_of(self.setup)

    @cached_property
    def away(self) -> tuple[Away, ...]:
        return away_in(self.counted)

    @cached_property
    def phases(self) -> tuple[PhaseActual, ...]:
        """Choosing parts, the seven phases, the closing list."""
        return phases_of(self.state, self.counted, self.away, self.planned)

    @cached_property
    def never_entered(self) -> frozenset[str]:
        return frozenset(
            one.phase for one in self.phases if not one.stretches and not one.drawn_before
        )

    @property
    def to_come(self) -> frozenset[str]:
        """Phases not begun of a sprint that is running; none once it has ended."""
        return frozenset() if self.state.ended else self.never_entered

    # ---- items ---------------------------------------------------------------------------------

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Items that are on the board, or were closed before they left it, phases in order."""
        order = [*self.setup.phase_ids, CLOSING_ID]
        rows = [
            row
            for row in (*self.state.rows, *self._gone())
            if row.status != NOT_HERE or (row.state and row.state.status in (MET, WAIVED))
        ]
        return tuple(sorted(rows, key=lambda row: order.index(row.item.phase)))

    def _gone(self) -> list[Row]:
        """Closed items of subjects that were taken off the board."""
        titles = {subject.id: subject.title for subject in self.setup.brief.subjects()}
        for one in self.counted:
            if isinstance(one.event, SubjectAdded):
                titles[one.event.id] = one.event.title or one.event.id
        return [
            Row(item, key.subject, titles.get(key.subject, key.subject), False, None, closed)
            for key, closed in ((Key(name), state) for name, state in self.state.items.items())
            if key not in self.state.by_key and (item := self.setup.items.get(key.item))
        ]

    @cached_property
    def essentials(self) -> list[Row]:
        """Those of the board, worst first; without the closing list."""
        return by_severity(
            [
                row
                for row in self.rows
                if row.essential and row.status != NOT_HERE and row.item.phase != CLOSING_ID
            ]
        )

    @cached_property
    def still_open(self) -> list[Row]:
        """Essentials that nobody closed; what was reopened is told apart."""
        return [row for row in self.essentials if row.status == OPEN]

    @cached_property
    def open_by_now(self) -> list[Row]:
        """The same without those of phases that are still to come."""
        return [row for row in self.still_open if row.item.phase not in self.to_come]

    @cached_property
    def forgotten(self) -> list[Row]:
        """What was forgotten in a sprint that has ended, worst first; none while it is running."""
        return by_severity(forgotten(self.state)) if self.state.ended else []

    @cached_property
    def reopened(self) -> list[Row]:
        """Items that are open again, worst first."""
        return by_severity(doubts(self.state))

    @cached_property
    def closing_open(self) -> list[Row]:
        """Lines of the closing list that are open, in the order of ordering."""
        return [row for row in self.rows if row.item.phase == CLOSING_ID and not row.closed]

    @cached_property
    def late(self) -> list[Row]:
        """Items that were closed late and still are, worst first."""
        return by_severity([row for row in self.rows if is_late(row)])

    @cached_property
    def events_of(self) -> dict[str, list[Stamped]]:
        """What closed and what reopened each item, by its key."""
        found: dict[str, list[Stamped]] = {}
        for one in self.counted:
            if isinstance(one.event, ItemMet | ItemWaived | ItemReopened):
                found.setdefault(one.event.item, []).append(one)
        return found

    # ---- calculations, calls, boards -----------------------------------------------------------

    @cached_property
    def failing(self) -> list[SavedCalculation]:
        return [one for one in self.state.calculations.values() if one.record.verdict == FAIL]

    @cached_property
    def undrawn(self) -> dict[str, list[ToDraw]]:
        """Parts that were never drawn, by their calculation in words."""
        found: dict[str, list[ToDraw]] = {}
        for part in to_draw(self.state):
            found.setdefault(self.names.calculation(part.calculation), []).append(part)
        return found

    @cached_property
    def calls(self) -> tuple[CallOutcome, ...]:
        return call_outcomes(self.setup, self.read.history)

    @property
    def asking(self) -> list[CallOutcome]:
        """The calls that asked for something."""
        return [one for one in self.calls if one.acted_on is not None]

    @property
    def boards_are_here(self) -> bool:
        """Boards were measured, or faults found on them: production is behind."""
        return bool(self.state.findings or self.state.measured)

    @property
    def ordered(self) -> bool:
        """Whether files can no longer simply be changed: paid, or the boards have come."""
        return self.state.accepted or self.boards_are_here


def is_closed(row: Row) -> bool:
    """Met or waived; what was said not to be on the board was not closed."""
    return row.status in (MET, WAIVED)


def is_late(row: Row) -> bool:
    return is_closed(row) and row.state is not None and row.state.late


def closed_at(row: Row) -> float | None:
    """When it was closed as it is now."""
    return row.state.t if is_closed(row) and row.state else None
