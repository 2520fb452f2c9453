"""A simulated bench: after a rehearsed sprint its boards come back, and are measured.

For sample journals and tests. What the simulated engineer forgot or left out, and is really
missing, shows up on the bench as a late finding; so does, now and then, what was looked at and
was wrong all the same, and one thing that no item asks for. The same journal and seed give the
same readings.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from coach.bringup.planning import sheet_of
from coach.bringup.readings import SEEN_TO, command_of
from coach.bringup.sheet import Step
from coach.history.read_sprint import read_sprint
from coach.sprint.clock import ManualClock
from coach.sprint.commands import NoteFinding
from coach.sprint.events.afterwards import AS_EXPECTED
from coach.sprint.rehearsal.ground_truth import GroundTruth
from coach.sprint.session import Session
from coach.sprint.state import MET, Row, State
from phases.kit.expected import in_words
from phases.kit.items import CLOSING_ID, Evidence
from phases.kit.refusals import Refusal

MOST_BOARDS = 6

_AFTER = timedelta(days=9)
"""From the order to the bench."""

_READING, _LOOKING = 40.0, 900.0
"""Seconds for a reading, and until a fault is found."""

_SEEN_WRONGLY = 0.02
"""The chance that what was met by looking was wrong all the same."""

_WIRED = "Part added on top, with a wire"
_BODGES = {"labelling": "Written on by hand", "layout": "Track cut, wire on top"}
_UNASKED = (
    ("The display's screw touches a track", "Plastic washer under it", 15.0),
    ("The plug cannot be pulled with the enclosure closed", "Enclosure filed out", 20.0),
    ("The two cables are alike and can be swapped", "One marked with tape", 10.0),
)


def bring_up(path: Path, *, seed: int, boards: int) -> int:
    """Measures `boards` boards of an ended, rehearsed sprint and notes what is found, in its
    journal. Returns the number of findings. Raises Refusal where it is none of that."""
    if not 1 <= boards <= MOST_BOARDS:
        raise Refusal(f"{boards} boards cannot be brought up", do=f"Give 1 to {MOST_BOARDS}")
    read = read_sprint(path)
    if not read.setup.rehearsed:
        raise Refusal("This sprint was not a rehearsal", where=str(path))
    last = read.history[-1].at if read.history else read.setup.started
    clock = ManualClock(last + _AFTER)
    dice = random.Random(f"{seed}:bench")
    with Session.afterwards(path, clock) as session:
        found = list(_findings(session.state, seed, dice))
        spoilt = dice.randrange(boards) if found else -1
        for board in range(boards):
            _measure(session, clock, dice, str(board + 1), outside=board == spoilt)
        for finding in found:
            clock.advance(_LOOKING)
            session.do(finding)
    return len(found)


def _measure(
    session: Session, clock: ManualClock, dice: random.Random, board: str, *, outside: bool
) -> None:
    steps = sheet_of(read_sprint(session.journal.path)).steps
    volts = [one for one in steps if one.expected.unit == "V"]
    between = [one for one in volts if None not in (one.expected.low, one.expected.high)]
    bad = dice.choice(between) if outside and between else None
    for step in steps:
        clock.advance(_READING)
        session.do(command_of(step, board, _reading(step, dice, outside=step is bad)))


def _reading(step: Step, dice: random.Random, *, outside: bool) -> str:
    """What the meter shows: near what is likeliest, or a tenth beyond the upper end."""
    expected, near = step.expected, dice.gauss(0.0, 0.2)
    low, high = expected.low, expected.high
    if step.forbids_power:
        return SEEN_TO[0]
    if low is None and high is None:
        return AS_EXPECTED
    if high is None:
        value = (low or 0.0) * dice.uniform(20.0, 60.0)
    elif low is None:
        value = high * (0.55 + 0.1 * near)
    elif outside:
        value = high + 0.1 * abs(high)
    else:
        middle = (low + high) / 2 if expected.typ is None else expected.typ
        value = middle + max(min(near, 0.8), -0.8) * max(min(middle - low, high - middle), 0.0)
    return in_words(value, expected.unit, 7 if expected.unit == "Hz" else 4)


def _findings(state: State, seed: int, dice: random.Random) -> Iterator[NoteFinding]:
    truth = GroundTruth(seed, 1.0, 0.0)
    for row in state.rows:
        if row.applies and row.essential and row.item.phase != CLOSING_ID and _wrong(row, truth):
            minutes = row.item.left_out_min * dice.uniform(4.0, 9.0)
            yield NoteFinding(
                fault=f"Found wrong on the boards: {row.item.short_title}",
                item=row.key,
                minutes=f"{minutes:.0f}",
                bodge=_BODGES.get(row.item.phase, _WIRED),
            )
    fault, bodge, minutes = dice.choice(_UNASKED)
    yield NoteFinding(fault, board="1", minutes=f"{minutes:g}", bodge=bodge)


def _wrong(row: Row, truth: GroundTruth) -> bool:
    if not row.closed:
        return truth.made_good_seconds(row.item, row.key) > 0.0
    state = row.state
    looked = row.status == MET and state is not None and state.evidence == Evidence.INSPECTED
    return looked and truth.seen_wrongly(row.key, _SEEN_WRONGLY)
