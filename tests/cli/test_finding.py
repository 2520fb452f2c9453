"""`coach finding`: noted, listed, taken back, made a house rule; without a terminal."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from coach.history.read_sprint import read_sprint
from coach.sprint.brief.house_rules import checked_house_rules
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.session import start_sprint
from tests.cli.conftest import Coach
from tests.terminal.driving import START

FAULT = "R5 is 10 kΩ, not 1 kΩ"


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A sprint that has ended."""
    path = tmp_path / "today.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)) as session:
        session.do(End(accepted=True))
    return path


@pytest.fixture
def going_on(tmp_path: Path) -> Path:
    path = tmp_path / "now.toml"
    start_sprint(load_brief("usb-bench-meter"), path, ManualClock(START)).close()
    return path


def findings(path: Path) -> list[FindingNoted]:
    read = read_sprint(path)
    assert read.faults == ()
    return [*read.state.findings.values()]


def test_a_fault_is_written_back_against_the_item_that_let_it_through(
    coach: Coach, journal: Path
) -> None:
    answer = coach(
        "finding",
        str(journal),
        FAULT,
        "--item",
        "boot-pin",
        "--board",
        "2",
        "--minutes",
        "25",
        "--bodge",
        "1 kΩ on top",
    )
    assert (answer.code, answer.err) == (0, "")
    row = read_sprint(journal).state.by_key["boot-pin-level"]
    assert answer.out == f"Finding 1 noted, let through by boot-pin-level: {row.name}.\n"
    assert findings(journal) == [
        FindingNoted(
            number=1,
            fault=FAULT,
            item="boot-pin-level",
            board="2",
            minutes=25.0,
            bodge="1 kΩ on top",
        )
    ]


def test_the_name_of_a_journal_cannot_reach_the_terminal(coach: Coach, journal: Path) -> None:
    odd = journal.rename(journal.with_name("a\x1b[31m b.toml"))
    answer = coach("finding", str(odd), FAULT)
    assert "\x1b" not in answer.out
    assert "b.toml' --as-item 1" in answer.out  # a name with a blank in it, to be typed again


def test_where_no_item_asks_for_it_it_says_how_one_is_made(coach: Coach, journal: Path) -> None:
    answer = coach("finding", str(journal), FAULT)
    assert answer.out == (
        "Finding 1 noted. No item asks for it. Make one with: "
        f'coach finding {journal} --as-item 1 --statement "What must be true" --phase PHASE\n'
    )
    assert findings(journal)[0].item == ""


def test_without_a_journal_nothing_can_be_noted_but_the_newest_ended_is_listed(
    coach: Coach, sessions: Path, going_on: Path, journal: Path
) -> None:
    assert "no sprint here that has ended" in coach("finding", "--list").sentence
    sessions.mkdir()
    journal.rename(sessions / "today.toml")
    going_on.rename(sessions / "now.toml")
    assert coach("finding", "--list").out == "USB bench meter, 2031-05-05: no late findings\n"


def test_the_list_tells_each_with_what_is_known_of_it(coach: Coach, journal: Path) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin", "--board", "2", "--minutes", "1.5h")
    coach("finding", str(journal), "The lamp is upside down")
    answer = coach("finding", str(journal), "--list")
    lines = answer.out.splitlines()
    assert answer.code == 0
    assert lines[0] == "USB bench meter, 2031-05-05: 2 late findings"
    statement = read_sprint(journal).state.by_key["boot-pin-level"].item.statement
    assert lines[2:] == [
        f"  1  Found late on board 2: {FAULT}. Let through by: {statement}. It cost 1 h 30 min.",
        "",
        "  2  Found late: The lamp is upside down. No item asks for it.",
    ]


def test_the_list_tells_which_became_a_house_rule(
    coach: Coach, journal: Path, sessions: Path
) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin")
    coach("finding", str(journal), "--as-item", "1", "--statement", "R5 is one kiloohm")
    rules = sessions / "briefs" / "house-rules.toml"
    last = coach("finding", str(journal), "--list").out.splitlines()[-1]
    assert last == f"     Finding 1 became the item r5-is-one-kiloohm, kept in {rules}."


