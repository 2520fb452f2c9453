"""The text of a journal: tables of plain values written as TOML, in blocks that seal each other.

    # A sprint, as it happened. Written by the coach; each block ends with its own check.
    [journal]
    version = 2
    header_blocks = 2
    # check 1 9f3a11c2
    [journal.brief]
    ...one table of the header
    # check 2 1b22c3d4
    [[event]]
    ...one event
    # check 3 04d5e6f7

Each table of the header has a block of its own, so that one can be read without the others.

The value of a check is the CRC-32 (the one of gzip, RFC 1952) of the eight hexadecimal digits
of the check before it, 00000000 for the first, followed by the bytes of the block. It finds
what broke and what was edited; it is no signature against somebody who forges.

Values are written by tomli_w, the layout is ours: tomli_w writes a short list of tables as one
inline array, and two of those appended to a file are no TOML any more. A nested table gets a
line of its own, `[event.record]`. A list stays one value, lists of tables
included: `[[...]]` belongs to events alone. Line ends within a text are escaped, so that no text
can look like a check or a block.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta

import tomli_w

from phases.kit.refusals import Refusal

VERSION = 2
"""Of the journal and its events; a journal of another version is refused."""

TITLE = "# A sprint, as it happened. Written by the coach; each block ends with its own check.\n"

FIRST_CHECK = b"00000000"
"""What stands for the check before the first block."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
# C1 controls need no escape in TOML; they get one so that a journal can be printed safely.
_C1 = re.compile(r"[\x7f-\x9f]")
# Nearly every text is one of these, which TOML writes between quotes as they are.
_PLAIN = re.compile(r'[^"\\\x00-\x1f\x7f-\x9f]*')
_INTEGER_LIMIT = 2**63  # what every reader of TOML must keep exactly
_DEEPEST = 30  # readers recurse; a table nested deeper is a mistake


def header_blocks(header: Mapping[str, object]) -> list[bytes]:
    """The first blocks, unsealed: the title and `[journal]` with what is no table in `header`,
    then each of its tables.

    Raises Refusal for a value TOML cannot hold, naming its place; ValueError for a header with a
    `version` of its own.
    """
    if "version" in header:
        raise ValueError("the version is the journal's own")
    tables = {key: value for key, value in header.items() if isinstance(value, Mapping)}
    own = {"version": VERSION, "header_blocks": 1 + len(tables)}
    plain = {key: value for key, value in header.items() if key not in tables}
    opening = _table("[journal]", "journal", {**own, **plain})
    blocks = [TITLE + "".join(opening)]
    for key, table in tables.items():
        name = f"journal.{_key(key, 'journal')}"
        blocks.append("".join(_table(f"[{name}]", name, table)))
    return [_encoded(block) for block in blocks]


def event_block(event: Mapping[str, object]) -> bytes:
    """The block of one event, unsealed. Raises Refusal as `header_blocks` does."""
    return _encoded("".join(_table("[[event]]", "event", event)))


def seal(block: bytes, number: int, previous: bytes) -> tuple[bytes, bytes]:
    """`block` with its check line, and the digits of that check."""
    digits = check_digits(block, previous)
    return block + b"# check %d %s\n" % (number, digits), digits


def check_digits(block: bytes, previous: bytes) -> bytes:
    """The check of a block that follows the check `previous`."""
    return b"%08x" % zlib.crc32(block, zlib.crc32(previous))


def _encoded(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        raise Refusal("A text that is not Unicode cannot be kept in a journal") from None


def _table(title: str, name: str, table: Mapping[str, object], depth: int = 1) -> Iterator[str]:
    _not_too_deep(depth, name)
    yield title + "\n"
    nested: list[tuple[str, Mapping[str, object]]] = []
    for key, value in table.items():
        if value is None:
            continue
        inner = f"{name}.{_key(key, name)}"
        if isinstance(value, Mapping):
            nested.append((inner, value))
        else:
            yield f"{_key(key, name)} = {_value(value, inner)}\n"
    # In TOML what follows a table's title is in that table: one's own keys come first.
    for inner, value in nested:
        yield from _table(f"[{inner}]", inner, value, depth + 1)


def _value(value: object, name: str) -> str:
    if isinstance(value, list | tuple) and any(isinstance(one, Mapping) for one in value):
        rows = (f"  {_inline(one, f'{name}[{at}]')},\n" for at, one in enumerate(value))
        return "[\n" + "".join(rows) + "]"
    return _inline(value, name)


def _inline(value: object, name: str, depth: int = 1) -> str:
    """A value on one line."""
    _not_too_deep(depth, name)
    if isinstance(value, list | tuple):
        parts = (_inline(one, f"{name}[{at}]", depth + 1) for at, one in enumerate(value))
        return "[" + ", ".join(parts) + "]"
    if isinstance(value, Mapping):
        pairs = (
            f"{_key(key, name)} = {_inline(one, f'{name}.{key}', depth + 1)}"
            for key, one in value.items()
            if one is not None
        )
        return "{" + ", ".join(pairs) + "}"
    return _scalar(value, name)


def _scalar(value: object, name: str) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            return _written(value)
        case str() if _PLAIN.fullmatch(value):
            return f'"{str.__str__(value)}"'
        case str():
            return _C1.sub(lambda c: f"\\u{ord(c[0]):04x}", _written(str.__str__(value)))
        case int() if -_INTEGER_LIMIT <= value < _INTEGER_LIMIT:
            return _written(int(value))
        case date() | time():  # a datetime is a date
            return _moment(value, name)
    what = "A number beyond 64 bits" if isinstance(value, int) else f"A {type(value).__name__}"
    raise Refusal(f"{what} cannot be kept in a journal", where=name)


def _written(value: object) -> str:
    """One value as tomli_w writes it."""
    return tomli_w.dumps({"x": value}).removeprefix("x = ").removesuffix("\n")


def _moment(value: date | time, name: str) -> str:
    if isinstance(value, time) and value.tzinfo is not None:
        raise Refusal("A time of day with an offset cannot be kept in a journal", where=name)
    return _written(_whole_minutes(value) if isinstance(value, datetime) else value)


def _whole_minutes(instant: datetime) -> datetime:
    # TOML knows offsets of whole minutes only.
    offset = instant.utcoffset()
    odd = offset is not None and offset % timedelta(minutes=1)
    return instant.astimezone(UTC) if odd else instant


def _key(key: object, name: str) -> str:
    if not isinstance(key, str):
        kind = type(key).__name__
        raise Refusal(f"A key that is a {kind} cannot be kept in a journal", where=name)
    return str.__str__(key) if _BARE_KEY.fullmatch(key) else _scalar(key, name)


def _not_too_deep(depth: int, name: str) -> None:
    if depth > _DEEPEST:
        raise Refusal("A table nested this deep cannot be kept in a journal", where=name[:60])
