"""A journal told in plain lines: one sentence for each event, and how it stands at the end.

Items are told by their statement as the journal's header has it, subjects by their title, so
that a journal can be read without knowing its ids. Nothing is computed again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from coach.sprint import events as happened
from coach.sprint.board import open_essentials
from coach.sprint.events import Event, Stamped
from coach.sprint.fold import is_void, taken_back
from coach.sprint.pace.reserve import LAST_WALK
from coach.sprint.setup import Setup
from coach.sprint.state import MET, NOT_HERE, WAIVED, State
from phases.kit.bounds import FAIL, MARGINAL, worst
from phases.kit.facts import load_facts
from phases.kit.items import CLOSING_ID, load_changes
from phases.kit.text import line

E = TypeVar("E", bound=Event)


def h_mm(seconds: float) -> str:
    """Elapsed time as hours and minutes: 4980 s is 1:23."""
    hours, minutes = divmod(int(max(seconds, 0.0)) // 60, 60)
    return f"{hours}:{minutes:02d}"


def minutes_words(seconds: float) -> str:
    """A span of time to the minute: "45 s", "12 min", "1 h 20 min"."""
    if abs(seconds) < 59.5:
        return f"{abs(seconds):.0f} s"
    hours, minutes = divmod(round(abs(seconds) / 60), 60)
    return " ".join(part for part in (f"{hours} h" if hours else "",
                                      f"{minutes} min" if minutes else "") if part)  # fmt: skip


_DAY = 24 * 3600.0
_LONG_AFTER = 2 * _DAY
"""Seconds from which on days are told: of what was measured and found afterwards."""


@dataclass(frozen=True, slots=True)
class Told:
    """One event in words. t: elapsed seconds; by: its command, 0 for the coach itself.

    void: it was taken back later.
    """

    n: int
    at: datetime
    t: float
    by: int
    says: str
    void: bool

    @property
    def line(self) -> str:
        """The event as a line of a list, with its elapsed time."""
        when = h_mm(self.t) if self.t < _LONG_AFTER else f"{self.t / _DAY:.0f} d"
        return f"{when:>5}  {self.says}" + (" (taken back later)" if self.void else "")


def retell(setup: Setup, events: Iterable[Stamped]) -> list[Told]:
    """Every event of a sprint in words, in order."""
    listed = list(events)
    undone = taken_back(listed)
    teller = Teller(setup)
    return [
        Told(s.n, s.at, s.t, s.by, teller.tell(s.event), is_void(s, undone)) for s in listed
    ]  # fmt: skip


class Teller:
    """Tells events of one sprint as they come; it learns the titles of subjects that are added."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.titles = {subject.id: subject.title for subject in setup.brief.subjects()}

    def tell(self, event: Event) -> str:
        """The event in a sentence."""
        self.learn(event)
        return _TELLS[type(event)](self, event)

    def learn(self, event: Event) -> None:
        """The title of a subject that was added, for what is told of it later."""
        if isinstance(event, happened.SubjectAdded):
            self.titles[event.id] = event.title or event.id

    def item(self, key: str) -> str:
        """The statement of an item, with the title of its subject."""
        name, _, subject = key.partition("@")
        item = self.setup.items.get(name)
        return self._at(item.statement if item else name.replace("-", " "), subject)

    def calculation(self, calculation_id: str) -> str:
        """A saved calculation by its name, subject and label."""
        name, _, rest = calculation_id.partition("@")
        subject, _, label = rest.partition(".")
        if not rest:
            name, _, label = name.partition(".")
        words = name.replace("-", " ") + (f", {label}" if label else "")
        return self._at(words, subject)

    def phase(self, phase_id: str) -> str:
        if phase_id == CLOSING_ID:
            return self.setup.closing.title.lower()
        found = next((p for p in self.setup.phases if p.id == phase_id), None)
        return found.name if found else phase_id

    def feature(self, feature_id: str) -> str:
        found = next((f for f in self.setup.brief.features if f.id == feature_id), None)
        return (found.title if found else "") or feature_id

    def title(self, subject: str) -> str:
        return self.titles.get(subject, subject)

    def _at(self, words: str, subject: str) -> str:
        return f"{words} ({self.title(subject)})" if subject else words


_TELLS: dict[type[Event], Callable[[Teller, Any], str]] = {}


def _tells(
    kind: type[E],
) -> Callable[[Callable[[Teller, E], str]], Callable[[Teller, E], str]]:
    def register(tell: Callable[[Teller, E], str]) -> Callable[[Teller, E], str]:
        _TELLS[kind] = tell
        return tell

    return register


