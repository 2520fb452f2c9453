"""`coach verify JOURNAL`: is the journal whole, and what happened."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.sprint.past.read_sprint import SprintRead


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "verify", run=run,
        does="check that a journal is whole, and tell what happened",
        more="Needs no lock and never writes. Exit code 0: it is whole, 1: it is not.",
        examples=("coach verify sessions/sample-usb-bench-meter.toml",),
    )  # fmt: skip
    parser.add_argument("journal", metavar="JOURNAL", help="the journal of a sprint")


def run(args: argparse.Namespace) -> int:
    from coach.sprint.journal.file import Journal
    from coach.sprint.past.read_sprint import sprint_of

    path = Path(args.journal)
    reading = Journal.look(path)
    try:
        read = sprint_of(reading, path)
    except Refusal as refusal:
        if reading.whole:
            raise
        _print_faults(fault.says for fault in reading.faults)
        print(f"\nWhat happened cannot be told. {refusal.what}.")
        return exit_codes.FAILS
    if read.faults:
        _print_faults(read.faults)
    else:
        print(f"Whole: each of its {reading.blocks} blocks is as it was written.")
    print("\n".join(["", *_told(read)]))
    return exit_codes.FAILS if read.faults else exit_codes.HOLDS


def _print_faults(faults: Iterable[str]) -> None:
    listed = list(faults)
    print(f"Not whole: {len(listed)} fault{'' if len(listed) == 1 else 's'}.")
    print("\n".join(f"  {fault}" for fault in listed))


def _told(read: SprintRead) -> list[str]:
    """What happened, and how it stands."""
    from coach.sprint.past.read_sprint import FORGED
    from coach.sprint.past.retell import retell, summary

    try:
        return [*(one.line for one in retell(read.setup, read.history)), "", *summary(read.state)]
    except FORGED:
        raise Refusal(
            "Its events contradict each other or its header",
            where=line(str(read.path)),
            do="Look at it by eye",
        ) from None
