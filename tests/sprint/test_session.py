"""A session: the one road from a command to the state, and what holds on it whatever is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

import pytest

from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import FinishWalk, Interrupt, Meet, MoveCutOff, Undo, Waive
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import CallMade, Resumed, Started
from coach.sprint.fold import fold
from coach.sprint.journal.file import Journal
from coach.sprint.session import Session
from coach.sprint.setup import header_of, setup_from, setup_of
from coach.sprint.state import State
from phases.kit.catalogue import calculators
from phases.kit.refusals import Refusal
from tests.depth import seeds
from tests.sprint.at_random import any_command
from tests.sprint.conftest import NINE, Begin, Bench, told_again, told_plainly
from tests.sprint.lamp import CALCULATORS


def but_for_time(state: State) -> State:
    kept = {kind: events for kind, events in state.kept.items() if kind is not CallMade}
    return replace(state, t=0.0, used={}, kept=kept)


# ---- the road --------------------------------------------------------------------------------


def test_a_sprint_begins_with_its_first_event(bench: Bench) -> None:
    (first,) = bench.session.history
    assert (first.n, first.t, first.by, first.at) == (1, 0.0, 0, NINE)
    assert isinstance(first.event, Started)


def test_events_are_numbered_and_carry_their_command(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.save("sum-of-loads")
    stamps = [(one.n, one.t, one.by) for one in bench.session.history]
    assert stamps == [(1, 0.0, 0), (2, 5.0, 1), (3, 10.0, 2), (4, 10.0, 2)]


def test_it_is_in_the_journal_before_it_can_be_seen(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[int] = []

    def look(events: Sequence[Stamped]) -> None:
        seen.append(len(Journal.look(bench.path).events))
        assert bench.state.items

    bench.session.listeners.append(look)
    bench.do(Meet("debug-pins"))
    assert seen == [2]


def test_listeners_hear_the_events_of_each_step(bench: Bench) -> None:
    heard: list[list[int]] = []
    bench.session.listeners.append(lambda events: heard.append([one.n for one in events]))
    bench.do(Meet("debug-pins"))
    bench.save("sum-of-loads")
    bench.at(61)
    bench.session.tick()
    assert heard == [[2], [3, 4], [5]]


def test_a_refused_command_leaves_no_trace(bench: Bench) -> None:
    heard: list[Sequence[Stamped]] = []
    bench.session.listeners.append(heard.append)
    bench.refused(Waive("debug-pins", ""))
    assert heard == []
    bench.do(Meet("debug-pins"))
    assert bench.session.history[-1].by == 1


def test_the_time_is_kept_to_the_millisecond(bench: Bench) -> None:
    bench.clock.advance(1.23456789)
    bench.session.do(Meet("debug-pins"))
    assert bench.session.history[-1].t == 1.235
    assert told_plainly(bench.path) == bench.state


def test_what_was_done_is_known_to_be_on_the_disk_soon(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.session.journal.sync()
    assert bench.session.saved
    assert bench.session.trouble is None


def test_a_moment_of_the_sprint_has_its_time_of_day(bench: Bench) -> None:
    bench.at(30)
    assert bench.session.wall_of(bench.state.deadline) == NINE + timedelta(hours=2)


# ---- the header ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_a_setup_comes_back_from_the_header_as_it_was(name: str) -> None:
    setup = setup_of(load_brief(name), NINE, speed=4.0)
    assert setup.rehearsed  # whatever runs faster is
    assert setup_from(header_of(setup), where="j") == setup


def test_items_and_brief_are_read_without_the_project(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An item reworded later does not change what was asked then."""
    monkeypatch.setattr("coach.sprint.setup.load_phases", lambda: ())
    bench.reopen()
    assert bench.row("debug-pins").item.statement == "The debug pins is seen to"
    assert bench.state.setup.brief.title == "Bench lamp"


# ---- opened again ----------------------------------------------------------------------------


