"""Reading a journal: the checks first, then the TOML, and every fault by its place.

Knows bytes and nothing of files that are open, locked or repaired.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Literal, NamedTuple

import tomli

from coach.sprint.journal.writing import FIRST_CHECK, TITLE, VERSION, check_digits
from phases.kit.refusals import Refusal

Table = dict[str, Any]
"""A table as the parser reads it."""

_OPENING = re.compile(rb"(?:#[^\n]*\n)*\[journal\]\r?\nversion = ([1-9]\d{0,8})\r?\n")
_OUR_OPENING = f"{TITLE}[journal]\nversion = {VERSION}\n".encode("ascii")
# Found many times faster than a line that begins so.
_CHECK = re.compile(rb"\n# check ([1-9]\d{0,8}) ([0-9a-f]{8})\r?(?=\n)")
_CHECK_BEGINS = b"\n# check "
_EVENT = b"[[event]]"
_STAMP_LINES = 6


Kind = Literal["torn", "edited", "order", "unreadable"]


@dataclass(frozen=True)
class Fault:
    """What is wrong with a journal, and where."""

    kind: Kind
    """Its end has no check; a block is not as it was written; a check is where another belongs; a
    block is not the TOML of a journal any more."""
    block: int
    """Its number; those of the header come first, from 1."""
    line: int
    """Where the block begins."""
    text: str
    """A clause for a person."""

    @property
    def message(self) -> str:
        """The fault with its place, in a sentence."""
        return f"Line {self.line}: {self.text}."


class Block(NamedTuple):
    """What lies between two checks."""

    number: int
    start: int
    """Its first byte in the file."""
    data: bytes
    check: bytes
    """The eight digits written after it."""

    @property
    def is_event(self) -> bool:
        return self.data.startswith(_EVENT)

    def stamp(self) -> Table:
        """What an event has on its first lines, whatever else it holds: its place and its kind."""
        lines = self.data.split(b"\n", _STAMP_LINES)[:_STAMP_LINES]
        return tables(b"\n".join(lines))[1][0]


@dataclass
class Chain:
    """A journal as its checks divide it."""

    blocks: list[Block] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    length: int = 0
    """Bytes up to the end of the last check."""

    @property
    def last(self) -> tuple[int, bytes]:
        """Number and digits of the last check."""
        return (self.blocks[-1].number, self.blocks[-1].check) if self.blocks else (0, FIRST_CHECK)

    def part(self, name: str) -> bytes:
        """The block of one table of the header; empty where there is none."""
        title = f"[journal.{name}]".encode()
        return next((one.data for one in self.blocks if one.data.startswith(title)), b"")


@dataclass(frozen=True)
class Reading:
    """What a journal says: its header and its events as they were written, without what cannot be
    read any more."""

    header: Table
    events: list[Table]
    faults: Sequence[Fault]
    """None in an intact journal."""
    chain: Chain

    @property
    def whole(self) -> bool:
        return not self.faults


def examine(data: bytes, where: str) -> Reading:
    """The reading of a whole file that starts as `recognise` wants it, block by block, so that one
    that was edited into something else does not take the others with it.

    Raises Refusal, naming `where`, if it breaks off within its header: there is nothing to read.
    """
    chain = follow(data)
    header: Table = {}
    events: list[Table] = []
    faults = chain.faults.copy()
    for block in chain.blocks:
        try:
            found, more = tables(block.data)
        except (ValueError, RecursionError):
            text = f"Block {block.number} is no longer the TOML of a journal"
            faults.append(_fault("unreadable", block.number, data, block.start, text))
            continue
        header |= found
        events += more
    header_blocks = header.pop("header_blocks", 1)
    if not events and isinstance(header_blocks, int) and len(chain.blocks) < header_blocks:
        raise _torn_header(where)
    return Reading(header, events, sorted(faults, key=lambda fault: fault.line), chain)


def recognise(start: bytes, where: str) -> None:
    """Raises Refusal if a file that starts like this is not a journal of this coach."""
    if not start:
        raise Refusal("The file is empty, no journal", where=where)
    opening = _OPENING.match(start)
    if opening is None:
        if _OUR_OPENING.startswith(start):
            raise _torn_header(where)
        raise Refusal("This is not the journal of a sprint", where=where)
    version = int(opening[1])
    if version != VERSION:
        age = "a newer" if version > VERSION else "an older"
        raise Refusal(
            f"Written by {age} coach: version {version}, this one reads version {VERSION}",
            where=where,
            do="Open it with the coach that wrote it",
        )


def _torn_header(where: str) -> Refusal:
    return Refusal(
        "The journal breaks off within its header",
        where=where,
        do="Nothing of the sprint itself is in it; begin a new one",
    )


def follow(data: bytes, most: int | None = None) -> Chain:
    """The blocks of a journal, and what its checks say of them; not yet read as TOML. most: no
    more than so many of the first."""
    chain = Chain()
    number, before = 0, FIRST_CHECK
    for match in islice(_CHECK.finditer(data), most):
        start, check = chain.length, match[2]
        block = Block(int(match[1]), start, data[start : match.start() + 1], check)
        if block.number != number + 1:
            text = f"Check {block.number} is where check {number + 1} belongs"
            chain.faults.append(_fault("order", block.number, data, start, text))
        # The recorded check is followed, so that one edit shows as one.
        elif check != check_digits(block.data, before):
            text = f"Block {block.number} was changed after it was written"
            chain.faults.append(_fault("edited", block.number, data, start, text))
        chain.blocks.append(block)
        chain.length = match.end() + 1
        number, before = block.number, check
    if chain.length < len(data) and len(chain.blocks) != most:
        text = f"The end is torn: block {number} is the last with a check"
        chain.faults.append(_fault("torn", number + 1, data, chain.length, text))
    return chain


def from_end(data: bytes) -> Iterator[Block]:
    """The blocks of a journal, the last one first. Raises ValueError where the check of one does
    not hold, before that block is handed out."""
    here, end = _check_before(data, len(data)), len(data)
    while here is not None and here.end() + 1 == end:
        before = _check_before(data, here.start())
        number, check = (int(before[1]), before[2]) if before else (0, FIRST_CHECK)
        start = before.end() + 1 if before else 0
        block = Block(int(here[1]), start, data[start : here.start() + 1], here[2])
        if block.number != number + 1 or block.check != check_digits(block.data, check):
            break
        yield block
        here, end = before, start
    if end:
        raise ValueError("torn, or changed after it was written")


def _check_before(data: bytes, end: int) -> re.Match[bytes] | None:
    """The last check that begins before `end`."""
    start = data.rfind(_CHECK_BEGINS, 0, end)
    return _CHECK.match(data, start) if start >= 0 else None


def _fault(kind: Kind, block: int, data: bytes, start: int, text: str) -> Fault:
    return Fault(kind, block, data.count(b"\n", 0, start) + 1, text)


def tables(data: bytes) -> tuple[Table, list[Table]]:
    """Header and events. Raises ValueError where the bytes are no TOML or have another shape."""
    parsed = tomli.loads(data.decode("utf-8"))
    header, events = parsed.get("journal", {}), parsed.get("event", [])
    if not isinstance(header, dict) or not isinstance(events, list):
        raise ValueError("not the tables of a journal")
    if not all(isinstance(event, dict) for event in events):
        raise ValueError("an event that is not a table")
    header.pop("version", None)
    return header, events
