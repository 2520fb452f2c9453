"""`coach finding JOURNAL`: a fault found after the sprint, written back against its item."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_accept_edit, add_command, number_from
from coach.cli.program_name import program_name
from phases.kit.grammar import count
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

if TYPE_CHECKING:
    from coach.sprint.session import Session

_OF_A_FAULT = {
    "item": ("ITEM", "the item that let it through"),
    "board": ("N", "the number written on the board"),
    "minutes": ("MIN", "the time it cost, as in 25 or 1.5h"),
    "bodge": ("TEXT", "how the board was reworked"),
}
_OF_AN_ITEM = {
    "statement": ("TEXT", "the requirement"),
    "why": ("TEXT", "what goes wrong without it"),
    "phase": ("ID", "where it is asked"),
    "severity": ("W", "what missing it costs"),
    "stage": ("S", "where it can be checked (schematic)"),
    "id": ("ID", "its id"),
}
"""Options by name: what they take, and their help."""


def add_to(commands: Commands[Parser]) -> None:
    as_item = '--as-item 1 --statement "Battery lead carries the charge current" --phase regulation'
    parser = add_command(
        commands,
        "finding",
        run=run,
        does="note a fault that was found after the sprint",
        more="On a terminal it asks for what is not given. --item takes an item id or part of\n"
        "one; leave it out if no item covers the fault. With --as-item a finding becomes a house\n"
        "rule: an item of your own that the next sprints ask. A hazard or a dead board is an\n"
        "essential of its phase. Default: the newest finished sprint (abandoned ones skipped).",
        examples=(
            'coach finding today.toml "R5 is 10 kΩ, not 1 kΩ" --item strap --board 2 --minutes 25',
            "coach finding today.toml --list",
            f"coach finding today.toml {as_item}",
        ),
    )
    parser.add_argument(
        "words",
        nargs="*",
        metavar="JOURNAL [FAULT]",
        help="the journal, by default the newest that has ended; what was wrong, in one line",
    )
    number = partial(number_from, what="the number of a finding", give="one of --list", read=int)
    one = parser.add_mutually_exclusive_group()
    one.add_argument("--list", action="store_true", help="show what was found")
    one.add_argument("--take-back", metavar="N", type=number, help="finding N was a mistake")
    one.add_argument("--as-item", metavar="N", type=number, help="make a house rule of finding N")
    for title, options in (("a fault", _OF_A_FAULT), ("a house rule, with --as-item", _OF_AN_ITEM)):
        group = parser.add_argument_group(title)
        for name, (metavar, says) in options.items():
            group.add_argument(f"--{name}", metavar=metavar, default="", help=says)
    group.add_argument("--essential", action="store_true", help="to be closed in its phase")
    group.add_argument("--rules", metavar="FILE", default="", help="house rules to write to")
    add_accept_edit(parser)


def run(args: argparse.Namespace) -> int:
    path, fault, passed_over = _named(args)
    _refuse_what_does_not_belong(args, fault)
    if args.list:
        return _show(path)
    if _is_asked(args, fault):
        return _ask(path, passed_over, args)
    from coach.sprint.clock import SystemClock
    from coach.sprint.session import Session

    with Session.afterwards(path, SystemClock(), accept_edit=args.accept_edit) as session:
        for told in _on_opening(session, passed_over, chosen=not args.words):
            print(told, file=sys.stderr)
        if args.take_back is not None:
            says = _take_back(session, args.take_back)
        elif args.as_item is not None:
            says = _make_item(session, args)
        else:
            says = _note(session, fault, args)
    print(says)
    return exit_codes.HOLDS


def _named(args: argparse.Namespace) -> tuple[Path, str, int]:
    """(journal, fault, newer journals that were passed over) from the words without an option."""
    from coach.history.ended import newest_worked_on
    from coach.sprint.journal.sessions_folder import sessions_folder

    if args.words[2:]:
        do = f"Put the fault in quotes: {args.parser.example}"
        raise args.parser.unexpected(args.words[2], do=do)
    if args.words:
        return Path(args.words[0]), "".join(args.words[1:]), 0
    newest, passed_over = newest_worked_on(sessions_folder())
    return newest, "", passed_over


def _refuse_what_does_not_belong(args: argparse.Namespace, fault: str) -> None:
    """A fault is noted alone; options of a fault come with one, those of an item with --as-item."""
    doing = {"--list": args.list, "--take-back": args.take_back, "--as-item": args.as_item}
    done = [option for option, given in doing.items() if given not in (None, False)]
    if fault and done:
        what = f"A fault and {done[0]} are two calls"
        raise Refusal(what, where=args.parser.prog, do="Do one after the other")
    for options, place, fits in (
        (_OF_A_FAULT, "a new fault", not done),
        ((*_OF_AN_ITEM, "essential", "rules"), "--as-item", args.as_item is not None),
    ):
        if not fits and (given := _given(args, options)):
            raise Refusal(f"--{given[0]} belongs to {place}", where=args.parser.prog)


def _given(args: argparse.Namespace, options: Iterable[str]) -> list[str]:
    return [name for name in options if getattr(args, name)]


def _is_asked(args: argparse.Namespace, fault: str) -> bool:
    """Whether the person is asked on the terminal. Raises Refusal where there is nothing to do."""
    from coach.cli.sprint import has_terminal

    if fault or args.take_back is not None:
        return False
    if args.as_item is not None:
        return has_terminal() and not _given(args, (*_OF_AN_ITEM, "essential", "rules"))
    if _given(args, _OF_A_FAULT) or not has_terminal():
        do = f"Example: {args.parser.example}"
        raise Refusal("There is no fault to note", where=args.parser.prog, do=do)
    return True


def _ask(path: Path, passed_over: int, args: argparse.Namespace) -> int:
    from coach.cli.debrief import open_debrief
    from coach.sprint.journal.file import Journal

    Journal.check(path, accept_edit=args.accept_edit)  # before a question is asked in vain
    return open_debrief(
        path,
        note=args.as_item is None,
        as_item=args.as_item or 0,
        accept_edit=args.accept_edit,
        passed_over=passed_over,
    )


# ---- what is done ----------------------------------------------------------------------------


def _on_opening(session: Session, passed_over: int, *, chosen: bool) -> list[str]:
    """Which sprint it is where the coach chose it, and that a torn end was cut off."""
    from coach.history.ended import passed_over_words
    from coach.sprint.events.naming import Naming
    from coach.sprint.events.run import TailCut

    setup, cut = session.setup, session.journal.cut
    of = f"Of {setup.brief.title}, {setup.started:%Y-%m-%d}: {one_line(str(session.journal.path))}"
    told = [of, *passed_over_words(passed_over)] if chosen else []
    if cut is not None:
        told.append(TailCut(size=cut.bytes, kept_in=str(cut.kept_in)).told(Naming(setup)))
    return told


def _note(session: Session, fault: str, args: argparse.Namespace) -> str:
    from coach.sprint.commands import NoteFinding
    from coach.sprint.gates.item_search import item_named

    row = item_named(session.state, args.item) if args.item else None
    key = row.key if row else ""
    says = session.do(NoteFinding(fault, key, args.board, args.minutes, args.bodge))
    if row is not None:
        return f"{says}, let through by {row.key}: {row.name}."
    journal, number = quote(one_line(str(session.journal.path))), max(session.state.findings)
    made = f"{program_name()} finding {journal} --as-item {number}"
    own = f'{made} --statement "What must be true" --phase PHASE'
    return f"{says}. No item asks for it. Make one with: {own}"


def _take_back(session: Session, number: int) -> str:
    from coach.sprint.commands import WithdrawFinding

    return f"{session.do(WithdrawFinding(number))}."


def _make_item(session: Session, args: argparse.Namespace) -> str:
    from coach.sprint.brief.house_rules import HOUSE_FILE, house_file
    from coach.sprint.house_making import make_item
    from coach.sprint.journal.sessions_folder import sessions_folder

    path = Path(args.rules or house_file(sessions_folder()))
    path = path / HOUSE_FILE if path.is_dir() else path
    given = {name: getattr(args, name) for name in _OF_AN_ITEM}
    item, says = make_item(session, args.as_item, path, given, essential=args.essential)
    return f"{says} ({item.severity}): {item.statement}.\nChange it in {one_line(str(path))}"


def _show(path: Path) -> int:
    from coach.history.read_sprint import read_sprint
    from coach.sprint.events.naming import Naming

    read = read_sprint(path)
    names, found = Naming(read.setup, read.history), read.state.findings
    counted = count(len(found), "late finding") if found else "no late findings"
    print(f"{read.setup.brief.title}, {read.setup.started:%Y-%m-%d}: {counted}")
    for number, one in found.items():
        print(f"\n{number:3}  {one.told(names)}")
        if made := read.state.made_items.get(number):
            print(f"     {made.told(names)}")
    for fault in read.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if read.faults else exit_codes.HOLDS
