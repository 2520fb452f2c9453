"""Rules of what comes after the end: readings at power-on, and faults found late."""

from __future__ import annotations

import math
import re

from coach.sprint.commands import (
    MakeItemOf,
    MeasurePoint,
    MeasurePoints,
    NoteFinding,
    WithdrawFinding,
    WithdrawMeasurement,
)
from coach.sprint.events.afterwards import (
    MOST_MINUTES,
    FindingMadeItem,
    FindingNoted,
    FindingWithdrawn,
    MeasurementWithdrawn,
    PointMeasured,
    Verdict,
)
from coach.sprint.rules.rule import CommandContext, Outcome, rule
from coach.sprint.state import State
from phases.kit.expected import Expected
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

_OPEN = frozenset({"ol", "o.l", "o.l.", "0l", "0.l", "open", "inf", "∞"})
_BARE = re.compile(r"[+\-−]?[0-9.]+(?:[eE][+\-]?[0-9]+)?", re.ASCII)
_BOARD = re.compile(r"[0-9A-Za-z][0-9A-Za-z._-]{0,15}")
_MINUTES = re.compile(r"(\d{1,5}(?:\.\d{1,3})?) ?(min|m|h)?", re.ASCII)


def measured(command: MeasurePoint) -> PointMeasured:
    """What a command writes down. Raises Refusal where its reading cannot be read."""
    board, text = board_number(command.board), one_line(command.text).strip()
    if not text:
        raise Refusal("There is no reading", do="Type what the meter shows, as in 3.31 V")
    is_open = command.unit == "Ω" and says_open(text)
    value = _read(text, command.unit) if command.unit and not is_open else None
    if value is not None and _BARE.fullmatch(text):
        text = f"{text} {command.unit}"  # a journal tells no number without its unit
    against, expected = math.inf if is_open else value, Expected(command.low, None, command.high)
    verdict: Verdict = "noted"
    if against is not None and expected.judged:
        verdict = "inside" if expected.holds(against) else "outside"
    return PointMeasured(
        board=board,
        point=command.point,
        title=command.title,
        text=text,
        value=value,
        unit=command.unit,
        low=command.low,
        high=command.high,
        verdict=verdict,
    )


@rule(MeasurePoint, afterwards=True)
def _measure(state: State, command: MeasurePoint, context: CommandContext) -> Outcome:
    one = measured(command)
    return [one], f"Board {one.board}, {one.title}: {one.text}, {one.verdict}"


@rule(MeasurePoints, afterwards=True)
def _measure_all(state: State, command: MeasurePoints, context: CommandContext) -> Outcome:
    events = [measured(one) for one in command.points]
    return [*events], f"{count(len(events), 'reading')} written down"


def says_open(text: str) -> bool:
    """Whether an ohmmeter shows that nothing is connected: more than it can show."""
    return one_line(text).strip().casefold() in _OPEN


def board_number(text: str) -> str:
    """The number of a board as it is written on it. Raises Refusal."""
    number = one_line(text).strip()
    if not _BOARD.fullmatch(number):
        raise Refusal(
            f"{number!r} is not a board number", do="Give letters and digits, as in 1 or B07"
        )
    return number


def _read(text: str, unit: str) -> float:
    from phases.kit.notation import read_quantity
    from phases.kit.units import UNITS

    # Probes the wrong way round are a reading too.
    return read_quantity(text, unit, least=-UNITS[unit].greatest).typ


@rule(WithdrawMeasurement, afterwards=True)
def _withdraw_measurement(
    state: State, command: WithdrawMeasurement, context: CommandContext
) -> Outcome:
    if (command.board, command.point) not in state.measured:
        raise Refusal(f"Nothing was measured there on board {one_line(command.board)}")
    return [MeasurementWithdrawn(board=command.board, point=command.point)], "Undone"


@rule(NoteFinding, afterwards=True)
def _note(state: State, command: NoteFinding, context: CommandContext) -> Outcome:
    fault = one_line(command.fault).strip()
    if not fault:
        raise Refusal("No fault given", do="Describe it in one line")
    item = one_line(command.item).strip()
    if item and item not in state.by_key:
        raise Refusal(
            f"This sprint has no item {item!r}",
            do="Name one of its list, or leave it out where no item asks for it",
        )
    number = 1 + max(
        (s.event.number for s in context.history if isinstance(s.event, FindingNoted)), default=0
    )
    noted = FindingNoted(
        number=number,
        fault=fault,
        item=item,
        minutes=minutes_of(command.minutes),
        board=board_number(command.board) if command.board.strip() else "",
        bodge=one_line(command.bodge).strip(),
    )
    return [noted], f"Finding {number} noted"


def minutes_of(text: str) -> float | None:
    """Minutes as typed: "25", "25 min", "1.5 h"; None for nothing. Raises Refusal."""
    words = one_line(text).strip()
    if not words:
        return None
    read = _MINUTES.fullmatch(words)
    if read is None:
        raise Refusal(f"{words!r} is not a time", do="Give minutes or hours, as in 25 min or 2 h")
    minutes = float(read[1]) * (60.0 if read[2] == "h" else 1.0)
    if minutes > MOST_MINUTES:
        raise Refusal(f"{words!r} is more than can be meant", do="Give 1000 h or less")
    return minutes


@rule(WithdrawFinding, afterwards=True)
def _withdraw_finding(state: State, command: WithdrawFinding, context: CommandContext) -> Outcome:
    finding = _finding(state, command.number)
    made = state.made_items.get(finding.number)
    stays = f"; its item {made.item} stays in {made.kept_in}" if made else ""
    return [FindingWithdrawn(number=finding.number)], f"Finding {finding.number} undone{stays}"


@rule(MakeItemOf, afterwards=True)
def _make_item(state: State, command: MakeItemOf, context: CommandContext) -> Outcome:
    finding = unmade_finding(state, command.number)
    event = FindingMadeItem(number=finding.number, item=command.item, kept_in=command.kept_in)
    return [event], f"Finding {finding.number} is item {command.item} now"


def unmade_finding(state: State, number: int) -> FindingNoted:
    """A late finding that is no item yet. Raises Refusal."""
    if made := state.made_items.get(number):
        raise Refusal(f"Finding {number} is item {made.item} already", where=made.kept_in)
    return _finding(state, number)


def _finding(state: State, number: int) -> FindingNoted:
    if number not in state.findings:
        raise Refusal(f"There is no finding {number} in this journal")
    return state.findings[number]
