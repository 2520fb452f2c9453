"""`coach calc`: every calculator, or one calculation, for a person or for a program."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command

if TYPE_CHECKING:
    from phases.kit.judging import Judgement

_IN_A_PIPE = 132
"""Columns of a calculation where it is not shown on a terminal: nothing is cut."""


def add_to(commands: Commands[Parser]) -> None:
    parser = add_command(
        commands,
        "calc",
        run=run,
        does="list the calculators, or run one with its worst case",
        more="Values go to the fields in their order or by name; a table comes from a file.\n"
        "Without a calculator, all of them are listed. Exit code 0: all limits pass, 1: one fails.",
        examples=(
            "coach calc indicator 3.3V 2.1V 2mA",
            'coach calc linear-regulator V_in="4.75 .. 5.25 V" I_out=150mA --json',
            "coach calc load-budget consumers=@loads.csv",
            "coach calc",
        ),
    )
    parser.add_argument(
        "words", nargs="*", metavar="NAME [field=value ...]", help="calculator and its inputs"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object or list, SI numbers")


def run(args: argparse.Namespace) -> int:
    if not args.words:
        return _list(as_json=args.json)
    name, *values = args.words
    from phases.kit.bounds import FAIL
    from phases.kit.catalogue import calculator
    from phases.kit.judging import judge
    from phases.kit.quick_line import read_words

    kind = calculator(name)
    judgement = judge(kind(read_words(kind, values)))
    if args.json:
        from phases.kit.record import record_of

        data = record_of(judgement).model_dump(mode="json")
        _print_json({"verdict": judgement.verdict, **data})
    else:
        print("\n".join(_told(judgement)))
    return exit_codes.FAILS if judgement.verdict == FAIL else exit_codes.HOLDS


def _told(judgement: Judgement) -> list[str]:
    """The calculation as the terminal shows it, each input with the name it is given by."""
    from coach.terminal.drawing.calculation import Advice, calculation_lines, headline_lines
    from coach.terminal.drawing.input_lines import lines_of_readings
    from phases.kit.drivers import drivers
    from phases.kit.remedies import remedies

    kind = type(judgement.calculation)
    read = lines_of_readings(kind, judgement.readings)
    names = max(map(len, kind.fields))
    width = shutil.get_terminal_size().columns if sys.stdout.isatty() else _IN_A_PIPE
    named = [
        replace(one, title=f"{one.field:{names}}  {one.title}")
        for one in read
        if one.row is None or one.cells
    ]
    advice = Advice(
        tuple(remedies(judgement)), tuple(drivers(judgement)), judgement.later_listings()
    )
    lines = [
        *headline_lines(judgement, width),
        *calculation_lines(judgement, width=width, advice=advice, inputs=named, source=True),
    ]
    return [f"{kind.title} ({kind.name})", *(one.text.rstrip() for one in lines)]


def _list(*, as_json: bool) -> int:
    from coach.cli.calc_listing import described, listing_lines
    from phases.kit.catalogue import calculators

    kinds = calculators().values()
    if as_json:
        _print_json([described(kind) for kind in kinds])
    else:
        print("\n".join(listing_lines(kinds)))
    return exit_codes.HOLDS


def _print_json(data: Any) -> None:
    """JSON in the letters of the trade; spelt out where the output knows plain ASCII only."""
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower()
    ascii_only = not encoding.startswith("utf")
    # Declarations hold read-only mappings, which json does not know.
    print(json.dumps(data, allow_nan=False, ensure_ascii=ascii_only, indent=2, default=dict))
