"""What can still be changed: what is said of each kind, at each stage, and how much of it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coach.report.account import Account
from coach.report.item_outcomes import forgotten
from coach.report.margins import harms
from coach.report.markdown import markdown_of
from coach.report.phase_times import PhaseActual
from coach.report.recommendations import recommendations
from coach.report.review import happened
from coach.report.sections import Point
from coach.report.to_change import CHANGE_FIRST, NO_POWER, to_change
from coach.sprint.commands import End, EnterPhase, MeasurePoint, Meet, NoteFinding, SetFact
from coach.sprint.keys import CalculationKey
from coach.sprint.session import Session
from coach.sprint.setup import kind_of_run
from coach.sprint.state import SavedCalculation
from phases.kit.items import Severity, Stage
from phases.kit.record import LimitRecord, Record
from tests.rehearsals import Rehearsals, Script
from tests.report.conftest import Rehearsed, into, plain, reported, texts, told, told_of, words_of
from tests.sprint.conftest import Bench


def of(account: Account, **given: Any) -> Account:
    """The same sprint with other values in its state."""
    return Account(replace(account.read, state=replace(account.state, **given)))


def ordered(account: Account) -> Account:
    """Accepted and paid, its boards not made yet."""
    return of(account, ended=True, ended_at=account.end, accepted=True)


def failing(*names: str, verdict: str = "fail", stale: str = "", unit: str = "V") -> dict[str, Any]:
    """Saved calculations of these names that fail, or are out of date."""
    found = {}
    for name in names:
        limit = LimitRecord.model_validate(
            {
                "name": "rise",
                "title": "Rise",
                "verdict": verdict,
                "margin": -1.0,
                "share": -0.5,
                "unit": unit,
                "message": f"{name} is 3 V, limit 2 V.",
            }
        )
        record = Record(calculator=name, version=1, inputs={}, outputs={}, limits=(limit,))
        found[name] = SavedCalculation(CalculationKey(name), record, 1500.0, stale=stale)
    return found


@pytest.fixture
def clean(bench: Bench) -> Account:
    """A sprint of which nothing was saved; what is open is not looked at here."""
    into(bench, "regulation", 20)
    bench.do(End(accepted=False))
    return told_of(bench)


def fails(account: Account) -> list[Point]:
    return [
        one
        for one in to_change(account).points
        if one.text.startswith(("Fails", "Out of date", "3 calculations"))
    ]


# ---- power ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "way"), [("W", CHANGE_FIRST), ("V", NO_POWER)])
def test_what_fails_once_it_is_ordered_is_not_powered(clean: Account, unit: str, way: str) -> None:
    (said,) = fails(ordered(of(clean, calculations=failing("fuse", unit=unit))))
    assert said.text == f"Fails: fuse. fuse is 3 V, limit 2 V. {way}"
    assert said.evidence == "saved at 0:25"
    assert (said.grave, "power" in way) == (unit == "W", True)


def test_before_the_order_there_is_no_way_to_say(clean: Account) -> None:
    (said,) = fails(of(clean, calculations=failing("fuse")))
    assert said.text == "Fails: fuse. fuse is 3 V, limit 2 V."


def test_several_that_fail_are_one_entry_for_each_thing_to_do(clean: Account) -> None:
    several = {**failing("a", "b", "c", unit="W"), **failing("d", "e", "f")}
    worst, rest = fails(ordered(of(clean, calculations=several)))
    assert worst.text == f"3 calculations are failing or out of date. {CHANGE_FIRST}"
    assert rest.text == f"3 calculations are failing or out of date. {NO_POWER}"
    assert worst.below[0].text == "a. a is 3 V, limit 2 V."
    assert (worst.grave, rest.grave) == (True, False)


def test_what_cannot_be_run_again_is_calculated_again_before_power_on(clean: Account) -> None:
    stale = failing("fuse", stale="the load is not known", verdict="pass")
    (said,) = fails(ordered(of(clean, calculations=stale)))
    assert said.text == (
        "Out of date: fuse. It cannot be run again: the load is not known. "
        "Calculate it again before power-on."
    )
    failed = failing("fuse", stale="the load is not known")
    (said,) = fails(ordered(of(clean, calculations=failed)))
    assert said.text == (
        "Fails: fuse. It failed as it was saved, and cannot be run again: the load is not known. "
        f"{NO_POWER}"
    )
    mixed = {**failing("a", "b"), **failing("c", stale="no load", verdict="pass")}
    (said,) = fails(of(clean, calculations=mixed))
    assert said.text == "3 calculations are failing or out of date."


def test_a_margin_that_is_thin_forbids_nothing(clean: Account) -> None:
    assert fails(of(clean, calculations=failing("fuse", verdict="marginal"))) == []


@pytest.mark.parametrize("stage", list(Stage))
def test_an_open_hazard_is_checked_before_power_on_whatever_shows_it(
    bench: Bench, stage: Stage
) -> None:
    bench.do(SetFact("second_supply", True))
    into(bench, "power-entry", 5)
    bench.do(End(accepted=True))
    account = told_of(bench)
    hazard = next(r for r in account.rows if r.item.severity == Severity.HAZARD)
    moved = replace(hazard, item=hazard.item.model_copy(update={"stage": stage}))
    account.__dict__["still_open"] = [moved]
    (_, said, *_) = texts(to_change(account))
    assert said == (
        "Hazard: The no back feed is seen to. Check before power-on; do not power a board where "
        "it is missing."
    )


def test_by_heat_is_harm_and_what_holds_harms_nothing(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("sum-of-loads", I="200 mA")
    bench.save("series-resistor", "3v3", R="10 Ω")
    account = told_of(bench)
    harm = {key: harms(account, saved) for key, saved in account.state.calculations.items()}
    assert harm == {"pull-up": False, "sum-of-loads": False, "series-resistor@3v3": True}


def test_what_fails_at_the_power_entry_harms_by_whatever_it_fails(rehearsed: Rehearsed) -> None:
    """A fuse that does not open fails by a current, and is no heat."""
    _, account = rehearsed(Script("pump-driver-24v", 1))
    fuse = next(one for one in account.state.calculations.values() if one.calculator == "fuse")
    found = []
    for verdict in ("pass", "fail"):
        limit = fuse.record.limits[0].model_copy(update={"verdict": verdict, "unit": "A"})
        made = replace(fuse, record=fuse.record.model_copy(update={"limits": (limit,)}))
        found.append(harms(account, made))
    assert found == [False, True]


# ---- how much of it ------------------------------------------------------------------------------


@pytest.mark.parametrize("brief", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_of_a_sprint_given_up_there_are_few_entries_that_name_every_grave_item(
    rehearsed_once: Rehearsals, brief: str
) -> None:
    report = rehearsed_once(brief, pace=9.0, forget=0.5)
    assert not report.accepted
    account = told(report.path)
    section = to_change(account)
    assert len(account.still_open) > 20
    assert len(section.points) <= 12
    said = words_of(section)
    grave = [row for row in account.still_open if row.item.grave]
    assert all(row.item.statement in said and row.item.why in said for row in grave)
    order = [one.grave for one in section.points if "Fails" not in one.text]
    assert order == sorted(order, reverse=True)


def test_an_item_at_several_subjects_is_one_line(bench: Bench) -> None:
    into(bench, "regulation", 5)
    bench.do(End(accepted=False))
    below = [one.text for point in to_change(told_of(bench)).points for one in point.below]
    assert "The output seen is seen to (1v8 and Main supply)" in below


def test_hazards_come_first_and_the_worst_three_are_by_themselves(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    into(bench, "power-entry", 5)
    bench.do(End(accepted=False))
    account = told_of(bench)
    (hazard,) = [row for row in account.still_open if row.item.severity == Severity.HAZARD]
    dead = [row for row in account.still_open if row.item.severity == Severity.DEAD_BOARD][:4]
    more = [
        replace(hazard, item=hazard.item.model_copy(update={"id": f"h{n}", "statement": f"H{n}"}))
        for n in range(6)
    ]
    account.__dict__["still_open"] = [*more, *dead]
    first = to_change(account).points[:5]
    assert [one.text for one in first] == [
        "Hazard: H0.",
        "Hazard: H1.",
        "Hazard: H2.",
        "3 more hazards are open.",
        "4 items that can kill the board are open.",
    ]
    assert [one.text for one in first[3].below] == ["H3", "H4", "H5"]
    assert first[4].evidence == "24 s to check, 16 min to fix"
    assert all(one.brief for one in first)


# ---- once there are boards -----------------------------------------------------------------------


def test_once_a_board_was_measured_it_is_not_called_before_production(
    bench: Bench, tmp_path: Path
) -> None:
    into(bench, "closing", 20)
    bench.do(Meet("accepted-and-paid"))
    bench.do(End(accepted=True))
    assert to_change(told_of(bench)).title == "Still changeable before production"
    path = tmp_path / "afterwards.toml"
    path.write_bytes(bench.path.read_bytes())
    with Session.afterwards(path, bench.clock) as session:
        session.do(MeasurePoint("1", "rail.3v3.voltage", "3v3", "3.71", "V", 3.2, 3.4))
    account = told(path)
    section = to_change(account)
    assert section.title == "To change on the boards and in the next revision"
    assert ("Find out why: board 1, 3v3 is 3.71 V.", "expected 3.2 .. 3.4 V") in plain(section)
    (table,) = reported(path).section("measured").tables
    assert table.rows[0].cells == ("1", "3v3", "3.71 V", "3.2 .. 3.4 V", "outside")
    assert "| 3.71 V" in markdown_of(reported(path))


def test_boards_that_came_without_an_order_are_not_powered_where_something_fails(
    bench: Bench,
) -> None:
    """Somebody else may have ordered: what counts is that there are boards."""
    bench.do(SetFact("second_supply", True))
    into(bench, "power-entry", 5)
    bench.do(End(accepted=False))
    before = of(told_of(bench), calculations=failing("fuse", unit="W"))
    assert not any("power-on" in one for one in texts(to_change(before)))
    bench.session.close()
    bench.session = Session.afterwards(bench.path, bench.clock)
    bench.do(NoteFinding("The fan hums"))
    after = of(told_of(bench), calculations=failing("fuse", unit="W"))
    hazard, *others = texts(to_change(after))
    assert "do not power a board where it is missing" in hazard
    assert any(one.endswith(CHANGE_FIRST) for one in others)


# ---- what was forgotten --------------------------------------------------------------------------


def test_the_closing_list_is_counted_apart_and_each_count_is_the_same(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    bench.do(EnterPhase("power-entry"))
    bench.do(End(accepted=False))
    account = told_of(bench)
    number, due = len(account.still_open), len(account.forgotten)
    assert forgotten(account).lead.endswith(" 3 lines of the closing list open.")
    numbers = re.findall(r"(\d+) (?:essentials? w|more never|never)", forgotten(account).lead)
    assert int(numbers[0]) == due and sum(map(int, numbers)) == number
    assert f"{number} open" in " ".join(texts(happened(account)))


def test_what_is_often_forgotten_says_how_often(bench: Bench) -> None:
    bench.session.recall({"debug-pins": (3, 8)})
    into(bench, "debug-access", 5)
    bench.do(End(accepted=False))
    (habit,) = forgotten(told_of(bench)).points
    assert (habit.text, habit.evidence) == (
        "The debug pins is seen to",
        "forgotten in 3 of 8 sprints before this one",
    )


def test_the_more_checks_that_are_open_are_all_behind_one_fold(bench: Bench) -> None:
    bench.do(End(accepted=False))
    account = told_of(bench)
    open_checks = [
        row
        for row in account.rows
        if not row.essential and not row.closed and row.item.phase != "closing"
    ]
    (table,) = forgotten(account).tables
    assert [row.cells[1] for row in table.rows] == [row.name for row in open_checks]
    for row in open_checks:
        bench_row = next(one for one in table.rows if one.key == f"item/{row.key}")
        assert bench_row.quiet


# ---- what no figure shows ------------------------------------------------------------------------


def test_no_plan_rests_on_a_long_silence_and_the_key_is_named(bench: Bench) -> None:
    into(bench, "debug-access", 6)
    into(bench, "clock-boot", 70)
    bench.do(End(accepted=False))
    said = plain(recommendations(told_of(bench)))
    assert not any(text.startswith("Plan ") for text, _ in said)
    assert (
        "Press i right after you come back: it takes a pause out of the time that counts as work.",
        "debug access: from 0:06 on nothing was entered for 1 h 4 min",
    ) in said


def overrun(account: Account, **minutes: tuple[float, float]) -> Account:
    """The same with phases overrun by so many minutes, of them so many in silence."""

    def moved(one: PhaseActual) -> PhaseActual:
        over, silent = minutes.get(one.phase.replace("-", "_"), (0.0, 0.0))
        return replace(
            one,
            stretches=((0.0, one.box.seconds + 60 * over),),
            elsewhere=0.0,
            silences=((1000.0, 1000.0 + 60 * silent),) if silent else (),
        )

    account.__dict__["phases"] = tuple(map(moved, account.phases))
    return account


def test_the_key_is_in_the_place_of_the_plan_that_the_silence_would_have_made(
    clean: Account,
) -> None:
    """Layout was overrun most, by a silence; regulation by work."""
    said = texts(recommendations(overrun(clean, layout=(90, 116), regulation=(25, 0))))
    press = next(n for n, one in enumerate(said) if one.startswith("Press i"))
    plan = next(n for n, one in enumerate(said) if one.startswith("Plan"))
    assert press < plan and "regulation" in said[plan]
    assert sum(one.startswith("Press i") for one in said) == 1


def test_a_plan_leaves_the_silence_out_where_work_overran_the_box_as_well(clean: Account) -> None:
    """26.2 min of box, 44 min over, 30 of them silent: 40 min of work."""
    assert (
        "Plan 40 min for layout on a board like this, or drop something before.",
        "40 min in a box of 26 min, long silences left out",
    ) in plain(recommendations(overrun(clean, layout=(44, 30))))


# ---- what kind of run ----------------------------------------------------------------------------


def test_a_rehearsal_of_a_person_is_told_from_the_simulated_engineer() -> None:
    assert kind_of_run(1.0, rehearsed=False) == ""
    assert kind_of_run(1.0, rehearsed=True) == "A simulated engineer's sprint."
    assert kind_of_run(60.0, rehearsed=True) == (
        "A rehearsal, the clock 60 times faster: it feeds nobody's pace."
    )
