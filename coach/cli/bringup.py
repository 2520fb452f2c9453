"""`coach bringup JOURNAL`: the sheet for the first power-on, and what was measured by it."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.output import OUT, put, refuse_one_place_for_two
from coach.cli.parser import Commands, Parser, add_command, at_most_one
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

if TYPE_CHECKING:
    from coach.bringup.sheet import Sheet
    from coach.history.read_sprint import SprintRead


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "bringup",
        run=run,
        does="the bring-up checklist: what to inspect and measure, and what to expect",
        more="On a terminal it opens, and readings are entered, judged and written to the journal\n"
        "of a sprint that has ended; elsewhere it is printed. Default: the newest finished\n"
        'sprint. A file of readings is TOML (board = "1", table [readings] with point =\n'
        '"3.31 V") or CSV (board,point,reading); all of it is taken, or nothing. Exit code 1: a\n'
        "reading is out of limits, or the journal is damaged.",
        examples=(
            "coach bringup",
            "coach bringup today.toml --html sheet.html --boards 1-4",
            "coach bringup today.toml --form bench.toml",
            "coach bringup today.toml --measured bench.toml",
            "coach bringup today.toml --json -",
        ),
    )
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal of a sprint")
    parser.add_argument("--text", action="store_true", help="print it as plain text")
    for name, value, helped in (
        ("html", "FILE", "write it as one HTML file; - prints it"),
        ("json", "FILE", "write it as JSON; - prints it"),
        ("boards", "LIST", "boards with a column each (1,2,3)"),
        ("form", "FILE", "write an empty file of readings to fill in; TOML, or CSV by its name"),
        ("measured", "FILE", "write down the readings of a file"),
    ):
        parser.add_argument(f"--{name}", metavar=value, help=helped)


def run(args: argparse.Namespace) -> int:
    from coach.bringup.planning import sheet_of
    from coach.bringup.printing import text_of
    from coach.bringup.sheet import BOARDS
    from coach.cli.sprint import has_terminal
    from coach.history.listing import newest
    from coach.history.read_sprint import read_sprint
    from coach.sprint.journal.sessions_folder import sessions_folder

    _check(args)
    boards = BOARDS if args.boards is None else boards_of(args.boards)
    named = at_most_one(args.words, args.parser)
    path = Path(named or newest(sessions_folder(), ended=True))
    read, code = read_sprint(path), exit_codes.HOLDS
    if args.measured is not None:
        code = _measure(path, read, Path(args.measured))
        read = read_sprint(path)
    written = (args.html, args.json, args.form, args.measured)
    asked = args.text or any(one is not None for one in written)
    if not asked and has_terminal():
        from coach.terminal.app import run_bringup

        return run_bringup(path, boards)
    sheet = sheet_of(read)
    _write(args, sheet, boards)
    if args.text or not asked:
        sys.stdout.write(text_of(sheet, boards))
    for fault in sheet.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if sheet.faults else code


def _check(args: argparse.Namespace) -> None:
    refuse_one_place_for_two(args, "HTML", "JSON")
    if args.form == OUT:
        raise Refusal("The form goes to a file", where=args.parser.prog, do="Name one")


def boards_of(text: str) -> tuple[str, ...]:
    """The boards of a list as typed, "1,2,3" or "1-4". Raises Refusal."""
    from coach.bringup.sheet import MOST_BOARDS
    from coach.sprint.rules.afterwards import board_number

    found: dict[str, None] = {}
    for part in filter(None, (one.strip() for one in text.split(","))):
        first, _, last = (word.strip() for word in part.partition("-"))
        # A number with a dash in it is a run only where both ends are plain numbers.
        run = [int(end[:9]) for end in (first, last) if end.isascii() and end.isdigit()]
        if len(run) < 2:
            found[board_number(part)] = None
            continue
        for number in range(run[0], min(run[1], run[0] + MOST_BOARDS) + 1):
            found[str(number)] = None
    if not found:
        raise Refusal("No board is named", where="--boards", do="Give numbers, as in 1,2,3")
    if len(found) > MOST_BOARDS:
        what, do = "Too many boards for one sheet", f"At most {MOST_BOARDS}"
        raise Refusal(what, where="--boards", do=do)
    return tuple(found)


def _measure(path: Path, read: SprintRead, file: Path) -> int:
    """Writes the readings of a file to the journal; says how many were taken, and those that
    somebody should look at. Returns the exit code."""
    from coach.bringup.form import entries_in
    from coach.bringup.planning import sheet_of
    from coach.bringup.readings import apart_from, asked_once, judged
    from coach.sprint.clock import SystemClock
    from coach.sprint.commands import MeasurePoints
    from coach.sprint.session import Session

    if not read.state.ended:
        do = f"End it first: coach resume {path}, E"
        raise Refusal("The sprint goes on", where=one_line(str(path)), do=do)
    sheet = sheet_of(read)
    entries = entries_in(file, sheet)
    with Session.afterwards(path, SystemClock()) as session:
        session.do(MeasurePoints(tuple(entry.command for entry in entries)))
        sheet = replace(sheet, readings=session.state.measured)
    made = [sheet.readings[entry.command.board, entry.command.point] for entry in entries]
    verdicts = [one.verdict for one in made]
    words = (word for word in ("inside", "outside", "noted") if word in verdicts)
    told = ", ".join(f"{verdicts.count(word)} {word}" for word in words)
    print(f"{count(len(made), 'reading')} written down: {told}")
    for entry, one in zip(entries, made, strict=True):
        step = sheet.by_id[one.point]
        given_unit = entry.typed != one.text  # what a bare number was read as is said back
        apart = one.verdict == "outside" or apart_from(sheet, one)
        if apart or given_unit or not sheet.answered(step, one.board):
            doubt = step.expected.doubt(entry.typed)
            said = f"{judged(sheet, one)[0]} {doubt}".rstrip()
            print(f"  board {one.board}, {step.title}: {said}")
    for board in dict.fromkeys(one.board for one in made):
        steps = (sheet.by_id[one.point] for one in made if one.board == board)
        early = next(filter(None, (asked_once(sheet, step, board) for step in steps)), "")
        if early:
            print(f"  board {board}: {early}")
    return exit_codes.FAILS if "outside" in verdicts else exit_codes.HOLDS


def _write(args: argparse.Namespace, sheet: Sheet, boards: tuple[str, ...]) -> None:
    """The files that were asked for. Raises Refusal."""
    from coach.bringup.form import write_form
    from coach.bringup.printing import html_of, json_of, write_sheet

    if args.form is not None:
        named = write_form(Path(args.form), sheet, boards)
        print(f"The form for board {named} is in {one_line(args.form)}", file=sys.stderr)
    put(args.html, "bring-up sheet", lambda: html_of(sheet, boards), write_sheet)
    put(args.json, "bring-up sheet", lambda: json_of(sheet), write_sheet)
