"""What a sprint comes to: true to the script of the engineer, and to what was typed."""

from __future__ import annotations

import pytest

from coach.history.ended import ended_sprint
from coach.history.trends import pace_drawn
from coach.sprint import commands as asked
from coach.sprint.events.summary import ItemOutcome, SummedUp
from coach.sprint.fold import begin
from coach.sprint.gates.forgotten import forgotten
from coach.sprint.gates.walks import walk_of_phase
from coach.sprint.pace.plan import plan_of
from coach.sprint.pace.work import whole_of
from coach.sprint.state import REOPENED
from phases.kit.items import CLOSING_ID
from tests.history.conftest import Script
from tests.sprint.conftest import Begin, Bench


def summary(bench: Bench) -> SummedUp:
    return ended_sprint(bench.path).summary


def of(found: SummedUp, item: str) -> dict[str, int]:
    """What is counted of an item, without noughts."""
    one = found.by_item[item]
    names = [name for name in ItemOutcome.__dataclass_fields__ if name != "items"]
    return {name: getattr(one, name) for name in names if getattr(one, name)}


# ---- the script of the simulated engineer ----------------------------------------------------


def test_what_the_script_forgot_is_forgotten_and_nothing_else(scripts: list[Script]) -> None:
    assert sum(bool(script.forgotten) for script in scripts) >= 4
    for script in scripts:
        state = script.state
        rows = [state.by_key[key] for key in script.forgotten]
        # Of an order that never went out, no line of the closing list was forgotten.
        essential = {
            row.key
            for row in rows
            if row.essential and (state.accepted or row.item.phase != CLOSING_ID)
        }
        assert {row.key for row in forgotten(state)} == essential
        found = ended_sprint(script.path).summary
        assert found.forgotten == len(essential)
        told = {item: one.forgotten for item, one in found.by_item.items() if one.forgotten}
        names = [key.partition("@")[0] for key in essential]
        assert told == {name: names.count(name) for name in names}


def test_late_waived_and_reopened_are_those_of_the_sprint_itself(scripts: list[Script]) -> None:
    for script in scripts:
        found = ended_sprint(script.path).summary
        rows = [row for row in script.state.rows if row.applies is not False]
        for item, one in found.by_item.items():
            mine = [row for row in rows if row.item.id == item]
            asked_only = [row for row in mine if row.applies is None and not row.closed]
            closed = [row.state for row in mine if row.state and row.status in ("met", "waived")]
            assert (one.here, one.asked) == (len(mine) - len(asked_only), len(asked_only))
            assert one.late == sum(state.late for state in closed)
            assert one.met + one.waived == len(closed)
            assert one.open >= one.forgotten


def test_phases_have_their_box_and_what_was_used_of_it(scripts: list[Script]) -> None:
    for script in scripts:
        found = ended_sprint(script.path).summary
        plan = plan_of(begin(script.state.setup))
        assert [one.phase for one in found.phases] == [box.phase for box in plan.boxes]
        for one in found.phases:
            assert one.planned == pytest.approx(plan.box(one.phase).seconds, abs=1e-3)
            assert one.used == pytest.approx(script.state.used.get(one.phase, 0.0), abs=1e-3)


# ---- typed by hand ---------------------------------------------------------------------------


def test_each_item_says_what_became_of_it(bench: Bench) -> None:
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.Meet("supply-contacts"))
    bench.do(asked.NoteChange("connector-part"))
    bench.do(asked.EnterPhase("clock-boot"))
    bench.do(asked.Dismiss("strap-source"))  # and with it boot-level and strap-shared
    bench.do(asked.Waive("console-wiring@uart1", "the link is on the module"))
    bench.do(asked.EnterPhase("debug-access"))
    bench.do(asked.Meet("crystal-starts@main", "data sheet", page="p. 12"))
    bench.do(asked.EnterPhase("closing"))
    bench.do(asked.End(True))
    found = summary(bench)
    assert of(found, "supply-contacts") == {"here": 1, "due": 1, "open": 1, "reopened": 1}
    assert bench.status("supply-contacts") == REOPENED  # open, and not forgotten
    for item in ("strap-source", "boot-level", "strap-shared"):
        assert of(found, item) == {"dismissed": 1}
    assert of(found, "console-wiring") == {"here": 1, "due": 1, "waived": 1}
    assert of(found, "crystal-starts")["late"] == 1
    assert of(found, "debug-pins") == {"here": 1, "due": 1, "forgotten": 1, "open": 1}
    assert of(found, "output-seen")["forgotten"] == 2  # 3v3 and 1v8
    further = of(found, "entrance-clamp")
    assert further == {"here": 1, "open": 1}


def test_what_was_only_asked_is_not_forgotten_and_is_counted_apart(bench: Bench) -> None:
    asks = [row for row in bench.state.rows if row.essential and row.applies is None]
    keys = {row.key for row in asks}
    assert keys
    bench.do(asked.EnterPhase(CLOSING_ID))
    bench.do(asked.End(True))
    assert not keys & {row.key for row in forgotten(bench.state)}
    found = summary(bench)
    for row in asks:
        assert of(found, row.item.id) == {"asked": 1}


