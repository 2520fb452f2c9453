"""Undo takes back the person's last command whole; never calls, the clock or the end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.sprint.commands import (
    AddSubject,
    Command,
    DeclareValue,
    Dismiss,
    Draw,
    DropFeature,
    DropSubject,
    EnterPhase,
    FinishWalk,
    Interrupt,
    JoinLate,
    Meet,
    MoveCutOff,
    NoteChange,
    Park,
    ReachStage,
    RemoveCalculation,
    Reopen,
    RestoreFeature,
    SaveCalculation,
    SetFact,
    SetQuiet,
    SetStepByStep,
    Settle,
    SignOff,
    Undo,
    Waive,
)
from coach.sprint.events.phases import Walked
from coach.sprint.events.run import CallMade, Undone
from coach.sprint.state import OPEN, State
from tests.sprint.conftest import Bench


def but_for_time(state: State) -> State:
    """The state without what the clock moves by itself."""
    kept = {kind: events for kind, events in state.kept.items() if kind is not CallMade}
    return replace(state, t=0.0, used={}, kept=kept)


@pytest.fixture
def busy(bench: Bench) -> Bench:
    """A sprint in which there is something of everything."""
    bench.do(EnterPhase("power-entry"))
    bench.save("sum-of-loads", I="100 mA")
    bench.save("series-resistor", "3v3")
    bench.save("pull-up")
    bench.do(Draw((("series-resistor@3v3", "R"),)))
    bench.do(Meet("output-seen@3v3"))
    bench.do(Meet("debug-pins"))
    bench.do(Waive("supply-contacts", "seen on paper"))
    bench.do(Park("is J1 keyed?"))
    bench.do(DropFeature("talk"))
    bench.do(NoteChange("netlist"))
    return bench


COMMANDS: tuple[Command, ...] = (
    EnterPhase("layout"),
    SignOff("debug-access"),
    JoinLate("layout"),
    ReachStage("routing"),
    SetStepByStep("layout", True),
    Meet("entrance-clamp", "data sheet", page="page 3"),
    Meet("strap-shared"),
    Waive("entrance-clamp", "short lead"),
    Reopen("debug-pins"),
    Dismiss("strap-source"),
    SetFact("regulator", "switching", "3v3"),
    DeclareValue("rail.vin.window", "4.5 V"),
    NoteChange("regulator-part"),
    AddSubject("5v", "rail", "vin", values={"voltage": "5 V"}),
    DropSubject("1v8"),
    RestoreFeature("talk"),
    SaveCalculation("sum-of-loads", given={"I": "300 mA"}),
    SaveCalculation("pull-up", label="boot1"),
    RemoveCalculation("sum-of-loads"),
    Draw((("pull-up", "R"), ("pull-up", "C"))),
    Park("more"),
    Settle(1),
    MoveCutOff("+20"),
    SetQuiet(True),
)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: type(command).__name__)
def test_undo_gives_back_the_state_as_it_was(busy: Bench, command: Command) -> None:
    before = busy.state
    busy.do(command)
    assert but_for_time(busy.state) != but_for_time(before)
    busy.do(Undo())
    assert but_for_time(busy.state) == but_for_time(before)


def test_undo_after_a_walk_takes_back_what_it_confirmed_not_the_record_of_it(busy: Bench) -> None:
    busy.do(Meet("strap-shared"))
    busy.do(FinishWalk("schematic", 1, 1))
    busy.do(Undo())
    assert busy.state.by_key["strap-shared"].status == OPEN
    assert busy.state.of(Walked)[-1].event.of == "schematic"


def test_a_pause_that_was_taken_out_can_be_put_back(busy: Bench) -> None:
    busy.clock.advance(600)
    busy.session.do(Interrupt())
    assert busy.state.interrupted == 600
    busy.do(Undo())
    assert busy.state.interrupted == 0
    assert sum(busy.state.used.values()) == pytest.approx(busy.session.t)


def test_undo_takes_back_a_command_with_all_that_followed_from_it(busy: Bench) -> None:
    before = busy.state
    events = busy.events(SaveCalculation("sum-of-loads", given={"I": "300 mA"}))
    assert len(events) > 3
    assert busy.do(Undo()).startswith("Undone: Calculated: sum of loads. ")
    assert busy.state.items == before.items
    assert busy.state.calculations == before.calculations


def test_undo_twice_takes_back_two_commands(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("capacitors"))
    for key in ("capacitors", "supply-contacts"):
        statement = bench.state.by_key[key].item.statement
        assert bench.do(Undo()) == f"Undone: Met (inspected): {statement}."
    assert [bench.status(key) for key in ("supply-contacts", "capacitors")] == [OPEN, OPEN]
    assert list(bench.state.items) == ["debug-pins"]


def test_what_was_taken_back_can_be_done_again_and_taken_back_again(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.do(Meet("capacitors"))
    bench.do(Undo())
    bench.do(Meet("capacitors"))
    bench.do(Undo())
    bench.do(Undo())
    assert bench.state.items == {}
    assert bench.refused(Undo()) == "Nothing to undo."


def test_at_the_beginning_there_is_nothing_to_take_back(bench: Bench) -> None:
    assert bench.refused(Undo()) == "Nothing to undo."


def test_calls_and_the_clock_are_never_taken_back(bench: Bench) -> None:
    bench.at(61)
    bench.clock.step(30)
    bench.session.tick()
    calls, kinds = bench.state.of(CallMade), [type(s.event) for s in bench.session.history]
    assert calls
    assert bench.refused(Undo()) == "Nothing to undo."
    bench.do(Meet("debug-pins"))
    bench.do(Undo())
    assert bench.state.of(CallMade) == calls
    assert [type(s.event) for s in bench.session.history][: len(kinds)] == kinds


def test_an_undo_is_an_event_and_nothing_is_taken_out_of_the_journal(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    before = bench.path.read_bytes()
    bench.do(Undo())
    assert bench.path.read_bytes().startswith(before)
    assert isinstance(bench.session.history[-1].event, Undone)


def test_time_spent_in_a_phase_that_was_not_entered_goes_to_the_one_before(bench: Bench) -> None:
    bench.session.do(EnterPhase("regulation"))
    bench.clock.advance(60)
    bench.session.do(EnterPhase("layout"))
    bench.clock.advance(300)
    bench.session.do(Undo())
    assert bench.state.phase == "regulation"
    assert bench.state.used == {"": 0.0, "regulation": 360.0}
