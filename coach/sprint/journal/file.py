"""The journal: the append-only record of a sprint, one file of TOML.

What was appended is in the file before `append` returns, and on the disk a moment later. What a
crash, a full disk or a power cut can do to it is at most a torn end, which the next opening cuts
off and keeps aside. Only one coach writes; others may look.
"""

from __future__ import annotations

import errno
import itertools
import os
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Self

from coach.sprint.atomic_write import write_atomically
from coach.sprint.journal.reading import Fault, Reading, Table, examine, follow, recognise
from coach.sprint.journal.sync import DiskSync
from coach.sprint.journal.writing import FIRST_CHECK, event_block, header_blocks, seal
from phases.kit.refusals import Refusal, from_system

if TYPE_CHECKING:
    from filelock import BaseFileLock

__all__ = ["Cut", "Fault", "Journal", "Reading", "Table"]

_NOT_WRITTEN = "The journal could not be written"
_AGAIN = "Do it again; nothing was lost"
_ELSEWHERE = "Choose a folder you may write to"
_START = 4096  # bytes in which a journal shows that it is one


@dataclass(frozen=True)
class Cut:
    """A torn end that was cut off: how many bytes, and the file they are kept in."""

    bytes: int
    kept_in: Path


class Journal:
    """A journal that is open for writing, and locked as long as it is.

    header, events: as read at opening. cut: the torn end that was cut off then, if there was
    one. edited: the numbers of blocks that were edited, if that was accepted. count: the events
    in the file, those read and those appended.
    Everything that can go wrong is a Refusal, and leaves journal and file as they were.
    """

    def __init__(self, path: Path, lock: BaseFileLock, reading: Reading) -> None:
        """For `create` and `open`, which have locked and checked the file."""
        self.path = path
        self.header: Table = reading.header
        self.events: list[Table] = reading.events
        self.edited = [fault.block for fault in reading.faults if fault.kind == "edited"]
        self.cut: Cut | None = None
        self.count = len(reading.events)
        self._place = path.resolve()
        self._lock = lock
        self._length = reading.chain.length
        self._blocks, self._check = reading.chain.last
        self._torn = False
        self._closed = False
        self._file = _open_to_append(path)
        try:
            self._cut_torn_end()
        except BaseException:
            os.close(self._file)
            raise
        self._sync = DiskSync(self._file, self.count)

    @classmethod
    def create(cls, path: Path | str, header: Mapping[str, object]) -> Journal:
        """A new journal with `header` in it: whole in its place, or not there at all.

        Missing folders are made. A file that is there already is never overwritten.
        """
        path = Path(path)
        data, _, _ = _sealed(header_blocks(header), 0, FIRST_CHECK)
        _refuse_taken(path)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except (FileExistsError, NotADirectoryError):
            raise Refusal("A file is in the way of the folder", where=str(path)) from None
        except OSError as error:
            raise from_system(error, "Its folder cannot be made", path, do=_ELSEWHERE) from error
        lock = _locked(path)
        try:
            _refuse_taken(path)
            write_atomically(path, data, what="The journal")
            _sync_folder(path.parent)
            return cls(path, lock, Reading(dict(header), [], (), follow(data)))
        except BaseException:
            if not path.exists():  # of what is not there no lock is left
                with suppress(OSError):
                    Path(lock.lock_file).unlink()
            lock.release()
            raise

    @classmethod
    def open(cls, path: Path | str, *, accept_edit: bool = False) -> Journal:
        """A journal that is there, to go on with.

        A torn end is cut off and kept beside it as NAME.tail-N. A block that was edited is
        refused, or with `accept_edit` taken as it now stands.
        """
        path = Path(path)
        data = journal_bytes(path)
        reading = _acceptable(data, path, accept_edit)
        lock = _locked(path)
        try:
            # Before it was locked, another coach may still have written.
            if (now := journal_bytes(path)) != data:
                reading = _acceptable(now, path, accept_edit)
            return cls(path, lock, reading)
        except BaseException:
            lock.release()
            raise

    @staticmethod
    def check(path: Path | str, *, accept_edit: bool = False) -> None:
        """Raises the Refusal with which `open` would refuse what the file says; changes nothing."""
        path = Path(path)
        _acceptable(journal_bytes(path), path, accept_edit)

    @staticmethod
    def look(path: Path | str) -> Reading:
        """What a journal says and what is wrong with it. Needs no lock and never writes.

        Beside a coach that is writing, the block just being written may look torn.
        """
        path = Path(path)
        return examine(journal_bytes(path), str(path))

    def append(self, events: Mapping[str, object] | Sequence[Mapping[str, object]]) -> None:
        """One event, or those of one command together: written when this returns."""
        if self._closed:
            raise Refusal("The journal is closed", where=str(self.path))
        batch = [events] if isinstance(events, Mapping) else events
        if not batch:
            return
        data, blocks, check = _sealed(map(event_block, batch), self._blocks, self._check)
        self._refuse_disturbed()
        self._write(data)
        self._length += len(data)
        self._blocks, self._check = blocks, check
        self.count += len(batch)
        self._sync.wrote(self.count)

    @property
    def synced(self) -> int:
        """Number of events known to be on the disk."""
        return self._sync.synced

    @property
    def trouble(self) -> str | None:
        """Why the journal may not be on the disk although it is written, if so."""
        reason = self._sync.trouble
        return reason and f"The journal may not be saved: {reason}"

    def sync(self) -> None:
        """Wait until every event is on the disk, or `trouble` says why not."""
        self._sync.wait()

    def close(self) -> None:
        """Sync, let go of the file and of its lock. May be called again."""
        if self._closed:
            return
        self._closed = True
        self._sync.stop()
        os.close(self._file)
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _write(self, data: bytes) -> None:
        rest = data
        try:
            # One call, as a rule; after a short one the next says what the matter is.
            while rest:
                written = os.write(self._file, rest)
                if written == 0:
                    raise OSError(errno.EIO, os.strerror(errno.EIO))
                rest = rest[written:]
        except OSError as error:
            self._torn = True
            with suppress(OSError):
                self._cut_back()
            raise from_system(error, _NOT_WRITTEN, self.path, do=_AGAIN) from error

    def _cut_back(self) -> None:
        os.ftruncate(self._file, self._length)
        self._torn = False

    def _refuse_disturbed(self) -> None:
        """Nothing is appended to a file that is not the one that was read, or not as it was."""
        try:
            if self._torn:
                self._cut_back()
            mine, there = os.fstat(self._file), self._place.stat()
        except FileNotFoundError:
            raise Refusal(
                "The journal is no longer in its place",
                where=str(self.path),
                do="Put it back, then do it again",
            ) from None
        except OSError as error:
            raise from_system(error, _NOT_WRITTEN, self.path, do=_AGAIN) from error
        if not os.path.samestat(mine, there) or there.st_size != self._length:
            raise Refusal(
                "Another program has changed the journal since it was opened",
                where=str(self.path),
                do="Close the coach and open the journal again",
            )

    def _cut_torn_end(self) -> None:
        try:
            with self._place.open("rb") as file:
                file.seek(self._length)
                tail = file.read()
            if not tail:
                return
            kept_in = _keep_aside(self.path, tail)
            os.ftruncate(self._file, self._length)
        except OSError as error:
            raise from_system(
                error, "The damaged end could not be saved separately", self.path
            ) from error
        self.cut = Cut(len(tail), kept_in)


