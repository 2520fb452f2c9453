"""A file written whole or not at all: beside its place first, then put there in one step."""

from __future__ import annotations

import errno
import os
import secrets
import stat
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from phases.kit.refusals import Refusal, from_system
from phases.kit.text import one_line

_LOOKED_AT = 8192  # bytes at either end, by which a file shows what it is


def write_atomically(path: Path, data: bytes, *, what: str, make_folder: bool = False) -> None:
    """Puts `data` at `path`; what was there before goes only when all of it is on the disk.

    A link is followed, so that it stays one; the permissions of a file that is there are kept.
    what: what a person calls it, with a capital ("The debrief"). make_folder: also the folder it
    goes to. Raises Refusal, and leaves everything as it was then.
    """
    where = one_line(str(path))
    try:
        place = path.resolve()
        if place.is_dir():
            raise Refusal("There is a folder of that name", where=where, do="Choose another name")
        if place.is_symlink():  # a link to itself, which newer Pythons leave as it is
            raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        if place.exists() and not place.is_file():
            # A device would give way to a plain file.
            do = "Name a file, or - for the standard output"
            raise Refusal("This is a device or a pipe, not a file", where=where, do=do)
        if make_folder:
            place.parent.mkdir(parents=True, exist_ok=True)
        _replace(place, data)
    except FileNotFoundError:
        what = f"{what} could not be written: there is no such folder"
        raise Refusal(what, where=where, do="Make the folder, or choose another") from None
    except (OSError, RuntimeError, ValueError) as error:  # a link to itself; a null byte
        do = "Choose a folder you may write to"
        raise from_system(error, f"{what} could not be written", path, do=do) from None


def overwrite_own(
    path: Path, text: str, *, what: str, none: str, own: Callable[[bytes, bytes], bool]
) -> None:
    """Puts a text at `path` as `write_atomically` does, and never over a file of something else.

    own: whether a file that begins and ends with these bytes is an earlier one of its kind; an
    empty file is nobody's. none: what another file is not ("is not a debrief").
    """
    try:
        foreign = path.is_file() and not _is_own(path, own)
    except (OSError, ValueError):
        foreign = False  # what is wrong is said when it is written
    if foreign:
        raise Refusal(
            f"There is a file of that name, and it {none}",
            where=one_line(str(path)),
            do="Choose another name, or take it away first",
        )
    write_atomically(path, text.encode("utf-8", "replace"), what=what)


def _is_own(path: Path, own: Callable[[bytes, bytes], bool]) -> bool:
    with path.open("rb") as file:
        head = file.read(_LOOKED_AT)
        file.seek(0, os.SEEK_END)
        file.seek(max(file.tell() - _LOOKED_AT, 0))
        return not head or own(head, file.read())


def _replace(place: Path, data: bytes) -> None:
    new = place.with_name(f".{place.name[:200]}.{secrets.token_hex(4)}.new")
    try:
        with new.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with suppress(OSError):
            new.chmod(stat.S_IMODE(place.stat().st_mode))
        new.replace(place)
    except BaseException:
        with suppress(OSError):
            new.unlink()
        raise
