"""What a closing is journalled with: the cut-off in force, whether it came behind the work, and the
time that went into it from elsewhere. What of this makes it late is one function of the event."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coach.sprint.events.event import Event
from coach.sprint.events.items import Closed
from coach.sprint.keys import Key
from coach.sprint.rules.rule import CommandContext
from coach.sprint.state import REOPENED, State
from phases.kit.items import Stage


def in_force(state: State, events: Iterable[Event], context: CommandContext) -> Iterator[Event]:
    """The events of one command, its closings with what was in force."""
    passed = max(context.t - state.t, 0.0)
    for event in events:
        if isinstance(event, Closed):
            spent = _elsewhere(state, event, passed)
            passed -= spent
            yield event.model_copy(
                update={
                    "deadline": state.deadline,
                    "behind": _behind(state, Key(event.item)),
                    "elsewhere": round(spent, 3),
                }
            )
        else:
            yield event


def _elsewhere(state: State, event: Closed, passed: float) -> float:
    """Time before an item of another phase was closed went into that, up to its own minutes."""
    item = state.setup.items.get(Key(event.item).item)
    if item is None or item.phase == state.phase:
        return 0.0
    return min(passed, item.left_out_min * 60)


def _behind(state: State, key: Key) -> bool:
    """Closed for the first time when its phase was left, its stage is passed and another phase is
    being worked in."""
    before = state.items.get(key)
    if before is not None and before.status == REOPENED:
        return before.was is not None and before.was.late
    item = state.setup.items.get(key.item)
    if item is None or item.phase not in state.exited or item.phase == state.phase:
        return False
    # What is on the schematic is passed with its phase; nothing comes after the files.
    beyond = [stage for stage in Stage if stage > item.stage] or [Stage.FILES]
    return item.stage == Stage.SCHEMATIC or any(stage in state.stages for stage in beyond)
