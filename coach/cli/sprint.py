"""`coach`, `coach new`, `coach sprint`, `coach resume`: the commands that open the terminal."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import datetime
from pathlib import Path

from coach.cli import exit_codes
from coach.cli.called_as import called_as, from_here
from coach.cli.parser import Commands, Parser, add_command, at_most_one, number_from
from phases.kit.refusals import Refusal


def add_to(commands: Commands[Parser]) -> None:
    add_command(
        commands, "new", run=new,
        does="make a brief by seven questions and start its sprint",
        examples=("coach new",),
    )  # fmt: skip
    parser = add_command(
        commands, "sprint", run=sprint,
        does="start a sprint on a brief",
        more="Without a terminal it shows the plan and starts nothing.",
        examples=(
            "coach sprint usb-bench-meter",
            "coach sprint my-board.toml --journal today.toml",
            "coach sprint usb-bench-meter --speed 20",
        ),
    )  # fmt: skip
    parser.add_argument("brief", metavar="BRIEF", help="a bundled brief by its name, or a file")
    parser.add_argument(
        "--speed",
        metavar="N",
        type=_speed,
        default=1.0,
        help="rehearse: the clock runs N times faster; it counts for nobody's pace and trends",
    )
    parser.add_argument("--journal", metavar="FILE", help="where the journal goes")
    parser = add_command(
        commands, "resume", run=resume,
        does="go on with a sprint",
        more="Without a journal it is the newest that has not ended.",
        examples=("coach resume", "coach resume sessions/my-board-2031-05-04-0915.toml"),
    )  # fmt: skip
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal to go on with")
    parser.add_argument(
        "--accept-edit", action="store_true", help="take a journal that was edited as it stands"
    )


def _speed(text: str) -> float:
    from coach.sprint.clock import check_speed

    speed = number_from(text, "speed", "--speed 20")
    check_speed(speed)
    return speed


def has_terminal() -> bool:
    """Whether screens can be shown: stdin and stdout are a terminal that is not a dumb one."""
    try:
        both = sys.stdin.isatty() and sys.stdout.isatty()
    except (AttributeError, ValueError):  # closed, or never there
        return False
    return both and os.environ.get("TERM") != "dumb"


def open_start_screen(args: argparse.Namespace) -> int:
    """`coach` alone. Without a terminal it says what there is instead."""
    if not has_terminal():
        parser: Parser = args.parser
        parser.print_help()
        return exit_codes.HOLDS
    return _start(new=False)


def new(args: argparse.Namespace) -> int:
    if not has_terminal():
        raise Refusal(
            "The seven questions are asked on a terminal, and there is none here",
            where="coach new",
            do="Copy a bundled brief and change it, then: coach plan FILE",
        )
    return _start(new=True)


def _start(*, new: bool) -> int:
    from coach.sprint.journal.sessions_folder import sessions_folder
    from coach.terminal.app import run_start

    return run_start(new=new, folder=sessions_folder(), command=called_as())


def sprint(args: argparse.Namespace) -> int:
    if not has_terminal():
        from coach.cli.plan import print_plan

        print_plan(args.brief)
        print(
            "There is no terminal here, so nothing was started: "
            f"on one, start it with coach sprint {args.brief}",
            file=sys.stderr,
        )
        return exit_codes.HOLDS
    from coach.sprint.brief.document import load_brief
    from coach.sprint.brief.house_rules import house_rules
    from coach.sprint.clock import SystemClock
    from coach.sprint.journal.sessions_folder import journal_path, sessions_folder
    from coach.sprint.starting import start_sprint
    from coach.terminal.app import run_sprint

    brief = load_brief(args.brief)
    clock = SystemClock()
    if args.journal is not None:
        path = Path(args.journal)
    else:
        path = journal_path(sessions_folder(), Path(args.brief).stem, clock.wall())
    house = house_rules(args.brief, sessions_folder())
    another = _another(path.parent, brief.title, clock.wall())
    said = _joined(another, house.said, _rehearsal(args.speed))
    with start_sprint(brief, path, clock, speed=args.speed, house=house.items) as session:
        return run_sprint(session, said=said, command=called_as())


def _another(folder: Path, title: str, now: datetime) -> tuple[str, str]:
    """That a sprint of the same brief goes on in `folder`, and how to take it up."""
    from coach.history.listing import going_on

    other = going_on(folder, title, now)
    if other is None:
        return "", "plain"
    began = other.run.started.astimezone(now.tzinfo)
    since = f"{began:%H:%M}" if began.date() == now.date() else f"{began:%Y-%m-%d %H:%M}"
    again = f"{called_as()} resume {from_here(other.path)}"
    return f"Another sprint of this brief goes on since {since}: {again}", "due"


def _rehearsal(speed: float) -> tuple[str, str]:
    """That a sprint at another speed counts for nothing; said before it is worked through."""
    if speed == 1.0:
        return "", "plain"
    from coach.sprint.setup import rehearsal

    return f"{rehearsal(speed)}: it counts for nobody's pace and trends.", "doubt"


def _joined(*things: tuple[str, str]) -> tuple[str, str]:
    """Things to say in one line, in the role of the first there is."""
    said = [(text, role) for text, role in things if text]
    return ". ".join(text for text, _ in said), said[0][1] if said else "plain"


def resume(args: argparse.Namespace) -> int:
    from coach.history.listing import listed, newest
    from coach.sprint.journal.sessions_folder import sessions_folder

    named = at_most_one(args.words, args.parser)
    path = newest(sessions_folder(), ended=False) if named is None else Path(named)
    if listed(path).ended:
        raise Refusal(
            "This sprint has ended", where=str(path),
            do=f"Look at it with: {called_as()} debrief {from_here(path)}",
        )  # fmt: skip
    if not has_terminal():
        raise Refusal(
            "A sprint goes on in a terminal, and there is none here",
            where=str(path),
            do=f"Look at it with: coach verify {path}",
        )
    from coach.sprint.clock import SystemClock
    from coach.sprint.session import Session
    from coach.terminal.app import run_sprint

    with Session.resume(path, SystemClock(), accept_edit=args.accept_edit) as session:
        return run_sprint(session, said=_rehearsal(session.setup.speed), command=called_as())