def test_a_fact_that_was_told_makes_an_item_of_the_board(bench: Bench) -> None:
    bench.do(asked.SetFact("second_supply", True))
    bench.do(asked.EnterPhase(CLOSING_ID))
    bench.do(asked.End(True))
    found = of(summary(bench), "no-back-feed")
    assert found == {"here": 1, "due": 1, "forgotten": 1, "open": 1}


def test_a_finding_of_which_a_house_rule_was_made_says_so(bench: Bench) -> None:
    bench.do(asked.EnterPhase(CLOSING_ID))
    bench.do(asked.End(True))
    bench.do(asked.NoteFinding("The lead is too thin"))
    bench.do(asked.NoteFinding("The label covers a pad"))
    bench.do(asked.MakeItemOf(1, "lead-carries-its-current", "house-rules.toml"))
    assert [one.made for one in summary(bench).findings] == ["lead-carries-its-current", ""]


def test_given_up_at_once_is_within_the_first_tenth_without_an_order(begin: Begin) -> None:
    for minutes, accepted, at_once in (
        (1.0, False, True),
        (11.9, False, True),
        (12.1, False, False),
        (1.0, True, False),
    ):
        bench = begin()
        bench.do(asked.EnterPhase("power-entry"))
        bench.clock.advance(minutes * 60 - bench.session.t)
        bench.do(asked.End(accepted))
        assert summary(bench).given_up is at_once


def test_what_leaves_with_a_feature_or_is_taken_back_was_not_dismissed(bench: Bench) -> None:
    bench.do(asked.EnterPhase("clock-boot"))
    bench.do(asked.DropFeature("talk"))
    bench.do(asked.Dismiss("strap-source"))
    bench.do(asked.Undo())
    bench.do(asked.End(True))
    assert not any(one.dismissed for one in summary(bench).items)


def test_what_is_set_aside_asks_for_nothing(bench: Bench) -> None:
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.Defer(("entrance-clamp",)))
    bench.do(asked.End(True))
    assert of(summary(bench), "entrance-clamp") == {"here": 1}


def test_of_a_sprint_that_was_given_up_only_what_lay_behind_is_forgotten(bench: Bench) -> None:
    bench.do(asked.EnterPhase("power-entry"))
    bench.do(asked.EnterPhase("regulation"))
    bench.do(asked.End(False))
    found = summary(bench)
    assert of(found, "supply-contacts")["forgotten"] == 1
    assert "due" not in of(found, "output-seen")  # the phase it was given up in
    assert "due" not in of(found, "debug-pins")  # never begun
    assert "due" not in of(found, "first-upload")
    assert not found.accepted
    assert found.due == found.forgotten


def test_of_an_order_that_went_out_the_closing_list_counts_too(bench: Bench) -> None:
    bench.do(asked.EnterPhase(CLOSING_ID))
    bench.do(asked.Meet("accepted-and-paid"))
    bench.do(asked.End(True))
    found = summary(bench)
    assert of(found, "first-upload")["forgotten"] == 1
    assert of(found, "accepted-and-paid")["met"] == 1
    assert found.in_time


def test_late_findings_are_escapes_of_their_item(bench: Bench) -> None:
    bench.do(asked.EnterPhase("debug-access"))
    bench.do(asked.Meet("debug-pins"))
    bench.do(asked.End(True))
    bench.do(asked.NoteFinding("Clock and data are exchanged", item="debug-pins", minutes="25"))
    bench.do(asked.NoteFinding("The label covers a pad"))
    bench.do(asked.NoteFinding("A slip", item="debug-pins"))
    bench.do(asked.WithdrawFinding(3))
    found = summary(bench)
    assert [(one.item, one.minutes) for one in found.findings] == [("debug-pins", 25.0), ("", None)]


def test_the_pace_of_a_phase_is_what_was_used_over_its_box(bench: Bench) -> None:
    """Drawn at 1.8 times the expected work, in boxes made for 1.3 times of it."""
    for phase in ("power-entry", "regulation", "debug-access", "decoupling"):
        bench.do(asked.EnterPhase(phase))
        bench.clock.advance(1.8 * whole_of(bench.state, phase).expected)
        while rows := walk_of_phase(bench.state, phase):
            bench.session.do(asked.Waive(rows[0].key, "seen on paper"))
        bench.session.do(asked.SignOff(phase))
    bench.do(asked.End(False))
    found = summary(bench)
    drawn = {one.phase: one.pace for one in found.phases if one.pace is not None}
    assert drawn.keys() == {"", "power-entry", "regulation", "debug-access", "decoupling"}
    assert [drawn[p] for p in ("power-entry", "decoupling")] == pytest.approx(
        [1.8 / 1.3] * 2, rel=0.05
    )
    assert pace_drawn(found) == pytest.approx(1.8 / 1.3, rel=0.05)


def test_a_phase_that_was_drawn_before_tells_no_pace(bench: Bench) -> None:
    bench.do(asked.JoinLate("power-entry"))
    bench.do(asked.EnterPhase("regulation"))
    bench.do(asked.End(False))
    paces = {one.phase: one.pace for one in summary(bench).phases}
    assert paces["power-entry"] is None
    assert paces["debug-access"] is None
    assert pace_drawn(summary(bench)) is None