def _sealed(blocks: Iterable[bytes], number: int, check: bytes) -> tuple[bytes, int, bytes]:
    """Blocks one after the other, each with its check; number and check of the last one.

    number, check: of the block before them.
    """
    written = []
    for block in blocks:
        number += 1
        sealed, check = seal(block, number, check)
        written.append(sealed)
    return b"".join(written), number, check


def journal_bytes(path: Path) -> bytes:
    """All of the file at `path`, if it begins like a journal. Raises Refusal where it does not."""
    where = str(path)
    try:
        if path.is_dir():
            raise Refusal("This is a folder, not a journal", where=where)
        if not path.exists():
            raise Refusal("There is no journal here", where=where)
        if not path.is_file():
            raise Refusal("This is not a file", where=where)
        with path.open("rb") as file:
            start = file.read(_START)
            recognise(start, where)  # before a film of some gigabytes is read
            return start + file.read()
    except OSError as error:
        raise from_system(error, "The journal cannot be read", path) from error


def _acceptable(data: bytes, path: Path, accept_edit: bool) -> Reading:
    """The reading of a journal that can be gone on with; refuses all but a torn end."""
    reading = examine(data, str(path))
    accepted = {"torn", "edited"} if accept_edit else {"torn"}
    for fault in reading.faults:
        if fault.kind not in accepted:
            do = f"See what it says with: coach verify {path}"
            if fault.kind == "edited":
                again = "finding" if _has_ended(reading) else "resume"
                do += f", or accept it as edited: coach {again} {path} --accept-edit"
            raise Refusal(fault.text, where=f"{path}, line {fault.line}", do=do)
    return reading


def _has_ended(reading: Reading) -> bool:
    """Whether the sprint of a journal has ended: then only what was found later is added to it."""
    return any(event.get("what") == "ended" for event in reading.events)


def _locked(path: Path) -> BaseFileLock:
    from filelock import FileLock, Timeout

    # Two names of one file share its lock. Not bound to a thread: the one that closes a journal
    # need not be the one that opened it.
    lock = FileLock(f"{path.resolve()}.lock", blocking=False, thread_local=False)
    try:
        lock.acquire()
    except Timeout:
        raise Refusal(
            "This journal is open in another coach",
            where=str(path),
            do=f"Look at it with: coach verify {path}, or close the other one",
        ) from None
    except OSError as error:
        raise from_system(error, "The journal cannot be locked", path, do=_ELSEWHERE) from error
    return lock


def _refuse_taken(path: Path) -> None:
    where = str(path)
    try:
        if path.is_dir():
            raise Refusal("There is a folder of that name", where=where, do="Choose another name")
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return
    except OSError as error:
        raise from_system(
            error, "The journal cannot be made", path, do="Choose another name"
        ) from error
    do = "Choose another name; a journal is never overwritten"
    raise Refusal("There is a file of that name", where=where, do=do)


def _sync_folder(folder: Path) -> None:
    # Not every system lets a folder be opened and synced; then there is nothing to do.
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _open_to_append(path: Path) -> int:
    # Without O_BINARY (Windows), line ends would be changed under the checks.
    flags = os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0)
    try:
        return os.open(path, flags)
    except OSError as error:
        look = f"Look at it with: coach verify {path}"
        raise from_system(error, "The journal cannot be written", path, do=look) from error


def _keep_aside(path: Path, tail: bytes) -> Path:
    kept_in = _free_tail(path)
    try:
        with kept_in.open("xb") as file:
            file.write(tail)
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        kept_in.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)
    return kept_in


def _free_tail(path: Path) -> Path:
    """The first name beside the journal that no tail has; safe, because the lock is held."""
    names = (path.with_name(f"{path.name}.tail-{number}") for number in itertools.count(1))
    return next(name for name in names if not os.path.lexists(name))
