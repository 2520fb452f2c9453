"""The reserve: a first upload, a last walk through what is open, worst first, then the rest."""

from __future__ import annotations

from coach.sprint.commands import (
    EnterPhase,
    FinishWalk,
    Meet,
    NoteChange,
    ReachStage,
    Reopen,
    SetFact,
    Waive,
)
from coach.sprint.events.phases import LAST_WALK, Walked
from coach.sprint.gates.advice import CLOSE, CONFIRM
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.gates.walks import (
    last_walk,
    next_of_last_walk,
    ordered,
    spare_seconds,
)
from tests.sprint.conftest import Bench


def close_all(bench: Bench, *but: str) -> None:
    for row in bench.state.rows:
        if row.item.phase != "closing" and not row.closed and row.key not in but:
            bench.session.do(Waive(row.key, "made on paper"))


def ways(bench: Bench) -> dict[str, str]:
    return {step.row.key: step.way for step in last_walk(bench.state)}


def test_the_last_walk_goes_from_the_worst_on(bench: Bench) -> None:
    bench.session.do(SetFact("second_supply", True))
    close_all(bench, "capacitors", "debug-pins", "no-back-feed")
    assert list(ways(bench)) == ["no-back-feed", "debug-pins", "capacitors"]


def test_each_has_its_quickest_honest_way(bench: Bench) -> None:
    bench.session.do(SetFact("second_supply", True))
    found = ways(bench)
    assert found["debug-pins"] == (
        "Look: met if it is there; if not, 4 min or a waiver with its reason"
    )
    assert found["source-load"] == ("Calculate it and draw its parts, or waive it with a reason")
    assert found["no-back-feed"].startswith("Look")
    asked = next(way for key, way in found.items() if key.startswith("console-wiring"))
    assert asked.startswith("Answer: ")


def test_what_a_calculation_holds_up_says_what_is_missing(bench: Bench) -> None:
    bench.save("pull-up")
    bench.session.do(SetFact("strap_pins", True))
    assert ways(bench)["boot-level"] == "It is calculated: draw 10 kΩ, BOOT to 3v3"
    bench.save("sum-of-loads", I="2 A")
    assert ways(bench)["source-load"].startswith("Its calculation fails: fix it, or waive it")


def test_a_doubt_is_looked_at(bench: Bench) -> None:
    bench.session.do(Meet("supply-contacts"))
    bench.session.do(NoteChange("connector-part"))
    assert ways(bench)["supply-contacts"].startswith("Check that it still holds;")
    bench.session.do(Meet("supply-contacts"))
    bench.session.do(Reopen("supply-contacts"))
    assert ways(bench)["supply-contacts"].startswith("Look: met if it is there;")


def test_only_what_can_be_seen_is_walked(bench: Bench) -> None:
    assert "nets-routed" not in ways(bench)
    bench.session.do(ReachStage("files"))
    assert "nets-routed" in ways(bench)


# ---- what is next in the reserve -------------------------------------------------------------


def test_the_first_upload_comes_before_the_last_walk(bench: Bench) -> None:
    bench.session.do(EnterPhase("closing"))
    bench.at(101)
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert (thing.kind, thing.row and thing.row.key) == (CLOSE, "files-whole")
    assert next_of_last_walk(bench.state, bench.session.t) is None


def test_after_it_the_worst_that_is_open_is_next(bench: Bench) -> None:
    bench.session.do(SetFact("second_supply", True))
    close_all(bench, "debug-pins", "no-back-feed")
    bench.session.do(EnterPhase("closing"))
    bench.at(101)
    for key in ("files-whole", "first-upload"):
        bench.session.do(Meet(key))
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert (thing.kind, thing.row and thing.row.key) == (CONFIRM, "no-back-feed")
    bench.session.do(Meet("no-back-feed"))
    bench.session.do(Meet("debug-pins"))
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert thing.kind == CLOSE


def test_the_closing_list_keeps_its_time(bench: Bench) -> None:
    bench.session.do(EnterPhase("closing"))
    bench.session.do(Meet("files-whole"))
    bench.session.do(Meet("first-upload"))
    t = bench.state.deadline - 2 * 60 - 1  # its last line takes two minutes
    assert next_of_last_walk(bench.state, t) is None
    thing = next_thing(bench.state, t)
    assert thing is not None
    assert (thing.kind, thing.row and thing.row.key) == (CLOSE, "accepted-and-paid")


def test_the_time_for_the_last_walk_is_what_the_closing_list_leaves(bench: Bench) -> None:
    bench.session.do(EnterPhase("closing"))
    minutes = {item.id: item.minutes for item in bench.session.setup.closing.items}
    left = bench.state.deadline - bench.session.t
    assert spare_seconds(bench.state, bench.session.t) == left - 60 * sum(minutes.values())
    bench.session.do(Meet("files-whole"))
    still = sum(minutes.values()) - minutes["files-whole"]
    assert spare_seconds(bench.state, bench.session.t) == left - 60 * still


def test_an_order_that_is_paid_is_known_before_the_sprint_is_ended(bench: Bench) -> None:
    assert not ordered(bench.state)
    for key in ("files-whole", "first-upload", "accepted-and-paid"):
        bench.session.do(Meet(key))
    assert ordered(bench.state)
    assert next_of_last_walk(bench.state, bench.session.t) is None


def test_a_finished_last_walk_is_journalled_as_such(bench: Bench) -> None:
    bench.session.do(FinishWalk(LAST_WALK, 3, 2))
    walks = [one.event for one in bench.state.of(Walked)]
    assert [(one.of, one.asked, one.closed) for one in walks] == [("last", 3, 2)]
