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
from coach.cli.output import OUT, put, refuse_one_place_for_two
from coach.cli.parser import Commands, Parser, add_command
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

if TYPE_CHECKING:
    from coach.history.ended import EndedSprint, ManyRead

_MOST_NAMED = 5
_EVERY = 50  # journals between two words of progress


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "trends",
        run=run,
        does="count over many sprints: what you keep forgetting, pace, forecasts, late findings",
        more="Takes the journals of a folder, or those that are named; without any, those of the "
        "sessions folder. Only sprints that have ended count, a copy of a journal never, and "
        "rehearsed ones (run with a faster clock, or simulated) only with --rehearsed. Under ten "
        "sprints of your own nothing is said of better or worse. Files that are not journals, "
        "and damaged parts, are reported on stderr and skipped; exit code 0.",
        examples=(
            "coach trends",
            "coach trends sessions --rehearsed",
            "coach trends sessions --csv trends.csv --json trends.json",
        ),
    )
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
    from coach.history.ended import read_many
    from coach.history.trends import trends_of
    from coach.history.trends_tables import COLUMNS, csv_of, json_of, write_table
    from coach.history.trends_text import WIDTH, trends_text

    if args.columns:
        print("\n".join(columns([*COLUMNS.items()], indent="")))
        return exit_codes.HOLDS
    refuse_one_place_for_two(args, "CSV", "JSON")
    read = read_many(_paths(args.words), progress=_tell_progress)
    sprints = [one for one in read.sprints if args.rehearsed or one.own]
    trends = trends_of(sprints)
    _name_faults(read, sprints)
    put(args.csv, "CSV", lambda: csv_of(trends), write_table)
    put(args.json, "JSON", lambda: json_of(trends, sprints), write_table)
    left = _left_out(read, sprints)
    if OUT in (args.csv, args.json):
        print(*left, sep="\n", end="\n" if left else "", file=sys.stderr)
    else:
        text = trends_text(trends) if sprints or not read.sprints else ["No sprint counts yet."]
        left = [part for sentence in left for part in wrap(sentence, WIDTH)]
        print("\n".join([*text, *([""] if left and sprints else []), *left]))
    return exit_codes.HOLDS


def _paths(words: Sequence[str]) -> list[Path]:
    """The files that are meant. Raises Refusal for a name nothing stands behind."""
    from coach.sprint.journal.sessions_folder import sessions_folder

    if not words:
        return [*sessions_folder().glob("*.toml")]
    found: list[Path] = []
    for word in words:
        path = Path(word)
        try:
            is_folder, is_there = path.is_dir(), path.exists()
        except (OSError, ValueError):  # too long a name, a null in it
            is_folder = is_there = False
        if not is_there:
            raise Refusal(
                "There is no such folder and no such journal",
                where=one_line(word),
                do="Name a folder of journals, as in coach trends sessions",
            )
        found += path.glob("*.toml") if is_folder else [path]
    return found


# ---- what is said aside ----------------------------------------------------------------------


def _left_out(read: ManyRead, sprints: Sequence[EndedSprint]) -> list[str]:
    """What does not count, and how it would."""
    rehearsed, copies, going = (
        len(read.sprints) - len(sprints),
        len(read.copies),
        len(read.going_on),
    )
    said = []
    if rehearsed:
        it = "it" if rehearsed == 1 else "them"
        said.append(
            f"{count(rehearsed, 'rehearsed sprint')} left out (run with a faster clock, or "
            f"simulated): --rehearsed counts {it}."
        )
    if copies:
        said.append(f"{count(copies, 'copy', 'copies')} left out.")
    if going:
        when = "it ends" if going == 1 else "they end"
        said.append(f"{going} still running, counted when {when}.")
    return said


def _name_faults(read: ManyRead, sprints: Sequence[EndedSprint]) -> None:
    """A sentence for each file that is no journal or not whole, up to five of each kind."""
    _some([*read.unread.values()], "that cannot be counted")
    says = [
        f"{one_line(str(one.path))}: Damaged, counted as far as it goes. {one_line(one.faults[0])}"
        for one in sprints
        if one.faults
    ]
    _some(says, "that are damaged")


def _some(sentences: Sequence[str], what: str) -> None:
    for sentence in sentences[:_MOST_NAMED]:
        print(sentence, file=sys.stderr)
    if (more := len(sentences) - _MOST_NAMED) > 0:
        print(f"And {more} more {what}.", file=sys.stderr)


def _tell_progress(done: int, of: int) -> None:
    """How many journals are read, on stderr: in place on a terminal, else a line now and then.

    Counted, not timed: few journals take no time worth a word.
    """
    if of <= _EVERY or (done < of and done % _EVERY):
        return
    words = f"{done} of {of} journals read"
    if not sys.stderr.isatty():
        print(words, file=sys.stderr, flush=True)
    else:
        cleared = f"\r{'':{len(words)}}\r" if done == of else ""
        print(f"\r{words}{cleared}", end="", file=sys.stderr, flush=True)
