"""The journal in bad days: torn, edited, foreign, killed, on a full disk. Nothing acknowledged
is lost, nothing is repaired in silence, and every refusal is one clear sentence."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

import coach.sprint.journal.file as journal_module
from coach.sprint.journal.file import Cut, Journal
from phases.kit.refusals import Refusal
from tests.depth import is_long

HEADER: dict[str, Any] = {"title": "bench lamp", "brief": {"rails": [{"id": "3v3"}]}}
HEAD = 2
"""Its blocks: what is no table, and the brief."""


def event(n: int) -> dict[str, Any]:
    return {
        "n": n,
        "note": f"line {n}\n# check {n} 00000000",
        "record": {"drivers": ["V_in", "I"], "margin": 0.41 * n},
        "rows": [{"item": "boot"}, {"item": "reset"}],
    }


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A closed journal of a header and twelve events."""
    path = tmp_path / "sprint.toml"
    with Journal.create(path, HEADER) as journal:
        journal.append([event(n) for n in range(1, 13)])
    return path


def ends_of_blocks(data: bytes | bytearray) -> list[int]:
    """The offset behind each check line, those of the header first."""
    ends, offset = [], 0
    for line in data.splitlines(keepends=True):
        offset += len(line)
        if line.startswith(b"# check "):
            ends.append(offset)
    return ends


def contents(folder: Path) -> dict[str, bytes]:
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.suffix != ".lock"}


# --- torn -------------------------------------------------------------------------------------


