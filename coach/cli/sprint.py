"""`coach`, `coach new`, `coach sprint`, `coach resume`: the commands that open the terminal."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import datetime
from pathlib import Path

from coach.cli import exit_codes
from coach.cli.parser import (
    Commands,
    Parser,
    add_accept_edit,
    add_brief,
    add_command,
    at_most_one,
    number_from,
)
from coach.cli.program_name import from_here, program_name
from phases.kit.refusals import Refusal

Said = tuple[str, str]
"""What the screen says as it opens, and its role."""

_NOTHING: Said = "", "plain"


def add_to(commands: Commands[Parser]) -> None:
    add_command(
        commands,
        "new",
        run=new,
        does="answer seven questions, get a brief, start the sprint",
        examples=("coach new",),
    )
    parser = add_command(
        commands,
        "sprint",
        run=sprint,
        does="start a sprint on a brief",
        more="Without a terminal it shows the plan and starts nothing.",
        examples=(
            "coach sprint usb-bench-meter",
            "coach sprint my-board.toml --journal today.toml",
            "coach sprint usb-bench-meter --speed 20",
        ),
    )
    add_brief(parser)
    parser.add_argument(
        "--speed",
        metavar="N",
        type=_speed,
        default=1.0,
        help="rehearse with a clock N times faster; not counted in pace or trends",
    )
    parser.add_argument("--journal", metavar="FILE", help="where the journal goes")
    parser = add_command(
        commands,
        "resume",
        run=resume,
        does="resume a sprint",
        more="Default: the newest sprint still running.",
        examples=("coach resume", "coach resume sessions/my-board-2031-05-04-0915.toml"),
    )
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal of the sprint")
    add_accept_edit(parser)


def _speed(text: str) -> float:
    from coach.sprint.clock import check_speed

    speed = number_from(text, "a speed", "a number, as in --speed 20")
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
    if has_terminal():
        return _start(new=False)
    args.parser.print_help()
    return exit_codes.HOLDS


def new(args: argparse.Namespace) -> int:
    if not has_terminal():
        raise Refusal(
            "The seven questions need a terminal",
            where="coach new",
            do="Copy a bundled brief and change it, then: coach plan FILE",
        )
    return _start(new=True)


def _start(*, new: bool) -> int:
    from coach.sprint.journal.sessions_folder import sessions_folder
    from coach.terminal.app import run_start

    return run_start(new=new, folder=sessions_folder(), command=program_name())


def sprint(args: argparse.Namespace) -> int:
    if not has_terminal():
        from coach.cli.plan import print_plan

        print_plan(args.brief)
        where = f"start it on a terminal with coach sprint {args.brief}"
        print(f"No terminal here, nothing was started: {where}", file=sys.stderr)
        return exit_codes.HOLDS
    from coach.sprint.brief.house_rules import house_rules
    from coach.sprint.brief.loading import load_brief
    from coach.sprint.clock import SystemClock
    from coach.sprint.journal.sessions_folder import journal_path, sessions_folder
    from coach.sprint.session import start_sprint
    from coach.terminal.app import run_sprint

    brief, clock, name = load_brief(args.brief), SystemClock(), Path(args.brief).stem
    path = Path(args.journal or journal_path(sessions_folder(), name, clock.wall()))
    house = house_rules(args.brief, sessions_folder())
    another = _another(path.parent, brief.title, clock.wall())
    said = _joined(another, house.status_line, _rehearsal(args.speed))
    with start_sprint(brief, path, clock, speed=args.speed, house=house.items) as session:
        return run_sprint(session, status=said, command=program_name())


def _another(folder: Path, title: str, now: datetime) -> Said:
    """That a sprint of the same brief is still running in `folder`, and how to resume it."""
    from coach.history.listing import going_on
    from coach.sprint.cut_off import zone_of

    other = going_on(folder, title, now)
    if other is None:
        return _NOTHING
    began = other.run.started.astimezone(zone_of(now))
    since = f"{began:%H:%M}" if began.date() == now.date() else f"{began:%Y-%m-%d %H:%M}"
    again = f"{program_name()} resume {from_here(other.path)}"
    return f"Another sprint of this brief has been running since {since}: {again}", "due"


def _rehearsal(speed: float) -> Said:
    """That a sprint at another speed counts for nothing; said before it is worked through."""
    if speed == 1.0:
        return _NOTHING
    return f"Rehearsal at {speed:g}x speed: not counted in pace or trends.", "doubt"


def _joined(*things: Said) -> Said:
    """Things to say in one line, in the role of the first there is."""
    said = [(text, role) for text, role in things if text] or [_NOTHING]
    return ". ".join(text for text, _ in said), said[0][1]


def resume(args: argparse.Namespace) -> int:
    from coach.history.listing import listed, newest
    from coach.sprint.journal.sessions_folder import sessions_folder

    path = Path(at_most_one(args.words, args.parser) or newest(sessions_folder(), ended=False))
    if listed(path).ended:
        do = f"Look at it with: {program_name()} debrief {from_here(path)}"
        raise Refusal("This sprint has ended", where=str(path), do=do)
    if not has_terminal():
        do = f"Look at it with: coach verify {path}"
        raise Refusal("A sprint needs a terminal", where=str(path), do=do)
    from coach.sprint.clock import SystemClock
    from coach.sprint.session import Session
    from coach.terminal.app import run_sprint

    with Session.resume(path, SystemClock(), accept_edit=args.accept_edit) as session:
        return run_sprint(session, status=_rehearsal(session.setup.speed), command=program_name())
