"""`coach trends`: stdout is what was counted, stderr what was noticed on the way."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import pytest

from coach.cli.trends import _tell_progress
from tests.cli.conftest import Coach
from tests.history.copies import copies
from tests.history.small import small_journal


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three sprints of the bench lamp, one of which goes on."""
    made = tmp_path / "mine"
    made.mkdir()
    small_journal(made / "a.toml")
    small_journal(made / "b.toml", day=1, missed=False)
    small_journal(made / "c.toml", day=2, ended=False)
    return made


def test_it_counts_the_journals_of_a_folder(coach: Coach, folder: Path) -> None:
    answer = coach("trends", str(folder))
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.splitlines()[0] == "2 sprints from 2031-05-05 to 2031-05-06."
    # The bench lamp is known to have 17: what was paid is met in both, the debug pins in one.
    assert "31 essentials were forgotten, of 34 that were due." in answer.out
    assert "10 more were never answered; not counted." in answer.out
    row = next(line for line in answer.out.splitlines() if "capacitors" in line)
    assert row.split()[:5] == ["capacitors", "*", "2", "of", "2"]
    assert answer.out.endswith("\n1 still running, counted when it ends.\n")


def test_it_takes_journals_by_name_too(coach: Coach, folder: Path) -> None:
    answer = coach("trends", str(folder / "a.toml"), str(folder / "b.toml"))
    assert answer.out.startswith("2 sprints")


def test_without_a_folder_it_is_that_of_the_sessions(coach: Coach, sessions: Path) -> None:
    sessions.mkdir()
    small_journal(sessions / "a.toml")
    assert coach("trends").out.startswith("1 sprint on 2031-05-05.")


def test_where_nothing_was_ever_sprinted_it_is_one_sentence(coach: Coach, sessions: Path) -> None:
    answer = coach("trends")
    assert not sessions.exists()
    assert answer.code == 0
    assert answer.out == "No sprint has ended yet: there is nothing to count.\n"


def test_a_folder_that_is_not_there_is_refused(coach: Coach, tmp_path: Path) -> None:
    for name in (str(tmp_path / "nowhere"), "a\0b", "x" * 5000):
        assert "There is no such folder and no such journal" in coach("trends", name).sentence


def test_rehearsed_sprints_count_only_when_asked_for(
    coach: Coach, tmp_path: Path, samples: tuple[bytes, ...]
) -> None:
    for number, data in enumerate(samples):
        (tmp_path / f"{number}.toml").write_bytes(data)
    alone = coach("trends", str(tmp_path))
    assert " ".join(alone.out.split()) == (
        "No sprint counts yet. 3 rehearsed sprints left out (run with a faster clock, or "
        "simulated): --rehearsed counts them."
    )
    asked = coach("trends", str(tmp_path), "--rehearsed")
    assert "all rehearsed (3 simulated)." in asked.out.splitlines()[0]
    assert "left out" not in asked.out


def test_sprints_of_a_person_at_another_speed_are_rehearsed_ones(
    coach: Coach, tmp_path: Path
) -> None:
    for day in range(3):
        small_journal(tmp_path / f"{day}.toml", day=day, speed=60.0)
    assert "3 rehearsed sprints left out" in coach("trends", str(tmp_path)).out
    asked = coach("trends", str(tmp_path), "--rehearsed")
    assert "all rehearsed (3 with a faster clock)." in asked.out


def test_a_copy_of_a_journal_counts_once_and_is_said(coach: Coach, folder: Path) -> None:
    (folder / "copy of a.toml").write_bytes((folder / "a.toml").read_bytes())
    answer = coach("trends", str(folder))
    assert answer.out.startswith("2 sprints")
    assert "\n1 copy left out.\n" in answer.out


def test_sprints_given_up_at_once_do_not_count(coach: Coach, tmp_path: Path) -> None:
    small_journal(tmp_path / "a.toml")
    small_journal(tmp_path / "b.toml", day=1, accepted=False)
    answer = coach("trends", str(tmp_path))
    assert answer.out.startswith("1 sprint on 2031-05-05.")
    assert "1 sprint was given up at once" in answer.out
    plain = json.loads(coach("trends", str(tmp_path), "--json", "-").out)
    assert plain["counts"]["given_up"] == 1
    assert [one["given_up"] for one in plain["sprints"]] == [False, True]


# ---- what is none ----------------------------------------------------------------------------


