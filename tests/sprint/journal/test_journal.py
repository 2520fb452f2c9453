"""The journal in good days: what is written reads back, by the coach and by plain TOML."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from datetime import UTC, date, datetime, timedelta, timezone
from datetime import time as time_of_day
from enum import IntEnum, StrEnum
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.sprint.journal import reading as journal_reading
from coach.sprint.journal.file import Journal
from coach.sprint.journal.writing import FIRST_CHECK, check_digits, event_block, header_blocks, seal
from phases.kit.refusals import Refusal
from tests.depth import deep

HEADER: dict[str, Any] = {
    "title": "bench lamp",
    "began": datetime(2031, 5, 4, 14, 0, tzinfo=timezone(timedelta(hours=2))),
    "brief": {"rails": [{"id": "3v3", "voltage": "3.3 V ± 5 %"}], "layers": 2},
}


def event(n: int) -> dict[str, Any]:
    return {
        "n": n,
        "what": "saved",
        "record": {"inputs": {"V_in": {"typed": "5 V", "read": [4.75, 5.0, 5.25]}}, "rows": []},
        "changes": [{"item": "reset", "state": "open"}, {"item": "boot", "state": "met"}],
    }


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "sprint.toml"


def read_plainly(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


# --- what is written --------------------------------------------------------------------------


def test_a_new_journal_holds_its_header_and_no_event(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        assert journal.header == HEADER
        assert journal.events == []
        assert journal.count == 0
    assert read_plainly(path) == {"journal": {"version": 2, "header_blocks": 2, **HEADER}}


def test_each_table_of_the_header_can_be_read_without_the_others(path: Path) -> None:
    Journal.create(path, HEADER).close()
    chain = journal_reading.follow(path.read_bytes())
    assert [block.is_event for block in chain.blocks] == [False, False]
    assert journal_reading.tables(chain.part("brief"))[0] == {"brief": HEADER["brief"]}
    assert chain.part("letter") == b""


def test_the_first_lines_of_an_event_are_its_stamp(path: Path) -> None:
    stamp = {"n": 1, "at": datetime(2031, 5, 4, 14, tzinfo=UTC), "t": 0.0, "by": 0, "what": "saved"}
    with Journal.create(path, HEADER) as journal:
        journal.append({**stamp, "rows": [{"a": 1}], "record": {"b": 2}})
    block = journal_reading.follow(path.read_bytes()).blocks[-1]
    assert block.is_event
    assert block.stamp() == stamp


def test_from_its_end_a_journal_has_the_same_blocks_as_far_as_their_checks_hold(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append([{"n": n, "what": "saved"} for n in range(1, 5)])
    data = path.read_bytes()
    blocks = journal_reading.follow(data).blocks
    assert [*journal_reading.from_end(data)] == blocks[::-1]
    assert journal_reading.follow(data, 3).blocks == blocks[:3]
    assert not journal_reading.follow(data, 3).faults
    edited = journal_reading.from_end(data.replace(b"n = 3", b"n = 8"))
    assert next(edited) == blocks[-1]
    with pytest.raises(ValueError, match="changed"):
        next(edited)
    for torn in (data[:-1], data + b"[[event]]\n", data.replace(b"# check 6 ", b"# check 7 ")):
        with pytest.raises(ValueError, match="torn"):
            next(journal_reading.from_end(torn))


def test_it_is_plain_toml_after_every_append(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        for n in range(1, 6):
            journal.append(event(n))
            assert read_plainly(path)["event"] == [event(k) for k in range(1, n + 1)]


def test_it_opens_with_everything_in_it_and_goes_on(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append(event(1))
    with Journal.open(path) as journal:
        assert (journal.header, journal.events, journal.count) == (HEADER, [event(1)], 1)
        assert (journal.cut, journal.edited) == (None, [])
        journal.append([event(2), event(3)])
        assert journal.count == 3
    with Journal.open(path) as journal:
        assert journal.events == [event(1), event(2), event(3)]


def test_the_events_of_one_command_are_one_write(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes: list[int] = []
    real = os.write

    def counted(descriptor: int, data: bytes) -> int:
        writes.append(len(data))
        return real(descriptor, data)

    with Journal.create(path, HEADER) as journal:
        monkeypatch.setattr(os, "write", counted)
        journal.append([event(1), event(2), event(3)])
    assert len(writes) == 1


def test_no_events_are_no_write(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        before = path.read_bytes()
        journal.append([])
        assert path.read_bytes() == before


def test_missing_folders_are_made(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "sprint.toml"
    Journal.create(path, HEADER).close()
    assert Journal.look(path).whole


def test_the_text_reads_like_a_journal() -> None:
    sealed, _ = seal(event_block(event(7)), 8, b"9f3a11c2")
    *block, check, end = sealed.decode().split("\n")
    assert block == [
        "[[event]]",
        "n = 7",
        'what = "saved"',
        "changes = [",
        '  {item = "reset", state = "open"},',
        '  {item = "boot", state = "met"},',
        "]",
        "[event.record]",
        "rows = []",
        "[event.record.inputs]",
        "[event.record.inputs.V_in]",
        'typed = "5 V"',
        "read = [4.75, 5.0, 5.25]",
    ]
    assert check.startswith("# check 8 ")
    assert end == ""


# --- the checks -------------------------------------------------------------------------------


def crc_of_gzip(data: bytes) -> int:
    """The CRC-32 of gzip, bit by bit. RFC 1952, section 8 (sample code, 0xedb88320)."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ (0xEDB88320 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def test_every_block_ends_with_the_published_check_chained_to_the_one_before(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append([event(1), event(2)])
        journal.append(event(3))
    previous, block, numbers = "00000000", b"", []
    for line in path.read_bytes().splitlines(keepends=True):
        if line.startswith(b"# check "):
            _, _, number, value = line.decode().split()
            assert value == f"{crc_of_gzip(previous.encode() + block):08x}"
            numbers.append(int(number))
            previous, block = value, b""
        else:
            block += line
    assert numbers == [1, 2, 3, 4, 5]
    assert block == b""