def test_a_finding_that_was_a_mistake_is_taken_back_and_its_number_not_used_again(
    coach: Coach, journal: Path
) -> None:
    coach("finding", str(journal), FAULT)
    answer = coach("finding", str(journal), "--take-back", "1")
    assert (answer.code, answer.out) == (0, "Finding 1 undone.\n")
    assert findings(journal) == []
    coach("finding", str(journal), FAULT)
    assert findings(journal)[0].number == 2
    assert "There is no finding 1" in coach("finding", str(journal), "--take-back", "1").sentence


def test_a_finding_becomes_a_house_rule_that_the_plan_then_shows(
    coach: Coach, journal: Path, sessions: Path
) -> None:
    coach("finding", str(journal), FAULT, "--minutes", "25")
    answer = coach(
        "finding",
        str(journal),
        "--as-item",
        "1",
        "--phase",
        "regulation",
        "--severity",
        "dead board",
        "--statement",
        "R5 is one kiloohm on the sheet",
        "--why",
        "The lamp stays dark",
    )
    rules = sessions / "briefs" / "house-rules.toml"
    item = checked_house_rules(rules)[0]
    assert item.id == "r5-is-one-kiloohm-on-sheet"
    assert answer.out == (
        f"Finding 1 is item {item.id} now, an essential of regulation (dead board): "
        f"R5 is one kiloohm on the sheet.\nChange it in {rules}\n"
    )
    plan = coach("plan", "usb-bench-meter", "--all")
    assert plan.out.splitlines()[2] == f"1 house rule from {rules}."
    assert "R5 is one kiloohm on the sheet" in plan.out
    assert plan.err == ""
    taken = coach("finding", str(journal), "--take-back", "1")
    assert taken.out == f"Finding 1 undone; its item {item.id} stays in {rules}.\n"


def test_the_rules_go_where_they_are_wanted(coach: Coach, journal: Path, tmp_path: Path) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin")
    coach("finding", str(journal), "The lamp is upside down", "--item", "boot-pin")
    own = tmp_path / "boards"
    own.mkdir()
    made = ("finding", str(journal), "--statement", "The lamp points up", "--as-item")
    coach(*made, "1", "--rules", str(own))
    coach(*made, "2", "--rules", str(own / "house-rules.toml"))
    assert len(checked_house_rules(own / "house-rules.toml")) == 2


def test_a_faulty_file_is_said_by_the_plan_and_not_added_to(
    coach: Coach, journal: Path, sessions: Path
) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin")
    rules = sessions / "briefs" / "house-rules.toml"
    rules.parent.mkdir(parents=True)
    rules.write_text("[[item]]\nid = 3\n", encoding="utf-8")
    sentence = coach("finding", str(journal), "--as-item", "1").sentence
    assert sentence.startswith(f"{rules}, line ")
    plan = coach("plan", "usb-bench-meter")
    assert plan.code == 0
    assert plan.err.startswith(f"Without house rules: {rules}, line ")
    assert "house rule" not in plan.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((FAULT, "--item", "moon"), "There is no item 'moon'"),
        ((FAULT, "--item", "boot-pin-levl"), "Nearest: boot-pin-level"),
        ((FAULT, "--item", "clamp"), "items have 'clamp'. Name one: "),
        ((FAULT, "--board", "two boards"), "'two boards' is not a board number"),
        ((FAULT, "--minutes", "long"), "'long' is not a time"),
        (("  ",), "No fault given"),
        ((FAULT, "more"), "Unexpected argument 'more'. Put the fault in quotes"),
        (("a" * 500,), "Too long: 400 characters at most"),
        ((FAULT, "--list"), "A fault and --list are two calls"),
        (("--list", "--take-back", "1"), "Argument --take-back: not allowed with argument --list"),
        (("--list", "--board", "2"), "--board belongs to a new fault"),
        ((FAULT, "--phase", "layout"), "--phase belongs to --as-item"),
        (("--as-item", "one"), "'one' is not the number of a finding"),
        (("--as-item", "9"), "There is no finding 9"),
        ((FAULT, "--essential"), "--essential belongs to --as-item"),
        (("--board", "2"), "There is no fault to note"),
        ((), "There is no fault to note"),
    ],
)
def test_a_call_that_is_wrong_is_one_sentence_and_writes_nothing(
    coach: Coach, journal: Path, words: tuple[str, ...], says: str
) -> None:
    before = journal.read_bytes()
    assert says in coach("finding", str(journal), *words).sentence
    assert journal.read_bytes() == before


