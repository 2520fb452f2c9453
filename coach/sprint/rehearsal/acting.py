"""How the simulated engineer acts: gives commands, lets time pass, and keeps what came late."""

from __future__ import annotations

from coach.sprint.clock import ManualClock
from coach.sprint.commands import Command, Meet, Waive
from coach.sprint.pace.checkpoints import due_checkpoint
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.rehearsal.ground_truth import GroundTruth
from coach.sprint.session import Session
from coach.sprint.state import MET, WAIVED, Row, State
from phases.kit.items import Evidence

_LOOK = 20.0
"""Seconds between two looks at the clock."""

_BETWEEN_FORECASTS = 300.0
_DRAWS = 4000  # fewer than for a person, because a whole sprint has to take a second

_REASONS = (
    "First boards stay on the bench, the next revision has it",
    "Known from the board before, it held there",
    "No room left, and it can be added by hand",
)


class GivesUpError(Exception):
    """The cut-off has passed and the order was missed."""


class Actor:
    """Somebody at one session. late: keys of items in `left_open` that were closed when another
    phase was worked in, and of those closed after the cut-off, with the moment. waived: reasons by
    key. patience: seconds after the cut-off when an unfinished sprint is given up. left_open: keys
    that were passed over with their phase.
    """

    def __init__(
        self, session: Session, clock: ManualClock, truth: GroundTruth, patience: float
    ) -> None:
        self.session = session
        self.clock = clock
        self.truth = truth
        self.late: dict[str, float] = {}
        self.waived: dict[str, str] = {}
        self.patience = patience
        self.left_open: set[str] = set()
        self._reasons = 0
        self._next_forecast = 60.0

    @property
    def state(self) -> State:
        return self.session.state

    def do(self, wanted: Command) -> None:
        before = self.state
        self.session.do(wanted)
        for row in self.state.rows if self.state.items is not before.items else ():
            was = before.by_key.get(row.key)
            if row.status in (MET, WAIVED) and (was is None or not was.closed):
                self._remember(row)

    def _remember(self, row: Row) -> None:
        """What was closed just now, where that is later than it could have been."""
        if self.session.t > self.state.deadline or (
            row.key in self.left_open and row.item.phase != self.state.phase
        ):
            self.late[row.key] = self.session.t
        self.left_open.discard(row.key)

    def spend(self, seconds: float) -> None:
        """Time passes, with a look at the clock now and then."""
        while seconds > 0:
            stretch = min(seconds, _LOOK)
            self.clock.advance(stretch)
            self._look_at_the_clock()
            seconds -= stretch
            if self.session.t > self.state.deadline + self.patience:
                raise GivesUpError

    def _look_at_the_clock(self) -> None:
        t = self.session.t
        if t >= self._next_forecast or due_checkpoint(self.state, t):
            self._next_forecast = t + _BETWEEN_FORECASTS
            self.session.take_forecast(forecast_of(self.state, t, draws=_DRAWS))
        self.session.tick()

    def read_data_sheet(self, row: Row) -> None:
        page = f"page {self.truth.page(row.key)}"
        self.do(Meet(row.key, str(Evidence.DATA_SHEET), page=page))

    def waive(self, key: str) -> None:
        self.spend(self.truth.short(8.0))
        self.waived[key] = _REASONS[self._reasons % len(_REASONS)]
        self.do(Waive(key, self.waived[key]))
        self._reasons += 1
