"""`coach plan BRIEF`: phases, time boxes and the items this board needs, as text."""

from __future__ import annotations

import argparse
import sys

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_brief, add_command


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "plan",
        run=run,
        does="show the phases, time boxes and items of a brief",
        examples=("coach plan usb-bench-meter", "coach plan my-board.toml --all"),
    )
    add_brief(parser)
    parser.add_argument("--all", action="store_true", help="more checks and the closing list too")


def run(args: argparse.Namespace) -> int:
    print_plan(args.brief, everything=args.all)
    return exit_codes.HOLDS


def print_plan(name: str, *, everything: bool = False) -> None:
    """The plan of a brief as it would begin now, on stdout. Raises Refusal."""
    from coach.cli.plan_text import plan_lines
    from coach.sprint.brief.house_rules import house_rules
    from coach.sprint.brief.loading import load_brief
    from coach.sprint.clock import SystemClock
    from coach.sprint.fold import begin
    from coach.sprint.journal.sessions_folder import sessions_folder
    from coach.sprint.setup import setup_of

    brief = load_brief(name)
    house = house_rules(name, sessions_folder())
    state = begin(setup_of(brief, SystemClock().wall(), house=house.items))
    print("\n".join(plan_lines(state, everything=everything, house=house.message)))
    for fault in house.faults:
        print(fault, file=sys.stderr)