@pytest.mark.deeper
def test_cut_at_any_byte_it_opens_with_every_whole_event_and_goes_on(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", lambda _: None)  # many openings, no power cut
    data = path.read_bytes()
    header_end, *ends = ends_of_blocks(data)[HEAD - 1 :]
    cut_path = path.with_name("cut.toml")
    near_ends = {end + more for end in [header_end, *ends] for more in (-2, -1, 0, 1, 2)}
    for length in range(header_end, len(data)):
        if length % 5 and length not in near_ends and not is_long():
            continue
        cut_path.write_bytes(data[:length])
        whole = sum(end <= length for end in ends)
        good = max(end for end in [header_end, *ends] if end <= length)
        with Journal.open(cut_path) as journal:
            assert journal.events == [event(n) for n in range(1, whole + 1)], length
            if good == length:
                assert journal.cut is None
            else:
                assert journal.cut is not None
                assert journal.cut.bytes == length - good
                assert journal.cut.kept_in.read_bytes() == data[good:length]
                journal.cut.kept_in.unlink()
            journal.append({"what": "cut"})
        parsed = tomllib.loads(cut_path.read_text(encoding="utf-8"))
        assert len(parsed["event"]) == whole + 1
        assert Journal.look(cut_path).whole


def test_a_torn_last_block_is_cut_off_and_kept_aside(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[:-5])
    good = ends_of_blocks(data)[-2]
    with Journal.open(path) as journal:
        tail = path.with_name("sprint.toml.tail-1")
        assert journal.cut == Cut(len(data) - 5 - good, tail)
        assert journal.count == 11
    assert tail.read_bytes() == data[good:-5]
    assert path.read_bytes() == data[:good]


def test_an_event_another_coach_wrote_just_before_it_closed_is_not_taken_for_a_torn_end(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = journal_module._locked

    def late(name: Path) -> Any:
        with path.open("ab") as file:
            file.write(late_block)
        return real(name)

    data = path.read_bytes()
    path.write_bytes(data[: ends_of_blocks(data)[-2]])
    late_block = data[ends_of_blocks(data)[-2] :]
    monkeypatch.setattr(journal_module, "_locked", late)
    with Journal.open(path) as journal:
        assert journal.cut is None
        assert journal.count == 12


def test_no_tail_overwrites_another(path: Path) -> None:
    for number in (1, 2, 3):
        with path.open("ab") as file:
            file.write(b"torn %d" % number)
        Journal.open(path).close()
    names = [f"sprint.toml.tail-{number}" for number in (1, 2, 3)]
    assert [path.with_name(name).read_bytes() for name in names] == [
        b"torn 1",
        b"torn 2",
        b"torn 3",
    ]


def test_a_tail_that_would_parse_is_cut_all_the_same(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"[[event]]\nn = 13\n")
    with Journal.open(path) as journal:
        assert journal.count == 12
        assert journal.cut is not None


@pytest.mark.parametrize("rest", [b"\x00" * 4096, b"\xff\xfe\xfd", b"# check 15 00000000"])
def test_what_a_power_cut_leaves_at_the_end_is_cut_off(path: Path, rest: bytes) -> None:
    with path.open("ab") as file:
        file.write(rest)
    with Journal.open(path) as journal:
        assert journal.count == 12
        assert journal.cut is not None
        assert journal.cut.kept_in.read_bytes() == rest


def test_a_tail_that_cannot_be_kept_is_not_cut(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    torn = path.read_bytes()[:-5]
    path.write_bytes(torn)
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    with pytest.raises(Refusal, match="no space left on the device"):
        Journal.open(path)
    monkeypatch.undo()
    assert contents(path.parent) == {"sprint.toml": torn}
    Journal.open(path).close()


def test_cut_at_any_byte_of_its_header_it_is_refused_and_left_as_it_is(path: Path) -> None:
    header = path.read_bytes()[: ends_of_blocks(path.read_bytes())[HEAD - 1]]
    for length in range(len(header)):
        path.write_bytes(header[:length])
        with pytest.raises(Refusal) as refused:
            Journal.open(path)
        assert refused.value.what in {
            "The file is empty, no journal",
            "The journal breaks off within its header",
        }
        assert contents(path.parent) == {"sprint.toml": header[:length]}


# --- edited -----------------------------------------------------------------------------------


def edit(path: Path, old: bytes, new: bytes) -> None:
    data = path.read_bytes()
    assert data.count(old) == 1
    path.write_bytes(data.replace(old, new))


def test_an_edit_in_the_middle_is_refused_with_block_and_line(path: Path) -> None:
    edit(path, b'note = "line 4\\n', b'note = "line four\\n')
    edited = path.read_bytes()
    line = edited[: edited.index(b"n = 4\n")].count(b"\n")
    with pytest.raises(Refusal) as refused:
        Journal.open(path)
    assert refused.value.what == "Block 6 was changed after it was written"
    assert refused.value.where == f"{path}, line {line}"
    assert edited.splitlines()[line - 1] == b"[[event]]"
    assert contents(path.parent) == {"sprint.toml": edited}


def test_an_accepted_edit_is_read_as_it_stands_and_named(path: Path) -> None:
    edit(path, b'note = "line 4\\n', b'note = "line four\\n')
    with Journal.open(path, accept_edit=True) as journal:
        assert journal.edited == [6]
        assert journal.events[3]["note"].startswith("line four")
        journal.append(event(13))
    reading = Journal.look(path)
    assert [(fault.kind, fault.block) for fault in reading.faults] == [("edited", 6)]
    assert reading.events[-1] == event(13)


def test_each_of_several_edits_shows_as_one(path: Path) -> None:
    edit(path, b"n = 3\n", b"n = 33\n")
    edit(path, b"n = 9\n", b"n = 99\n")
    edit(path, b'title = "bench lamp"', b'title = "Bench lamp"')
    assert [(fault.kind, fault.block) for fault in Journal.look(path).faults] == [
        ("edited", 1),
        ("edited", 5),
        ("edited", 11),
    ]


def test_every_changed_byte_of_a_block_shows(path: Path) -> None:
    data = bytearray(path.read_bytes())
    ends = ends_of_blocks(data)
    start = ends[HEAD + 2]
    end = data.index(b"# check", start)
    for offset in range(start, end):
        changed = data.copy()
        changed[offset] ^= 1
        path.write_bytes(changed)
        reading = Journal.look(path)
        assert ("edited", 6) in {(fault.kind, fault.block) for fault in reading.faults}, offset
        assert reading.events[:3] == [event(1), event(2), event(3)]
        assert reading.events[-8:] == [event(n) for n in range(5, 13)]


def test_an_edit_that_is_no_toml_does_not_take_the_other_events_with_it(path: Path) -> None:
    edit(path, b"n = 4\n", b"n = four\n")
    reading = Journal.look(path)
    assert [(fault.kind, fault.block) for fault in reading.faults] == [
        ("edited", 6),
        ("unreadable", 6),
    ]
    assert reading.events == [event(n) for n in range(1, 13) if n != 4]
    assert reading.header == HEADER
    with pytest.raises(Refusal, match="Block 6 is no longer the TOML of a journal"):
        Journal.open(path, accept_edit=True)


def test_an_edit_is_refused_before_a_torn_end_is_cut(path: Path) -> None:
    edit(path, b"n = 4\n", b"n = 44\n")
    torn = path.read_bytes()[:-5]
    path.write_bytes(torn)
    with pytest.raises(Refusal, match="Block 6 was changed"):
        Journal.open(path)
    assert contents(path.parent) == {"sprint.toml": torn}


def test_an_editor_that_changes_all_line_ends_has_edited_the_journal(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    with pytest.raises(Refusal, match="Block 1 was changed"):
        Journal.open(path)
    with Journal.open(path, accept_edit=True) as journal:
        assert journal.events == [event(n) for n in range(1, 13)]
        assert journal.edited == list(range(1, 13 + HEAD))


@pytest.mark.parametrize(
    ("order", "what"),
    [
        ([0, 1, 2, 4, 5], "Check 5 is where check 4 belongs"),
        ([0, 1, 3, 2, 4], "Check 4 is where check 3 belongs"),
        ([0, 1, 2, 2, 3], "Check 3 is where check 4 belongs"),
        ([1, 2, 3], "Check 2 is where check 1 belongs"),
    ],
    ids=["missing", "swapped", "twice", "headless"],
)
@pytest.mark.parametrize("accept_edit", [False, True])
def test_blocks_out_of_order_are_refused(
    path: Path, order: list[int], what: str, accept_edit: bool
) -> None:
    data = path.read_bytes()
    ends = [0, *ends_of_blocks(data)]
    head = b"" if order[0] == 0 else b"[journal]\nversion = 2\n"
    shuffled = head + b"".join(data[ends[at] : ends[at + 1]] for at in order)
    path.write_bytes(shuffled)
    with pytest.raises(Refusal) as refused:
        Journal.open(path, accept_edit=accept_edit)
    assert refused.value.what == what
    assert contents(path.parent) == {"sprint.toml": shuffled}


# --- not ours ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "The file is empty, no journal"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "This is not the journal of a sprint"),
        (b'[project]\nname = "x"\n', "This is not the journal of a sprint"),
        (b'[journal]\ntitle = "x"\n', "This is not the journal of a sprint"),
        (b"\n" * 100_000, "This is not the journal of a sprint"),
        (b"#\n" * 100_000, "This is not the journal of a sprint"),
        (
            b"# A sprint\n[journal]\nversion = 3\nseal = 'other'\n",
            "Written by a newer coach: version 3, this one reads version 2",
        ),
        (
            b"# A sprint\n[journal]\nversion = 1\n",
            "Written by an older coach: version 1, this one reads version 2",
        ),
    ],
    ids=["empty", "binary", "other TOML", "no version", "blank", "comments", "newer", "older"],
)
def test_a_file_that_is_no_journal_of_this_coach_is_refused_and_left_alone(
    tmp_path: Path, data: bytes, what: str
) -> None:
    path = tmp_path / "other.toml"
    path.write_bytes(data)
    for read in (Journal.open, Journal.look):
        with pytest.raises(Refusal) as refused:
            read(path)
        assert refused.value.what == what
        assert refused.value.where == str(path)
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == {"other.toml": data}


def test_a_folder_a_missing_file_and_a_device_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="This is a folder, not a journal"):
        Journal.open(tmp_path)
    with pytest.raises(Refusal, match="There is no journal here"):
        Journal.open(tmp_path / "none.toml")
    with pytest.raises(Refusal, match="There is no journal here"):
        Journal.open(tmp_path / "none" / "none.toml")
    with pytest.raises(Refusal, match="This is not a file"):
        Journal.look("/dev/zero")
    assert list(tmp_path.iterdir()) == []


def test_a_journal_nested_without_end_is_refused_not_run_into(path: Path) -> None:
    edit(path, b"n = 4\n", b"n = " + b"[" * 100_000 + b"]" * 100_000 + b"\n")
    with pytest.raises(Refusal, match="no longer the TOML"):
        Journal.open(path, accept_edit=True)


@pytest.mark.parametrize("line", [b"journal = 1\n", b"event = 1\n", b"[[journal]]\n"])
def test_tables_of_another_shape_are_refused(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "sprint.toml"
    Journal.create(path, {}).close()
    head, _, check = path.read_bytes().partition(b"# check")
    broken = (
        b"[journal]\nversion = 2\n[[event]]\n" + line if line == b"[[journal]]\n" else line + head
    )
    path.write_bytes(broken + b"# check" + check)
    with pytest.raises(Refusal):
        Journal.open(path, accept_edit=True)


# --- places that cannot be written --------------------------------------------------------------


def test_a_journal_is_never_overwritten(path: Path) -> None:
    before = contents(path.parent)
    with pytest.raises(Refusal, match="There is a file of that name"):
        Journal.create(path, HEADER)
    with pytest.raises(Refusal, match="There is a folder of that name"):
        Journal.create(path.parent, HEADER)
    assert contents(path.parent) == before


def test_a_file_where_the_folder_should_be_is_refused(path: Path) -> None:
    for below in (path / "sprint.toml", path / "a" / "sprint.toml"):
        with pytest.raises(Refusal, match="A file is in the way of the folder"):
            Journal.create(below, HEADER)


def test_a_name_too_long_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="file name too long"):
        Journal.create(tmp_path / ("x" * 300), HEADER)


def failing(number: int) -> Any:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS])
@pytest.mark.parametrize("step", ["mkdir", "open"])
def test_a_folder_one_may_not_write_to_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, step: str
) -> None:
    if step == "mkdir":
        monkeypatch.setattr(Path, "mkdir", failing(number))
    else:
        monkeypatch.setattr(Path, "open", failing(number))
    with pytest.raises(Refusal) as refused:
        Journal.create(tmp_path / "a" / "sprint.toml", HEADER)
    assert os.strerror(number).lower() in str(refused.value).lower()
    assert refused.value.do == "Choose a folder you may write to"
    monkeypatch.undo()
    assert not list(tmp_path.rglob("sprint.toml"))


