"""A sprint in bad days: whatever is wrong with its journal is said in one sentence, and neither
the state nor the file is spoilt by it."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.history.read_sprint import read_sprint
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import (
    Command,
    EnterPhase,
    Meet,
    NoteChange,
    Park,
    SaveCalculation,
    Undo,
)
from coach.sprint.events.run import CallMade, EditAccepted, Resumed, TailCut
from coach.sprint.fold import fold
from coach.sprint.journal.file import Journal
from coach.sprint.journal.writing import FIRST_CHECK, VERSION, seal
from coach.sprint.session import Session, events_of
from coach.sprint.setup import setup_of
from phases.kit.refusals import Refusal

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(NINE)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "sprint.toml"


@pytest.fixture
def session(path: Path, clock: ManualClock) -> Iterator[Session]:
    """A sprint in which something was done already."""
    setup = setup_of(load_brief("usb-bench-meter"), NINE)
    session = Session.start(path, setup, clock)
    for command in (EnterPhase("power-entry"), Meet("supply-contacts"), Park("is J1 keyed?")):
        clock.advance(60)
        session.do(command)
    yield session
    session.close()


def refusal_of(session: Session, command: Command) -> str:
    with pytest.raises(Refusal) as refused:
        session.do(command)
    return str(refused.value)


def refused_opening(path: Path, clock: ManualClock, *, accept_edit: bool = False) -> str:
    """The sentence with which a journal is not opened; it stays as it was and is not locked."""
    before = path.read_bytes()
    with pytest.raises(Refusal) as refused:
        Session.resume(path, clock, accept_edit=accept_edit)
    assert path.read_bytes() == before
    said = str(refused.value)
    assert "Traceback" not in said
    assert "\n" not in said
    return said


def resealed(data: bytes, old: bytes, new: bytes) -> bytes:
    """The journal with `old` replaced, and every check as if it had been written so."""
    assert old in data
    blocks, check, out = [], FIRST_CHECK, b""
    block = b""
    for line in data.replace(old, new, 1).splitlines(keepends=True):
        if line.startswith(b"# check "):
            blocks.append(block)
            block = b""
        else:
            block += line
    for number, one in enumerate(blocks, start=1):
        done, check = seal(one, number, check)
        out += done
    return out


# ---- the disk --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "code, sentence",
    [
        (
            errno.ENOSPC,
            "The journal could not be written: no space left on the device. "
            "Free some space and do it again; nothing was lost.",
        ),
        (
            errno.EIO,
            "The journal could not be written: input/output error. Do it again; nothing was lost.",
        ),
    ],
)
def test_on_a_full_or_broken_disk_nothing_happened_and_it_can_be_done_again(
    session: Session, path: Path, monkeypatch: pytest.MonkeyPatch, code: int, sentence: str
) -> None:
    state, history, data = session.state, list(session.history), path.read_bytes()
    heard: list[object] = []
    session.listeners.append(heard.append)

    def full(descriptor: int, data: bytes) -> int:
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", full)
        assert refusal_of(session, Meet("debug-pins")) == f"{path}: {sentence}"
    assert session.state is state
    assert session.history == history
    assert path.read_bytes() == data
    assert heard == []
    session.do(Meet("debug-pins"))
    assert session.history[-1].by == history[-1].by + 1
    assert Journal.look(path).whole


def test_half_a_command_is_none(
    session: Session, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    state, data, real = session.state, path.read_bytes(), os.write
    calls = 0

    def half(descriptor: int, rest: bytes) -> int:
        nonlocal calls
        calls += 1
        if calls > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(descriptor, rest[: len(rest) // 2])

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", half)
        refusal_of(session, SaveCalculation("load-budget"))
    assert session.state is state
    assert path.read_bytes() == data


def test_a_call_that_cannot_be_written_is_made_at_the_next_look(
    session: Session, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock.advance(3600)

    def full(descriptor: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", full)
        with pytest.raises(Refusal):
            session.tick()
    assert session.state.of(CallMade) == ()
    assert [call.cause for call in session.tick()] == ["half"]


def test_a_journal_moved_away_is_missed_and_nothing_happened(session: Session, path: Path) -> None:
    state = session.state
    path.rename(path.with_name("elsewhere.toml"))
    said = refusal_of(session, Meet("debug-pins"))
    assert said == f"{path}: The journal is no longer in its place. Put it back, then do it again."
    assert session.state is state
    path.with_name("elsewhere.toml").rename(path)
    session.do(Meet("debug-pins"))


def test_a_journal_that_another_program_changed_is_not_written(
    session: Session, path: Path
) -> None:
    state = session.state
    with path.open("ab") as file:
        file.write(b"# a remark\n")
    assert "Another program has changed the journal" in refusal_of(session, Meet("debug-pins"))
    assert session.state is state


def test_a_folder_that_may_not_be_written_holds_no_new_sprint(
    path: Path, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup = setup_of(load_brief("usb-bench-meter"), NINE)

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    with monkeypatch.context() as locked:
        locked.setattr(Path, "open", denied)
        with pytest.raises(Refusal) as refused:
            Session.start(path, setup, clock)
    assert "permission denied" in str(refused.value)
    assert not path.exists()
    Session.start(path, setup, clock).close()  # nothing was left locked


def test_of_a_new_journal_that_is_refused_nothing_is_left_no_lock_either(
    path: Path, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup = setup_of(load_brief("usb-bench-meter"), NINE)
    before = sorted(path.parent.iterdir())
    seen: list[set[Path]] = []

    def full(*_: object, **__: object) -> None:
        seen.append(set(path.parent.iterdir()))
        raise Refusal("The journal could not be written")

    with monkeypatch.context() as broken:
        broken.setattr("coach.sprint.journal.file.write_atomically", full)
        with pytest.raises(Refusal):
            Session.start(path, setup, clock)
    assert len(seen[0]) == len(before) + 1  # it was locked when it was refused
    assert sorted(path.parent.iterdir()) == before


def test_a_journal_in_a_folder_that_may_only_be_read_is_not_gone_on_with(
    session: Session, path: Path, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.close()
    real = os.open

    def read_only(name: str, flags: int, *rest: int, **more: int) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))
        return real(name, flags, *rest, **more)

    with monkeypatch.context() as mounted:
        mounted.setattr(os, "open", read_only)
        said = refused_opening(path, clock)
    assert "read-only file system" in said
    assert Journal.look(path).whole


def test_a_start_that_cannot_be_written_leaves_the_journal_unlocked(
    path: Path, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup = setup_of(load_brief("usb-bench-meter"), NINE)

    def full(descriptor: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", full)
        with pytest.raises(Refusal) as refused:
            Session.start(path, setup, clock)
    with Session.resume(path, clock) as session:
        assert session.state.t == 0
    assert refused.tb is not None  # so long was everything that failed still held on to


# ---- two coaches -----------------------------------------------------------------------------


def test_a_second_coach_may_look_and_not_write(
    session: Session, path: Path, clock: ManualClock
) -> None:
    said = refused_opening(path, clock)
    assert said.startswith(f"{path}: This journal is open in another coach.")
    reading = Journal.look(path)
    assert fold(session.setup, events_of(reading.events, where="j")) == session.state


# ---- torn ------------------------------------------------------------------------------------


def test_a_torn_end_is_cut_off_kept_aside_and_journalled(
    session: Session, path: Path, clock: ManualClock
) -> None:
    session.close()
    data = path.read_bytes()
    path.write_bytes(data[:-7])
    with Session.resume(path, clock) as opened:
        cut, resumed = (one.event for one in opened.history[-2:])
        assert isinstance(cut, TailCut)
        assert isinstance(resumed, Resumed)
        assert path.with_name(cut.kept_in).stat().st_size == cut.size
        assert opened.state.notes == ()  # the torn one
        assert opened.state.phase == "power-entry"
        opened.do(Park("is J1 keyed?"))
    assert Journal.look(path).whole


def test_a_command_torn_in_the_middle_can_be_taken_back(
    session: Session, path: Path, clock: ManualClock
) -> None:
    """Its first events are whole; what is left of it is taken back as one."""
    before = session.state
    session.do(SaveCalculation("load-budget"))
    session.close()
    path.write_bytes(path.read_bytes()[:-7])
    with Session.resume(path, clock) as opened:
        assert "load-budget" in opened.state.calculations
        opened.do(Undo())
        assert opened.state.calculations == {}
        assert opened.state.items == before.items


def test_what_followed_from_a_torn_command_follows_from_the_next(
    session: Session, path: Path, clock: ManualClock
) -> None:
    session.do(SaveCalculation("load-budget"))
    met = session.state.items.keys()
    session.close()
    path.write_bytes(path.read_bytes()[:-7])
    with Session.resume(path, clock) as opened:
        assert len(opened.state.items) == len(met) - 1
        opened.do(NoteChange("files"))
        assert opened.state.items.keys() == met


@pytest.mark.parametrize("keep", [0, 1, 30, 400])
def test_a_journal_that_breaks_off_in_its_header_is_refused(
    session: Session, path: Path, clock: ManualClock, keep: int
) -> None:
    session.close()
    path.write_bytes(path.read_bytes()[:keep])
    assert refused_opening(path, clock).startswith(f"{path}: The ")


# ---- edited ----------------------------------------------------------------------------------


def test_an_edited_journal_is_refused_unless_the_edit_is_accepted(
    session: Session, path: Path, clock: ManualClock
) -> None:
    session.close()
    path.write_bytes(path.read_bytes().replace(b"is J1 keyed?", b"is J2 keyed?"))
    said = refused_opening(path, clock)
    assert "Block 8 was changed after it was written" in said
    with Session.resume(path, clock, accept_edit=True) as opened:
        accepted = next(s.event for s in opened.history if isinstance(s.event, EditAccepted))
        assert accepted.blocks == (8,)
        assert opened.state.notes[0].text == "is J2 keyed?"


@pytest.mark.parametrize(
    "old, new",
    [
        (b'\nphase = "power-entry"', b'\nphase = "nowhere"'),
        (
            b'what = "note-parked"\nnumber = 1\ntext',
            b'what = "fact-set"\nfact = "layers"\nvalue = "a few"\n#',
        ),
    ],
)
def test_an_event_that_contradicts_what_is_before_it_is_refused_and_told_left_out(
    session: Session, clock: ManualClock, old: bytes, new: bytes
) -> None:
    session.close()
    path = session.journal.path
    path.write_bytes(resealed(path.read_bytes(), old, new))
    assert "Its events contradict each other" in refused_opening(path, clock)
    read = read_sprint(path)
    assert len(read.history) == len(session.history) - 1
    assert read.faults[0].endswith("contradicts itself or what is before it; it is left out.")
    assert read.state.rows


@pytest.mark.parametrize(
    "old, new, sentence",
    [
        (b'what = "note-parked"', b'what = "note-sung"', "Event 4 (note-sung) is not one"),
        (b'item = "supply-contacts"', b"item = 3", "Event 3 (item-met) is not one"),
        (b'evidence = "inspected"', b'evidence = "hearsay"', "Event 3 (item-met) is not one"),
        (b"n = 3\n", b"m = 3\n", "Event ? (item-met) is not one this coach knows"),
        (b"at = 2031-05-05 09:03", b"at = 09:03", "Block 8 is no longer the TOML"),
        (b"at = 2031-05-05 09:03:00+00:00", b"at = 09:03:00", "Event 4 (note-parked) is not"),
        (b"at = 2031-05-05 09:03:00+00:00", b"at = 2031-05-05 09:03:00", "Event 4 (note-park"),
        (b"t = 180.0", b"t = nan", "Event 4 (note-parked) is not one"),
        (b"deadline = 7200.0", b'deadline = "soon"', "The journal's header cannot be used"),
        (b"started = 2031-05-05 09:00:00+00:00", b'started = "nine"', "header cannot be used"),
        (
            b"started = 2031-05-05 09:00:00+00:00",
            b"started = 2031-05-05 09:00:00",
            "header cannot be used",
        ),
        (b"[journal.run]", b"[journal.walk]", "The journal's header cannot be used (KeyError)"),
    ],
)
def test_an_edit_that_makes_no_sense_is_refused_even_when_accepted(
    session: Session, clock: ManualClock, old: bytes, new: bytes, sentence: str
) -> None:
    session.close()
    path = session.journal.path
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new, 1))
    assert sentence in refused_opening(path, clock, accept_edit=True)
    path.write_bytes(data)  # put back, it opens
    Session.resume(path, clock).close()


def test_a_journal_from_another_coach_is_refused(
    session: Session, path: Path, clock: ManualClock
) -> None:
    session.close()
    data = path.read_bytes()
    for other, age in ((VERSION + 1, "a newer"), (VERSION - 1, "an older")):
        opening = f"[journal]\nversion = {VERSION}\n".encode()
        path.write_bytes(resealed(data, opening, opening.replace(b"%d" % VERSION, b"%d" % other)))
        said = refused_opening(path, clock, accept_edit=True)
        assert said == (
            f"{path}: Written by {age} coach: version {other}, this one reads version {VERSION}. "
            "Open it with the coach that wrote it."
        )
    path.write_bytes(resealed(data, b'what = "note-parked"', b'what = "note-sung"'))
    assert "Open it with the coach that wrote it" in refused_opening(path, clock)


@pytest.mark.parametrize(
    "data", [b"", b"title = 'a brief'\n", b"\x00\xff" * 200, b"[journal]\nversion = 1\n"]
)
def test_what_is_no_journal_is_refused(path: Path, clock: ManualClock, data: bytes) -> None:
    path.write_bytes(data)
    refused_opening(path, clock)


def test_what_is_not_there_is_refused(path: Path, clock: ManualClock) -> None:
    with pytest.raises(Refusal) as refused:
        Session.resume(path, clock)
    assert str(refused.value) == f"{path}: There is no journal here."


def test_a_new_sprint_overwrites_no_journal(
    session: Session, path: Path, clock: ManualClock
) -> None:
    data = path.read_bytes()
    with pytest.raises(Refusal) as refused:
        Session.start(path, session.setup, clock)
    assert "a journal is never overwritten" in str(refused.value)
    assert path.read_bytes() == data
