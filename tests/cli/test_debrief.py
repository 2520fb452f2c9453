"""`coach debrief` without a terminal: as text, as Markdown, as HTML, and never over a stranger."""

from __future__ import annotations

import errno
import os
import random
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.cli.conftest import Coach
from tests.cli.test_verify import resealed
from tests.rehearsals import Rehearsals


@pytest.fixture(scope="module")
def rehearsed(rehearsed_once: Rehearsals) -> bytes:
    return rehearsed_once("usb-bench-meter", seed=3, forget=0.1).path.read_bytes()


@pytest.fixture
def journal(tmp_path: Path, rehearsed: bytes) -> Path:
    path = tmp_path / "journal.toml"
    path.write_bytes(rehearsed)
    return path


def test_it_is_printed_as_text_what_is_changeable_first_then_the_sentences(
    coach: Coach, journal: Path
) -> None:
    answer = coach("debrief", str(journal))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0].strip().startswith("USB bench meter")
    headings = [line[1] for line in lines if line[:1] == " " and line[1:2].isdigit()]
    # A part that has nothing to say is left out.
    assert headings == list("123456789")[: len(headings)] and len(headings) >= 8
    assert lines[2] == " A simulated engineer's sprint."
    assert lines[4] == " 1 Still changeable before production"
    assert "3 In three sentences" in answer.out and "closed in time: ↵" not in answer.out
    assert lines[-1] == f" Journal: {journal}"
    assert max(map(len, lines[:-1])) <= 80
    assert coach("debrief", str(journal), "--text").out == answer.out


def test_without_a_journal_it_is_the_newest_that_has_ended(
    coach: Coach, sessions: Path, journal: Path
) -> None:
    assert "There is no sprint here that has ended" in coach("debrief").sentence
    sessions.mkdir()
    journal.rename(sessions / "journal.toml")
    (sessions / "brief.toml").write_text("title = 'none'\n", encoding="utf-8")
    answer = coach("debrief")
    assert answer.code == 0
    assert answer.out.endswith(f" Journal: {sessions / 'journal.toml'}\n")


def test_looking_changes_nothing_and_leaves_nothing(coach: Coach, journal: Path) -> None:
    before = journal.read_bytes()
    coach("debrief", str(journal))
    assert journal.read_bytes() == before
    assert [one.name for one in journal.parent.iterdir()] == ["journal.toml"]


def test_it_is_written_as_markdown_and_as_html_and_says_where(
    coach: Coach, journal: Path, tmp_path: Path
) -> None:
    markdown, page = tmp_path / "d.md", tmp_path / "d.html"
    answer = coach("debrief", str(journal), "--markdown", str(markdown), "--html", str(page))
    assert (answer.code, answer.out) == (0, "")
    assert answer.err == f"The debrief is in {markdown}\nThe debrief is in {page}\n"
    assert markdown.read_text(encoding="utf-8").startswith("# Debrief: USB bench meter\n")
    HTMLParser().feed(page.read_text(encoding="utf-8"))
    first = (markdown.read_bytes(), page.read_bytes())
    again = coach("debrief", str(journal), "--markdown", str(markdown), "--html", str(page))
    assert again.code == 0, "an earlier debrief gives way"
    assert (markdown.read_bytes(), page.read_bytes()) == first


@pytest.mark.parametrize("form", ["--markdown", "--html"])
def test_a_dash_prints_what_would_stand_in_the_file(
    coach: Coach, journal: Path, tmp_path: Path, form: str
) -> None:
    printed = coach("debrief", str(journal), form, "-")
    assert (printed.code, printed.err) == (0, "")
    coach("debrief", str(journal), form, str(tmp_path / "d"))
    assert printed.out == (tmp_path / "d").read_text(encoding="utf-8")


def test_only_one_thing_is_printed_and_two_files_are_two(coach: Coach, journal: Path) -> None:
    for words in (("--markdown", "-", "--html", "-"), ("--text", "--html", "-")):
        assert "Only one of them can be printed" in coach("debrief", str(journal), *words).sentence
    same = coach("debrief", str(journal), "--markdown", "x", "--html", "x").sentence
    assert "name the same file" in same


@pytest.mark.parametrize("form", ["--markdown", "--html"])
def test_no_other_file_is_ever_overwritten(
    coach: Coach, journal: Path, tmp_path: Path, form: str
) -> None:
    brief, note = tmp_path / "brief.toml", tmp_path / "note.md"
    brief.write_text("title = 'mine'\n", encoding="utf-8")
    note.write_text("# Debrief: Monday\n\nWe talked.\n", encoding="utf-8")
    (tmp_path / "page.html").write_text("<!doctype html><title>Mine</title>", encoding="utf-8")
    for path in (journal, brief, note, tmp_path / "page.html"):
        before = path.read_bytes()
        sentence = coach("debrief", str(journal), form, str(path)).sentence
        assert sentence == (
            f"{path}: There is a file of that name, and it is not a debrief. "
            "Choose another name, or take it away first."
        )
        assert path.read_bytes() == before


