"""A journal read quickly says what the patient reader says, but for records of calculations."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.sprint.journal.file import Journal
from coach.sprint.journal.reading import examine
from coach.sprint.past.quick_reading import _short_way, quick_read, quick_read_of
from coach.sprint.past.read_sprint import SprintRead, sprint_of
from phases.kit.refusals import Refusal
from tests.debrief.trends.copies import blocks_of, forged, sealed
from tests.imports.sources import ROOT
from tests.sprint.at_random import any_command
from tests.sprint.conftest import Begin, Bench

SAMPLES = [path.read_bytes() for path in sorted((ROOT / "sessions").glob("sample-*.toml"))]
WHERE = Path("a.toml")


def without_records(read: SprintRead) -> dict[str, Any]:
    """All that a reader gives, but for what calculations answered."""
    kept = {
        key: (saved.t, saved.stale, saved.said) for key, saved in read.state.calculations.items()
    }
    history = [
        (one.n, one.at, one.t, one.by, one.event.model_dump(exclude={"record"}))
        for one in read.history
    ]
    return {
        "path": read.path,
        "setup": read.setup,
        "state": replace(read.state, calculations={}),
        "calculations": kept,
        "history": history,
        "faults": read.faults,
    }


def patiently(data: bytes) -> dict[str, Any] | str:
    try:
        return without_records(sprint_of(examine(data, str(WHERE)), WHERE))
    except Refusal as refusal:
        return str(refusal)


def quickly(data: bytes) -> dict[str, Any] | str:
    try:
        return without_records(quick_read_of(data, WHERE))
    except Refusal as refusal:
        return str(refusal)


@pytest.mark.parametrize("data", SAMPLES)
def test_a_whole_journal_goes_the_short_way_and_says_the_same(data: bytes) -> None:
    assert without_records(_short_way(data, WHERE)) == patiently(data)
    assert _short_way(data, WHERE).faults == ()


def test_its_calculations_are_known_by_name_and_their_records_are_empty() -> None:
    read = quick_read_of(SAMPLES[0], WHERE)
    assert read.state.calculations
    assert all(not saved.record for saved in read.state.calculations.values())


@pytest.mark.parametrize("data", SAMPLES)
def test_what_it_begins_with_is_what_it_began_with(data: bytes) -> None:
    first, second = quick_read_of(data, WHERE), quick_read_of(data, WHERE)
    assert first.beginning is second.beginning  # made once for the same brief and items
    assert first.beginning.state.items == {}
    assert first.beginning.state.rows
    assert first.setup.items == first.beginning.state.setup.items


def damaged(chance: Random) -> bytes:
    """A journal with one thing wrong with it, as a disk or a hand makes it."""
    data = bytearray(chance.choice(SAMPLES))
    at = chance.randrange(len(data))
    kind = chance.randrange(6)
    if kind == 0:  # torn
        return bytes(data[:at])
    if kind == 1:  # one byte of it
        data[at] = chance.choice(b'\n"]#=aZ0\xff\x00')
        return bytes(data)
    if kind == 2:  # a stretch of it
        del data[at : at + chance.randrange(1, 4000)]
        return bytes(data)
    if kind == 3:  # a block lost
        blocks = bytes(data).split(b"[[event]]\n")
        del blocks[chance.randrange(1, len(blocks))]
        return b"[[event]]\n".join(blocks)
    if kind == 4:  # line ends of another system
        return bytes(data).replace(b"\n", b"\r\n")
    return bytes(data).replace(b"t = ", b"t =  ", chance.randrange(1, 5))


@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_journal_is_told_as_patiently(seed: int) -> None:
    data = damaged(Random(f"damaged:{seed}"))
    assert quickly(data) == patiently(data)


def odd(chance: Random, data: bytes) -> bytes:
    """Blocks that contradict each other, under checks that are right."""
    blocks = blocks_of(data)
    for _ in range(chance.randrange(1, 6)):
        at, other = chance.randrange(1, len(blocks)), chance.randrange(1, len(blocks))
        kind = chance.randrange(4)
        if kind == 0:
            del blocks[at]
        elif kind == 1:
            blocks[at], blocks[other] = blocks[other], blocks[at]
        elif kind == 2:
            blocks.insert(at, blocks[other])
        else:
            blocks[at] = blocks[at].replace(b"by = ", b"by = 1", 1)
    return sealed(blocks)


@pytest.mark.parametrize("seed", range(25))
def test_a_journal_put_together_by_hand_is_told_as_patiently(seed: int) -> None:
    chance = Random(f"odd:{seed}")
    data = odd(chance, chance.choice(SAMPLES))
    assert quickly(data) == patiently(data)


FORGERIES = {
    "lines in a text": (b'title = "', b'title = """\n[journal.run]\nx = 1\n"""\nt2 = "'),
    "a run without its start": (b"started = ", b"begun = "),
    "a start without a zone": (b"+00:00\ndeadline", b"\ndeadline"),
    "a cut-off in words": (b"deadline = 7200.0", b'deadline = "soon"'),
    "a cut-off that is none": (b"deadline = 7200.0", b"deadline = inf"),
    "a whole number for it": (b"deadline = 7200.0", b"deadline = 7200"),
    "a newer coach": (b"events = 1\n", b"events = 2\n"),
    "an unknown phase": (b'{id = "power-entry"', b'{id = "another"'),
    "an unknown fact": (b"when = [{", b"when = [{nobodys_fact = true, "),
    "an item of no kind": (b'severity = "dead board"', b'severity = "a pity"'),
    "an unknown event": (b'what = "phase-entered"', b'what = "phase-sung"'),
    "an event of nothing": (b'what = "started"', b'what = "ended"'),
    "a text for a number": (b"mark = 25", b'mark = "early"'),
    "a number beyond all": (b"mark = 25", b"mark = 25\nexpectedly = 1e999"),
    "time running back": (b"\nt = 0.0\n", b"\nt = -7e9\n"),
    "a moment that is none": (b"\nt = 0.0\n", b"\nt = inf\n"),
    "a record that is none": (b"[event.record]", b"record = 3\n[event.other]"),
    "no closing list": (b"[journal.closing]", b"[journal.opening]"),
    "a comment": (b"[journal.run]", b"# by hand\n[journal.run]"),
}


@pytest.mark.parametrize("what", FORGERIES)
def test_a_forged_journal_is_told_as_patiently(what: str) -> None:
    old, new = FORGERIES[what]
    assert old in SAMPLES[-1]
    data = forged(SAMPLES[-1], lambda data: data.replace(old, new, 1))
    assert quickly(data) == patiently(data)


@settings(max_examples=12)
@given(st.randoms(use_true_random=False))
def test_commands_at_random_are_told_as_patiently(chance: Random) -> None:
    data = sprint_at_random(chance)
    assert without_records(_short_way(data, WHERE)) == patiently(data)


def sprint_at_random(chance: Random) -> bytes:
    from tempfile import TemporaryDirectory

    from coach.sprint.clock import ManualClock
    from coach.sprint.session import Session
    from tests.sprint.conftest import NINE, bench_setup
    from tests.sprint.lamp import CLOSING, PHASES, lamp_brief

    with TemporaryDirectory() as folder:
        path = Path(folder) / "a.toml"
        clock = ManualClock(NINE)
        setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
        with Session.start(path, setup, clock) as session:
            for _ in range(40):
                clock.advance(chance.uniform(1, 300))
                try:
                    session.do(any_command(chance, session.state))
                except Refusal:
                    continue
        return path.read_bytes()


def test_a_sprint_taken_up_again_is_told_the_same(bench: Bench) -> None:
    bench.at(20)
    bench.reopen(after=600)
    assert without_records(_short_way(bench.path.read_bytes(), WHERE)) == patiently(
        bench.path.read_bytes()
    )


def test_what_is_no_journal_is_refused_in_the_same_words(tmp_path: Path, begin: Begin) -> None:
    path = tmp_path / "a.toml"
    for data in (b"", b"title = 'no'\n", SAMPLES[0][:300], b"\x00" * 5000):
        path.write_bytes(data)
        with pytest.raises(Refusal) as quick:
            quick_read(path)
        with pytest.raises(Refusal) as patient:
            Journal.look(path)
        assert str(quick.value) == str(patient.value)


def test_a_changed_state_is_what_replace_makes_with_nothing_derived_left_over(bench: Bench) -> None:
    state = bench.state
    assert state.rows
    changed = state.changed(t=99.0, aside=frozenset({"entrance-clamp"}))
    assert changed == replace(state, t=99.0, aside=frozenset({"entrance-clamp"}))
    assert [row.key for row in changed.rows if row.aside] == ["entrance-clamp"]
    assert not any(row.aside for row in state.rows)
