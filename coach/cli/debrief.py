"""`coach debrief JOURNAL`: the account of one sprint, on the terminal, as text or as a file."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command, at_most_one
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.debrief.account.data import Account

_OUT = "-"


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "debrief", run=run,
        does="tell what a sprint was worth: planned, happened, why, and what to do differently",
        more="On a terminal it opens as a screen, elsewhere it is printed. Without a journal it\n"
        "is the newest that has ended. Never writes to the journal; a damaged one is told as far\n"
        "as it is whole, with exit code 1.",
        examples=(
            "coach debrief",
            "coach debrief sessions/sample-usb-bench-meter.toml --html debrief.html",
            "coach debrief today.toml --markdown - | less",
        ),
    )  # fmt: skip
    parser.add_argument("words", nargs="*", metavar="JOURNAL", help="the journal of a sprint")
    parser.add_argument("--text", action="store_true", help="print it as plain text")
    parser.add_argument("--markdown", metavar="FILE", help="write it as Markdown; - prints it")
    parser.add_argument("--html", metavar="FILE", help="write it as one HTML file; - prints it")


def run(args: argparse.Namespace) -> int:
    from coach.cli.sprint import has_terminal

    path = journal_named(args)
    wanted = [args.text, args.markdown == _OUT, args.html == _OUT]
    if sum(wanted) > 1:
        raise Refusal("Only one of them can be printed", where=args.parser.prog,
                      do="Name a file for the other")  # fmt: skip
    if args.markdown is not None and args.markdown == args.html:
        raise Refusal("Markdown and HTML name the same file", where=args.parser.prog,
                      do="Name two")  # fmt: skip
    files = [name for name in (args.markdown, args.html) if name not in (None, _OUT)]
    if not any(wanted) and not files and has_terminal():
        return open_debrief(path)
    account = _account(path)
    _write(args, account)
    if args.text or not (any(wanted) or files):
        from coach.terminal.drawing.debrief_lines import debrief_text

        sys.stdout.write(debrief_text(account))
    for fault in account.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if account.faults else exit_codes.HOLDS


def journal_named(args: argparse.Namespace) -> Path:
    """The journal that is meant: the one named, else the newest that has ended."""
    from coach.history.listing import newest
    from coach.sprint.journal.sessions_folder import sessions_folder

    named = at_most_one(args.words, args.parser)
    if named is not None:
        return Path(named)
    return newest(sessions_folder(), ended=True)


def open_debrief(
    path: Path, *, note: bool = False, as_item: int = 0, accept_edit: bool = False,
    passed_over: int = 0,
) -> int:  # fmt: skip
    """The debrief screen. note: it asks for a late finding at once; as_item: it makes a house
    rule of that finding at once. accept_edit: an edited journal is written to as it stands.
    passed_over: newer journals that were not meant."""
    from coach.sprint.journal.file import Journal
    from coach.terminal.app import run_debrief

    Journal.look(path)  # what is no journal is refused before a screen is taken
    return run_debrief(
        path, note=note, as_item=as_item, accept_edit=accept_edit, passed_over=passed_over
    )


def _account(path: Path) -> Account:
    from coach.debrief.account.telling import account_of
    from coach.history.read_sprint import read_sprint

    return account_of(read_sprint(path))


def _write(args: argparse.Namespace, account: Account) -> None:
    """The files that were asked for. Raises Refusal."""
    made: dict[str, Callable[[], str]] = {
        "markdown": lambda: _markdown(account), "html": lambda: _html(account),
    }  # fmt: skip
    for name, text_of in made.items():
        where = getattr(args, name)
        if where == _OUT:
            sys.stdout.write(text_of())
        elif where is not None:
            from coach.debrief.report.report_file import write_report

            write_report(Path(where), text_of())
            print(f"The debrief is in {line(where)}", file=sys.stderr)


def _markdown(account: Account) -> str:
    from coach.debrief.report.markdown import markdown_of

    return markdown_of(account)


def _html(account: Account) -> str:
    from coach.debrief.report.html import html_of

    return html_of(account)