def test_a_debrief_in_the_other_form_gives_way(coach: Coach, journal: Path, tmp_path: Path) -> None:
    path = tmp_path / "d"
    for form in ("--markdown", "--html", "--markdown"):
        assert coach("debrief", str(journal), form, str(path)).code == 0


def test_where_it_cannot_be_written_it_is_one_sentence_and_nothing_is_left(
    coach: Coach, journal: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing = coach("debrief", str(journal), "--html", str(tmp_path / "no" / "d.html")).sentence
    assert "there is no such folder" in missing
    assert (
        "a folder of that name" in coach("debrief", str(journal), "--html", str(tmp_path)).sentence
    )

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    sentence = coach("debrief", str(journal), "--markdown", str(tmp_path / "d.md")).sentence
    assert "The debrief could not be written: no space left on the device" in sentence
    assert [one.name for one in tmp_path.iterdir()] == ["journal.toml"]


def before_the_end(journal: Path) -> bytes:
    """The bytes of a journal up to the block that ended the sprint."""
    data = journal.read_bytes()
    return data[: data.rindex(b"[[event]]", 0, data.index(b'what = "ended"'))]


def test_a_damaged_journal_is_told_as_far_as_it_is_whole_with_exit_code_1(
    coach: Coach, journal: Path, tmp_path: Path
) -> None:
    journal.write_bytes(before_the_end(journal) + b"[[event]]\n")
    answer = coach("debrief", str(journal))
    assert answer.code == 1
    assert "The end is torn" in answer.err
    assert " This journal is damaged, 1 fault; the rest is told\n" in answer.out
    assert "1 Still changeable before the order is accepted" in answer.out
    written = coach("debrief", str(journal), "--markdown", str(tmp_path / "d.md"))
    assert written.code == 1
    assert "The end is torn" in (tmp_path / "d.md").read_text(encoding="utf-8")


def test_a_sprint_that_goes_on_says_that_nothing_is_final(coach: Coach, journal: Path) -> None:
    journal.write_bytes(before_the_end(journal))
    answer = coach("debrief", str(journal))
    assert answer.code == 0
    assert "nothing here is final" in answer.out.splitlines()[1]


@pytest.mark.parametrize("data", [b"", b"title = 1\n", b"\x00\xff\x00", b"[journal]\n", b"<html>"])
def test_a_foreign_file_is_one_sentence(coach: Coach, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "foreign.toml"
    path.write_bytes(data)
    assert "foreign.toml" in coach("debrief", str(path)).sentence


def test_a_missing_journal_a_folder_and_a_word_too_many_are_one_sentence(
    coach: Coach, tmp_path: Path
) -> None:
    assert "There is no journal here" in coach("debrief", str(tmp_path / "no.toml")).sentence
    assert "This is a folder" in coach("debrief", str(tmp_path)).sentence
    assert "Unexpected argument 'b'" in coach("debrief", "a", "b").sentence


def test_whatever_a_byte_becomes_it_is_told_or_refused_without_a_traceback(
    coach: Coach, journal: Path
) -> None:
    data = journal.read_bytes()
    dice = random.Random(2)
    letters = b'"0-a=[]\n#\x1b\xff'
    for _ in range(25):
        place = dice.randrange(100, len(data))
        hurt = bytes([letters[dice.randrange(len(letters))]])
        if data[place : place + 1] == hurt:
            continue
        journal.write_bytes(data[:place] + hurt + data[place + 1 :])
        answer = coach("debrief", str(journal))
        assert answer.code in (1, 2), place
        assert "Traceback" not in answer.out + answer.err
        assert "\x1b" not in answer.out + answer.err


@pytest.mark.parametrize("key", ["message", "title", "statement", "reason", "words", "name"])
def test_what_a_forged_journal_says_cannot_reach_the_terminal(
    coach: Coach, journal: Path, key: str
) -> None:
    begins = f'{key} = "'.encode()
    escapes = rb"\u001b]0;title\u0007\u001b[31m\u202e"
    data = journal.read_bytes()
    assert begins in data
    journal.write_bytes(resealed(data.replace(begins, begins + escapes)))
    answer = coach("debrief", str(journal))
    assert answer.code in (0, 1)
    assert not set("\x1b\x07\u202e") & set(answer.out + answer.err)
