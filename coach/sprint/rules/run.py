"""Rules of the run itself: notes, the cut-off, interruption, quiet, undo, the end."""

from __future__ import annotations

import re
from datetime import datetime

from coach.sprint.commands import End, Interrupt, MoveCutOff, Park, SetQuiet, Settle, Undo
from coach.sprint.cut_off import after, cut_off, seconds_between
from coach.sprint.durations import duration
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

CUT_OFF_EXAMPLES = ("+20 min", "-10 min", "15:50", "45 min from now")
"""How a cut-off may be moved, for the prompt that asks for it."""

_SHIFT = re.compile(r"([+−-]) ?(\d{1,4}) ?(?:min|m)?", re.ASCII)
_LEAST_INTERRUPTION = 30.0  # seconds
_LONGEST = 7 * 24 * 3600.0


@rule(Park)
def _park(state: State, command: Park, asked: Asked) -> Outcome:
    text = clean(command.text).strip()
    if not text:
        raise Refusal("Nothing to park", do="Type the note")
    return [ThoughtParked(number=len(state.thoughts) + 1, text=text)], "Parked"


@rule(Settle)
def _settle(state: State, command: Settle, asked: Asked) -> Outcome:
    waiting = [thought.number for thought in state.thoughts if not thought.settled]
    if command.number not in waiting:
        raise Refusal(f"Note {command.number} is not open")
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
        deadline = asked.t + seconds_between(asked.at, cut_off(text, asked.at))
    if round(deadline - state.deadline) == 0:
        raise Refusal("That is the cut-off already", do="Write +20 min, or another time")
    if deadline <= asked.t:
        raise Refusal("That cut-off is already past", do="Give a later one, as in +20 min")
    if deadline - asked.t > _LONGEST:
        raise Refusal("That cut-off is more than a week away", do="Give a nearer one")
    at = after(asked.at, deadline - asked.t)
    sign = "+" if deadline > state.deadline else "−"
    says = f"Cut-off now {at:%H:%M}, {sign}{duration(deadline - state.deadline)}"
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
        raise Refusal("No pause to take out", do="Press i right after you come back")
    return [Interrupted(since=since)], f"{duration(asked.t - since)} not counted (interruption)"


@rule(SetQuiet)
def _quiet(state: State, command: SetQuiet, asked: Asked) -> Outcome:
    if state.quiet == command.quiet:
        raise Refusal(f"Calls are {'muted' if command.quiet else 'on'} already")
    says = "Calls muted; v lists them" if command.quiet else "Calls on"
    return [Quieted(quiet=command.quiet)], says


@rule(Undo)
def _undo(state: State, command: Undo, asked: Asked) -> Outcome:
    taken_back = asked.undone
    for stamped in reversed(asked.history):
        if not stamped.by or stamped.by in taken_back or isinstance(stamped.event, Undone):
            continue
        events = [s.event for s in asked.history if s.by == stamped.by]
        if not all(event.stays for event in events):
            what = events[0].told(Naming(state.setup, asked.history))
            return [Undone(command=stamped.by, says=what[:400])], f"Undone: {what}"
    raise Refusal("Nothing to undo")


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
