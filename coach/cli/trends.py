"""`coach trends`: what many sprints say together, as text, CSV or JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.columns import columns
from coach.cli.parser import Commands, Parser, add_command
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.debrief.trends.line import SprintLine
    from coach.debrief.trends.reading import Lines

_OUT = "-"
_MOST_NAMED = 5
_EVERY = 50  # journals between two words of progress


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "trends", run=run,
        does="count over many sprints: what you keep forgetting, pace, forecasts, late findings",
        more="Takes the journals of a folder, or those that are named; without any, those of the "
        "sessions folder. Only sprints that have ended count, a copy of a journal never, and "
        "rehearsed ones (run faster than life, or simulated) only with --rehearsed. Under ten "
        "sprints of your own nothing is said of better or worse. What is no journal, and what of "
        "one is not whole, is said on stderr; the rest is counted, and the exit code is 0.",
        examples=(
            "coach trends",
            "coach trends sessions --rehearsed",
            "coach trends sessions --csv trends.csv --json trends.json",
        ),
    )  # fmt: skip
    parser.add_argument(
        "words", nargs="*", metavar="FOLDER", help="a folder of journals, or journals"
    )
    parser.add_argument(
        "--rehearsed", action="store_true", help="rehearsed sprints count too, told apart"
    )
    parser.add_argument("--csv", metavar="FILE", help="one row an item; - prints it")
    parser.add_argument("--json", metavar="FILE", help="everything; - prints it")
    parser.add_argument("--columns", action="store_true", help="say what each column holds")


def run(args: argparse.Namespace) -> int:
    from coach.debrief.trends.counting import counted
    from coach.debrief.trends.reading import read_lines
    from coach.debrief.trends.show import WIDTH, trends_text
    from coach.debrief.trends.tables import COLUMNS, csv_of, json_of, write_table

    if args.columns:
        print("\n".join(columns([*COLUMNS.items()], indent="")))
        return exit_codes.HOLDS
    named = [name for name in (args.csv, args.json) if name is not None]
    if len(named) != len(set(named)):
        raise Refusal("CSV and JSON name the same place", where=args.parser.prog, do="Name two")
    with _Progress() as progress:
        read = read_lines(_paths(args.words), progress=progress.tell)
    lines = [one for one in read.sprints if args.rehearsed or not one.rehearsed]
    trends = counted(lines)
    _name_faults(read, lines)
    texts = {"csv": lambda: csv_of(trends), "json": lambda: json_of(trends, lines)}
    for name, text_of in texts.items():
        where = getattr(args, name)
        if where == _OUT:
            sys.stdout.write(text_of())
        elif where is not None:
            write_table(Path(where), text_of())
            print(f"The {name.upper()} is in {line(where)}", file=sys.stderr)
    left = _left_out(read, lines)
    if _OUT in named:
        for sentence in left:
            print(sentence, file=sys.stderr)
    else:
        text = trends_text(trends)
        if not lines and len(read.sprints):
            text = ["No sprint counts yet."]
        left = [part for sentence in left for part in wrap(sentence, WIDTH)]
        print("\n".join([*text, *([""] if left and lines else []), *left]))
    return exit_codes.HOLDS


def _paths(words: Sequence[str]) -> list[Path]:
    """The files that are meant. Raises Refusal for a name nothing stands behind."""
    from coach.sprint.past import sessions_folder

    if not words:
        return sorted(sessions_folder.sessions_folder().glob("*.toml"))
    found: list[Path] = []
    for word in words:
        path = Path(word)
        try:
            is_folder, is_there = path.is_dir(), path.exists()
        except (OSError, ValueError):  # too long a name, a null in it
            is_folder = is_there = False
        if not is_there:
            raise Refusal(
                "There is no such folder and no such journal", where=line(word),
                do="Name a folder of journals, as in coach trends sessions",
            )  # fmt: skip
        found += sorted(path.glob("*.toml")) if is_folder else [path]
    return found


# ---- what is said aside ----------------------------------------------------------------------


def _left_out(read: Lines, lines: Sequence[SprintLine]) -> list[str]:
    """What does not count, and how it would."""
    said = []
    rehearsed = len(read.sprints) - len(lines)
    if rehearsed:
        are = "sprint is" if rehearsed == 1 else "sprints are"
        it = "it" if rehearsed == 1 else "them"
        said.append(
            f"{rehearsed} rehearsed {are} left out (run faster than life, or simulated): "
            f"--rehearsed counts {it}."
        )
    copies = len(read.copies)
    if copies:
        said.append(f"{copies} {'copy' if copies == 1 else 'copies'} left out.")
    going = len(read.going_on)
    if going:
        said.append(f"{going} {'goes' if going == 1 else 'go'} on and will count when ended.")
    return said


def _name_faults(read: Lines, lines: Sequence[SprintLine]) -> None:
    """A sentence for each file that is no journal or not whole, up to five of each kind."""
    _some([one.says for one in read.unread], "that cannot be counted")
    damaged = [one for one in lines if one.faults]
    says = [
        f"{line(str(one.path))}: Not whole, counted as far as it is. {line(one.faults[0])}"
        for one in damaged
    ]
    _some(says, "that are not whole")


def _some(sentences: Sequence[str], what: str) -> None:
    for sentence in sentences[:_MOST_NAMED]:
        print(sentence, file=sys.stderr)
    if (more := len(sentences) - _MOST_NAMED) > 0:
        print(f"And {more} more {what}.", file=sys.stderr)


class _Progress:
    """How many journals are read, on stderr: in place on a terminal, else a line now and then.

    Counted, not timed: few journals take no time worth a word.
    """

    def __init__(self) -> None:
        self._said = 0
        try:
            self._in_place = sys.stderr.isatty()
        except (AttributeError, ValueError):  # closed, or never there
            self._in_place = False

    def tell(self, done: int, of: int) -> None:
        if of <= _EVERY or (done < of and done - self._said < _EVERY):
            return
        self._said = done
        words = f"{done} of {of} journals read"
        print(
            f"\r{words}" if self._in_place else words,
            end="" if self._in_place else "\n",
            file=sys.stderr,
            flush=True,
        )

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._in_place and self._said:
            print(f"\r{'':40}\r", end="", file=sys.stderr, flush=True)
