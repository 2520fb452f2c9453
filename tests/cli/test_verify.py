"""`coach verify`: is it whole, and what happened; for journals in good and in bad state."""

from __future__ import annotations

import random
import tomllib
from pathlib import Path

import pytest

from coach.sprint.journal.writing import FIRST_CHECK, seal
from tests.cli.conftest import Coach
from tests.rehearsals import Rehearsals


@pytest.fixture(scope="module")
def rehearsed(rehearsed_once: Rehearsals) -> bytes:
    return rehearsed_once("orchard-radio-tag", seed=1, forget=0.1).path.read_bytes()


@pytest.fixture
def journal(tmp_path: Path, rehearsed: bytes) -> Path:
    path = tmp_path / "journal.toml"
    path.write_bytes(rehearsed)
    return path


def edit(path: Path, old: bytes, new: bytes) -> int:
    """Replaces the first `old`; returns the number of its line."""
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new, 1))
    return data[: data.index(old)].count(b"\n") + 1


def resealed(data: bytes) -> bytes:
    """The same blocks with checks that are right: what a foreign program could write."""
    blocks: list[bytes] = []
    block = b""
    for line in data.splitlines(keepends=True):
        if line.startswith(b"# check "):
            blocks.append(block)
            block = b""
        else:
            block += line
    written, check = b"", FIRST_CHECK
    for number, one in enumerate(blocks, start=1):
        sealed, check = seal(one, number, check)
        written += sealed
    return written


def test_a_whole_journal_is_told_from_beginning_to_end(coach: Coach, journal: Path) -> None:
    answer = coach("verify", str(journal))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    events = tomllib.loads(journal.read_text(encoding="utf-8"))["event"]
    assert lines[0] == f"Intact: all {len(events) + 4} blocks verify."
    told = [line for line in lines if line[:2].strip().isdigit() and line[2:3] == ":"]
    assert len(told) == len(events)
    assert told[0].startswith(" 0:00  The sprint began: ")
    assert told[-2].endswith("The order was accepted and paid.")
    assert "  Summed up: " in told[-1]
    assert any(line.startswith("Essentials: ") for line in lines)
    assert any(line.startswith("The order was accepted and paid ") for line in lines)


def test_looking_changes_nothing_and_leaves_nothing(coach: Coach, journal: Path) -> None:
    before = journal.read_bytes()
    coach("verify", str(journal))
    assert journal.read_bytes() == before
    assert [path.name for path in journal.parent.glob("*.toml*")] == ["journal.toml"]


def test_a_torn_journal_is_not_whole_and_told_up_to_there(coach: Coach, journal: Path) -> None:
    data = journal.read_bytes()
    journal.write_bytes(data[: data.index(b'what = "ended"')])
    answer = coach("verify", str(journal))
    assert answer.code == 1
    lines = answer.out.splitlines()
    assert lines[0] == "Damaged: 1 fault."
    assert "The end is torn" in lines[1]
    assert "  The sprint began: " in answer.out
    assert "Still running, " in answer.out


def test_an_edited_block_is_named_by_line(coach: Coach, journal: Path) -> None:
    line = edit(journal, b'evidence = "inspected"', b'evidence = "measured"')
    answer = coach("verify", str(journal))
    assert answer.code == 1
    assert "was changed after it was written" in answer.out
    shown = int(answer.out.splitlines()[1].split()[1].rstrip(":"))
    block = journal.read_text(encoding="utf-8").splitlines()[shown - 1 : line]
    assert block[0] == "[[event]]"
    assert block.count("[[event]]") == 1
    assert "Met (measured)" in answer.out


def test_an_event_that_is_none_of_ours_any_more_is_said(coach: Coach, journal: Path) -> None:
    edit(journal, b'what = "item-met"', b'what = "item-lost"')
    answer = coach("verify", str(journal))
    assert answer.code == 1
    assert "(item-lost) is not one this coach knows; it is left out." in answer.out
    assert "The order was accepted and paid." in answer.out


def test_a_header_that_was_edited_away_leaves_the_faults(coach: Coach, journal: Path) -> None:
    edit(journal, b"[journal.brief]", b"[journal.letter]")
    answer = coach("verify", str(journal))
    assert answer.code == 1
    assert answer.out.startswith("Damaged: 1 fault.")
    assert "What happened cannot be told." in answer.out


def test_a_journal_that_breaks_off_in_its_header_is_one_sentence(
    coach: Coach, journal: Path
) -> None:
    journal.write_bytes(journal.read_bytes()[:300])
    assert "breaks off within its header" in coach("verify", str(journal)).sentence


def test_a_newer_journal_is_one_sentence(coach: Coach, journal: Path) -> None:
    edit(journal, b"[journal]\nversion = 2\n", b"[journal]\nversion = 9\n")
    assert "Written by a newer coach: version 9" in coach("verify", str(journal)).sentence


def test_an_event_of_a_newer_coach_is_one_sentence_and_the_rest_is_told(
    coach: Coach, journal: Path
) -> None:
    edit(journal, b'what = "item-met"', b'what = "item-photographed"')
    journal.write_bytes(resealed(journal.read_bytes()))
    answer = coach("verify", str(journal))
    assert answer.code == 1
    assert "(item-photographed) is not one this coach knows; it is left out." in answer.out
    assert "The order was accepted and paid." in answer.out


@pytest.mark.parametrize("data", [b"", b"title = 1\n", b"\x00\xff\x00", b"[journal]\n", b"<html>"])
def test_a_foreign_file_is_one_sentence(coach: Coach, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "foreign.toml"
    path.write_bytes(data)
    assert "foreign.toml" in coach("verify", str(path)).sentence


def test_a_folder_is_one_sentence(coach: Coach, tmp_path: Path) -> None:
    assert "This is a folder" in coach("verify", str(tmp_path)).sentence


def test_whatever_a_byte_becomes_the_fault_is_told_without_a_traceback(
    coach: Coach, journal: Path
) -> None:
    data = journal.read_bytes()
    dice = random.Random(1)
    letters = b'"0-a=[]\n#\x1b\xff'
    for _ in range(60):
        place = dice.randrange(100, len(data))
        hurt = bytes([letters[dice.randrange(len(letters))]])
        if data[place : place + 1] == hurt:
            continue
        journal.write_bytes(data[:place] + hurt + data[place + 1 :])
        answer = coach("verify", str(journal))
        assert answer.code in (1, 2), place
        assert "Traceback" not in answer.out + answer.err
        assert "\x1b" not in answer.out + answer.err


def test_whatever_an_event_says_a_resealed_journal_is_told_or_refused(
    coach: Coach, journal: Path
) -> None:
    data = journal.read_bytes()
    swaps = [
        (b'phase = "regulation"', b'phase = "nowhere"'),
        (b'what = "calculation-saved"\n', b'what = "calculation-stale"\nmissing = "x"\n'),
        (b"deadline = ", b"deadline = -"),
        (b'verdict = "pass"', b'verdict = "perhaps"'),
        (b'fact = "', b'fact = "x'),
        (b'item = "', b'item = "x'),
        (b"speed = 1.0", b"speed = 0.0"),
        (b"started = ", b"started = 5 #"),
    ]
    for old, new in swaps:
        journal.write_bytes(resealed(data.replace(old, new)))
        answer = coach("verify", str(journal))
        assert answer.code in (0, 1, 2), (old, answer)
