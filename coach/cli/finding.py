"""`coach finding JOURNAL`: a fault found after the sprint, written back against its item."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from coach.cli import exit_codes
from coach.cli.called_as import called_as
from coach.cli.parser import Commands, Parser, add_command
from coach.sprint.durations import duration
from phases.kit.refusals import Refusal
from phases.kit.text import line

if TYPE_CHECKING:
    from coach.history.read_sprint import SprintRead
    from coach.sprint.events.afterwards import FindingNoted
    from coach.sprint.session import Session
from coach.sprint.state import State

_OF_A_FAULT = ("item", "board", "minutes", "bodge")
_AS_ITEM = '--as-item 1 --statement "Battery lead carries the charge current" --phase regulation'
_OF_AN_ITEM = ("id", "phase", "severity", "statement", "why", "stage", "essential", "rules")


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands, "finding", run=run,
        does="note a fault that was found after the sprint",
        more="On a terminal it asks for what is not given. The item that let the fault through\n"
        "is named by its key or by a part of it; without one, no item asks for it. With --as-item\n"
        "a finding becomes a house rule: an item of your own that the next sprints ask; its\n"
        "statement is what must be so. A hazard or a dead board is an essential of its phase.\n"
        "Without a journal it is the newest that has ended and was not given up at once.",
        examples=(
            'coach finding today.toml "R5 is 10 kΩ, not 1 kΩ" --item strap --board 2 --minutes 25',
            "coach finding today.toml --list",
            f"coach finding today.toml {_AS_ITEM}",
        ),
    )  # fmt: skip
    parser.add_argument(
        "words", nargs="*", metavar="JOURNAL [FAULT]",
        help="the journal, by default the newest that has ended; what was wrong, in one line",
    )  # fmt: skip
    parser.add_argument("--item", metavar="ITEM", help="the item that let it through")
    parser.add_argument("--board", metavar="N", help="the number written on the board")
    parser.add_argument("--minutes", metavar="MIN", help="the time it cost, as in 25 or 1.5h")
    parser.add_argument("--bodge", metavar="TEXT", help="what was done so that the board works")
    parser.add_argument("--list", action="store_true", help="show what was found")
    parser.add_argument("--take-back", metavar="N", type=_number, help="finding N was a mistake")
    parser.add_argument("--as-item", metavar="N", type=_number, help="make a house rule of it")
    parser.add_argument("--statement", metavar="TEXT", help="house rule: what must hold")
    parser.add_argument("--why", metavar="TEXT", help="house rule: what goes wrong without it")
    parser.add_argument("--phase", metavar="ID", help="house rule: where it is asked")
    parser.add_argument("--severity", metavar="W", help="house rule: what leaving it out costs")
    parser.add_argument("--stage", metavar="S", help="house rule: where it can be seen (schematic)")
    parser.add_argument("--id", metavar="ID", help="house rule: its id")
    parser.add_argument(
        "--essential", action="store_true", help="house rule: to be closed in its phase"
    )
    parser.add_argument("--rules", metavar="FILE", help="house rules to write to")
    parser.add_argument(
        "--accept-edit", action="store_true", help="take a journal that was edited as it stands"
    )


def _number(text: str) -> int:
    if not text.isdecimal() or len(text) > 6:
        raise Refusal(f"{line(text)!r} is no number of a finding", do="See them with --list")
    return int(text)


def run(args: argparse.Namespace) -> int:
    path, fault, passed_over = _named(args)
    _refuse_what_does_not_belong(args, fault)
    if args.list:
        return _show(path)
    if _to_be_asked(args, fault):
        return _ask(path, passed_over, args)
    from coach.sprint.clock import SystemClock
    from coach.sprint.session import Session

    if not args.words:
        print(_taken_by_itself(path, passed_over), file=sys.stderr)
    with Session.afterwards(path, SystemClock(), accept_edit=args.accept_edit) as session:
        if session.journal.cut is not None:
            print(_cut_off(session), file=sys.stderr)
        if args.take_back is not None:
            says = _take_back(session, args.take_back)
        elif args.as_item is not None:
            says = _make_item(session, args)
        else:
            says = _note(session, path, fault, args)
    print(says)
    return exit_codes.HOLDS


def _named(args: argparse.Namespace) -> tuple[Path, str, int]:
    """(journal, fault, newer journals that were passed over) from the words without an option."""
    from coach.history.ended import newest_worked_on
    from coach.sprint.journal.sessions_folder import sessions_folder

    words = args.words
    if len(words) > 2:  # the journal and the fault
        raise Refusal(
            f"{line(words[2])!r} is one word too many", where=args.parser.prog,
            do=f"Put the fault in quotes: {args.parser.example}",
        )  # fmt: skip
    if not words:
        path, passed_over = newest_worked_on(sessions_folder())
        return path, "", passed_over
    return Path(words[0]), words[1] if words[1:] else "", 0


def _taken_by_itself(path: Path, passed_over: int) -> str:
    """Which sprint it is of, where no journal was named."""
    from coach.history.ended import passed_over_words
    from coach.history.listing import listed

    run = listed(path).run
    of = f"Of {run.title}, {run.started:%Y-%m-%d}: {line(str(path))}"
    return "\n".join([of, *passed_over_words(passed_over)])


def _cut_off(session: Session) -> str:
    """That the torn end of a journal was cut off, and where it is kept."""
    from coach.sprint.events.run import TailCut
    from coach.sprint.naming import Naming

    cut = session.journal.cut
    assert cut is not None
    return TailCut(size=cut.bytes, kept_in=str(cut.kept_in)).told(Naming(session.setup))


def _refuse_what_does_not_belong(args: argparse.Namespace, fault: str) -> None:
    asked = [
        words
        for words, given in (
            ("a fault", bool(fault)), ("--list", args.list),
            ("--take-back", args.take_back is not None), ("--as-item", args.as_item is not None),
        )
        if given
    ]  # fmt: skip
    where = args.parser.prog
    if len(asked) > 1:
        raise Refusal(f"{asked[0].capitalize()} and {asked[1]} are two calls", where=where,
                      do="Do one after the other")  # fmt: skip
    for names, place, fits in (
        (_OF_A_FAULT, "a new fault", not asked or bool(fault)),
        (_OF_AN_ITEM, "--as-item", args.as_item is not None),
    ):
        given = _given(args, names)
        if given and not fits:
            raise Refusal(f"--{given[0]} belongs to {place}", where=where)


def _given(args: argparse.Namespace, names: Sequence[str]) -> list[str]:
    """The options of these names that stand in the call, as they are typed."""
    return [name for name in names if getattr(args, name)]


def _to_be_asked(args: argparse.Namespace, fault: str) -> bool:
    """Whether the person is asked on the terminal. Raises Refusal where there is none."""
    from coach.cli.sprint import has_terminal

    if fault or args.take_back is not None:
        return False
    if args.as_item is not None:
        return has_terminal() and not _given(args, _OF_AN_ITEM)
    if _given(args, _OF_A_FAULT):
        raise Refusal("There is no fault to note", where=args.parser.prog,
                      do=f"Example: {args.parser.example}")  # fmt: skip
    if not has_terminal():
        raise Refusal(
            "What was wrong is asked on a terminal, and there is none here",
            where=args.parser.prog, do=f"Example: {args.parser.example}",
        )  # fmt: skip
    return True


def _ask(path: Path, passed_over: int, args: argparse.Namespace) -> int:
    from coach.cli.debrief import open_debrief
    from coach.sprint.journal.file import Journal

    Journal.check(path, accept_edit=args.accept_edit)  # before a question is asked in vain
    return open_debrief(
        path, note=args.as_item is None, as_item=args.as_item or 0,
        accept_edit=args.accept_edit, passed_over=passed_over,
    )  # fmt: skip


# ---- what is done ----------------------------------------------------------------------------


def _note(session: Session, path: Path, fault: str, args: argparse.Namespace) -> str:
    from coach.sprint.commands import NoteFinding
    from coach.sprint.item_names import item_named

    row = item_named(session.state, args.item) if args.item else None
    given = {name: getattr(args, name) or "" for name in ("board", "minutes", "bodge")}
    says = session.do(NoteFinding(fault=fault, item=row.key if row else "", **given))
    if row is not None:
        return f"{says}, let through by {row.key}: {row.name}."
    number = max(session.state.findings)
    command = f"{called_as()} finding {quote(line(str(path)))} --as-item {number}"
    more = ' --statement "What must be so" --phase PHASE'
    return f"{says}. No item asks for it. Make one with: {command}{more}"


def _take_back(session: Session, number: int) -> str:
    from coach.sprint.commands import WithdrawFinding

    made = session.state.made_items.get(number)
    says = session.do(WithdrawFinding(number))
    if made is not None:
        return f"{says}. Its item {made.item} stays in {made.kept_in}."
    return f"{says}."


def _make_item(session: Session, args: argparse.Namespace) -> str:
    from coach.sprint.brief.house_making import make_item

    given: Mapping[str, str] = {
        name: getattr(args, name) or ""
        for name in ("id", "phase", "severity", "statement", "why", "stage")
    }
    path = rules_path(args.rules)
    item, says = make_item(session, args.as_item, path, given, essential=args.essential)
    kept = f"It is kept, to be changed there, in {line(str(path))}"
    return f"{says} ({item.severity}): {item.statement}.\n{kept}"


def rules_path(named: str | None) -> Path:
    """The file of house rules that is meant: one named, or in a folder named, else the person's."""
    from coach.sprint.brief.house_rules import HOUSE_FILE, house_file
    from coach.sprint.journal.sessions_folder import sessions_folder

    if named is None:
        return house_file(sessions_folder())
    path = Path(named)
    return path / HOUSE_FILE if path.is_dir() else path


