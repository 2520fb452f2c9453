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
    from coach.sprint.setup import Setup


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
        from coach.sprint.setup import setup_from

        setup = setup_from(reading.header, where=where)
        events = _events(reading.events, where)
        print(f"Whole: each of its {reading.blocks} blocks is as it was written.\n")
        _tell(setup, events)
        return exit_codes.HOLDS
    count = len(reading.faults)
    print(f"Not whole: {count} fault{'' if count == 1 else 's'}.")
    for fault in reading.faults:
        print(f"  line {fault.line}: {fault.text}.")
    _tell_what_is_left(reading, where)
    return exit_codes.FAILS


def _events(plain: Sequence[Mapping[str, Any]], where: str) -> list[Stamped]:
    from coach.sprint.session import events_of

    return events_of(plain, where=where)


def _tell(setup: Setup, events: Sequence[Stamped]) -> None:
    from coach.sprint.fold import fold
    from coach.sprint.retell import retell, summary

    told = [one.line for one in retell(setup, events)]
    print("\n".join([*told, "", *summary(fold(setup, events))]))


def _tell_what_is_left(reading: Reading, where: str) -> None:
    """What a journal with faults still tells: it may hold anything, and says where that ends."""
    from coach.sprint.setup import setup_from

    try:
        setup = setup_from(reading.header, where=where)
        events = _readable(reading.events, where)
        print()
        _tell(setup, events)
    except Refusal as refusal:
        print(f"\nWhat happened cannot be told. {refusal.what}.")
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        # A block that was edited may say what never happens: an unknown phase, a text for a number.
        print("\nWhat happened cannot be told: the edited blocks contradict the others.")


def _readable(plain: Sequence[Mapping[str, Any]], where: str) -> list[Stamped]:
    """The events that are still ours; each other one is said."""
    found: list[Stamped] = []
    for one in plain:
        try:
            found += _events([one], where)
        except Refusal as refusal:
            print(f"  {refusal.what}.")
    return found
