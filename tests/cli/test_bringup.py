"""`coach bringup`: the sheet printed and written, and readings taken from a file."""

from __future__ import annotations

import errno
import json
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.cli.bringup import boards_of
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, SaveCalculation
from coach.sprint.session import start_sprint
from phases.kit.refusals import Refusal
from tests.cli.conftest import Coach

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
CSV = "board,point,reading\n1,rail.3v3.voltage,3.31 V\n2,rail.3v3.voltage,3.32 V\n"


def sprint(path: Path, *, end: bool = True) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(NINE)) as session:
        for name in ("load-budget", "drop-chain@vbus", "linear-regulator@3v3"):
            calculator, _, subject = name.partition("@")
            session.do(SaveCalculation(calculator, subject))
        if end:
            session.do(End(accepted=False))
    return path


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    return sprint(tmp_path / "a.toml")


@pytest.fixture
def csv(tmp_path: Path) -> Path:
    path = tmp_path / "bench.csv"
    path.write_text(CSV)
    return path


def test_without_a_terminal_the_sheet_is_printed(coach: Coach, journal: Path) -> None:
    answer = coach("bringup", str(journal))
    assert answer.code == 0
    assert answer.out.startswith("Bring-up sheet: USB bench meter\n")
    assert "expect 3.2 .. 3.4 V (typical 3.3 V)" in answer.out
    assert "[3] ____" in answer.out


def test_without_a_journal_it_is_the_newest_that_has_ended(coach: Coach, sessions: Path) -> None:
    sprint(sessions / "done.toml")
    assert f"Journal: {sessions / 'done.toml'}" in coach("bringup").out


def test_boards_have_a_column_each(coach: Coach, journal: Path) -> None:
    answer = coach("bringup", str(journal), "--boards", "4,5")
    assert "[4] ____" in answer.out
    assert "[1]" not in answer.out


def test_the_page_is_written_beside_what_else_is_there(
    coach: Coach, journal: Path, tmp_path: Path
) -> None:
    answer = coach("bringup", str(journal), "--html", str(tmp_path / "sheet.html"))
    assert (answer.code, answer.out) == (0, "")
    assert answer.err == f"The bring-up sheet is in {tmp_path / 'sheet.html'}\n"
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_the_page_never_takes_the_journals_place(coach: Coach, journal: Path) -> None:
    before = journal.read_bytes()
    answer = coach("bringup", str(journal), "--html", str(journal))
    assert "not a bring-up sheet" in answer.sentence
    assert journal.read_bytes() == before


def test_json_is_printed_for_a_program(coach: Coach, journal: Path) -> None:
    document = json.loads(coach("bringup", str(journal), "--json", "-").out)
    assert document["bringup_sheet"] == 1
    assert "rail.3v3.voltage" in {step["id"] for step in document["steps"]}


def test_readings_of_a_file_are_written_down_and_judged(
    coach: Coach, journal: Path, csv: Path
) -> None:
    answer = coach("bringup", str(journal), "--measured", str(csv))
    assert (answer.code, answer.out) == (0, "2 readings written down: 2 inside\n")
    assert len(read_sprint(journal).state.measured) == 2
    assert "[1] 3.31 V, inside" in coach("bringup", str(journal)).out


def test_a_bare_number_of_a_file_is_said_back_with_its_unit(
    coach: Coach, journal: Path, csv: Path
) -> None:
    csv.write_text("board,point,reading\n1,supply.vbus.limit,190\n")
    answer = coach("bringup", str(journal), "--measured", str(csv))
    assert "board 1, Current limit for vbus" in answer.out
    assert ": 190 mA, " in answer.out
    (measured,) = read_sprint(journal).state.measured.values()
    assert measured.text == "190 mA"


def test_words_of_a_file_where_a_number_is_wanted_are_said(
    coach: Coach, journal: Path, csv: Path
) -> None:
    csv.write_text("board,point,reading\n1,rail.3v3.voltage,warm\n")
    answer = coach("bringup", str(journal), "--measured", str(csv))
    assert "Noted: warm. Enter a number: 3.2 .. 3.4 V." in answer.out


def test_a_form_is_written_filled_in_and_read(coach: Coach, journal: Path, tmp_path: Path) -> None:
    form = tmp_path / "form.toml"
    answer = coach("bringup", str(journal), "--form", str(form))
    assert (answer.code, answer.out) == (0, "")
    assert answer.err == f"The form for board 1 is in {form}\n"
    blank = '"rail.3v3.voltage" = ""'
    assert blank in form.read_text()
    form.write_text(form.read_text().replace(blank, '"rail.3v3.voltage" = "3.31"'))
    answer = coach("bringup", str(journal), "--measured", str(form))
    assert answer.out.startswith("1 reading written down: 1 inside\n")


