"""`coach rehearse BRIEF`: a simulated engineer works through the whole sprint, in seconds.

Many of them at once show how good the forecasts are.
"""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_brief, add_command, number_from
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

_OF_ONE_SPRINT = ("pace", "forget", "journal", "bench")
_BIGGEST_SEED = 10**12


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "rehearse",
        run=run,
        does="let a simulated engineer work through a whole sprint, in seconds",
        more="It uses the same commands as a person and leaves a journal, marked as rehearsed.\n"
        "The same seed gives the same journal. With --sprints many engineers of different pace\n"
        "work through it, a second each, and what is shown is how good the forecasts were.",
        examples=(
            "coach rehearse usb-bench-meter --seed 7",
            "coach rehearse my-board.toml --pace 1.6 --forget 0.2 --journal try.toml",
            "coach rehearse usb-bench-meter --sprints 100",
        ),
    )
    seed = partial(
        number_from,
        what="a seed",
        give="a whole number, as in --seed 7",
        read=int,
        least=-_BIGGEST_SEED,
        most=_BIGGEST_SEED,
    )
    count_from = partial(
        number_from,
        what="a count",
        give="1 to 10000, as in --sprints 100",
        read=int,
        least=1,
        most=10_000,
    )
    pace = partial(number_from, what="a pace", give="a number, as in --pace 1.3")
    chance = partial(number_from, what="a probability", give="a number, as in --forget 0.1")
    add_brief(parser)
    for option, metavar, read, says in (
        ("--seed", "N", seed, "random seed (1)"),
        ("--pace", "X", pace, "pace factor: 1 is the estimate (1.2)"),
        ("--forget", "P", chance, "chance to forget an item (0.05)"),
        ("--bench", "N", count_from, "then measure N boards, and find faults"),
        ("--journal", "FILE", str, "where the journal goes"),
        ("--sprints", "N", count_from, "run N sprints, no journal"),
    ):
        parser.add_argument(option, metavar=metavar, type=read, help=says)
    parser.set_defaults(seed=1)


def run(args: argparse.Namespace) -> int:
    return _many(args) if args.sprints is not None else _one(args)


def _many(args: argparse.Namespace) -> int:
    from coach.sprint.brief.loading import load_brief
    from coach.sprint.rehearsal.many import Sprint, calibration, in_words, rehearse_many

    if given := [word for word in _OF_ONE_SPRINT if getattr(args, word) is not None]:
        raise Refusal(f"--{given[0]} belongs to one sprint", do="Leave it out with --sprints")
    sprints: list[Sprint] = []
    for sprint in rehearse_many([load_brief(args.brief)], args.sprints, seed=args.seed):
        sprints.append(sprint)
        if len(sprints) % 50 == 0:
            print(f"{len(sprints)} of {count(args.sprints, 'sprint')}", file=sys.stderr)
    in_time = sum(sprint.in_time for sprint in sprints)
    print(f"{in_time} of {len(sprints)} sprints had all essentials by the cut-off.")
    for one in calibration(sprints):
        print(in_words(one))
    return exit_codes.HOLDS


def _one(args: argparse.Namespace) -> int:
    from coach.history.describe import outcome
    from coach.sprint.brief.loading import load_brief
    from coach.sprint.journal.sessions_folder import journal_path, sessions_folder
    from coach.sprint.rehearsal.rehearse import DEFAULT_FORGET, DEFAULT_PACE, rehearse

    name = f"rehearsed-{Path(args.brief).stem}-{args.seed}"
    report = rehearse(
        load_brief(args.brief),
        seed=args.seed,
        pace=DEFAULT_PACE if args.pace is None else args.pace,
        forget=DEFAULT_FORGET if args.forget is None else args.forget,
        path=Path(args.journal or journal_path(sessions_folder(), name)),
    )
    if args.bench is not None:
        from coach.bringup.rehearsed import bring_up

        found = bring_up(report.path, seed=args.seed, boards=args.bench)
        print(f"{count(args.bench, 'board')} measured, {count(found, 'fault')} found late.")
    print(f"{count(report.events, 'event')} in {one_line(str(report.path))}")
    print("\n".join(outcome(report.state)))
    return exit_codes.HOLDS
