"""What this person keeps forgetting is asked first, and it is said why."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path

import pytest

from coach.history import brought_along as brought_along_module
from coach.history.brought_along import brought_along
from coach.history.habits import habits_from, is_habit, missed
from coach.sprint import commands as asked
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.events.run import HabitsRecalled
from coach.sprint.events.summary import ItemOutcome, SummedUp
from coach.sprint.gates.advice import DRAW
from coach.sprint.gates.forgotten import due, forgotten, forgotten_before, habit_words
from coach.sprint.gates.gates import gate_count, skipped
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.gates.walks import (
    further_of_phase,
    further_of_stage,
    habits_first,
    walk_of_phase,
    walk_of_stage,
)
from coach.sprint.pace.pace import PRIOR
from coach.sprint.session import Session, start_sprint
from phases.kit.items import CLOSING_ID
from tests.sprint.conftest import NINE, Begin, Bench, bench_setup, changed
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief

ALL = ("supply-contacts", "debug-pins", "capacitors")
"""Items of the bench lamp that each past sprint below closes, but for those it forgets."""

Past = Callable[..., Path]


@pytest.fixture
def past(tmp_path: Path) -> Past:
    """Makes a journal of a past sprint of the bench lamp, day by day."""
    count = 0

    def make(
        *forgets: str, accepted: bool = True, ended: bool = True, seconds: float = 0.0, **run: bool
    ) -> Path:
        nonlocal count
        count += 1
        clock = ManualClock(NINE - timedelta(days=100 - count))
        setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
        setup = changed(setup, started=clock.wall(), rehearsed=run.get("rehearsed", False))
        path = tmp_path / f"past-{99 - count}.toml"  # not in the order of their names
        with Session.start(path, setup, clock) as session:
            for phase in ("power-entry", "debug-access", "decoupling"):
                session.do(asked.EnterPhase(phase))
                clock.advance(60)
                for row in walk_of_phase(session.state, phase):
                    if row.key in ALL and row.key not in forgets:
                        session.do(asked.Meet(row.key))
            session.do(asked.EnterPhase(CLOSING_ID))
            clock.advance(seconds)
            if ended:
                session.do(asked.End(accepted))
        return path

    return make


def habits(folder: Path) -> dict[str, tuple[int, int]]:
    """Of the three items only: the others of the lamp are never closed."""
    return {item: of for item, of in brought_along(folder).habits.items() if item in ALL}


def told(bench: Bench) -> Mapping[str, bool]:
    summary = bench.session.history[-1].event
    assert isinstance(summary, SummedUp)
    return missed(summary)


# ---- what was forgotten ----------------------------------------------------------------------


def test_forgotten_is_what_is_still_open_when_the_order_was_accepted(bench: Bench) -> None:
    bench.do(asked.EnterPhase("debug-access"))
    bench.do(asked.Meet("debug-pins"))
    bench.do(asked.End(True))
    keys = {row.key for row in forgotten(bench.state)}
    assert "debug-pins" not in keys
    assert {"supply-contacts", "capacitors", "output-seen@3v3", "first-upload"} <= keys
    assert "entrance-clamp" not in keys  # one of the more checks


def test_what_a_change_reopened_was_not_forgotten(bench: Bench) -> None:
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.Meet("supply-contacts"))
    bench.do(asked.NoteChange("connector-part"))
    bench.do(asked.End(True))
    assert "supply-contacts" not in {row.key for row in forgotten(bench.state)}
    assert told(bench)["supply-contacts"] is False


def test_of_a_sprint_given_up_only_what_lay_behind_was_forgotten(bench: Bench) -> None:
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.EnterPhase("debug-access"))
    bench.do(asked.End(False))
    misses = told(bench)
    assert misses["supply-contacts"] is True
    assert "debug-pins" not in misses
    assert "first-upload" not in misses
    assert {row.key for row in due(bench.state)} == {r.key for r in forgotten(bench.state)}


# ---- the rule --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "habit"),
    [
        ("x", False),
        ("xx", True),
        ("xooox", True),
        ("xoooox", False),
        ("oxoooxx", True),
        ("ooooo" + "xxx", True),
        ("ooooo" + "oxxx", False),
        ("..x..x", False),
        (".x.x", True),
    ],
)
def test_two_in_the_last_five_or_three_in_the_last_eight(told: str, habit: bool) -> None:
    past = [{"x": True, "o": False, ".": None}[one] for one in told]
    assert is_habit(past) is habit


def test_the_count_is_out_of_the_last_eight_and_older_ones_do_not_count() -> None:
    sprints = [
        SummedUp(
            ended_at=1.0,
            deadline=2.0,
            accepted=True,
            items=(ItemOutcome(("debug-pins",), here=1, due=1, forgotten=forgot),),
        )
        for forgot in (1, 0, 1, 0, 0, 0, 1, 0, 1, 1)
    ]
    assert habits_from(sprints)["debug-pins"] == (3, 8)


def test_journals_are_looked_back_on_from_the_one_begun_last(past: Past, tmp_path: Path) -> None:
    for _ in range(8):
        past("debug-pins")
    for _ in range(6):
        past()
    assert habits(tmp_path) == {}  # two of eight, and none of the last five
    past("debug-pins", "capacitors")
    assert habits(tmp_path) == {}  # the last eight have it twice, the last five once
    past("debug-pins")
    assert habits(tmp_path) == {"debug-pins": (2, 8)}


def test_rehearsed_ones_those_that_go_on_and_what_is_no_journal_count_for_nothing(
    past: Past, tmp_path: Path
) -> None:
    past("debug-pins", rehearsed=True)
    past("debug-pins", ended=False)
    path = past("debug-pins")
    (tmp_path / "notes.toml").write_text("title = 'notes'\n", encoding="utf-8")
    (tmp_path / "torn.toml").write_bytes(path.read_bytes()[:500])
    assert habits(tmp_path) == {}
    past("debug-pins")
    assert habits(tmp_path) == {"debug-pins": (2, 2)}
    assert brought_along(tmp_path, without=path).habits.get("debug-pins") is None


def test_a_copy_of_a_journal_is_no_second_miss(past: Past, tmp_path: Path) -> None:
    path = past("debug-pins")
    (tmp_path / "copy.toml").write_bytes(path.read_bytes())
    past()
    assert habits(tmp_path) == {}


def test_a_sprint_given_up_at_once_is_no_miss(past: Past, tmp_path: Path) -> None:
    past("debug-pins", accepted=False)
    past("debug-pins")
    assert habits(tmp_path) == {}
    past("debug-pins", accepted=False, seconds=1200.0)  # given up, but not at once
    assert habits(tmp_path) == {"debug-pins": (2, 2)}


def test_without_journals_there_is_no_habit(tmp_path: Path) -> None:
    found = brought_along(tmp_path / "nowhere")
    assert found.habits == {}
    assert found.pace.median == pytest.approx(PRIOR.median)


def test_each_journal_is_read_once_for_pace_and_habits(
    past: Past, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(9):
        past("debug-pins")
    read: list[Path] = []
    original = brought_along_module.ended_sprint
    monkeypatch.setattr(
        brought_along_module, "ended_sprint", lambda path: read.append(path) or original(path)
    )
    brought_along(tmp_path)
    assert len(read) == len(set(read)) == 9


# ---- the next sprint -------------------------------------------------------------------------


def test_they_are_written_down_and_stay_as_they_were_after_going_on(bench: Bench) -> None:
    bench.session.recall({"debug-pins": (3, 8), "of-another-house": (2, 2)})
    assert isinstance(bench.session.history[-1].event, HabitsRecalled)
    assert bench.state.habits == {"debug-pins": (3, 8)}
    bench.reopen(after=60)
    bench.session.recall({"capacitors": (2, 5)})
    assert bench.state.habits == {"debug-pins": (3, 8)}


def test_a_sprint_that_began_without_any_gets_none_when_it_is_taken_up(bench: Bench) -> None:
    bench.reopen(after=60)
    bench.session.recall({"capacitors": (2, 5)})
    assert bench.state.habits == {}


def test_a_walk_asks_them_first_and_leaves_the_others_in_their_order(bench: Bench) -> None:
    before = [row.key for row in walk_of_stage(bench.state, "schematic")]
    bench.session.recall({"capacitors": (3, 8), "debug-pins": (2, 5)})
    after = [row.key for row in walk_of_stage(bench.state, "schematic")]
    assert after[:2] == ["debug-pins", "capacitors"]  # between them as the list has them
    assert after[2:] == [key for key in before if key not in after[:2]]


def test_the_worst_comes_first_then_what_was_forgotten_more_often(bench: Bench) -> None:
    bench.do(asked.SetFact("second_supply", True))
    sheet = {row.item.id: row.item.severity for row in walk_of_stage(bench.state, "schematic")}
    assert (sheet["no-back-feed"], sheet["debug-pins"]) == ("hazard", "dead board")
    worse, other = "debug-pins", "capacitors"
    assert sheet[worse].rank > sheet[other].rank
    assert sheet[other] == sheet["console-wiring"]
    bench.session.recall(
        {other: (3, 8), "console-wiring": (2, 2), worse: (3, 8), "no-back-feed": (2, 8)}
    )
    keys = [row.item.id for row in walk_of_stage(bench.state, "schematic")]
    assert keys[:4] == ["no-back-feed", worse, other, "console-wiring"]


def test_a_habit_outside_the_gate_joins_the_walk_of_its_phase_and_comes_first(
    bench: Bench,
) -> None:
    outside = next(
        row
        for row in bench.state.rows
        if row.applies and not row.item.essential and row.item.phase == "power-entry"
    )
    bench.do(asked.EnterPhase("power-entry"))
    assert outside.key not in {row.key for row in walk_of_phase(bench.state, "power-entry")}
    assert outside.key in {row.key for row in further_of_phase(bench.state, "power-entry")}
    count = gate_count(bench.state, "power-entry")
    bench.session.recall({outside.item.id: (3, 3)})
    assert walk_of_phase(bench.state, "power-entry")[0].key == outside.key
    assert outside.key not in {row.key for row in further_of_phase(bench.state, "power-entry")}
    assert gate_count(bench.state, "power-entry") == count  # the signature asks for the gate alone
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert thing.row is not None
    assert (thing.row.key, thing.why) == (outside.key, "forgotten in 3 of your last 3")
    before = walk_of_stage(bench.state, outside.item.stage)
    assert before[0].key == outside.key
    assert outside.key not in {r.key for r in further_of_stage(bench.state, outside.item.stage)}


def test_each_of_the_more_checks_is_walked_in_its_phase_once_it_is_a_habit(
    tmp_path: Path,
) -> None:
    brief, clock = load_brief("usb-bench-meter"), ManualClock(NINE)
    with start_sprint(brief, tmp_path / "a.toml", clock) as session:
        session.do(asked.ReachStage("files"))
        outside = [
            row
            for row in session.state.rows
            if not row.essential and not row.closed and row.item.phase != CLOSING_ID
        ]
        assert len(outside) >= 5
        session.recall({row.item.id: (3, 3) for row in outside})
        for phase in session.setup.phases:
            wanted = [row.key for row in outside if row.item.phase == phase.id]
            walk = walk_of_phase(session.state, phase.id)
            assert {row.key for row in walk[: len(wanted)]} == set(wanted)
            severities = [row.item.severity.rank for row in walk[: len(wanted)]]
            assert severities == sorted(severities, reverse=True)


def test_the_subjects_of_an_item_stay_side_by_side(bench: Bench) -> None:
    bench.do(asked.EnterPhase("regulation"))
    bench.session.recall({"output-seen": (3, 8)})
    rows = walk_of_phase(bench.state, "regulation")
    assert [row.key for row in rows][:2] == ["output-seen@3v3", "output-seen@1v8"]
    assert len(rows) > 2


def test_a_hazard_that_was_skipped_stays_before_them(bench: Bench) -> None:
    bench.do(asked.SetFact("second_supply", True))
    bench.do(asked.EnterPhase("power-entry"))
    bench.session.recall({"debug-pins": (3, 8)})
    now = [row.key for row in walk_of_stage(bench.state, "schematic")]
    assert now[0] == "debug-pins"  # power entry goes on: nothing of it is skipped
    bench.do(asked.EnterPhase("debug-access"))
    assert "no-back-feed" in {row.key for row in skipped(bench.state)}
    later = [row.key for row in walk_of_stage(bench.state, "schematic")]
    assert later[:2] == ["no-back-feed", "debug-pins"]


def test_the_closing_list_keeps_the_order_of_ordering(bench: Bench) -> None:
    before = walk_of_phase(bench.state, CLOSING_ID)
    bench.session.recall({"accepted-and-paid": (3, 8)})
    assert walk_of_phase(bench.state, CLOSING_ID) == before


def test_without_a_habit_among_them_rows_stay_as_they_stand(bench: Bench) -> None:
    rows = list(reversed(walk_of_phase(bench.state, "power-entry")))
    assert habits_first(bench.state, rows) is rows


def test_next_is_what_is_forgotten_often_and_says_so(bench: Bench) -> None:
    bench.do(asked.EnterPhase("clock-boot"))
    first = next_thing(bench.state, bench.session.t)
    assert first is not None
    assert (first.row is not None, first.why) == (True, "")
    bench.session.recall({"console-wiring": (3, 8)})
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert thing.row is not None
    assert thing.row.key == "console-wiring@uart1"
    assert thing.why == "forgotten in 3 of your last 8"


def test_a_doubt_still_comes_before_them(begin: Begin) -> None:
    bench = begin()
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.Meet("supply-contacts"))
    bench.do(asked.NoteChange("connector-part"))
    bench.session.recall({"source-load": (3, 8)})
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert thing.row is not None
    assert thing.row.key == "supply-contacts"


def test_they_come_before_what_is_calculated_and_waits_to_be_drawn(tmp_path: Path) -> None:
    brief, clock = load_brief("usb-bench-meter"), ManualClock(NINE)
    with start_sprint(brief, tmp_path / "a.toml", clock) as session:
        session.do(asked.EnterPhase("power-entry"))
        session.do(asked.SaveCalculation("type-c-sink", "j-usb"))
        waiting = next_thing(session.state, session.t)
        assert waiting is not None
        assert waiting.kind == DRAW
        habit = walk_of_phase(session.state, "power-entry")[-1]
        assert waiting.row is not None
        assert habit.item.id != waiting.row.item.id
        session.recall({habit.item.id: (3, 8)})
        thing = next_thing(session.state, session.t)
        assert thing is not None
        assert thing.row is not None
        assert thing.row.item.id == habit.item.id


def test_the_words_name_the_count(bench: Bench) -> None:
    row = bench.row("debug-pins")
    assert (habit_words(bench.state, row), forgotten_before(bench.state, row)) == ("", "")
    bench.session.recall({"debug-pins": (3, 8)})
    assert habit_words(bench.state, row) == "forgotten in 3 of your last 8"
    assert forgotten_before(bench.state, row) == "forgotten 3 of 8"