def test_what_passed_while_it_was_closed_is_in_the_journal(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.reopen(after=90.5)
    event = bench.session.history[-1].event
    assert event == Resumed(gap=90.5)
    assert bench.session.t == 95.5


def test_command_numbers_go_on_where_they_stood(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.reopen()
    bench.do(Meet("capacitors"))
    assert [one.by for one in bench.session.history] == [0, 1, 0, 2]
    bench.do(Undo())
    bench.do(Undo())
    assert bench.state.items == {}


def test_a_rehearsal_goes_on_where_its_own_clock_stood(begin: Begin) -> None:
    bench = begin(speed=60.0, rehearsed=True)
    bench.at(10)
    bench.session.do(Meet("debug-pins"))
    bench.reopen(after=3600)
    assert bench.session.t == pytest.approx(600)
    bench.clock.advance(10)
    assert bench.session.t == pytest.approx(1200)


def test_it_can_be_opened_in_another_zone(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.session.close()
    there = ManualClock(datetime(2031, 5, 5, 18, 30, tzinfo=ZoneInfo("Asia/Tokyo")))
    bench.clock = there
    bench.session = Session.resume(bench.path, there)
    assert bench.session.t == pytest.approx(30 * 60)
    bench.do(MoveCutOff("19:30"))
    assert bench.state.deadline == pytest.approx(90 * 60)


def test_a_journal_that_holds_only_its_header_can_be_gone_on_with(bench: Bench) -> None:
    bench.session.close()
    data = bench.path.read_bytes()
    first = data.index(b"[[event]]")
    bench.path.write_bytes(data[:first])
    bench.clock.advance(60)
    bench.session = Session.resume(bench.path, bench.clock)
    assert [type(one.event) for one in bench.session.history] == [Resumed]
    assert bench.session.t == 60


# ---- whatever is asked -----------------------------------------------------------------------


def live_at_random(bench: Bench, chance: Random, commands: int) -> int:
    """Asks for so many things at random; returns how many were done.

    Nothing but a Refusal may be raised, the journal says what the state is, and an undo gives
    back the state of before.
    """
    done = 0
    for _ in range(commands):
        bench.clock.advance(chance.choice((0.0, 0.5, 20.0, 90.0)))
        if chance.random() < 0.03:
            bench.clock.step(chance.choice((-600.0, 45.0)))
        bench.session.tick()
        before = bench.state
        command = any_command(chance, before)
        try:
            bench.session.do(command)
        except Refusal as refusal:
            assert str(refusal).count("\n") == 0
            assert bench.state is before
            continue
        done += 1
        assert told_plainly(bench.path) == bench.state
        if not isinstance(command, Undo | Interrupt | FinishWalk) and chance.random() < 0.3:
            after = bench.state
            bench.session.do(Undo())
            assert but_for_time(bench.state) == but_for_time(before)
            assert bench.state.t == after.t
        if chance.random() < 0.03:
            bench.reopen(after=chance.choice((0.0, 300.0)))
    assert fold(bench.session.setup, bench.session.history) == bench.state
    assert told_again(bench.path) == bench.state
    return done


@pytest.mark.parametrize("seed", seeds(6))
def test_on_the_lamp_anything_may_be_asked_in_any_order(bench: Bench, seed: int) -> None:
    assert live_at_random(bench, Random(seed), 70) > 20


@pytest.mark.parametrize("name", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_on_a_real_board_anything_may_be_asked_in_any_order(
    begin: Begin, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = begin(load_brief(name))
    for kind in CALCULATORS:  # those of the lamp have no place on it
        monkeypatch.delitem(calculators(), kind.name)
    assert live_at_random(bench, Random(name), 60) > 15


def test_every_calculator_survives_the_journal(begin: Begin) -> None:
    brief: Brief = load_brief("usb-bench-meter")
    bench = begin(brief)
    for kind in list(calculators().values()):
        at = [s.id for s in bench.state.subjects.values() if s.kind == kind.per]
        bench.save(kind.name, at[-1] if kind.per != "board" else "")
        assert told_plainly(bench.path) == bench.state
