"""A journal read quickly, for what is told of many sprints at once.

Gives what `read_sprint` gives, but for the records of calculations, which are empty: they are
most of a journal, and nobody asks many sprints for them. The shortcuts:

- The checks are followed first. Under right ones every block is as the coach wrote it; no text
  holds a line end, so that what begins with `[event.record]` can be left unread.
- Brief, items and what they begin with are made once for the same bytes: most of a header is the
  same in every journal of a person.
- The board's rows are unfolded at the end, not after each event.

Whatever is not as the coach writes it (a torn end, an edit, a foreign hand) is read the long way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import tomli

from coach.sprint.events.event import VERSION, stamped
from coach.sprint.fold import begin, step, taken_back
from coach.sprint.journal.file import journal_bytes
from coach.sprint.journal.reading import examine
from coach.sprint.journal.text import check_value
from coach.sprint.past.read_sprint import FORGED, SprintRead, sprint_of
from coach.sprint.plan import Plan, plan_of
from coach.sprint.setup import Setup, setup_from
from coach.sprint.state import State
from phases.kit.facts import load_facts
from phases.kit.items import Closing, Phase
from phases.kit.refusals import Refusal
from phases.kit.text import line

_CHECK = b"\n# check "
_EVENT = b"[[event]]\n"
_RECORD = b"\n[event.record]\n"
_RUN = re.compile(rb"^\[journal\.run\]\n((?:[^\[#\n][^\n]*\n)*)", re.MULTILINE)
_PHASES = re.compile(rb"^phases = \[\n(?:  \{[^\n]*\},\n)*\]\n", re.MULTILINE)
_CLOSING = re.compile(
    rb"^\[journal\.closing\]\n(?:\w+ = [^\n]*\n|  \{[^\n]*\},\n|\]\n)*\Z", re.MULTILINE
)
_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
_RUN_KEYS: dict[str, type] = {
    "events": int, "title": str, "started": datetime, "deadline": float, "at_an_instant": bool,
    "speed": float, "rehearsed": bool,
}  # fmt: skip


class _OddError(Exception):
    """Not as the coach writes it: to be read the long way."""


@dataclass(frozen=True, eq=False)
class Beginning:
    """A sprint before anything happened; one for all journals of the same brief and items."""

    state: State

    @cached_property
    def plan(self) -> Plan:
        """The time boxes it began with."""
        return plan_of(self.state)


@dataclass(frozen=True)
class QuickRead(SprintRead):
    """A sprint read from its journal; records of its calculations may be empty."""

    beginning: Beginning


def quick_read(path: Path) -> QuickRead:
    """The sprint of the journal at `path`. Raises Refusal where there is nothing to tell."""
    return quick_read_of(journal_bytes(path), path)


def quick_read_of(data: bytes, path: Path) -> QuickRead:
    """The sprint of a journal's bytes that begin like one. Raises Refusal as `quick_read` does."""
    try:
        return _short_way(data, path)
    except (_OddError, Refusal, RecursionError, *FORGED):
        read = sprint_of(examine(data, line(str(path))), path)
        return QuickRead(
            read.path, read.setup, read.history, read.state, read.faults,
            Beginning(begin(read.setup)),
        )  # fmt: skip


def _short_way(data: bytes, path: Path) -> QuickRead:
    # Several lines in one text, or line ends of another system: no coach writes them.
    if b'"""' in data or b"'''" in data or b"\r" in data:
        raise _OddError
    head, *blocks = _sealed_blocks(data)
    setup, beginning = _header(head)
    history = tuple(stamped(event) for event in _events(blocks))
    undone = taken_back(history)
    state = begin(setup)
    for one in history:
        state = step(state, one, void=one.is_void(undone))
    _ = state.rows  # what cannot be unfolded is found here
    return QuickRead(path, setup, history, state, (), beginning)


def _sealed_blocks(data: bytes) -> list[bytes]:
    """The blocks of a journal that is whole, each as its check says."""
    blocks: list[bytes] = []
    at = check = 0
    while at < len(data):
        end = data.find(_CHECK, at) + 1
        after = data.find(b"\n", end) + 1
        block = data[at:end]
        check = check_value(block, check)
        if not end or data[end:after] != b"# check %d %08x\n" % (len(blocks) + 1, check):
            raise _OddError
        blocks.append(block)
        at = after
    if not blocks:
        raise _OddError
    return blocks


def _events(blocks: list[bytes]) -> list[dict[str, Any]]:
    """The tables of the events, records left empty."""
    records = []
    kept = []
    for block in blocks:
        cut = block.find(_RECORD) + 1
        records.append(cut > 0)
        kept.append(block[:cut] if cut else block)
        if not block.startswith(_EVENT):
            raise _OddError
    parsed = tomli.loads(b"".join(kept).decode())
    events: list[dict[str, Any]] = parsed.get("event", [])
    if len(events) != len(blocks) or parsed.keys() - {"event"}:
        raise _OddError
    for event, recorded in zip(events, records, strict=True):
        if recorded:
            event["record"] = {}
    return events


# ---- the header ------------------------------------------------------------------------------


def _header(head: bytes) -> tuple[Setup, Beginning]:
    run = _RUN.search(head)
    if run is None:
        raise _OddError
    beginning = _beginning(head[: run.start(1)] + head[run.end() :])
    plain = tomli.loads(run[1].decode())
    if {key: type(value) for key, value in plain.items()} != _RUN_KEYS:
        raise _OddError
    if plain["events"] != VERSION or plain["started"].tzinfo is None:
        raise _OddError
    del plain["events"], plain["title"]
    return replace(beginning.state.setup, **plain), beginning


@lru_cache(maxsize=64)
def _beginning(head: bytes) -> Beginning:
    """What a header begins, its `[journal.run]` left empty."""
    phases, closing = _PHASES.search(head), _CLOSING.search(head)
    if phases is None or closing is None or phases.end() > closing.start():
        raise _OddError
    rest = b"%sphases = []\n%s" % (head[: phases.start()], head[phases.end() : closing.start()])
    parsed = tomli.loads(rest.decode())
    plain = parsed["journal"]
    if parsed.keys() != {"journal"} or plain["phases"] or plain["run"] or "closing" in plain:
        raise _OddError
    plain |= {"phases": _phases(phases[0]), "closing": _closing(closing[0])}
    plain["run"] = {
        "events": VERSION, "started": _LONG_AGO, "deadline": 0.0,
        "at_an_instant": False, "speed": 1.0, "rehearsed": False,
    }  # fmt: skip
    state = begin(setup_from(plain, where="journal"))
    _ = state.rows
    return Beginning(state)


@lru_cache(maxsize=16)
def _phases(text: bytes) -> tuple[Phase, ...]:
    plain = tomli.loads(text.decode())["phases"]
    found = tuple(Phase.model_validate(one) for one in plain)
    known = load_facts()
    if any(f not in known for p in found for i in p.items for table in i.when for f in table):
        raise _OddError
    return found


@lru_cache(maxsize=16)
def _closing(text: bytes) -> Closing:
    return Closing.model_validate(tomli.loads(text.decode())["journal"]["closing"])