def ended(text: str) -> str:
    """A text with one mark at its end."""
    return text if not text or text[-1] in ".?!" else text + "."


def _count(number: int, one: str, several: str = "") -> str:
    return f"{number} {one if number == 1 else several or one + 's'}"


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


# ---- the run ---------------------------------------------------------------------------------


@_tells(happened.Started)
def _(teller: Teller, event: happened.Started) -> str:
    return f"The sprint began: {teller.setup.brief.title}."


@_tells(happened.Left)
def _(teller: Teller, event: happened.Left) -> str:
    return "The coach was closed; the sprint went on."


@_tells(happened.Resumed)
def _(teller: Teller, event: happened.Resumed) -> str:
    return f"The coach was opened again, {minutes_words(event.gap)} after the last event."


@_tells(happened.TailCut)
def _(teller: Teller, event: happened.TailCut) -> str:
    return cut_words(event.size, event.kept_in)


def cut_words(size: int, kept_in: str) -> str:
    """That the torn end of a journal was cut off, and where its bytes are kept."""
    return f"A torn end of {_count(size, 'byte')} was cut off; it is kept in {kept_in}."


@_tells(happened.EditAccepted)
def _(teller: Teller, event: happened.EditAccepted) -> str:
    blocks = ", ".join(str(block) for block in event.blocks)
    return f"The journal had been edited and was taken as it stood: block {blocks}."


@_tells(happened.ClockStepped)
def _(teller: Teller, event: happened.ClockStepped) -> str:
    if event.kind == "sleep":
        return f"The machine slept for {minutes_words(event.seconds)}."
    way = "forward" if event.seconds > 0 else "back"
    return f"The wall clock was set {way} by {minutes_words(event.seconds)}."


@_tells(happened.CutOffMoved)
def _(teller: Teller, event: happened.CutOffMoved) -> str:
    return ended(event.says) + (f" Reason: {ended(event.why)}" if event.why else "")


@_tells(happened.Interrupted)
def _(teller: Teller, event: happened.Interrupted) -> str:
    return f"The time since {h_mm(event.since)} went to something else."


@_tells(happened.CallMade)
def _(teller: Teller, event: happened.CallMade) -> str:
    return f"{'Call' if event.rings else 'Silent call'}: {ended(event.says)}"


@_tells(happened.ForecastMade)
def _(teller: Teller, event: happened.ForecastMade) -> str:
    marks = [f"at {event.mark} % of the time"] if event.mark else []
    when = ", ".join(marks + ([event.because] if event.because else []))
    ends = f"{h_mm(event.low)} to {h_mm(event.high)}, expected {h_mm(event.expected)}"
    return (
        f"Forecast, {when}: all essentials by the cut-off {event.chance_essentials:.0%}, "
        f"everything {event.chance_all:.0%}; done at {ends}."
    )


@_tells(happened.HabitsRecalled)
def _(teller: Teller, event: happened.HabitsRecalled) -> str:
    told = (f"{ended(teller.item(item))[:-1]} ({missed} of {of})"
            for item, (missed, of) in event.items.items())  # fmt: skip
    return f"Forgotten in earlier sprints, asked first: {'; '.join(told)}."


@_tells(happened.Quieted)
def _(teller: Teller, event: happened.Quieted) -> str:
    return "Calls stopped ringing." if event.quiet else "Calls ring again."


@_tells(happened.Undone)
def _(teller: Teller, event: happened.Undone) -> str:
    return f"Taken back: {ended(event.says)}"


@_tells(happened.Ended)
def _(teller: Teller, event: happened.Ended) -> str:
    how = "accepted and paid" if event.accepted else "the order was not accepted"
    return f"The sprint ended: {how}."


# ---- phases and places -----------------------------------------------------------------------


@_tells(happened.PhaseEntered)
def _(teller: Teller, event: happened.PhaseEntered) -> str:
    left = ""
    if event.skipped:
        count = _count(len(event.skipped), "essential")
        left = f" {teller.phase(event.left).capitalize()} was left with {count} open."
    return f"Into {teller.phase(event.phase)}.{left}"


@_tells(happened.PhaseSignedOff)
def _(teller: Teller, event: happened.PhaseSignedOff) -> str:
    return f"Signed off: {teller.phase(event.phase)}."


@_tells(happened.PhaseDrawn)
def _(teller: Teller, event: happened.PhaseDrawn) -> str:
    return f"Drawn before the coach came in: {teller.phase(event.phase)}."


