"""More checks deferred for want of time: journalled, reversible, never an essential."""

from __future__ import annotations

import pytest

from coach.sprint.commands import Defer, EnterPhase, Meet, SetFact, TakeUp, Undo, Waive
from coach.sprint.events.items import ItemDeferred, ItemTakenUp
from coach.sprint.fold import fold
from coach.sprint.gates.walks import further_of_phase, further_of_stage
from coach.sprint.state import MET, OPEN
from tests.sprint.conftest import Bench

CLAMP = "entrance-clamp"


def test_what_is_set_aside_is_asked_for_no_more(bench: Bench) -> None:
    bench.do(EnterPhase("power-entry"))
    assert CLAMP in [row.key for row in further_of_phase(bench.state, "power-entry")]
    assert bench.do(Defer((CLAMP,))) == "1 more check deferred"
    assert bench.row(CLAMP).deferred
    assert bench.status(CLAMP) == OPEN
    assert CLAMP not in [row.key for row in further_of_phase(bench.state, "power-entry")]
    assert CLAMP not in [row.key for row in further_of_stage(bench.state, "schematic")]


def test_several_go_together_and_one_undo_brings_them_back(bench: Bench) -> None:
    bench.do(SetFact("indicator", True, "3v3"))
    keys = (CLAMP, "rail-indicator@3v3")
    assert bench.events(Defer(keys)) == [ItemDeferred(item=key) for key in keys]
    bench.do(Undo())
    assert bench.state.deferred == frozenset()


def test_it_can_be_taken_up_again(bench: Bench) -> None:
    bench.do(Defer((CLAMP,)))
    assert bench.events(TakeUp((CLAMP,))) == [ItemTakenUp(item=CLAMP)]
    assert not bench.row(CLAMP).deferred


def test_meeting_it_takes_it_up_again(bench: Bench) -> None:
    bench.do(Defer((CLAMP,)))
    bench.do(Meet(CLAMP))
    assert (bench.status(CLAMP), bench.row(CLAMP).deferred) == (MET, False)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        (("debug-pins",), "Debug pins: It is an essential"),
        (("capacitors",), "Capacitors: It is an essential"),
        (("first-upload",), "First upload: It is part of the closing list"),
        ((CLAMP, "debug-pins"), "Debug pins: It is an essential"),
        (("no-such-item",), "no-such-item"),
        ((), "No item is named"),
    ],
)
def test_an_essential_cannot_be_set_aside(bench: Bench, keys: tuple[str, ...], says: str) -> None:
    assert says in bench.refused(Defer(keys))


def test_what_is_closed_or_aside_already_is_refused(bench: Bench) -> None:
    bench.do(Defer((CLAMP,)))
    assert "Deferred already" in bench.refused(Defer((CLAMP,)))
    bench.do(TakeUp((CLAMP,)))
    assert "Not deferred" in bench.refused(TakeUp((CLAMP,)))
    bench.do(Waive(CLAMP, "a bench supply"))
    assert "Waived already" in bench.refused(Defer((CLAMP,)))


def test_rows_handed_on_from_state_to_state_are_those_made_anew(bench: Bench) -> None:
    commands = (
        EnterPhase("power-entry"),
        Meet("supply-contacts"),
        Defer((CLAMP,)),
        SetFact("second_supply", True),
        Waive("no-back-feed", "x"),
        TakeUp((CLAMP,)),
        Undo(),
    )
    for command in commands:
        assert bench.state.rows  # made, so that the next state can take them over
        bench.do(command)
        anew = fold(bench.session.setup, bench.session.history)
        assert "rows" not in anew.__dict__
        assert bench.state.rows == anew.rows
        assert dict(bench.state.by_key) == dict(anew.by_key)
