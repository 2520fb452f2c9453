"""The parser of the command line: argparse, with refusals for its faults and an example each."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Callable, Sequence
from textwrap import fill
from typing import NoReturn

from phases.kit.grammar import capital
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line

Run = Callable[[argparse.Namespace], int]

_WIDTH = 80
_OPTION = re.compile(r"-(?![\d.])")
"""How an option begins; -40 °C and -.5V are values."""


class Parser(argparse.ArgumentParser):
    """A parser whose faults are refusals, and which shows its example with each."""

    example = ""

    def error(self, message: str) -> NoReturn:
        do = f"Example: {self.example}" if self.example else f"See {self.prog} --help"
        raise Refusal(capital(one_line(message)), where=self.prog, do=do)

    def unexpected(self, word: str, *, do: str = "") -> Refusal:
        """What is said of a word too many."""
        do = do or f"Example: {self.example}"
        return Refusal(f"Unexpected argument {one_line(word)!r}", where=self.prog, do=do)

    def options(self) -> list[str]:
        return [option for action in self._actions for option in action.option_strings]


Commands = argparse._SubParsersAction  # the type that add_subparsers returns has no public name


def add_command(
    commands: Commands[Parser],
    name: str,
    *,
    run: Run,
    does: str,
    examples: Sequence[str],
    more: str = "",
) -> Parser:
    """A command with its help: what it does, in full, and examples.

    more: said after `does`; its line ends are as good as spaces, an empty line begins a paragraph.
    """
    shown = "\n".join(f"  {example}" for example in examples)
    title = "example" if len(examples) == 1 else "examples"
    parser = commands.add_parser(
        name,
        help=does,
        description=_filled(f"{capital(does)}. {more}"),
        epilog=f"{title}:\n{shown}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.example = examples[0]
    parser.set_defaults(run=run, parser=parser)
    return parser


def add_brief(parser: Parser) -> None:
    parser.add_argument("brief", metavar="BRIEF", help="name of a bundled brief, or a file")


def add_accept_edit(parser: Parser) -> None:
    parser.add_argument(
        "--accept-edit", action="store_true", help="accept a journal edited outside the coach"
    )


def _filled(text: str) -> str:
    """Every paragraph wrapped to the width of a terminal, words and options kept whole."""
    paragraphs = text.strip().split("\n\n")
    return "\n\n".join(
        fill(" ".join(one.split()), _WIDTH, break_long_words=False, break_on_hyphens=False)
        for one in paragraphs
    )


def place_extras(args: argparse.Namespace, extras: Sequence[str]) -> None:
    """Words that argparse left over: they belong to a command that takes any number of words.

    Raises Refusal for an option there is not, with the nearest, and for a word too many.
    """
    parser: Parser = args.parser
    for extra in extras:
        if _OPTION.match(extra):
            raise unknown(
                "option", one_line(extra.partition("=")[0]), parser.options(), where=parser.prog
            )
        if not hasattr(args, "words"):
            raise parser.unexpected(extra)
        args.words.append(extra)


def at_most_one(words: Sequence[str], parser: Parser) -> str | None:
    """The only word there may be."""
    if len(words) > 1:
        raise parser.unexpected(words[1])
    return words[0] if words else None


def number_from(
    text: str,
    what: str,
    give: str,
    *,
    read: Callable[[str], float] = float,
    least: float = -math.inf,
    most: float = math.inf,
) -> float:
    """A plain number of an option.

    what: what it is not where it cannot be read ("a speed"). give: what to give instead. read:
    int for whole numbers. Raises Refusal, also outside of least and most.
    """
    try:
        value = read(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and least <= value <= most):
        raise Refusal(f"{one_line(text)!r} is not {what}", do=f"Give {give}")
    return value
