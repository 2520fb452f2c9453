"""Reading a journal: the checks first, then the TOML, and every fault by its place.

Knows bytes and nothing of files that are open, locked or repaired.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import Any, Literal

from coach.sprint.journal.text import TITLE, VERSION, check_value
from phases.kit.refusals import Refusal

Table = dict[str, Any]
"""A table as tomllib reads it."""

_OPENING = re.compile(rb"(?:#[^\n]*\n)*\[journal\]\r?\nversion = ([1-9]\d{0,8})\r?\n")
_OUR_OPENING = f"{TITLE}[journal]\nversion = {VERSION}\n".encode("ascii")
_CHECK = re.compile(rb"^# check ([1-9]\d{0,8}) ([0-9a-f]{8})\r?\n", re.MULTILINE)


@dataclass(frozen=True)
class Fault:
    """What is wrong with a journal, and where.

    kind: "torn", its end has no check; "edited", a block is not as it was written; "order", a
    check stands where another belongs; "unreadable", a block is no TOML of a journal any more.
    block: its number, the header is 1. line: where the block begins. text: a clause for a person.
    """

    kind: Literal["torn", "edited", "order", "unreadable"]
    block: int
    line: int
    text: str

    @property
    def says(self) -> str:
        """The fault with its place, in a sentence."""
        return f"Line {self.line}: {self.text}."


@dataclass(frozen=True)
class Reading:
    """What a journal says.

    header, events: as written, without what cannot be read any more.
    faults: none in a whole journal. length_good: bytes up to the end of the last check line.
    blocks, check: number and value of the last check.
    """

    header: Table
    events: list[Table]
    faults: list[Fault]
    length_good: int
    blocks: int
    check: int

    @property
    def whole(self) -> bool:
        return not self.faults


@dataclass(frozen=True)
class _Block:
    number: int
    line: int
    data: bytes


@dataclass
class _Chain:
    """The blocks of a journal as their check lines divide it."""

    blocks: list[_Block] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    length: int = 0
    number: int = 0
    check: int = 0


def examine(data: bytes, where: str) -> Reading:
    """The reading of a whole file that starts as `recognise` wants it.

    Raises Refusal, naming `where`, if it breaks off within its header: there is nothing to read.
    """
    chain = _follow(data)
    if not chain.blocks:
        raise _torn_header(where)
    header, events, unreadable = _parse(data[: chain.length], chain.blocks)
    faults = sorted([*chain.faults, *unreadable], key=lambda fault: fault.line)
    return Reading(header, events, faults, chain.length, chain.number, chain.check)


def recognise(start: bytes, where: str) -> None:
    """Raises Refusal if a file that starts like this is no journal, or one of a newer coach."""
    if not start:
        raise Refusal("The file is empty, no journal", where=where)
    opening = _OPENING.match(start)
    if opening is None:
        if _OUR_OPENING.startswith(start):
            raise _torn_header(where)
        raise Refusal("This is not the journal of a sprint", where=where)
    if (version := int(opening[1])) > VERSION:
        raise Refusal(
            f"Written by a newer coach: version {version}, this one reads up to {VERSION}",
            where=where,
            do="Open it with the coach that wrote it",
        )


def _torn_header(where: str) -> Refusal:
    return Refusal(
        "The journal breaks off within its header",
        where=where,
        do="Nothing of the sprint itself is in it; begin a new one",
    )


def _follow(data: bytes) -> _Chain:
    chain = _Chain()
    line = 1
    for match in _CHECK.finditer(data):
        number, check = int(match[1]), int(match[2], 16)
        block = _Block(number, line, data[chain.length : match.start()])
        expected = chain.number + 1
        if number != expected:
            text = f"Check {number} stands where check {expected} belongs"
            chain.faults.append(Fault("order", number, line, text))
        elif check != check_value(block.data, chain.check):
            text = f"Block {number} was changed after it was written"
            chain.faults.append(Fault("edited", number, line, text))
        chain.blocks.append(block)
        # The recorded check is followed, so that one edit shows as one.
        chain.length, chain.number, chain.check = match.end(), number, check
        line += block.data.count(b"\n") + 1
    if chain.length < len(data):
        text = f"The end is torn: block {chain.number} is the last with a check"
        chain.faults.append(Fault("torn", chain.number + 1, line, text))
    return chain


def _parse(data: bytes, blocks: list[_Block]) -> tuple[Table, list[Table], list[Fault]]:
    try:
        return *_tables(data), []
    except (ValueError, RecursionError):
        pass
    # A block that was edited into something else must not take the others with it.
    header: Table = {}
    events: list[Table] = []
    faults: list[Fault] = []
    for block in blocks:
        try:
            found, more = _tables(block.data)
        except (ValueError, RecursionError):
            text = f"Block {block.number} is no longer the TOML of a journal"
            faults.append(Fault("unreadable", block.number, block.line, text))
            continue
        header |= found
        events += more
    return header, events, faults


def _tables(data: bytes) -> tuple[Table, list[Table]]:
    """Header and events. Raises ValueError where the file is no TOML or has another shape."""
    parsed = tomllib.loads(data.decode("utf-8"))
    header, events = parsed.get("journal", {}), parsed.get("event", [])
    if not isinstance(header, dict) or not isinstance(events, list):
        raise ValueError("not the tables of a journal")
    if not all(isinstance(event, dict) for event in events):
        raise ValueError("an event that is no table")
    header.pop("version", None)
    return header, events
