"""Rules of the run itself: thoughts, the cut-off, interruption, quiet, undo, the end."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from coach.sprint.clock import cut_off, to_the_second
from coach.sprint.commands import End, Interrupt, MoveCutOff, Park, SetQuiet, Settle, Undo
from coach.sprint.events.event import Event
from coach.sprint.events.items import ItemMet
from coach.sprint.events.notes import ThoughtParked, ThoughtSettled
from coach.sprint.events.run import CutOffMoved, Ended, Interrupted, Quieted, Resumed, Undone
from coach.sprint.naming import Naming
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.rules.dependence import Snapshot
from coach.sprint.state import MET, State
from phases.kit.refusals import Refusal
from phases.kit.text import clean, line

_SHIFT = re.compile(r"([+−-]) ?(\d{1,4}) ?(?:min|m)?", re.ASCII)
_LEAST_INTERRUPTION = 30.0
_LONGEST = timedelta(days=7)


@rule(Park)
def _park(state: State, command: Park, asked: Asked) -> Outcome:
    text = clean(command.text).strip()
    if not text:
        raise Refusal("There is nothing to park", do="Type the thought")
    return [ThoughtParked(number=len(state.thoughts) + 1, text=text)], "Parked"


@rule(Settle)
def _settle(state: State, command: Settle, asked: Asked) -> Outcome:
    waiting = [thought.number for thought in state.thoughts if not thought.settled]
    if command.number not in waiting:
        raise Refusal(f"Thought {command.number} is not waiting")
    return [ThoughtSettled(number=command.number)], ""


def check_cut_off(text: str, at: datetime) -> None:
    """Refuses, while it is typed, what is neither a shift nor a time or a duration."""
    if not _SHIFT.fullmatch(line(text)):
        cut_off(line(text), at)


@rule(MoveCutOff)
def _move(state: State, command: MoveCutOff, asked: Asked) -> Outcome:
    text = line(command.to)
    shift = _SHIFT.fullmatch(text)
    if shift:
        minutes = int(shift[2]) * (1 if shift[1] == "+" else -1)
        deadline = state.deadline + minutes * 60.0
    else:
        instant = cut_off(text, asked.at)
        deadline = asked.t + (instant.astimezone(UTC) - asked.at.astimezone(UTC)).total_seconds()
    if round(deadline - state.deadline) == 0:
        raise Refusal("The cut-off stands there already", do="Write +20 min, or another time")
    if deadline <= asked.t:
        raise Refusal("That cut-off is already past", do="Give a later one, as in +20 min")
    if deadline - asked.t > _LONGEST.total_seconds():
        raise Refusal("That cut-off is more than a week away", do="Give a nearer one")
    at = to_the_second(asked.at + timedelta(seconds=deadline - asked.t))
    says = f"Cut-off now {at:%H:%M}, {round((deadline - state.deadline) / 60):+d} min"
    # Minutes more or less leave it what it was; "90 min" is a time from now, "15:36" an instant.
    at_an_instant = state.at_an_instant if shift else ":" in text
    moved = CutOffMoved(
        deadline=deadline, says=says, why=line(command.why), at_an_instant=at_an_instant
    )
    return [moved], says


@rule(Interrupt)
def _interrupt(state: State, command: Interrupt, asked: Asked) -> Outcome:
    # While the coach was closed nothing was counted, so there is nothing of that to take out.
    since = max((s.t for s in asked.history if s.by or isinstance(s.event, Resumed)), default=0.0)
    if asked.t - since < _LEAST_INTERRUPTION:
        raise Refusal("There was no pause to take out", do="Press it when you come back")
    minutes = round((asked.t - since) / 60)
    return [Interrupted(since=since)], f"{minutes} min taken out as an interruption"


@rule(SetQuiet)
def _quiet(state: State, command: SetQuiet, asked: Asked) -> Outcome:
    if state.quiet == command.quiet:
        raise Refusal("Calls are quiet already" if command.quiet else "Calls ring already")
    says = "Calls are quiet; the list keeps them" if command.quiet else "Calls ring again"
    return [Quieted(quiet=command.quiet)], says


@rule(Undo)
def _undo(state: State, command: Undo, asked: Asked) -> Outcome:
    taken_back = asked.undone
    for stamped in reversed(asked.history):
        if stamped.by and stamped.by not in taken_back and not isinstance(stamped.event, Undone):
            events = [s.event for s in asked.history if s.by == stamped.by]
            if all(event.stays for event in events):
                continue
            what = _in_words(state, asked, events[0])
            return [Undone(command=stamped.by, says=what[:400])], f"Undone: {what}"
    raise Refusal("Nothing to undo")


def _in_words(state: State, asked: Asked, event: Event) -> str:
    """What happened, as the journal tells it: "Met (inspected): Reset is defined"."""
    return event.told(Naming(state.setup, asked.history))


@rule(End)
def _end(state: State, command: End, asked: Asked) -> Outcome:
    if not command.accepted:
        return [Ended(accepted=False, says="ended by hand")], ""
    events: list[Event] = []
    # The last line of the closing list says the same, so it is met with the end.
    last = state.by_key[state.setup.closing.items[-1].id]
    if last.status != MET:
        depends_on = Snapshot(state).of(last)
        events.append(ItemMet(item=last.key, evidence="inspected", depends_on=depends_on))
    return [*events, Ended(accepted=True, says="accepted and paid")], ""