def test_the_check_value_is_that_of_the_catalogue() -> None:
    # CRC-32/ISO-HDLC has the check value 0xcbf43926 over "123456789": G. Cook, Catalogue of
    # parametrised CRC algorithms. Our first block is preceded by eight zeros.
    assert crc_of_gzip(b"123456789") == 0xCBF43926
    assert check_digits(b"123456789", FIRST_CHECK) == b"%08x" % crc_of_gzip(b"00000000123456789")


# --- any value --------------------------------------------------------------------------------

offsets = st.timedeltas(timedelta(hours=-23), timedelta(hours=23)).map(timezone)
instants = st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1), timezones=offsets)
scalars = (
    st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
    | st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False)
    | st.datetimes()
    | instants
    | st.dates()
    | st.times()
)
keys = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=20,
)
tables = st.dictionaries(keys, values, max_size=6)


@settings(max_examples=deep(40))
@given(header=tables.filter(lambda table: "version" not in table), events=st.lists(tables))
def test_any_nesting_of_any_values_reads_back_as_it_was(
    header: dict[str, Any], events: list[dict[str, Any]]
) -> None:
    blocks = header_blocks(header)
    text = b"".join([*blocks, *map(event_block, events)]).decode("utf-8")
    parsed = tomllib.loads(text)
    own = {"version": 2, "header_blocks": len(blocks)}
    assert parsed.pop("journal") == {**own, **header}
    assert parsed.pop("event", []) == events
    assert parsed == {}


