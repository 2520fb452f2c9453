"""What can still be changed: what is said of each kind, at each stage, and how much of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from coach.debrief.account.changeable import CHANGE_FIRST, NO_POWER, changeable_of
from coach.debrief.account.data import Account, CalculationTold, LimitTold, MeasuredTold, Said
from coach.debrief.account.differently import differently_of
from coach.debrief.account.telling import account_of
from coach.debrief.report.markdown import markdown_of
from coach.debrief.report.sections import changeable, forgotten
from coach.sprint.brief.document import load_brief
from coach.sprint.commands import End, EnterPhase, MeasurePoint, Meet, SetFact
from coach.sprint.past.read_sprint import read_sprint
from coach.sprint.rehearsal.rehearse import rehearse
from coach.sprint.session import Session
from coach.sprint.setup import kind_of_run
from tests.debrief.conftest import into, told_of
from tests.debrief.sample_account import item, small_account
from tests.sprint.conftest import Bench

SAMPLES = sorted((Path(__file__).resolve().parents[3] / "sessions").glob("*.toml"))


def ordered(account: Account) -> Account:
    """Accepted and paid, its boards not made yet."""
    return replace(account, accepted=True, findings=(), measured=())


def failing(
    name: str, *, harms: bool = False, stale: str = "", verdict: str = "fail"
) -> CalculationTold:
    limit = LimitTold(name, "rise", verdict, f"{name} is 3 A, limit 2 A.", -1.0, -0.5, "A")
    return CalculationTold(name, name, verdict, (limit,), -0.5, None, stale, 0, 0, harms)


def alone(account: Account, **given: object) -> tuple[Said, ...]:
    """What is said where nothing but what is given is open."""
    only = replace(account, items=(), calculations=(), undrawn=(), findings=(), measured=())
    return changeable_of(replace(only, **given))  # type: ignore[arg-type]


# ---- how it is said ------------------------------------------------------------------------------


def test_the_minutes_are_the_work_and_what_comes_of_it_is_a_sentence_of_its_own() -> None:
    cell = item(
        "cell-kind", "Kind of cell is printed beside it", "labelling", outcome="open",
        severity="hazard", left_out_min=1.0, confirm_s=5.0,
        why="A cell of the wrong kind is fitted, and leaks or burns",
    )  # fmt: skip
    (said,) = alone(replace(small_account(), accepted=False), items=(cell,))
    assert said.evidence == (
        "open at the end; looking takes 5 s, making it good takes 1 min. A cell of the wrong kind "
        "is fitted, and leaks or burns."
    )


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_show_says_that_what_breaks_costs_minutes(path: Path) -> None:
    told = markdown_of(account_of(read_sprint(path)))
    assert "left out it costs" not in told and "left out they cost" not in told


# ---- power ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("harms", "way"), [(True, CHANGE_FIRST), (False, NO_POWER)])
def test_what_fails_once_it_is_ordered_is_not_powered(harms: bool, way: str) -> None:
    (_, said) = alone(ordered(small_account()), calculations=(failing("fuse", harms=harms),))
    assert said.text == f"Does not hold: fuse. fuse is 3 A, limit 2 A. {way}"
    assert "power" in way and "bring-up" not in said.text


def test_several_that_fail_are_one_entry_for_each_thing_to_do() -> None:
    several = tuple(failing(f"f{n}", harms=n < 3) for n in range(6))
    (_, worst, rest) = alone(ordered(small_account()), calculations=several)
    assert worst.text.startswith("3 calculations do not hold. Change the parts before power is put")
    assert "do not apply power" in rest.text.lower()
    assert worst.names[0] == "f0: f0 is 3 A, limit 2 A"


def test_what_cannot_be_run_again_is_worked_out_before_power() -> None:
    stale = failing("fuse", stale="the load is not known", verdict="pass")
    (_, said) = alone(ordered(small_account()), calculations=(stale,))
    assert said.text.endswith("Work it out anew before power is put on.")
    failed = failing("fuse", stale="the load is not known")
    (_, said) = alone(ordered(small_account()), calculations=(failed,))
    assert said.text == (
        "Does not hold: fuse. It failed as it was saved, and cannot be run again: the load is not "
        f"known. {NO_POWER}"
    )


def test_a_margin_that_is_thin_forbids_nothing() -> None:
    assert alone(small_account(), calculations=(failing("fuse", verdict="marginal"),)) == ()


def test_an_open_hazard_is_looked_at_before_power_whatever_shows_it() -> None:
    for place in ("schematic", "placement", "routing", "files"):
        open_one = item("a", "A", "layout", severity="hazard", outcome="open", place=place)
        (*_, said) = alone(ordered(small_account()), items=(open_one,))
        assert said.text == (
            "Hazard: A. Look before power is put on; do not power a board where it is missing."
        )


@pytest.mark.parametrize(("calculator", "key", "given", "harms"), [
    ("series-resistor", "3v3", {"R": "1 Ω", "P_max": "1 mW"}, True),  # by heat
    ("pull-up", "", {}, False),
])  # fmt: skip
def test_by_heat_is_harm_and_what_holds_harms_nothing(
    bench: Bench, calculator: str, key: str, given: dict[str, str], harms: bool
) -> None:
    if harms:
        bench.save("sum-of-loads", I="200 mA")
        bench.save(calculator, key)
    else:
        bench.save(calculator)
    one = next(e for e in told_of(bench).calculations if e.id.startswith(calculator))
    assert (one.verdict == "fail", one.harms) == (harms, harms)


def test_a_fuse_that_fails_at_the_entrance_harms() -> None:
    account = account_of(read_sprint(next(p for p in SAMPLES if p.stem.endswith("driver-24v"))))
    fuse = next(one for one in account.calculations if one.id == "fuse@vin")
    assert (fuse.verdict, fuse.harms) == ("fail", True)
    said = next(one for one in account.changeable if "fuse" in f"{one.text} {one.names}".lower())
    assert "before power is put on" in said.text


# ---- how much of it ------------------------------------------------------------------------------


def given_up(folder: Path, brief: str) -> Account:
    """A sprint ended in its first minutes: everything is open."""
    path = folder / "up.toml"
    report = rehearse(load_brief(brief), pace=9.0, forget=0.5, path=path)
    assert not report.accepted
    return account_of(read_sprint(path))


@pytest.mark.parametrize("brief", ["usb-bench-meter", "orchard-radio-tag", "pump-driver-24v"])
def test_of_a_sprint_given_up_there_are_few_entries_that_name_every_grave_item(
    tmp_path: Path, brief: str
) -> None:
    account = given_up(tmp_path, brief)
    assert len(account.forgotten) > 20
    assert len(account.changeable) <= 12
    named = " ".join(words for one in account.changeable for words in (one.text, *one.names))
    assert all(one.name.rstrip(".") in named for one in account.forgotten if one.grave)
    grave = [one.grave for one in account.changeable if "Does not hold" not in one.text]
    assert grave == sorted(grave, reverse=True)


def test_hazards_come_first_and_the_worst_three_stand_by_themselves() -> None:
    hazards = tuple(
        item(f"h{n}", f"H{n}", "layout", severity="hazard", outcome="open", left_out_min=9.0 - n)
        for n in range(6)
    )
    dead = tuple(item(f"d{n}", f"D{n}", "layout", outcome="open") for n in range(4))
    said = alone(replace(small_account(), accepted=False), items=(*dead, *hazards))
    assert [one.text for one in said] == [
        "Hazard: H0.", "Hazard: H1.", "Hazard: H2.", "3 more hazards are open.",
        "4 items that can kill the board are open.",
    ]  # fmt: skip
    assert said[3].names == ("H3", "H4", "H5")
    assert said[4].evidence == "looking takes 0 s, making them good takes 24 min"


# ---- once there are boards -----------------------------------------------------------------------


def test_once_a_board_was_measured_it_is_not_called_before_production(
    bench: Bench, tmp_path: Path
) -> None:
    into(bench, "closing", 20)
    bench.do(Meet("accepted-and-paid"))
    bench.do(End(accepted=True))
    assert changeable(told_of(bench)).title == "Still changeable before production"
    path = tmp_path / "afterwards.toml"
    path.write_bytes(bench.path.read_bytes())
    with Session.afterwards(path, bench.clock) as session:
        session.do(MeasurePoint("1", "rail.3v3.voltage", "3v3", "3.71", "V", 3.2, 3.4))
    account = account_of(read_sprint(path))
    assert changeable(account).title == "To change on the boards and in the next revision"
    assert account.measured == (
        MeasuredTold("1", "3v3", "3.71 V", "3.20 .. 3.40 V", "outside"),
    )  # fmt: skip
    assert Said(
        "Find out why: board 1, 3v3 is 3.71 V.", "expected 3.20 .. 3.40 V"
    ) in account.changeable  # fmt: skip
    assert "| 3.71 V" in markdown_of(account)


# ---- numbers that agree --------------------------------------------------------------------------


def test_boards_that_came_without_an_order_are_not_powered_where_something_fails() -> None:
    """Somebody else may have ordered: what counts is that there are boards."""
    account = replace(small_account(), accepted=False)
    assert account.boards_are_here
    open_item = next(one for one in account.items if one.severity == "hazard")
    said = changeable_of(
        replace(account, items=(open_item,), calculations=(failing("fuse", harms=True),))
    )
    assert "do not power a board where it is missing" in said[0].text
    assert said[1].text.endswith(CHANGE_FIRST)
    before = replace(account, findings=(), measured=())
    assert not any("power is put on" in one.text for one in changeable_of(before))


def test_the_closing_list_is_counted_apart_and_worst_come_first(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    bench.do(EnterPhase("power-entry"))
    bench.do(End(accepted=False))
    account = told_of(bench)
    said = forgotten(account)
    assert said.lead == (
        f"{len(account.forgotten)} essentials were open at the end, and 3 lines of the closing "
        "list."
    )
    assert f"{len(account.forgotten)} open" in " ".join(account.happened)
    assert said.points[0].mark == "hazard"
    assert {one.mark for one in said.points[-3:]} == {"closing list"}


# ---- what no figure shows ------------------------------------------------------------------------


def test_no_plan_rests_on_a_long_silence_and_the_key_is_named(bench: Bench) -> None:
    into(bench, "debug-access", 6)
    into(bench, "clock-boot", 70)
    bench.do(End(accepted=False))
    account = told_of(bench)
    texts = [one.text for one in differently_of(account)]
    assert not any(one.startswith("Plan ") for one in texts)
    assert Said(
        "Press i when you come back: it takes a pause out of the time that counts as work.",
        "debug access: from 0:06 on nothing was entered for 1 h 4 min",
    ) in account.differently  # fmt: skip


def test_the_key_stands_in_the_place_of_the_plan_that_the_silence_would_have_made() -> None:
    """Layout was overrun most, by a silence; regulation by work."""
    over = {"layout": (5400.0, ((1000.0, 8000.0),)), "regulation": (1500.0, ())}
    phases = tuple(
        replace(e, used=e.used + over[e.phase][0], silences=over[e.phase][1])
        if e.phase in over else e
        for e in small_account().phases
    )  # fmt: skip
    said = [one.text for one in differently_of(replace(
        small_account(), items=(), findings=(), calls=(), calculations=(), undrawn=(),
        phases=phases,
    ))]  # fmt: skip
    press = next(n for n, one in enumerate(said) if one.startswith("Press i"))
    plan = next(n for n, one in enumerate(said) if one.startswith("Plan"))
    assert press < plan and "regulation" in said[plan]
    assert sum(one.startswith("Press i") for one in said) == 1


def test_a_plan_leaves_the_silence_out_where_work_overran_the_box_as_well() -> None:
    account = replace(small_account(), findings=(), items=(), calls=(), calculations=(), undrawn=())
    phases = tuple(
        replace(e, used=e.used + 1800, silences=((4000.0, 5800.0),)) if e.phase == "layout" else e
        for e in account.phases
    )
    # 52 min of work in layout, 3 of them for other phases, and 30 min of silence beside.
    assert Said(
        "Plan 50 min for layout on a board like this, or drop something before it.",
        "52 min in a box of 38 min, long silences left out",
    ) in differently_of(replace(account, phases=phases))  # fmt: skip


# ---- what kind of run ----------------------------------------------------------------------------


def test_a_rehearsal_of_a_person_is_told_from_the_simulated_engineer() -> None:
    assert kind_of_run(1.0, rehearsed=False) == ""
    assert kind_of_run(1.0, rehearsed=True) == "A simulated engineer's sprint."
    assert kind_of_run(60.0, rehearsed=True) == (
        "A rehearsal, the clock 60 times faster: it feeds nobody's pace."
    )
