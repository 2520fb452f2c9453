"""Rules of the run itself: notes, the cut-off, interruption, quiet, undo, the end."""

from __future__ import annotations

import re
from datetime import datetime

from coach.sprint.commands import End, Interrupt, MoveCutOff, Park, SetQuiet, Settle, Undo
from coach.sprint.cut_off import after, cut_off, seconds_between
from coach.sprint.durations import duration
from coach.sprint.events.event import Event
from coach.sprint.events.items import ItemMet
from coach.sprint.events.naming import Naming
from coach.sprint.events.run import (
    CutOffMoved,
    Ended,
    Interrupted,
    NoteParked,
    NoteSettled,
    Quieted,
    Resumed,
    Undone,
)
from coach.sprint.rules.dependence import Snapshot
from coach.sprint.rules.rule import CommandContext, Outcome, rule
from coach.sprint.state import MET, State
from phases.kit.refusals import Refusal
from phases.kit.text import clean, one_line

CUT_OFF_EXAMPLES = ("+20 min", "-10 min", "15:50", "45 min from now")
"""How a cut-off may be moved, for the prompt that asks for it."""

_SHIFT = re.compile(r"([+−-]) ?(\d{1,4}) ?(?:min|m)?", re.ASCII)
_LEAST_INTERRUPTION = 30.0  # seconds
_LONGEST = 7 * 24 * 3600.0


@rule(Park)
def _park(state: State, command: Park, context: CommandContext) -> Outcome:
    text = clean(command.text).strip()
    if not text:
        raise Refusal("Nothing to park", do="Type the note")
    return [NoteParked(number=len(state.notes) + 1, text=text)], "Parked"


@rule(Settle)
def _settle(state: State, command: Settle, context: CommandContext) -> Outcome:
    waiting = [note.number for note in state.notes if not note.settled]
    if command.number not in waiting:
        raise Refusal(f"Note {command.number} is not open")
    return [NoteSettled(number=command.number)], ""


def check_cut_off(text: str, at: datetime) -> None:
    """Refuses, while it is typed, what is neither a shift nor a time or a duration."""
    if not _SHIFT.fullmatch(one_line(text)):
        cut_off(one_line(text), at)


@rule(MoveCutOff)
def _move(state: State, command: MoveCutOff, context: CommandContext) -> Outcome:
    text = one_line(command.to)
    shift = _SHIFT.fullmatch(text)
    if shift:
        minutes = int(shift[2]) * (1 if shift[1] == "+" else -1)
        deadline = state.deadline + minutes * 60.0
    else:
        deadline = context.t + seconds_between(context.at, cut_off(text, context.at))
    if round(deadline - state.deadline) == 0:
        raise Refusal("That is the cut-off already", do="Write +20 min, or another time")
    if deadline <= context.t:
        raise Refusal("That cut-off is already past", do="Give a later one, as in +20 min")
    if deadline - context.t > _LONGEST:
        raise Refusal("That cut-off is more than a week away", do="Give a nearer one")
    at = after(context.at, deadline - context.t)
    sign = "+" if deadline > state.deadline else "−"
    says = f"Cut-off now {at:%H:%M}, {sign}{duration(deadline - state.deadline)}"
    # Minutes more or less leave it what it was; "90 min" is a time from now, "15:36" an instant.
    at_an_instant = state.at_an_instant if shift else ":" in text
    moved = CutOffMoved(
        deadline=deadline, message=says, why=one_line(command.why), at_an_instant=at_an_instant
    )
    return [moved], says


@rule(Interrupt)
def _interrupt(state: State, command: Interrupt, context: CommandContext) -> Outcome:
    # While the coach was closed nothing was counted, so there is nothing of that to take out.
    since = max((s.t for s in context.history if s.by or isinstance(s.event, Resumed)), default=0.0)
    if context.t - since < _LEAST_INTERRUPTION:
        raise Refusal("No pause to take out", do="Press i right after you come back")
    return [Interrupted(since=since)], f"{duration(context.t - since)} not counted (interruption)"


@rule(SetQuiet)
def _quiet(state: State, command: SetQuiet, context: CommandContext) -> Outcome:
    if state.quiet == command.quiet:
        raise Refusal(f"Calls are {'muted' if command.quiet else 'on'} already")
    says = "Calls muted; v lists them" if command.quiet else "Calls on"
    return [Quieted(quiet=command.quiet)], says


@rule(Undo)
def _undo(state: State, command: Undo, context: CommandContext) -> Outcome:
    taken_back = context.undone
    for stamped in reversed(context.history):
        if not stamped.by or stamped.by in taken_back or isinstance(stamped.event, Undone):
            continue
        events = [s.event for s in context.history if s.by == stamped.by]
        if not all(event.stays for event in events):
            what = events[0].told(Naming(state.setup, context.history))
            return [Undone(command=stamped.by, message=what[:400])], f"Undone: {what}"
    raise Refusal("Nothing to undo")


@rule(End)
def _end(state: State, command: End, context: CommandContext) -> Outcome:
    if not command.accepted:
        return [Ended(accepted=False, message="ended by hand")], ""
    events: list[Event] = []
    # The last line of the closing list says the same, so it is met with the end.
    last = state.by_key[state.setup.closing.items[-1].id]
    if last.status != MET:
        depends_on = Snapshot(state).of(last)
        events.append(ItemMet(item=last.key, evidence="inspected", depends_on=depends_on))
    return [*events, Ended(accepted=True, message="accepted and paid")], ""