def test_a_form_that_may_be_filled_in_stays(coach: Coach, journal: Path, csv: Path) -> None:
    before = csv.read_bytes()
    assert "perhaps filled in" in coach("bringup", str(journal), "--form", str(csv)).sentence
    assert csv.read_bytes() == before


def test_a_reading_outside_is_said_and_shows_in_the_exit_code(
    coach: Coach, journal: Path, csv: Path
) -> None:
    csv.write_text(CSV.replace("3.32", "2.9"))
    answer = coach("bringup", str(journal), "--measured", str(csv))
    assert answer.code == 1
    assert answer.out.startswith("2 readings written down: 1 inside, 1 outside\n")
    assert "board 2, 3v3 voltage: 2.9 V, outside 3.2 .. 3.4 V, short by 300 mV" in answer.out


def test_a_reading_apart_from_the_other_board_is_said(
    coach: Coach, journal: Path, csv: Path
) -> None:
    csv.write_text(CSV.replace("3.32", "3.39"))
    answer = coach("bringup", str(journal), "--measured", str(csv))
    assert answer.code == 0
    assert "but board 1 read 3.31 V." in answer.out


def test_one_reading_that_cannot_be_read_keeps_all_of_them_out(
    coach: Coach, journal: Path, csv: Path
) -> None:
    csv.write_text(CSV + "2,rail.3v3.voltages,3.3 V\n")
    before = journal.read_bytes()
    sentence = coach("bringup", str(journal), "--measured", str(csv)).sentence
    assert sentence.startswith(f"{csv}, line 4, rail.3v3.voltages: There is no point")
    assert journal.read_bytes() == before


def test_the_sheet_can_be_printed_while_the_sprint_goes_on(coach: Coach, tmp_path: Path) -> None:
    running = sprint(tmp_path / "b.toml", end=False)
    answer = coach("bringup", str(running))
    assert answer.code == 0
    assert "The sprint goes on" in answer.out


def test_nothing_is_entered_while_the_sprint_goes_on(
    coach: Coach, tmp_path: Path, csv: Path
) -> None:
    running = sprint(tmp_path / "b.toml", end=False)
    before = running.read_bytes()
    sentence = coach("bringup", str(running), "--measured", str(csv)).sentence
    assert "The sprint goes on" in sentence
    assert running.read_bytes() == before


def test_a_damaged_journal_still_gives_its_sheet(coach: Coach, journal: Path) -> None:
    journal.write_bytes(journal.read_bytes()[:-30])
    answer = coach("bringup", str(journal))
    assert answer.code == 1
    assert "rail" in answer.out and answer.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--text", "--html", "-"), "Only one of them can be printed"),
        (("--form", "-"), "The form goes to a file"),
        (("--json", "x", "--html", "x"), "name the same file"),
        (("--boards", "a b"), "'a b' is not a board number"),
        (("--measured", "nowhere.csv"), "There is no file of readings here"),
        (("--board", "1"), "Nearest: --boards"),
        (("second.toml",), "Unexpected argument 'second.toml'"),
    ],
)
def test_a_wrong_call_is_one_sentence(
    coach: Coach, journal: Path, words: tuple[str, ...], said: str
) -> None:
    assert said in coach("bringup", str(journal), *words).sentence


def test_a_file_of_readings_is_one_write_so_that_a_full_disk_takes_none_of_it(
    coach: Coach, journal: Path, csv: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, written = journal.read_bytes(), 0

    def full(descriptor: int, data: bytes) -> int:
        nonlocal written
        written += 1
        if written == 1:
            return real(descriptor, data[: len(data) // 2 + 60])
        raise OSError(errno.ENOSPC, "No space left on device")

    real = os.write
    monkeypatch.setattr("coach.sprint.journal.file.os.write", full)
    answer = coach("bringup", str(journal), "--measured", str(csv))
    monkeypatch.undo()
    assert "no space left on the device" in answer.err
    assert journal.read_bytes() == before


@pytest.mark.parametrize(
    ("typed", "boards"),
    [
        ("1,2,3", ("1", "2", "3")),
        ("4", ("4",)),
        ("1-4", ("1", "2", "3", "4")),
        ("B07, B08", ("B07", "B08")),
        ("1,1,2", ("1", "2")),
        ("A-1", ("A-1",)),
    ],
)
def test_boards_are_named_one_by_one_or_as_a_run(typed: str, boards: tuple[str, ...]) -> None:
    assert boards_of(typed) == boards


@pytest.mark.parametrize(
    "typed",
    ["", ",", "a b", "1-40", "4-1", "0-99999", "1-12345678901", "1,2,3,4,5,6,7,8,9,a,b,c,d"],
)
def test_a_list_of_boards_that_means_nothing_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        boards_of(typed)
