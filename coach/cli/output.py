"""Where a command puts a text: on stdout for "-", else in a file, with a word on stderr."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from phases.kit.refusals import Refusal
from phases.kit.text import one_line

OUT = "-"
"""Given instead of a file: print it."""


def refuse_one_place_for_two(args: argparse.Namespace, first: str, second: str) -> None:
    """Raises Refusal where two texts would be printed, or go to the same file. first, second: as
    their options are called in a sentence ("HTML")."""
    places = [getattr(args, name.lower()) for name in (first, second)]
    if [getattr(args, "text", False), *(one == OUT for one in places)].count(True) > 1:
        what, do = "Only one of them can be printed", "Name a file for the other"
        raise Refusal(what, where=args.parser.prog, do=do)
    if places[0] is not None and places[0] == places[1]:
        what = f"{first} and {second} name the same file"
        raise Refusal(what, where=args.parser.prog, do="Name two")


def put(
    where: str | None, what: str, text: Callable[[], str], write: Callable[[Path, str], None]
) -> None:
    """Prints or writes a text that was asked for; where: None for one that was not."""
    if where == OUT:
        sys.stdout.write(text())
    elif where is not None:
        write(Path(where), text())
        print(f"The {what} is in {one_line(where)}", file=sys.stderr)
