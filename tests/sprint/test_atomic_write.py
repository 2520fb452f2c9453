"""A file is written whole, or what stood there stays."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from coach.sprint.atomic_write import write_atomically
from phases.kit.refusals import Refusal


def test_it_takes_the_place_of_what_was_there_and_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "a.html"
    path.write_text("old", encoding="utf-8")
    path.chmod(0o640)
    write_atomically(path, b"new", what="The debrief")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [one.name for one in tmp_path.iterdir()] == ["a.html"]


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "no space left on the device. Free some space and do it again"),
        (errno.EDQUOT, "no space left on the device"),
        (errno.EIO, "could not be written: input/output error"),
    ],
)
def test_on_a_full_disk_the_old_file_stays_and_nothing_is_left_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    path = tmp_path / "a.html"
    path.write_text("old", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Refusal) as refused:
        write_atomically(path, b"new", what="The debrief")
    assert str(refused.value).startswith(f"{path}: The debrief could not be written: ")
    assert says in str(refused.value)
    assert path.read_text(encoding="utf-8") == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["a.html"]


def test_a_folder_that_may_not_be_written_to_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "open", forbidden)
    with pytest.raises(Refusal, match=r"permission denied\. Choose a folder you may write to"):
        write_atomically(tmp_path / "a.html", b"new", what="The debrief")


def test_a_missing_folder_a_folder_and_a_device_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match=r"no such folder\. Make the folder"):
        write_atomically(tmp_path / "no" / "a.html", b"", what="The debrief")
    with pytest.raises(Refusal, match="There is a folder of that name"):
        write_atomically(tmp_path, b"", what="The debrief")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(Refusal, match="This is a device or a pipe"):
        write_atomically(pipe, b"", what="The debrief")
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_link_stays_a_link_and_a_ring_of_links_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "real.md").write_text("old", encoding="utf-8")
    link = tmp_path / "link.md"
    link.symlink_to("real.md")
    write_atomically(link, b"new", what="The debrief")
    assert link.is_symlink()
    assert (tmp_path / "real.md").read_bytes() == b"new"
    ring = tmp_path / "ring.md"
    ring.symlink_to("ring.md")
    with pytest.raises(Refusal, match="The debrief could not be written"):
        write_atomically(ring, b"new", what="The debrief")


def test_where_a_ring_of_links_is_not_refused_by_the_system_it_stays_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From Python 3.13 on, resolving such a link gives the link itself."""
    ring = tmp_path / "ring.md"
    ring.symlink_to("ring.md")
    monkeypatch.setattr(Path, "resolve", lambda self: self)
    with pytest.raises(Refusal, match="The debrief could not be written: too many levels of"):
        write_atomically(ring, b"new", what="The debrief")
    assert ring.is_symlink()


def test_the_folder_is_made_where_that_is_wanted(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "down" / "a.toml"
    write_atomically(path, b"new", what="The house rules", make_folder=True)
    assert path.read_bytes() == b"new"
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(Refusal, match="The house rules could not be written: "):
        write_atomically(tmp_path / "file" / "a", b"", what="The house rules", make_folder=True)


def test_a_path_with_a_null_byte_is_one_sentence() -> None:
    with pytest.raises(Refusal, match="could not be written"):
        write_atomically(Path("a\0b"), b"", what="The debrief")
