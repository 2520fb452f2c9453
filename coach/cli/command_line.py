"""From the words of a call to its exit code: finding the command, and saying what went wrong."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress

from coach import __version__
from coach.cli import (
    bringup,
    calc,
    debrief,
    exit_codes,
    finding,
    plan,
    rehearse,
    sprint,
    trends,
    verify,
)
from coach.cli.parser import Commands, Parser, place_extras
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line

_FAMILIES = (sprint, plan, calc, verify, rehearse, debrief, bringup, finding, trends)

_DESCRIPTION = """Paces the design of a small microcontroller board to its cut-off: plans the
phases, sizes parts with their worst case, asks for the items such boards most often miss, and
writes it all to a journal. Without a command the start screen opens."""

_EXAMPLES = """examples:
  coach                                    the start screen
  coach sprint usb-bench-meter             a sprint on a bundled brief
  coach plan my-board.toml                 its phases, time boxes and items
  coach calc indicator 3.3V 2.1V 2mA       one calculation
  coach calc --json                        every calculator, for a program

"""


def main(argv: Sequence[str] | None = None) -> int:
    """Runs the coach with these words (those of the shell by default); returns the exit code."""
    words = sys.argv[1:] if argv is None else list(argv)
    # What comes in before the first frame stays: to look for garbage in it, as often as Python
    # does, is a tenth of the time to that frame.
    gc.set_threshold(200_000, 20, 50)
    _spell_what_cannot_be_shown()
    try:
        code = _run(words)
        sys.stdout.flush()
        return code
    except Refusal as refusal:
        return _say(one_line(str(refusal)))
    except KeyboardInterrupt:
        return exit_codes.INTERRUPTED
    except BrokenPipeError:
        _drop_output()
        return exit_codes.NOBODY_READS
    except OSError as error:
        _drop_output()
        return _say(f"coach: {one_line(error.strerror or str(error))}.")


def _run(words: Sequence[str]) -> int:
    parser, names = _parser()
    first = next(iter(words), "")
    if first and not first.startswith("-") and first not in names:
        raise unknown("command", one_line(first), names, where="coach")
    try:
        args, extras = parser.parse_known_args(words)
    except SystemExit as asked:  # --help and --version have printed what they are for
        return int(asked.code or 0)
    place_extras(args, extras)
    code: int = args.run(args)
    return code


def _parser() -> tuple[Parser, Sequence[str]]:
    parser = Parser(
        prog="coach",
        description=_DESCRIPTION,
        epilog=_EXAMPLES + exit_codes.EXPLAINED,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"coach {__version__}")
    parser.set_defaults(run=sprint.open_start_screen, parser=parser)
    commands: Commands[Parser] = parser.add_subparsers(title="commands", metavar="COMMAND")
    for family in _FAMILIES:
        family.add_to(commands)
    return parser, list(commands.choices)


def _say(sentence: str) -> int:
    print(sentence, file=sys.stderr)
    return exit_codes.WRONG


def _spell_what_cannot_be_shown() -> None:
    """Where the terminal or pipe cannot show Ω or µ, a question mark takes its place."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _drop_output() -> None:
    """What could not be written is not tried again when Python ends."""
    with suppress(OSError, ValueError):  # there is no file behind it, as in a test
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