def test_before_the_end_nothing_is_found_late(coach: Coach, going_on: Path) -> None:
    before = going_on.read_bytes()
    assert "The sprint goes on" in coach("finding", str(going_on), FAULT).sentence
    assert going_on.read_bytes() == before


def test_a_house_rule_is_refused_without_what_must_be_so(coach: Coach, journal: Path) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin")
    sentence = coach("finding", str(journal), "--as-item", "1").sentence
    assert "A house rule needs its statement: what must be true on every board" in sentence
    assert 'Example: --statement "Battery lead carries the charge current"' in sentence


def test_a_rule_may_be_made_an_essential(coach: Coach, journal: Path, sessions: Path) -> None:
    coach("finding", str(journal), FAULT, "--item", "boot-pin")
    words = ("--severity", "degraded", "--statement", "R5 is one kiloohm", "--essential")
    answer = coach("finding", str(journal), "--as-item", "1", *words)
    assert "an essential of clock-boot (degraded)" in answer.out
    assert checked_house_rules(sessions / "briefs" / "house-rules.toml")[0].essential


def test_the_newest_is_taken_but_one_given_up_at_once_and_it_says_which(
    coach: Coach, sessions: Path, journal: Path
) -> None:
    sessions.mkdir()
    kept = journal.rename(sessions / "today.toml")
    coach("finding", str(kept), FAULT)
    late = sessions / "mistake.toml"
    with start_sprint(load_brief("pump-driver-24v"), late, ManualClock(START)) as session:
        session.do(End(accepted=False))
    os.utime(late, (2e9, 2e9))
    answer = coach("finding", "--take-back", "1")
    assert answer.out == "Finding 1 undone.\n"
    assert answer.err == (
        f"Of USB bench meter, 2031-05-05: {kept}\n"
        "1 newer sprint, given up at once, is passed over\n"
    )
    kept.unlink()
    assert "Pump driver" in coach("finding", "--list").out, "where there is no other, that one"


def test_that_a_torn_end_was_cut_off_is_said(coach: Coach, journal: Path) -> None:
    journal.write_bytes(journal.read_bytes() + b"[[event]]\nn = 3\n")
    answer = coach("finding", str(journal), FAULT)
    assert answer.code == 0
    assert answer.err == f"Damaged end (16 bytes) removed; saved in {journal}.tail-1.\n"


def test_an_edited_journal_is_refused_unless_it_is_accepted(coach: Coach, journal: Path) -> None:
    data = journal.read_bytes()
    journal.write_bytes(data.replace(b"accepted = true", b"accepted = false"))
    sentence = coach("finding", str(journal), FAULT).sentence
    assert "was changed after it was written" in sentence
    assert f"or accept it as edited: coach finding {journal} --accept-edit" in sentence
    answer = coach("finding", str(journal), FAULT, "--accept-edit")
    assert answer.code == 0
    assert read_sprint(journal).state.findings[1].fault == FAULT


def test_of_a_damaged_journal_what_is_whole_is_listed(coach: Coach, journal: Path) -> None:
    coach("finding", str(journal), FAULT)
    journal.write_bytes(journal.read_bytes() + b"[[event]]\n")
    answer = coach("finding", str(journal), "--list")
    assert answer.code == 1
    assert FAULT in answer.out
    assert "The end is torn" in answer.err


def test_what_was_typed_cannot_reach_the_terminal(coach: Coach, journal: Path) -> None:
    coach("finding", str(journal), "\x1b]0;title\x07[b]dark[/b]\nand more", "--board", "2")
    answer = coach("finding", str(journal), "--list")
    assert "[b]dark[/b] and more. No item" in answer.out
    assert "\x1b" not in answer.out
