"""`coach rehearse`: a whole sprint in seconds, and the journals that come with the project."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.journal.file import Journal
from phases.kit.shared_data import list_shared
from tests.cli.conftest import Coach
from tests.imports.sources import ROOT

SAMPLES = sorted((ROOT / "sessions").glob("sample-*.toml"))


def test_it_says_where_the_journal_is_and_how_it_went(coach: Coach, tmp_path: Path) -> None:
    path = tmp_path / "try.toml"
    answer = coach("rehearse", "usb-bench-meter", "--seed", "7", "--journal", str(path))
    assert (answer.code, answer.err) == (0, "")
    events = len(Journal.look(path).events)
    assert answer.out.splitlines()[0] == f"{events} events in {path}"
    assert "Essentials: " in answer.out
    assert "A simulated engineer's sprint." in answer.out
    assert coach("verify", str(path)).code == 0


def test_without_a_journal_it_goes_to_the_sessions_under_a_free_name(
    coach: Coach, sessions: Path
) -> None:
    sessions.mkdir()
    (sessions / "rehearsed-orchard-radio-tag-2.toml").write_text("mine", encoding="utf-8")
    coach("rehearse", "orchard-radio-tag", "--seed", "2")
    names = sorted(path.name for path in sessions.glob("*.toml"))
    assert names == [
        "rehearsed-orchard-radio-tag-2-2.toml",
        "rehearsed-orchard-radio-tag-2.toml",
    ]


def test_pace_and_forgetfulness_are_taken(coach: Coach, tmp_path: Path) -> None:
    words = ["rehearse", "orchard-radio-tag", "--journal"]
    out = coach(*words, str(tmp_path / "a.toml"), "--forget", "0", "--pace", "0.9").out
    assert "0 open;" in out
    out = coach(*words, str(tmp_path / "b.toml"), "--forget", "1", "--pace", "5").out
    assert "Essentials: 0 met, 0 waived" in out
    assert "The sprint ended without an order" in out


def test_a_journal_is_never_overwritten(coach: Coach, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine", encoding="utf-8")
    said = coach("rehearse", "usb-bench-meter", "--journal", str(path)).sentence
    assert "There is a file of that name" in said
    assert path.read_text(encoding="utf-8") == "mine"


# --- many -------------------------------------------------------------------------------------


@pytest.mark.long
def test_many_sprints_say_how_good_the_forecasts_were(coach: Coach, sessions: Path) -> None:
    answer = coach("rehearse", "orchard-radio-tag", "--sprints", "2", "--seed", "4")
    assert answer.code == 0
    first, *table = answer.out.splitlines()
    assert first.endswith("of 2 sprints had all essentials by the cut-off.")
    assert table[-1].lstrip().startswith("in all ")
    assert "80 % band held " in table[-1]
    assert "Brier score " in table[-1]
    assert not list(sessions.glob("*"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--sprints", "0"], "'0' is not a count"),
        (["--sprints", "ten"], "'ten' is not a count"),
        (["--sprints", "99999999"], "is not a count"),
        (["--sprints", "2", "--pace", "1.2"], "--pace belongs to one sprint"),
        (["--sprints", "2", "--journal", "a.toml"], "--journal belongs to one sprint"),
    ],
)
def test_what_many_sprints_cannot_be_told_is_refused(
    coach: Coach, words: list[str], says: str
) -> None:
    assert says in coach("rehearse", "orchard-radio-tag", *words).sentence


# --- the sample journals ----------------------------------------------------------------------


def test_there_are_sample_journals() -> None:
    assert len(SAMPLES) == 5


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_is_whole_ended_and_marked_as_rehearsed(coach: Coach, path: Path) -> None:
    answer = coach("verify", str(path))
    assert answer.code == 0
    assert "The order was accepted and paid" in answer.out or "ended without an order" in answer.out
    assert "A simulated engineer's sprint." in answer.out
    assert any(path.stem.startswith(f"sample-{brief}") for brief in list_shared("briefs"))


def test_one_sample_has_late_findings(coach: Coach) -> None:
    told = [coach("verify", str(path)).out for path in SAMPLES]
    assert sum("Found late" in one for one in told) == 1
