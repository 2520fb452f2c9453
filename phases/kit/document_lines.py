"""On which line of a TOML text a key stands: a small scan of headers and keys.

tomli does not keep lines. The scan is only used once a fault is known, on a text that
tomli has read already, so it may count on valid TOML.
"""

from __future__ import annotations

import re
from collections import Counter

Location = tuple[str | int, ...]
"""A key as pydantic gives it: ("rail", 1, "voltage")."""

_STRINGS_AND_COMMENTS = re.compile(
    r'"""(?:\\.|[^\\])*?"""+|\'\'\'.*?\'\'\'+|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\n]*', re.DOTALL
)
_KEY = r"""(?:"(?:\\.|[^"\\])*"|'[^']*'|[A-Za-z0-9_-]+)"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_ARRAY_HEADER = re.compile(rf"\s*\[\[\s*({_DOTTED})\s*\]\]")
_TABLE_HEADER = re.compile(rf"\s*\[\s*({_DOTTED})\s*\]")
_ASSIGNMENT = re.compile(rf"\s*({_DOTTED})\s*=")


def line_numbers(text: str) -> dict[Location, int]:
    """The line, counted from one, of each table and key of a valid TOML text."""
    found: dict[Location, int] = {}
    entries: Counter[Location] = Counter()
    table: Location = ()
    depth = 0
    bare = _STRINGS_AND_COMMENTS.sub(lambda match: re.sub(r"[^\n]", " ", match[0]), text)
    # Both split at the same newlines only: splitlines() would also split at a form feed.
    for number, (raw, plain) in enumerate(
        zip(text.split("\n"), bare.split("\n"), strict=True), start=1
    ):
        if depth == 0 and plain.strip():
            if header := _ARRAY_HEADER.match(raw):
                name = _indexed(_steps(header[1]), entries, last=False)
                table = (*name, entries[name])
                entries[name] += 1
                found.setdefault(name, number)
                found[table] = number
            elif header := _TABLE_HEADER.match(raw):
                table = _indexed(_steps(header[1]), entries, last=True)
                found.setdefault(table, number)
            elif assignment := _ASSIGNMENT.match(raw):
                key = (*table, *_steps(assignment[1]))
                for length in range(len(table) + 1, len(key) + 1):
                    found.setdefault(key[:length], number)
        depth += sum(plain.count(c) for c in "[{") - sum(plain.count(c) for c in "]}")
    return found


def nearest_line(numbers: dict[Location, int], place: Location) -> tuple[int | None, Location]:
    """The line of `place`, or of the innermost table or key around it, and what was found."""
    for length in range(len(place), 0, -1):
        if place[:length] in numbers:
            return numbers[place[:length]], place[:length]
    return None, place


def _steps(dotted: str) -> Location:
    return tuple(part.strip("\"'") for part in re.findall(_KEY, dotted))


def _indexed(name: Location, entries: Counter[Location], *, last: bool) -> Location:
    """`[rail.facts]` below the second `[[rail]]` is ("rail", 1, "facts")."""
    place: Location = ()
    for count, step in enumerate(name, start=1):
        place = (*place, step)
        if entries[place] and (last or count < len(name)):
            place = (*place, entries[place] - 1)
    return place
