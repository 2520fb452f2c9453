"""`coach verify JOURNAL`: is the journal whole, and what happened."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.sprint.events import Stamped
    from coach.sprint.journal import Reading


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "verify", run=run,
        does="check that a journal is whole, and tell what happened",
        more="Needs no lock and never writes. Exit code 0: it is whole, 1: it is not.",
        examples=("coach verify sessions/sample-usb-bench-meter.toml",),
    )  # fmt: skip
    parser.add_argument("journal", metavar="JOURNAL", help="the journal of a sprint")


def run(args: argparse.Namespace) -> int:
    from coach.sprint.journal import Journal

    where = line(args.journal)
    reading = Journal.look(Path(args.journal))
    if reading.whole:
        told = _told(reading, _events(reading.events, where), where)
        print(f"Whole: each of its {reading.blocks} blocks is as it was written.")
        print("\n".join(["", *told]))
        return exit_codes.HOLDS
    count = len(reading.faults)
    print(f"Not whole: {count} fault{'' if count == 1 else 's'}.")
    for fault in reading.faults:
        print(f"  line {fault.line}: {fault.text}.")
    events = _readable(reading.events, where)
    try:
        print("\n".join(["", *_told(reading, events, where)]))
    except Refusal as refusal:
        print(f"\nWhat happened cannot be told. {refusal.what}.")
    return exit_codes.FAILS


def _told(reading: Reading, events: Sequence[Stamped], where: str) -> list[str]:
    """What happened, and how it stands. Raises Refusal where the journal contradicts itself."""
    from coach.sprint.fold import fold
    from coach.sprint.retell import retell, summary
    from coach.sprint.setup import setup_from

    try:
        setup = setup_from(reading.header, where=where)
        return [*(one.line for one in retell(setup, events)), "", *summary(fold(setup, events))]
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        # No coach wrote that: a phase there is not, a text for a number, a verdict of its own.
        raise Refusal(
            "Its events contradict each other or its header", where=where, do="Look at it by eye"
        ) from None


def _events(plain: Sequence[Mapping[str, Any]], where: str) -> list[Stamped]:
    from coach.sprint.session import events_of

    return events_of(plain, where=where)


def _readable(plain: Sequence[Mapping[str, Any]], where: str) -> list[Stamped]:
    """The events that are still ours; each other one is said."""
    found: list[Stamped] = []
    for one in plain:
        try:
            found += _events([one], where)
        except Refusal as refusal:
            print(f"  {refusal.what}.")
    return found
