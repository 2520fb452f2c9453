"""`coach debrief JOURNAL`: the report of one sprint, on the terminal, as text or as a file."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.output import put, refuse_one_place_for_two
from coach.cli.parser import Commands, Parser, add_command, at_most_one

if TYPE_CHECKING:
    from coach.report.sections import Report


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "debrief",
        run=run,
        does="report on a sprint: plan, actual, why they differ, what to change",
        more="On a terminal it opens as a screen, elsewhere all of it is printed. Without a\n"
        "journal it is the newest that has ended. Never writes to it; of a damaged one what is\n"
        "intact is told, with exit code 1.",
        examples=(
            "coach debrief",
            "coach debrief sessions/sample-usb-bench-meter.toml --html debrief.html",
            "coach debrief today.toml --markdown - | less",
        ),
    )
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal of a sprint")
    parser.add_argument("--text", action="store_true", help="print it as plain text")
    parser.add_argument("--markdown", metavar="FILE", help="write it as Markdown; - prints it")
    parser.add_argument("--html", metavar="FILE", help="write it as one HTML file; - prints it")


def run(args: argparse.Namespace) -> int:
    from coach.cli.sprint import has_terminal

    path = journal_named(args)
    refuse_one_place_for_two(args, "Markdown", "HTML")
    asked = args.text or args.markdown is not None or args.html is not None
    if not asked and has_terminal():
        return open_debrief(path)
    from coach.history.read_sprint import read_sprint
    from coach.report.report import report_of

    report = report_of(read_sprint(path))
    _write(args, report)
    # All of it: a pipe is read by a pager or a program, and nobody would miss what is left out.
    if args.text or not asked:
        from coach.terminal.drawing.debrief_lines import debrief_text

        sys.stdout.write(debrief_text(report))
    for fault in report.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if report.faults else exit_codes.HOLDS


def journal_named(args: argparse.Namespace) -> Path:
    """The journal that is meant: the one named, else the newest that has ended."""
    from coach.history.listing import newest
    from coach.sprint.journal.sessions_folder import sessions_folder

    named = at_most_one(args.words, args.parser)
    if named is not None:
        return Path(named)
    return newest(sessions_folder(), ended=True)


def open_debrief(
    path: Path,
    *,
    note: bool = False,
    as_item: int = 0,
    accept_edit: bool = False,
    passed_over: int = 0,
) -> int:
    """The debrief screen. note: it asks for a late finding at once; as_item: it makes a house
    rule of that finding at once. accept_edit: an edited journal is written to as it is.
    passed_over: newer journals that were not meant."""
    from coach.sprint.journal.file import Journal
    from coach.terminal.app import run_debrief

    Journal.look(path)  # what is no journal is refused before a screen is taken
    return run_debrief(
        path, note=note, as_item=as_item, accept_edit=accept_edit, passed_over=passed_over
    )


def _write(args: argparse.Namespace, report: Report) -> None:
    """The files that were asked for. Raises Refusal."""
    from coach.report.html import html_of
    from coach.report.markdown import markdown_of
    from coach.report.report import write_report

    put(args.markdown, "debrief", lambda: markdown_of(report), write_report)
    put(args.html, "debrief", lambda: html_of(report), write_report)
