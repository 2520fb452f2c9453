"""Items: met, waived, reopened, deferred."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from coach.sprint.clock import Seconds
from coach.sprint.events.event import Event
from coach.sprint.keys import Key
from coach.sprint.state import ASSUMED, MET, REOPENED, WAIVED, ItemState, State
from phases.kit.grammar import count, sentence
from phases.kit.text import Line

if TYPE_CHECKING:
    from coach.sprint.events.naming import Naming


class Closed(Event):
    """An item was closed, one way or the other. No event of its own."""

    item: Line
    """Its key."""
    depends_on: dict[str, Line] = {}  # noqa: RUF012  # pydantic copies it
    """The facts, values and noted changes it depends on, as they were then."""
    restored: bool = False
    """It is as it was before it was reopened, because a value was put back."""
    deadline: Seconds = 0.0
    """Elapsed seconds of the cut-off in force."""
    behind: bool = False
    """It came after its phase was left and its stage passed, for the first time."""
    elsewhere: Seconds = 0.0
    """Of the seconds just spent in another phase, those that went into it."""

    def late(self, t: float, deadline: float | None = None) -> bool:
        """Whether it was closed late: behind the work, or after the cut-off. An exercise gives the
        cut-off that is common to all."""
        return self.behind or t > (self.deadline if deadline is None else deadline)

    def closes(self, state: State, closed: ItemState) -> State:
        """One that was closed already keeps its moment, and one that is restored is as it was."""
        key = Key(self.item)
        before = state.items.get(key)
        if self.restored and before is not None and before.was is not None:
            closed = before.was
        elif before is not None and before.status in (MET, WAIVED):
            closed = closed.at(before.t, late=before.late)
        phase = state.setup.phase_of(key.item)
        elsewhere = state.elsewhere
        if self.elsewhere:
            spent = elsewhere.get(state.phase, 0.0) + self.elsewhere
            elsewhere = {**elsewhere, state.phase: spent}
        return state.with_(
            items={**state.items, key: closed},
            # It says how far its phase had come by then.
            ticked={**state.ticked, phase: state.used.get(phase, 0.0)},
            elsewhere=elsewhere,
            deferred=state.deferred - {key},
        )


class ItemMet(Closed):
    """An item was met."""

    evidence: Literal["calculated", "data sheet", "inspected", "measured"]
    page: Line = ""
    figure: Line = ""
    marginal: bool = False
    auto: bool = False
    """By a calculation that passed and its parts drawn, not by a key."""
    assumed: tuple[Line, ...] = ()
    """Part figures that nobody gave and that it rests on, "calculation field": not closed then."""

    moves_items: ClassVar[bool] = True

    def applied(self, state: State, t: float) -> State:
        met = ItemState(
            ASSUMED if self.assumed else MET,
            t,
            self.evidence,
            self.page,
            self.figure,
            marginal=self.marginal,
            auto=self.auto,
            late=self.late(t),
            assumed=self.assumed,
            depends_on=self.depends_on,
        )
        return self.closes(state, met)

    def told(self, names: Naming) -> str:
        how = f"{self.evidence}, {self.page}" if self.page else str(self.evidence)
        more = f" {sentence(self.figure)}" if self.figure else ""
        thin = " It is marginal." if self.marginal else ""
        met = "Met again, as before" if self.restored else f"Met ({how})"
        if self.assumed:
            met = f"Passes on {count(len(self.assumed), 'assumed figure')}"
        return f"{met}: {sentence(names.item(self.item))}{more}{thin}"


class ItemWaived(Closed):
    """An item was waived."""

    reason: Line

    def applied(self, state: State, t: float) -> State:
        waived = ItemState(
            WAIVED, t, reason=self.reason, late=self.late(t), depends_on=self.depends_on
        )
        return self.closes(state, waived)

    def told(self, names: Naming) -> str:
        waived = "Waived again, as before" if self.restored else "Waived"
        return f"{waived}: {sentence(names.item(self.item))} Reason: {sentence(self.reason)}"


class ItemReopened(Event):
    """A met or waived item was opened again."""

    item: Line
    because: Line
    doubt: bool = False
    """What it depends on changed, and its evidence may still hold."""

    def applied(self, state: State, t: float) -> State:
        before = state.items.get(self.item)
        was = before if before is None or before.status != REOPENED else before.was
        reopened = ItemState(REOPENED, t, because=self.because, doubt=self.doubt, was=was)
        return state.with_(items={**state.items, Key(self.item): reopened})

    def told(self, names: Naming) -> str:
        how = "Reopened, to be confirmed" if self.doubt else "Reopened"
        return f"{how}: {sentence(names.item(self.item))} Because: {sentence(self.because)}"


class ItemDeferred(Event):
    """One of the more checks was put off: nothing asks for it until it is taken up again."""

    item: Line

    def applied(self, state: State, t: float) -> State:
        return state.with_(deferred=state.deferred | {Key(self.item)})

    def told(self, names: Naming) -> str:
        return f"Deferred: {sentence(names.item(self.item))}"


class ItemTakenUp(Event):
    """One of the more checks that was deferred is asked for again."""

    item: Line

    def applied(self, state: State, t: float) -> State:
        return state.with_(deferred=state.deferred - {self.item})

    def told(self, names: Naming) -> str:
        return f"Taken up again: {sentence(names.item(self.item))}"
