"""`coach verify JOURNAL`: is the journal whole, and what happened."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command
from phases.kit.grammar import count
from phases.kit.refusals import Refusal


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "verify",
        run=run,
        does="check that a journal is intact, and print what happened",
        more="Needs no lock and never writes. Exit code 0: intact, 1: damaged.",
        examples=("coach verify sessions/sample-usb-bench-meter.toml",),
    )
    parser.add_argument("journal", metavar="JOURNAL", help="the journal of a sprint")


def run(args: argparse.Namespace) -> int:
    from coach.history.describe import described, outcome
    from coach.history.read_sprint import sprint_of
    from coach.sprint.journal.file import Journal

    path = Path(args.journal)
    reading = Journal.look(path)
    try:
        read = sprint_of(reading, path)
    except Refusal as refusal:
        if reading.whole:
            raise
        _print_faults([fault.message for fault in reading.faults])
        print(f"\nWhat happened cannot be told. {refusal.what}.")
        return exit_codes.FAILS
    if read.faults:
        _print_faults(read.faults)
    else:
        print(f"Intact: all {len(reading.chain.blocks)} blocks verify.")
    told = [one.line for one in described(read.setup, read.history)]
    print("\n".join(["", *told, "", *outcome(read.state)]))
    return exit_codes.FAILS if read.faults else exit_codes.HOLDS


def _print_faults(faults: Sequence[str]) -> None:
    print(f"Damaged: {count(len(faults), 'fault')}.")
    print("\n".join(f"  {fault}" for fault in faults))
