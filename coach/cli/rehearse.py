"""`coach rehearse BRIEF`: a simulated engineer works through the whole sprint, in seconds.

Many of them at once show how good the forecasts are.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command, number_from
from phases.kit.refusals import Refusal
from phases.kit.text import line


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "rehearse", run=run,
        does="let a simulated engineer work through a whole sprint, in seconds",
        more="It uses the same commands as a person and leaves a journal, marked as rehearsed.\n"
        "The same seed gives the same journal. With --sprints many engineers of different pace\n"
        "work through it, a second each, and what is shown is how good the forecasts were.",
        examples=(
            "coach rehearse usb-bench-meter --seed 7",
            "coach rehearse my-board.toml --pace 1.6 --forget 0.2 --journal try.toml",
            "coach rehearse usb-bench-meter --sprints 100",
        ),
    )  # fmt: skip
    parser.add_argument("brief", metavar="BRIEF", help="a bundled brief by its name, or a file")
    parser.add_argument("--seed", metavar="N", type=_seed, default=1, help="which engineer (1)")
    parser.add_argument("--pace", metavar="X", type=_pace, help="how slow, about (1.2)")
    parser.add_argument(
        "--forget", metavar="P", type=_chance, help="chance to forget an item (0.05)"
    )
    parser.add_argument(
        "--bench", metavar="N", type=_count, help="afterwards N boards are measured, faults found"
    )
    parser.add_argument("--journal", metavar="FILE", help="where the journal goes")
    parser.add_argument("--sprints", metavar="N", type=_count, help="so many, and no journal")


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text[:6]) <= 10_000 or len(text) > 5:
        raise Refusal(f"{line(text)!r} is no count", do="Give 1 to 10000, as in --sprints 100")
    return int(text)


def _seed(text: str) -> int:
    if not text.lstrip("+-").isdecimal() or len(text) > 12:
        raise Refusal(f"{line(text)!r} is no seed", do="Give a whole number, as in --seed 7")
    return int(text)


def _pace(text: str) -> float:
    return number_from(text, "pace", "--pace 1.3")


def _chance(text: str) -> float:
    return number_from(text, "probability", "--forget 0.1")


def run(args: argparse.Namespace) -> int:
    return _many(args) if args.sprints is not None else _one(args)


def _many(args: argparse.Namespace) -> int:
    from coach.sprint.brief.document import load_brief
    from coach.sprint.rehearsal.many import Sprint, calibration, rehearse_many

    alone = ("pace", "forget", "journal", "bench")
    given = [word for word in alone if getattr(args, word) is not None]
    if given:
        raise Refusal(f"--{given[0]} belongs to one sprint", do="Leave it out with --sprints")
    briefs = [load_brief(args.brief)]

    def told() -> Iterator[Sprint]:
        for number, sprint in enumerate(rehearse_many(briefs, args.sprints, seed=args.seed), 1):
            if number % 50 == 0:
                print(f"{number} of {args.sprints} sprints", file=sys.stderr)
            yield sprint

    sprints = list(told())
    in_time = sum(sprint.in_time for sprint in sprints)
    print(f"{in_time} of {len(sprints)} sprints had all essentials by the cut-off.")
    for one in calibration(sprints):
        print(one.line)
    return exit_codes.HOLDS


def _one(args: argparse.Namespace) -> int:
    from coach.history.describe import outcome
    from coach.sprint.brief.document import load_brief
    from coach.sprint.journal.sessions_folder import journal_path, sessions_folder
    from coach.sprint.rehearsal.rehearse import DEFAULT_FORGET, DEFAULT_PACE, rehearse

    brief = load_brief(args.brief)
    if args.journal is not None:
        path = Path(args.journal)
    else:
        path = journal_path(sessions_folder(), f"rehearsed-{Path(args.brief).stem}-{args.seed}")
    report = rehearse(
        brief,
        seed=args.seed,
        pace=DEFAULT_PACE if args.pace is None else args.pace,
        forget=DEFAULT_FORGET if args.forget is None else args.forget,
        path=path,
    )
    if args.bench is not None:
        from coach.debrief.bringup.rehearsed import bring_up

        found = bring_up(path, seed=args.seed, boards=args.bench)
        boards = "1 board" if args.bench == 1 else f"{args.bench} boards"
        print(f"{boards} measured, {found} {'fault' if found == 1 else 'faults'} found late.")
    print(f"{report.events} events in {line(str(report.path))}")
    print("\n".join(outcome(report.state)))
    return exit_codes.HOLDS
