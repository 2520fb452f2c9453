"""`coach calc`: every calculator, or one calculation, for a person or for a program."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from coach.cli import exit_codes
from coach.cli.parser import Commands, Parser, add_command


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
        from coach.cli.calc_text import calculation_lines

        print("\n".join(calculation_lines(judgement)))
    return exit_codes.FAILS if judgement.verdict == FAIL else exit_codes.HOLDS


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
