"""`coach bringup JOURNAL`: the sheet of the first power-on, and what was measured by it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command, at_most_one
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.debrief.bringup.measured_file import Entry
    from coach.debrief.bringup.sheet import Reading, Sheet
    from coach.sprint.past.read_sprint import SprintRead

_OUT = "-"


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "bringup", run=run,
        does="the sheet of the first power-on: what to look at and measure, and what to expect",
        more="On a terminal it opens, and readings are entered, judged and written to the journal\n"
        "of a sprint that has ended; elsewhere it is printed. Without a journal it is the newest\n"
        "that has ended. A file of readings is TOML (board = \"1\", table [readings] with point =\n"
        "\"3.31 V\") or CSV (board,point,reading); all of it is taken, or nothing. Exit code 1: a\n"
        "reading lies outside, or the journal is not whole.",
        examples=(
            "coach bringup",
            "coach bringup today.toml --html sheet.html --boards 1-4",
            "coach bringup today.toml --form bench.toml",
            "coach bringup today.toml --measured bench.toml",
            "coach bringup today.toml --json -",
        ),
    )  # fmt: skip
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal of a sprint")
    parser.add_argument("--text", action="store_true", help="print it as plain text")
    parser.add_argument("--html", metavar="FILE", help="write it as one HTML file; - prints it")
    parser.add_argument("--json", metavar="FILE", help="write it as JSON; - prints it")
    parser.add_argument("--boards", metavar="LIST", help="boards with a column each (1,2,3)")
    parser.add_argument("--form", metavar="FILE",
                        help="write an empty file of readings to fill in; TOML, or CSV by its name"
                        )  # fmt: skip
    parser.add_argument("--measured", metavar="FILE", help="write down the readings of a file")


def run(args: argparse.Namespace) -> int:
    from coach.cli.sprint import has_terminal
    from coach.debrief.bringup.printing import BOARDS, boards_of
    from coach.sprint.past.read_sprint import read_sprint

    _check(args)
    boards = BOARDS if args.boards is None else boards_of(args.boards)
    path = _journal_named(args)
    read = read_sprint(path)
    code = exit_codes.HOLDS
    if args.measured is not None:
        code = _measure(path, read, Path(args.measured))
        read = read_sprint(path)
    asked = (args.text, args.html is not None, args.json is not None, args.form is not None,
             args.measured is not None)  # fmt: skip
    if not any(asked) and has_terminal():
        from coach.terminal.app import run_bringup

        return run_bringup(path, boards)
    sheet = _sheet(read)
    _write(args, sheet, boards)
    if args.text or not any(asked):
        from coach.debrief.bringup.printing import text_of

        sys.stdout.write(text_of(sheet, boards))
    for fault in sheet.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if sheet.faults else code


def _check(args: argparse.Namespace) -> None:
    printed = [args.text, args.html == _OUT, args.json == _OUT]
    if sum(printed) > 1:
        raise Refusal("Only one of them can be printed", where=args.parser.prog,
                      do="Name a file for the other")  # fmt: skip
    if args.form == _OUT:
        raise Refusal("The form goes to a file", where=args.parser.prog, do="Name one")
    if args.html is not None and args.html == args.json:
        raise Refusal("HTML and JSON name the same file", where=args.parser.prog, do="Name two")


def _journal_named(args: argparse.Namespace) -> Path:
    from coach.sprint.past import sessions_folder

    named = at_most_one(args.words, args.parser)
    if named is not None:
        return Path(named)
    return sessions_folder.newest_ended(sessions_folder.sessions_folder())


def _sheet(read: SprintRead) -> Sheet:
    from coach.debrief.bringup.planning import sheet_of

    return sheet_of(read)


def _measure(path: Path, read: SprintRead, file: Path) -> int:
    """Writes the readings of a file to the journal; says what became of each board."""
    from coach.debrief.bringup.measured_file import entries_in
    from coach.debrief.bringup.planning import readings_of
    from coach.sprint.clock import SystemClock
    from coach.sprint.commands import MeasurePoints
    from coach.sprint.session import Session

    if not read.state.ended:
        raise Refusal(
            "The sprint goes on", where=line(str(path)), do=f"End it first: coach resume {path}, E"
        )
    sheet = _sheet(read)
    entries = entries_in(file, sheet, read.state)
    with Session.afterwards(path, SystemClock()) as session:
        session.do(MeasurePoints(tuple(entry.command for entry in entries)))
        readings = readings_of(session.state)
    return _told(sheet, entries, readings)


def _told(sheet: Sheet, entries: list[Entry], readings: dict[tuple[str, str], Reading]) -> int:
    """Says how many were taken, and those that somebody should look at; the exit code."""
    from coach.debrief.bringup.bare_numbers import other_way
    from coach.debrief.bringup.judging import apart_from, judged, settles

    made = [readings[entry.command.board, entry.command.point] for entry in entries]
    counts = {word: sum(one.verdict == word for one in made)
              for word in ("inside", "outside", "noted")}  # fmt: skip
    number = f"{len(made)} reading{'' if len(made) == 1 else 's'}"
    print(f"{number} written down: " + ", ".join(f"{n} {word}" for word, n in counts.items() if n))
    for entry, one in zip(entries, made, strict=True):
        step = sheet.by_id[one.point]
        given_unit = entry.typed != one.text  # what a bare number was read as is said back
        apart = one.verdict == "outside" or apart_from(step, one, readings)
        if apart or given_unit or not settles(step, one):
            doubt = other_way(entry.typed, step.expected)
            told = f"{judged(step, one, readings).text} {doubt}".rstrip()
            print(f"  board {one.board}, {step.title}: {told}")
    for words in _powered_too_early(sheet, made, readings):
        print(f"  {words}")
    return exit_codes.FAILS if counts["outside"] else exit_codes.HOLDS


def _powered_too_early(
    sheet: Sheet, made: list[Reading], readings: dict[tuple[str, str], Reading]
) -> Iterator[str]:
    """A sentence for each board measured under power while something still forbids it."""
    from coach.debrief.bringup.power import asked_once

    now = replace(sheet, readings=readings)
    for board in dict.fromkeys(one.board for one in made):
        steps = (sheet.by_id[one.point] for one in made if one.board == board)
        words = next(filter(None, (asked_once(now, step, board) for step in steps)), "")
        if words:
            yield f"board {board}: {words}"


def _write(args: argparse.Namespace, sheet: Sheet, boards: tuple[str, ...]) -> None:
    """The files that were asked for. Raises Refusal."""
    if args.form is not None:
        from coach.debrief.bringup.form import write_form

        named = write_form(Path(args.form), sheet, boards)
        print(f"The form for board {named} is in {line(args.form)}", file=sys.stderr)
    if args.html is not None:
        from coach.debrief.bringup.page import html_of, write_page

        text = html_of(sheet, boards)
        if args.html == _OUT:
            sys.stdout.write(text)
        else:
            write_page(Path(args.html), text)
            print(f"The bring-up sheet is in {line(args.html)}", file=sys.stderr)
    if args.json is not None:
        from coach.debrief.bringup.as_json import json_of, write_json

        text = json_of(sheet)
        if args.json == _OUT:
            sys.stdout.write(text)
        else:
            write_json(Path(args.json), text)
            print(f"The bring-up sheet is in {line(args.json)}", file=sys.stderr)