def test_a_journal_one_may_only_read_can_be_looked_at(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.open

    def guarded(name: Any, flags: int, *rest: int, **more: int) -> int:
        if name == path and flags & os.O_WRONLY:
            raise OSError(errno.EACCES, os.strerror(errno.EACCES))
        return real(name, flags, *rest, **more)

    monkeypatch.setattr(os, "open", guarded)
    with pytest.raises(Refusal) as refused:
        Journal.open(path)
    assert refused.value.what == "The journal cannot be written: permission denied"
    assert refused.value.do == f"Look at it with: coach verify {path}"
    assert Journal.look(path).whole
    monkeypatch.undo()
    Journal.open(path).close()  # the refused opening has let go of its lock


def test_a_new_journal_on_a_full_disk_is_not_there_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sprint.toml"
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    with pytest.raises(Refusal, match="no space left on the device"):
        Journal.create(path, HEADER)
    assert [*tmp_path.iterdir()] == []  # not even its lock
    monkeypatch.undo()
    Journal.create(path, HEADER).close()


# --- the disk gives out while it is open --------------------------------------------------------


@pytest.mark.parametrize("taken", [0, 1, 40, 200])
def test_a_full_disk_loses_nothing_and_the_event_can_be_given_again(
    path: Path, monkeypatch: pytest.MonkeyPatch, taken: int
) -> None:
    real = os.write
    room = [taken]

    def nearly_full(descriptor: int, data: bytes) -> int:
        if room[0] == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        written = real(descriptor, data[: room[0]])
        room[0] -= written
        return written

    with Journal.open(path) as journal:
        before = path.read_bytes()
        monkeypatch.setattr(os, "write", nearly_full)
        with pytest.raises(Refusal) as refused:
            journal.append([event(13), event(14), event(15)])
        assert refused.value.what == "The journal could not be written: no space left on the device"
        assert refused.value.do == "Free some space and do it again; nothing was lost"
        assert path.read_bytes() == before
        assert journal.count == 12
        monkeypatch.undo()
        journal.append([event(13), event(14), event(15)])
    assert Journal.look(path).events == [event(n) for n in range(1, 16)]
    assert Journal.look(path).whole


def test_a_write_that_was_only_short_is_finished(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.write
    with Journal.open(path) as journal:
        monkeypatch.setattr(os, "write", lambda descriptor, data: real(descriptor, data[:100]))
        journal.append([event(13), event(14)])
    assert Journal.look(path).events[-2:] == [event(13), event(14)]
    assert Journal.look(path).whole


def test_a_write_that_takes_nothing_is_refused_not_repeated_for_ever(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path) as journal:
        monkeypatch.setattr(os, "write", lambda *_: 0)
        with pytest.raises(Refusal, match="could not be written: input/output error"):
            journal.append(event(13))


def test_a_torn_write_that_could_not_be_taken_back_is_taken_back_before_the_next(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.write

    def torn(descriptor: int, data: bytes) -> int:
        real(descriptor, data[:50])
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with Journal.open(path) as journal:
        before = path.read_bytes()
        monkeypatch.setattr(os, "write", torn)
        monkeypatch.setattr(os, "ftruncate", failing(errno.EIO))
        for _ in range(2):
            with pytest.raises(Refusal, match="could not be written: input/output error"):
                journal.append(event(13))
        assert len(path.read_bytes()) == len(before) + 50
        monkeypatch.undo()
        journal.append(event(13))
    assert Journal.look(path).whole
    assert Journal.look(path).events == [event(n) for n in range(1, 14)]


FULL = """
import resource, signal, sys, tomllib
from pathlib import Path
from coach.sprint.journal.file import Journal
from phases.kit.refusals import Refusal

path = Path(sys.argv[1])
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
journal = Journal.open(path)
_, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 5000, hard))
written = 0
try:
    while True:
        journal.append({"n": written, "note": "x" * 700})
        written += 1
except Refusal as refusal:
    print(refusal.what)
assert len(tomllib.loads(path.read_text())["event"]) == 12 + written
resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
journal.append({"n": written})
journal.close()
print(written + 1)
"""


def test_at_the_limit_of_the_file_system_the_last_event_is_whole_or_not_there(path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", FULL, str(path)], capture_output=True, text=True, check=False
    )
    assert run.stderr == ""
    what, written = run.stdout.splitlines()
    assert what == "The journal could not be written: file too large"
    reading = Journal.look(path)
    assert reading.whole
    assert len(reading.events) == 12 + int(written)


def test_a_disk_that_does_not_sync_is_said_and_waiting_for_it_ends(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path) as journal:
        journal.sync()
        monkeypatch.setattr(os, "fsync", failing(errno.EIO))
        journal.append(event(13))
        journal.sync()
        assert journal.trouble is not None
        assert journal.trouble.lower() == ("the journal may not be saved: input/output error")
        assert journal.synced == 12
        monkeypatch.undo()
        journal.append(event(14))
        journal.sync()
        # A later success does not vouch for what was written before the failure.
        assert journal.synced == 12
        assert journal.trouble is not None


def test_a_journal_moved_away_while_open_is_not_written_into_the_void(path: Path) -> None:
    away = path.with_name("away.toml")
    with Journal.open(path) as journal:
        path.rename(away)
        with pytest.raises(Refusal, match="no longer in its place"):
            journal.append(event(13))
        away.rename(path)
        journal.append(event(13))
    assert Journal.look(path).events[-1] == event(13)


def test_a_journal_saved_by_another_program_while_open_is_not_appended_to(path: Path) -> None:
    data = path.read_bytes()
    with Journal.open(path) as journal:
        path.with_name("new").write_bytes(data)
        path.with_name("new").replace(path)
        with pytest.raises(Refusal, match="Another program has changed the journal"):
            journal.append(event(13))
    with Journal.open(path) as journal:
        with path.open("ab") as file:
            file.write(b"# a remark\n")
        with pytest.raises(Refusal, match="Another program has changed the journal"):
            journal.append(event(13))


# --- killed -----------------------------------------------------------------------------------

ENDLESS = """
import itertools, sys
from coach.sprint.journal.file import Journal

journal = Journal.open(sys.argv[1])
for n in itertools.count(13):
    journal.append({"n": n, "note": "x" * 2000, "rows": [{"a": k} for k in range(40)]})
    print(n, flush=True)
"""


@pytest.mark.parametrize("after", [1, 7, 60])
def test_killed_while_writing_every_acknowledged_event_is_there(path: Path, after: int) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", ENDLESS, str(path)], stdout=subprocess.PIPE, text=True
    ) as run:
        assert run.stdout is not None
        acknowledged = [int(run.stdout.readline()) for _ in range(after)]
        run.send_signal(signal.SIGKILL)
        acknowledged += [int(line) for line in run.stdout if line.endswith("\n")]
    assert run.returncode == -signal.SIGKILL
    with Journal.open(path) as journal:  # its lock went with it
        numbers = [one["n"] for one in journal.events]
        assert numbers[: acknowledged[-1]] == list(range(1, acknowledged[-1] + 1))
        assert len(numbers) <= acknowledged[-1] + 1
        journal.append({"n": numbers[-1] + 1})
    assert Journal.look(path).whole