def test_what_is_no_journal_is_named_up_to_five_and_then_counted(
    coach: Coach, folder: Path
) -> None:
    for number in range(17):
        (folder / f"note-{number:02d}.toml").write_text("title = 'x'\n", encoding="utf-8")
    answer = coach("trends", str(folder))
    said = answer.err.splitlines()
    assert len(said) == 6
    assert said[0].startswith(f"{folder}/note-00.toml: This is not the journal of a sprint")
    assert said[5] == "And 12 more that cannot be counted."
    assert answer.out.startswith("2 sprints")
    assert answer.code == 0


def test_a_damaged_journal_is_named_and_counted_as_far_as_it_is_whole(
    coach: Coach, folder: Path
) -> None:
    path = folder / "a.toml"
    path.write_bytes(path.read_bytes().replace(b'\nphase = "closing"\n', b'\nphase = "layout"\n'))
    answer = coach("trends", str(folder))
    assert answer.err.count("\n") == 1
    assert answer.err.startswith(f"{path}: Damaged, counted as far as it goes. Line ")
    assert answer.out.startswith("2 sprints")
    assert answer.code == 0
    told = " ".join(coach("trends", "--help").out.split())
    assert "are reported on stderr and skipped; exit code 0." in told


# ---- tables ----------------------------------------------------------------------------------


def test_csv_and_json_go_where_they_are_told(coach: Coach, folder: Path, tmp_path: Path) -> None:
    table, plain = tmp_path / "t.csv", tmp_path / "t.json"
    answer = coach("trends", str(folder), "--csv", str(table), "--json", str(plain))
    assert answer.out.startswith("2 sprints")
    assert answer.err == f"The CSV is in {table}\nThe JSON is in {plain}\n"
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert {row["item"]: row["forgotten"] for row in rows}["debug-pins"] == "1"
    assert json.loads(plain.read_text(encoding="utf-8"))["counts"]["sprints"] == 2


@pytest.mark.parametrize("kind", ["--csv", "--json"])
def test_a_dash_prints_the_table_and_nothing_else(coach: Coach, folder: Path, kind: str) -> None:
    answer = coach("trends", str(folder), kind, "-")
    assert answer.out.startswith("item," if kind == "--csv" else "{")
    assert "1 still running" in answer.err
    if kind == "--json":
        json.loads(answer.out)


def test_the_columns_of_the_csv_are_told(coach: Coach, folder: Path) -> None:
    told = coach("trends", "--columns").out.splitlines()
    head = coach("trends", str(folder), "--csv", "-").out.splitlines()[0].split(",")
    assert [line.split("  ")[0] for line in told] == head
    assert all(len(line.split(maxsplit=1)[1]) > 5 for line in told)


def test_only_one_table_goes_to_one_place(coach: Coach, folder: Path, tmp_path: Path) -> None:
    for place, says in (("-", "Only one of them can be printed"), ("x", "CSV and JSON name the")):
        where = place if place == "-" else str(tmp_path / place)
        assert says in coach("trends", str(folder), "--csv", where, "--json", where).sentence


def test_a_journal_is_never_overwritten_by_a_table(coach: Coach, folder: Path) -> None:
    before = (folder / "a.toml").read_bytes()
    answer = coach("trends", str(folder), "--csv", str(folder / "a.toml"))
    assert answer.code == 2
    assert "it holds no trends" in answer.err
    assert (folder / "a.toml").read_bytes() == before


def test_a_place_that_cannot_be_written_is_one_sentence(coach: Coach, folder: Path) -> None:
    answer = coach("trends", str(folder), "--json", str(folder))
    assert answer.code == 2
    assert "There is a folder of that name" in answer.err
    assert answer.out == ""


# ---- progress --------------------------------------------------------------------------------


def test_many_journals_say_how_far_it_is_on_stderr(
    coach: Coach, folder: Path, tmp_path: Path
) -> None:
    copies([(folder / "a.toml").read_bytes()], tmp_path / "many", 130)
    answer = coach("trends", str(tmp_path / "many"))
    assert answer.err.splitlines() == [
        "50 of 130 journals read",
        "100 of 130 journals read",
        "130 of 130 journals read",
    ]
    assert answer.out.startswith("130 sprints")


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_on_a_terminal_it_stands_in_one_place_and_goes_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    for done in range(25, 101, 25):
        _tell_progress(done, 100)
    written = terminal.getvalue()
    assert "\n" not in written
    assert "\r100 of 100 journals read" in written
    assert written.endswith(f"\r{'':{len('100 of 100 journals read')}}\r")