@settings(max_examples=deep(40))
@given(events=st.lists(tables, max_size=4))
def test_any_events_pass_through_a_file(
    events: list[dict[str, Any]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("journal") / "sprint.toml"
    with Journal.create(path, {}) as journal:
        for one in events:
            journal.append(one)
    reading = Journal.look(path)
    assert reading.whole
    assert reading.events == events


def kept(value: object) -> Any:
    return tomllib.loads(event_block({"x": value}).decode("utf-8"))["event"][0]["x"]


def test_what_is_not_known_is_left_out() -> None:
    block = event_block({"a": None, "b": {"c": None, "d": 1}, "e": [{"f": None, "g": 2}]})
    assert tomllib.loads(block.decode())["event"] == [{"b": {"d": 1}, "e": [{"g": 2}]}]


def test_numbers_that_are_none_or_endless_are_kept() -> None:
    assert kept(float("inf")) == float("inf")
    assert kept(float("nan")) != kept(float("nan"))


def test_named_values_are_kept_as_what_they_stand_for() -> None:
    class Severity(StrEnum):
        HAZARD = "hazard"

    class Rank(IntEnum):
        FIRST = 1

    assert kept(Severity.HAZARD) == "hazard"
    assert kept(Rank.FIRST) == 1
    assert kept((1, 2)) == [1, 2]


def test_a_moment_is_kept_with_its_offset() -> None:
    moment = datetime(2031, 5, 4, 15, 36, 7, 250_000, tzinfo=ZoneInfo("Europe/Berlin"))
    assert kept(moment).isoformat() == "2031-05-04T15:36:07.250000+02:00"
    # 02:30 of the night the clocks are set back, the second time they show it.
    moment = datetime(2031, 10, 26, 2, 30, tzinfo=ZoneInfo("Europe/Berlin"), fold=1)
    assert kept(moment).isoformat() == "2031-10-26T02:30:00+01:00"
    # TOML 1.0.0, Offset Date-Time, after RFC 3339: an offset has hours and minutes only.
    moment = datetime(2031, 5, 4, 12, 0, tzinfo=timezone(timedelta(seconds=30)))
    assert kept(moment).isoformat() == "2031-05-04T11:59:30+00:00"
    assert kept(date(2031, 5, 4)) == date(2031, 5, 4)
    assert kept(time_of_day(15, 36)) == time_of_day(15, 36)


def test_control_characters_are_escaped_so_that_a_journal_can_be_printed() -> None:
    # TOML 1.0.0, String: control characters other than tab must be escaped; U+0080 to U+009F
    # need not be, but a terminal acts on them.
    text = "".join(map(chr, range(0xA0)))
    block = event_block({"note": text}).decode("utf-8")
    assert kept(text) == text
    assert not [c for c in block if c not in "\t\n" and (ord(c) < 0x20 or 0x7F <= ord(c) < 0xA0)]


@pytest.mark.parametrize(
    "note",
    [
        "\n[[event]]\n# check 3 00000000\n",
        "\r\n# check 2 00000000\r\n",
        '"""\n# check 2 00000000\n"""',
        "'''\n[[event]]\nn = 9\n'''",
        'x"\n# check 2 00000000\ny = "',
        "\\\n# check 2 00000000",
        "\u2028# check 2 00000000\u2028",
        "\x85# check 2 00000000\x85",
    ],
)
def test_no_text_can_look_like_a_block_or_a_check(path: Path, note: str) -> None:
    forged = {"n": 1, "note": note, note: note, "rows": [{note: note}, [note]], "t": {note: note}}
    with Journal.create(path, {"title": note}) as journal:
        journal.append([forged, event(2)])
    reading = Journal.look(path)
    assert reading.whole
    assert len(reading.chain.blocks) == 3
    assert reading.header == {"title": note}
    assert reading.events == [forged, event(2)]


@pytest.mark.parametrize(
    ("value", "what", "where"),
    [
        ({"a": [1, None]}, "A NoneType", "event.x.a[1]"),
        (object(), "A object", "event.x"),
        ({"a": 2**63}, "A number beyond 64 bits", "event.x.a"),
        ({"a": {1: 2}}, "A key that is a int", "event.x.a"),
        ([{"a": {1}}], "A set", "event.x[0].a"),
        (time_of_day(12, tzinfo=UTC), "A time of day with an offset", "event.x"),
        ("\ud800", "A text that is not Unicode", ""),
    ],
)
def test_what_toml_cannot_hold_is_refused_by_its_place_and_nothing_is_written(
    path: Path, value: object, what: str, where: str
) -> None:
    with Journal.create(path, HEADER) as journal:
        before = path.read_bytes()
        with pytest.raises(Refusal) as refused:
            journal.append([event(1), {"x": value}])
        assert refused.value.what == f"{what} cannot be kept in a journal"
        assert refused.value.where == where
        assert path.read_bytes() == before
        assert journal.count == 0
        journal.append(event(1))
    assert Journal.look(path).events == [event(1)]


@pytest.mark.parametrize("shape", ["tables", "lists", "rows"])
def test_a_bottomless_table_is_refused_before_a_reader_founders_on_it(shape: str) -> None:
    value: Any = 1
    for _ in range(2000):
        value = {"x": value} if shape == "tables" else [value]
    with pytest.raises(Refusal, match="nested this deep"):
        event_block({"x": [{"y": value}] if shape == "rows" else value})


def test_the_version_is_the_journals_own(path: Path) -> None:
    with pytest.raises(ValueError, match="version"):
        Journal.create(path, {"version": 7})
    assert not path.exists()


# --- on the disk ------------------------------------------------------------------------------


def test_what_was_appended_is_on_the_disk_after_a_sync(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append([event(1), event(2)])
        journal.sync()
        assert (journal.synced, journal.trouble) == (2, None)
    with Journal.open(path) as journal:
        journal.sync()
        assert journal.synced == 2


def test_appending_does_not_wait_for_the_disk(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import threading

    disk = threading.Event()
    with Journal.create(path, HEADER) as journal:
        journal.sync()
        monkeypatch.setattr(os, "fsync", lambda _: disk.wait())
        journal.append(event(1))
        assert journal.synced == 0
        assert Journal.look(path).events == [event(1)]
        disk.set()
        journal.sync()
        assert journal.synced == 1


def test_closing_syncs_what_is_left(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    journal = Journal.create(path, HEADER)
    journal.append([event(n) for n in range(1, 20)])
    journal.close()
    journal.close()
    assert journal.synced == 19
    with pytest.raises(Refusal, match="closed"):
        journal.append(event(20))


# --- one writes, others look ------------------------------------------------------------------


def test_a_second_coach_is_refused_and_may_look(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append(event(1))
        with pytest.raises(Refusal) as refused:
            Journal.open(path)
        assert refused.value.what == "This journal is open in another coach"
        assert f"coach verify {path}" in refused.value.do
        reading = Journal.look(path)
        assert (reading.header, reading.events, reading.whole) == (HEADER, [event(1)], True)
        journal.append(event(2))
    with Journal.open(path) as journal:
        assert journal.events == [event(1), event(2)]


def test_another_name_of_the_same_file_is_the_same_journal(path: Path) -> None:
    alias = path.with_name("alias.toml")
    alias.symlink_to(path)
    with Journal.create(path, HEADER), pytest.raises(Refusal, match="open in another coach"):
        Journal.open(alias)


def test_two_programs_do_not_write_one_journal(path: Path) -> None:
    program = (
        "import sys\n"
        "from coach.sprint.journal.file import Journal\n"
        "journal = Journal.open(sys.argv[1])\n"
        "journal.append({'from': 'the other'})\n"
        "print('open', flush=True)\n"
        "sys.stdin.read()\n"
        "journal.close()\n"
    )
    Journal.create(path, HEADER).close()
    with subprocess.Popen(
        [sys.executable, "-c", program, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        with pytest.raises(Refusal, match="open in another coach"):
            Journal.open(path)
        assert Journal.look(path).events == [{"from": "the other"}]
        other.communicate("")
    assert other.returncode == 0
    with Journal.open(path) as journal:
        assert journal.events == [{"from": "the other"}]


def test_looking_writes_nothing(path: Path) -> None:
    Journal.create(path, HEADER).close()
    torn = path.read_bytes() + b"[[event]]\nn = 1"
    path.write_bytes(torn)
    before = sorted(path.parent.iterdir())
    assert [fault.kind for fault in Journal.look(path).faults] == ["torn"]
    assert path.read_bytes() == torn
    assert sorted(path.parent.iterdir()) == before