@_tells(happened.PlaceReached)
def _(teller: Teller, event: happened.PlaceReached) -> str:
    return f"Place reached: {event.place}."


@_tells(happened.Walked)
def _(teller: Teller, event: happened.Walked) -> str:
    walk = "Last walk" if event.of == LAST_WALK else f"Walk of {teller.phase(event.of)}"
    return f"{walk}: {event.closed} of {event.asked} closed."


@_tells(happened.StepByStepSet)
def _(teller: Teller, event: happened.StepByStepSet) -> str:
    how = "step by step" if event.on else "from the head again"
    return f"{teller.phase(event.phase).capitalize()} goes {how}."


# ---- items -----------------------------------------------------------------------------------


@_tells(happened.ItemMet)
def _(teller: Teller, event: happened.ItemMet) -> str:
    how = f"{event.evidence}, {event.page}" if event.page else str(event.evidence)
    more = f" {ended(event.figure)}" if event.figure else ""
    thin = " It is marginal." if event.marginal else ""
    met = "Met again, as before" if event.restored else f"Met ({how})"
    return f"{met}: {ended(teller.item(event.item))}{more}{thin}"


@_tells(happened.ItemWaived)
def _(teller: Teller, event: happened.ItemWaived) -> str:
    waived = "Waived again, as before" if event.restored else "Waived"
    return f"{waived}: {ended(teller.item(event.item))} Reason: {ended(event.reason)}"


@_tells(happened.ItemReopened)
def _(teller: Teller, event: happened.ItemReopened) -> str:
    how = "Reopened as a doubt" if event.doubt else "Reopened"
    return f"{how}: {ended(teller.item(event.item))} Because: {ended(event.because)}"


@_tells(happened.ItemSetAside)
def _(teller: Teller, event: happened.ItemSetAside) -> str:
    return f"Set aside: {ended(teller.item(event.item))}"


@_tells(happened.ItemTakenBack)
def _(teller: Teller, event: happened.ItemTakenBack) -> str:
    return f"Taken up again: {ended(teller.item(event.item))}"


# ---- what is known of the board ---------------------------------------------------------------


@_tells(happened.FactSet)
def _(teller: Teller, event: happened.FactSet) -> str:
    fact = load_facts().get(event.fact)
    question = fact.question if fact else f"{event.fact.replace('_', ' ')}:"
    whose = f"{teller.title(event.subject)}: " if event.subject else ""
    unit = f" {fact.unit}" if fact and fact.unit else ""
    return f"{whose}{question} {_word(event.value).capitalize()}{unit}."


@_tells(happened.ValueDeclared)
def _(teller: Teller, event: happened.ValueDeclared) -> str:
    value = event.value
    words = value if isinstance(value, str) else _count(len(value), "row")
    return f"Changed in the brief: {event.name} is now {words}."


@_tells(happened.ChangeNoted)
def _(teller: Teller, event: happened.ChangeNoted) -> str:
    change = load_changes().get(event.change)
    return f"Noted: {ended(change.words if change else event.change)}"


@_tells(happened.SubjectAdded)
def _(teller: Teller, event: happened.SubjectAdded) -> str:
    return f"Added to the board: {teller.title(event.id)}, a {event.kind}."


@_tells(happened.SubjectDropped)
def _(teller: Teller, event: happened.SubjectDropped) -> str:
    return f"Taken off the board: {teller.title(event.id)}."


@_tells(happened.FeatureDropped)
def _(teller: Teller, event: happened.FeatureDropped) -> str:
    return f"Dropped: {ended(teller.feature(event.feature))}"


@_tells(happened.FeatureRestored)
def _(teller: Teller, event: happened.FeatureRestored) -> str:
    return f"Back again: {ended(teller.feature(event.feature))}"


# ---- calculations ----------------------------------------------------------------------------


@_tells(happened.CalculationSaved)
def _(teller: Teller, event: happened.CalculationSaved) -> str:
    return f"Calculated: {teller.calculation(event.id)}. {_verdict_words(event.record)}"


def _verdict_words(record: Mapping[str, Any]) -> str:
    """What a record says of its limits: those that fail or are marginal, or that all hold."""
    limits = record.get("limits", ())
    verdict = worst([entry["verdict"] for entry in limits])
    if verdict not in (FAIL, MARGINAL):
        return "All its limits hold."
    # A record is plain data that no text type has read.
    named = [ended(line(str(e.get("says", e["name"])))) for e in limits if e["verdict"] == verdict]
    return f"{'Fails' if verdict == FAIL else 'Marginal'}: {' '.join(named)}"