# ---- what is shown ---------------------------------------------------------------------------


def _show(path: Path) -> int:
    from coach.history.read_sprint import read_sprint

    read = read_sprint(path)
    print("\n".join(_listed(read)))
    for fault in read.faults:
        print(fault, file=sys.stderr)
    return exit_codes.FAILS if read.faults else exit_codes.HOLDS


def _listed(read: SprintRead) -> list[str]:
    findings = read.state.findings
    count = len(findings)
    title = f"{read.setup.brief.title}, {read.setup.started:%Y-%m-%d}"
    lines = [f"{title}: {count or 'no'} late finding{'' if count == 1 else 's'}"]
    for one in findings.values():
        lines += ["", *_told(one, read.state)]
    return lines


def _told(finding: FindingNoted, state: State) -> list[str]:

    facts = [
        f"board {finding.board}" if finding.board else "",
        f"{duration(finding.minutes * 60)} lost" if finding.minutes is not None else "",
        f"bodge: {finding.bodge}" if finding.bodge else "",
    ]
    row = state.by_key.get(finding.item)
    through = f"let through by {finding.item}" if finding.item else "no item asks for it"
    lines = [f"{finding.number:3}  {finding.fault}"]
    if any(facts):
        lines.append("     " + ", ".join(fact for fact in facts if fact))
    lines.append(f"     {through}{f': {row.name}' if row else ''}")
    if made := state.made_items.get(finding.number):
        lines.append(f"     house rule {made.item} in {made.kept_in}")
    return lines