@_tells(happened.CalculationRecomputed)
def _(teller: Teller, event: happened.CalculationRecomputed) -> str:
    name = teller.calculation(event.id)
    return f"Run again: {name}, because {event.because}: {ended(event.says)}"


@_tells(happened.CalculationStale)
def _(teller: Teller, event: happened.CalculationStale) -> str:
    return f"Cannot be run again: {teller.calculation(event.id)}. {ended(event.missing)}"


@_tells(happened.CalculationRemoved)
def _(teller: Teller, event: happened.CalculationRemoved) -> str:
    return f"Calculation removed: {teller.calculation(event.id)}."


@_tells(happened.PartDrawn)
def _(teller: Teller, event: happened.PartDrawn) -> str:
    return f"Drawn: {ended(event.words)}"


# ---- thoughts --------------------------------------------------------------------------------


@_tells(happened.ThoughtParked)
def _(teller: Teller, event: happened.ThoughtParked) -> str:
    return f"Parked: {ended(' '.join(event.text.split()))}"


@_tells(happened.ThoughtSettled)
def _(teller: Teller, event: happened.ThoughtSettled) -> str:
    return f"Thought {event.number} is settled."


# ---- afterwards ------------------------------------------------------------------------------


@_tells(happened.PointMeasured)
def _(teller: Teller, event: happened.PointMeasured) -> str:
    how = "" if event.verdict == "noted" else f", {event.verdict} what was expected"
    return f"Board {event.board}, {event.title}: {event.text}{how}."


@_tells(happened.MeasurementWithdrawn)
def _(teller: Teller, event: happened.MeasurementWithdrawn) -> str:
    return f"Board {event.board}: the reading at {event.point.replace('-', ' ')} was taken back."


@_tells(happened.FindingNoted)
def _(teller: Teller, event: happened.FindingNoted) -> str:
    board = f" on board {event.board}" if event.board else ""
    by = f"Let through by: {ended(teller.item(event.item))}" if event.item else (
        "No item asks for it."
    )  # fmt: skip
    cost = f" It cost {minutes_words(event.minutes * 60)}." if event.minutes else ""
    bodge = f" Bodge: {ended(event.bodge)}" if event.bodge else ""
    return f"Found late{board}: {ended(event.fault)} {by}{cost}{bodge}"


@_tells(happened.FindingWithdrawn)
def _(teller: Teller, event: happened.FindingWithdrawn) -> str:
    return f"Finding {event.number} was taken back."


@_tells(happened.FindingMadeItem)
def _(teller: Teller, event: happened.FindingMadeItem) -> str:
    return f"Finding {event.number} became the item {event.item}, kept in {event.kept_in}."


# ---- the end ---------------------------------------------------------------------------------


def summary(state: State) -> list[str]:
    """How the sprint stands after its last event, in a few lines."""
    lines = [_how_it_ended(state)]
    if state.setup.kind:
        lines.append(state.setup.kind)
    lines.append(_essentials(state))
    lines += [f"Open: {row.name} ({row.item.severity})." for row in open_essentials(state)]
    if state.calculations:
        failing = sum(_fails(saved.record) for saved in state.calculations.values())
        rest = f", {failing} of them failing" if failing else ""
        lines.append(f"{_count(len(state.calculations), 'calculation')} saved{rest}.")
    return lines


def _how_it_ended(state: State) -> str:
    if not state.ended or state.ended_at is None:
        return f"It has not ended; the last event is of {h_mm(state.t)}."
    spare = state.deadline - state.ended_at
    when = f"{minutes_words(spare)} {'before' if spare >= 0 else 'after'} the cut-off"
    how = "accepted and paid" if state.accepted else "not accepted"
    return f"Ended at {h_mm(state.ended_at)}, {when}: {how}."


def _essentials(state: State) -> str:
    rows = [r for r in state.rows if r.essential and r.item.phase != CLOSING_ID]
    counts = {status: sum(r.status == status for r in rows) for status in (MET, WAIVED, NOT_HERE)}
    still = len(rows) - sum(counts.values())
    return (
        f"Essentials: {counts[MET]} met, {counts[WAIVED]} waived, {still} open; "
        f"{counts[NOT_HERE]} not on this board."
    )


def _fails(record: Mapping[str, Any]) -> bool:
    return worst([entry["verdict"] for entry in record.get("limits", ())]) == FAIL
