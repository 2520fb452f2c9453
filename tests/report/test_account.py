"""The account of sprints made by hand, checked to the sentence: the bench lamp with its own items.

Boxes of the lamp, min: choosing 6.5, power entry 8, regulation 8.4, debug access 5.3, clock boot
10.8, decoupling 5.4, layout 26.2, labelling 5.3, closing list 6 (by hand from the phases of
tests/sprint/lamp.py at a pace of 1.3, with 6 s for each row of a gate).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from coach.history.call_outcomes import CallOutcome
from coach.report.account import Account, closed_at
from coach.report.after_production import findings, put_aside, would_catch
from coach.report.calls_and_forecasts import calls, forecasts, judged, outcome
from coach.report.item_outcomes import (
    forgotten,
    found_again,
    how_met,
    items,
    late,
    opened_again,
    reopenings,
    short_name,
    waived,
)
from coach.report.margins import by_margin, margins, thinnest
from coach.report.recommendations import recommendations
from coach.report.review import happened, planned, reserve_eaten, variance
from coach.report.three_sentences import sentences
from coach.report.timeline import TimeChart, timeline
from coach.report.to_change import to_change
from coach.sprint.commands import (
    Affirm,
    Defer,
    Dismiss,
    DropSubject,
    End,
    EnterPhase,
    FinishWalk,
    Interrupt,
    Meet,
    MoveCutOff,
    NoteChange,
    NoteFinding,
    Park,
    ReachStage,
    Reopen,
    SetFact,
    Settle,
    SignOff,
    Undo,
    Waive,
)
from coach.sprint.ending import how_it_ended
from coach.sprint.events.run import CallMade
from coach.sprint.session import Session
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, Row
from phases.kit.grammar import sentence
from phases.kit.record import LimitRecord
from tests.report.conftest import into, plain, texts, told, told_of
from tests.report.forging import forged
from tests.sprint.conftest import Bench

CLOSING = ("files-whole", "first-upload", "accepted-and-paid")


def item(account: Account, key: str) -> Row:
    return next(row for row in account.rows if row.key == key)


def keys(rows: Iterable[Row]) -> list[str]:
    return [row.key for row in rows]


def phase(account: Account, name: str) -> str:
    """Why a phase differs from its plan."""
    return next(one.why for one in account.phases if one.phase == name)


def off(bench: Bench, *keys: str) -> None:
    """Each with the answer that takes it off the board."""
    for key in keys:
        bench.do(Dismiss(key))


def calculated(bench: Bench) -> None:
    """Everything that is met by calculation, saved and drawn."""
    bench.save("sum-of-loads")
    bench.save("series-resistor", "3v3")
    bench.save("series-resistor", "1v8", V_in="5 V", V_least="1 V")
    bench.draw_all()


def to_the_files(bench: Bench, minutes: float) -> None:
    """From layout to the end of the closing list, quickly."""
    into(bench, "layout", minutes)
    bench.do(ReachStage("placement"))
    for key in ("capacitor-close", "footprints-fit"):
        bench.do(Meet(key))
    bench.do(ReachStage("routing"))
    bench.at(minutes + 25)
    bench.do(Meet("nets-routed"))
    bench.do(ReachStage("files"))
    into(bench, "labelling", minutes + 26)
    bench.do(Meet("pin-one-marks"))
    into(bench, "closing", minutes + 31)
    for key in CLOSING:
        bench.do(Meet(key))


def clean(bench: Bench, contacts: str = "power-entry", outputs: str = "regulation") -> None:
    """A sprint as planned: every essential closed in its phase, but for what is said to be closed
    in another."""
    seen = {"supply-contacts": contacts, "output-seen@3v3": outputs, "output-seen@1v8": outputs}

    def meet(phase: str) -> None:
        for key in (key for key, where in seen.items() if where == phase):
            bench.do(Meet(key))

    into(bench, "power-entry", 6)
    meet("power-entry")
    calculated(bench)
    bench.at(14)
    into(bench, "regulation", 14)
    meet("regulation")
    into(bench, "debug-access", 22)
    meet("debug-access")
    bench.do(Meet("debug-pins"))
    into(bench, "clock-boot", 27)
    off(bench, "boot-level")
    bench.do(Affirm("console-wiring@uart1", "spi"))
    bench.do(Affirm("crystal-starts@main", "oscillator"))
    into(bench, "decoupling", 38)
    bench.do(Meet("capacitors"))
    to_the_files(bench, 44)
    bench.at(81)
    bench.do(End(accepted=True))


# ---- items -------------------------------------------------------------------------------------


def test_an_item_says_when_it_was_due_and_closed_and_how(bench: Bench) -> None:
    into(bench, "power-entry", 7)
    bench.do(Meet("supply-contacts", figure="1.8 mm"))
    bench.do(Meet("entrance-clamp", "data sheet", page="page 3"))
    account = told_of(bench)
    contacts = item(account, "supply-contacts")
    assert contacts.status == MET
    assert closed_at(contacts) == pytest.approx(7 * 60 + 5)
    assert (
        account.planned.spans["power-entry"][1] == (6 + 8) * 60
    )  # boxes of 6.5 and 8 min, as shown
    assert how_met(contacts) == "inspected, 1.8 mm"
    assert how_met(item(account, "entrance-clamp")) == "data sheet, page 3"
    assert closed_at(item(account, "nets-routed")) is None
    power = items(account).tables[0]
    assert power.caption == "Power entry: 3 items, due 0:14, 2 closed, 1 open"
    assert power.rows[0].cells == ("0:07", contacts.name, "inspected, 1.8 mm")


def test_the_closing_list_is_due_at_the_cut_off(bench: Bench) -> None:
    account = told_of(bench)
    assert account.planned.spans["closing"] == (7200.0 - 360, 7200.0)
    assert account.phases[-1].planned == (7200.0 - 360, 7200.0)


def test_items_stand_in_the_order_of_the_phases(bench: Bench) -> None:
    order = [row.item.phase for row in told_of(bench).rows]
    names = [one.phase for one in told_of(bench).phases][1:]
    assert order == sorted(order, key=names.index)


def test_what_is_not_on_this_board_is_no_item_of_it(bench: Bench) -> None:
    assert "no-back-feed" not in keys(told_of(bench).rows)
    bench.do(SetFact("second_supply", True))
    assert "no-back-feed" in keys(told_of(bench).rows)


def test_what_was_closed_and_then_left_the_board_is_told_as_that(bench: Bench) -> None:
    bench.do(Meet("output-seen@1v8"))
    bench.do(DropSubject("1v8"))
    bench.do(SetFact("second_supply", True))
    bench.do(Meet("no-back-feed"))
    bench.do(SetFact("second_supply", False))
    account = told_of(bench)
    for key in ("output-seen@1v8", "no-back-feed"):
        assert item(account, key).status == NOT_HERE
    assert account.late == []
    assert item(account, "output-seen@1v8").name == "The output seen is seen to (1v8)"


def test_a_question_nobody_answered_is_asked_and_open(bench: Bench) -> None:
    account = told_of(bench)
    assert item(account, "boot-level").applies is None
    assert "boot-level" in keys(account.still_open)
    (said,) = [
        one
        for point in to_change(account).points
        for one in point.below
        if one.key == "item/boot-level"
    ]
    assert said.evidence.startswith("Clock boot, not known whether it is needed, 6 s to check")


def test_a_check_that_was_deferred_says_so(bench: Bench) -> None:
    bench.do(Defer(("entrance-clamp",)))
    (checks,) = forgotten(told_of(bench)).tables
    assert "The entrance clamp is seen to (deferred)" in [row.cells[1] for row in checks.rows]


def test_a_waiver_is_told_with_its_reason(bench: Bench) -> None:
    bench.do(Waive("supply-contacts", "Same as the last board"))
    (point,) = waived(told_of(bench)).points
    assert (point.key, point.evidence) == ("item/supply-contacts", "Reason: Same as the last board")


def test_reopenings_say_why_and_when_it_was_closed_again(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(Reopen("output-seen@3v3", "seen on the wrong sheet"))
    account = told_of(bench)
    seen = item(account, "output-seen@3v3")
    first, second = reopenings(account, seen)
    assert (first.t, first.doubt, first.closed_again) == (10.0, True, 15.0)
    assert first.because == "A regulator or its package changed"
    assert (second.because, second.doubt) == ("seen on the wrong sheet", False)
    assert second.closed_again is None
    assert seen.status == REOPENED
    assert "output-seen@3v3" not in keys(account.still_open)


def test_what_was_taken_back_never_happened(bench: Bench) -> None:
    bench.do(Waive("supply-contacts", "the wrong row"))
    bench.do(Undo())
    account = told_of(bench)
    assert waived(account).points == ()
    assert account.reopened == []
    assert item(account, "supply-contacts").status == OPEN


# ---- late --------------------------------------------------------------------------------------


def left_behind(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)


def test_what_is_closed_after_its_phase_was_left_is_late(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    assert keys(told_of(bench).late) == ["supply-contacts"]


def test_what_is_closed_in_its_phase_once_more_is_not_late(bench: Bench) -> None:
    left_behind(bench)
    into(bench, "power-entry", 20)
    bench.do(Meet("supply-contacts"))
    assert told_of(bench).late == []


def test_what_could_not_be_seen_before_is_not_late(bench: Bench) -> None:
    """A row of decoupling that is seen on the placed board, closed in the walk before routing."""
    into(bench, "decoupling", 5)
    into(bench, "layout", 15)
    bench.do(ReachStage("placement"))
    bench.do(Meet("capacitor-close"))
    assert told_of(bench).late == []


def test_it_is_late_once_its_place_is_passed(bench: Bench) -> None:
    into(bench, "decoupling", 5)
    into(bench, "layout", 15)
    bench.do(ReachStage("placement"))
    bench.do(ReachStage("routing"))
    bench.do(Meet("capacitor-close"))
    assert keys(told_of(bench).late) == ["capacitor-close"]


def test_a_doubt_that_is_confirmed_later_was_in_time_all_the_same(bench: Bench) -> None:
    into(bench, "regulation", 5)
    bench.do(Meet("output-seen@3v3"))
    into(bench, "layout", 15)
    bench.do(NoteChange("regulator-part"))
    bench.do(Meet("output-seen@3v3"))
    account = told_of(bench)
    assert account.late == []
    assert keys(opened_again(account)) == ["output-seen@3v3"]


def test_after_the_cut_off_everything_is_late(bench: Bench) -> None:
    into(bench, "layout", 119)
    bench.at(121)
    bench.do(Meet("footprints-fit"))
    assert keys(told_of(bench).late) == ["footprints-fit"]


def found(account: Account) -> str:
    return found_again(account, item(account, "supply-contacts"))


def test_a_walk_that_asked_it_brought_it_up(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    bench.do(FinishWalk("schematic", 3, 1))
    assert found(told_of(bench)) == "in a walk"


def test_a_walk_that_closed_fewer_did_not_bring_it_up(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(FinishWalk("regulation", 3, 1))
    assert found(told_of(bench)) == "unprompted"


def test_a_call_that_named_it_brought_it_up(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)
    bench.at(26)
    calls = bench.session.tick()
    assert any("supply-contacts" in call.items for call in calls)
    bench.do(Meet("supply-contacts"))
    assert found(told_of(bench)) == "after a call"


# ---- phases ------------------------------------------------------------------------------------


def test_a_phase_is_told_with_box_stretches_and_time_used(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    into(bench, "regulation", 10)
    into(bench, "power-entry", 12)
    into(bench, "regulation", 17)
    bench.at(20)
    bench.session.do(End(accepted=False))
    account = told_of(bench)
    power = account.phases[1]
    assert power.stretches == ((360.0, 600.0), (720.0, 1020.0))
    assert power.used == 540.0
    assert power.box.seconds == pytest.approx(8.0 * 60)
    assert power.planned == (360.0, 840.0)  # boxes of 6.5 and 8 min, as shown
    assert account.phases[2].stretches == ((600.0, 720.0), (1020.0, 1200.0))
    assert account.phases[0].stretches == ((0.0, 360.0),)


def test_why_a_box_was_overrun_is_told_with_numbers(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    into(bench, "regulation", 20)
    into(bench, "power-entry", 22)
    into(bench, "regulation", 32)
    assert phase(told_of(bench), "power-entry") == (
        "Drawing took 24 min, 4.0 times its estimate; the plan had 1.3 times. It was entered twice."
    )


def test_time_that_went_into_other_phases_is_named(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    into(bench, "regulation", 14)
    bench.at(20)
    bench.do(Meet("supply-contacts"))
    bench.at(32)
    bench.do(EnterPhase("debug-access"))
    why = phase(told_of(bench), "regulation")
    assert "4 min went into items of other phases." in why
    assert why.startswith("Drawing took 14 min, 2.3 times its estimate")


def test_parts_drawn_again_and_items_closed_again_are_named(bench: Bench) -> None:
    """The resistor's two items, whose part had to be drawn anew, and what was seen."""
    into(bench, "regulation", 6)
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.save("series-resistor", "3v3", R="12 Ω")
    bench.draw_all()
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    bench.do(Meet("output-seen@3v3"))
    into(bench, "debug-access", 25)
    why = phase(told_of(bench), "regulation")
    assert "1 part was drawn again and 3 items had to be closed again." in why


def test_a_long_silence_is_named_and_not_explained(bench: Bench) -> None:
    into(bench, "debug-access", 6)
    into(bench, "clock-boot", 40)
    assert phase(told_of(bench), "debug-access") == "From 0:06 on nothing was entered for 34 min."


def test_a_box_that_was_not_used_up_says_what_is_open(bench: Bench) -> None:
    into(bench, "clock-boot", 6)
    into(bench, "decoupling", 8)
    bench.do(End(accepted=False))
    account = told_of(bench)
    assert phase(account, "clock-boot").startswith("5 of 5 essentials are open.")
    assert phase(account, "layout") == "Never entered."
    assert texts(variance(account))[-1] == (
        "Never entered: power entry, regulation, debug access, layout, labelling and closing list."
    )


def test_a_phase_that_went_as_planned_needs_no_reason(bench: Bench) -> None:
    clean(bench)
    assert {one.why for one in told_of(bench).phases} == {""}


def test_an_interruption_is_taken_out_and_told(bench: Bench) -> None:
    into(bench, "layout", 6)
    bench.at(26)
    bench.session.do(Interrupt())
    bench.at(40)
    bench.do(End(accepted=False))
    account = told_of(bench)
    assert [(one.since, one.to, one.why) for one in account.away] == [
        (360.0, 1560.0, "interrupted"),
    ]
    assert "Interrupted once, 20 min in total: not counted." in texts(variance(account))


def test_a_cut_off_that_was_moved_is_told_with_its_reason(bench: Bench) -> None:
    bench.do(MoveCutOff("+20 min", "The courier comes later"))
    account = told_of(bench)
    assert account.state.deadline == 8400.0
    said = texts(variance(account))
    assert any("The courier comes later." in one and "20 min" in one for one in said)
    assert texts(planned(account))[0] == "Order by 2:00, including 20 min for the closing list."


# ---- time that was no work ---------------------------------------------------------------------


def closed_in_layout(bench: Bench) -> Account:
    """Layout is left open at 1:30, the coach closed, opened again at 2:10, an order at 2:20."""
    bench.do(MoveCutOff("+40 min", "The courier is late"))
    into(bench, "layout", 6)
    bench.at(90)
    bench.do(ReachStage("placement"))
    bench.reopen(after=40 * 60)
    into(bench, "closing", 131)
    bench.at(140)
    bench.do(End(accepted=True))
    return told_of(bench)


def test_drawing_ate_none_of_the_reserve_while_the_coach_was_closed(bench: Bench) -> None:
    """The reserve begins at 2:20 less 20 min, within the time the coach was closed."""
    account = closed_in_layout(bench)
    assert account.reserve_begins == pytest.approx(140 * 60)
    bench.session.close()
    closed = account.away[0]
    assert (closed.why, closed.seconds) == ("coach closed", pytest.approx(40 * 60, abs=10))
    said = " ".join((*texts(sentences(account)), *texts(variance(account))))
    assert "of the reserve" not in said and "held back were gone" not in said
    assert "The coach was closed once, 40 min in total: not counted." in said


def test_a_stretch_has_a_gap_where_the_coach_was_closed(bench: Bench) -> None:
    account = closed_in_layout(bench)
    layout = next(one for one in account.phases if one.phase == "layout")
    (first, last), closed = layout.stretches, account.away[0]
    assert first == (360.0, pytest.approx(closed.since))
    assert last == (pytest.approx(closed.to), pytest.approx(131 * 60))
    assert layout.entered == 1
    assert sum(to - since for since, to in layout.stretches) == pytest.approx(layout.used)
    chart = timeline(account).chart
    assert isinstance(chart, TimeChart)
    assert chart.away == account.away
    assert timeline(account).lead == "Coach closed from 1:30 to 2:10, not counted."
    assert " 40 min" in " ".join(texts(variance(account)))


def test_only_the_drawing_within_the_reserve_is_drawing_that_ate_it(bench: Bench) -> None:
    """Drawn until 1:45 and, after half an hour away, from 2:15 to 2:25: 5 and 10 min of it."""
    bench.do(MoveCutOff("+50 min", "The courier is late"))
    into(bench, "layout", 6)
    bench.at(155)
    bench.do(ReachStage("placement"))
    bench.reopen(after=5 * 60)
    into(bench, "closing", 165)
    bench.at(169)
    bench.do(End(accepted=True))
    account = told_of(bench)
    assert account.reserve_begins == pytest.approx(150 * 60)
    assert reserve_eaten(account) == pytest.approx((5 + 5) * 60, abs=10)


# ---- how it ended ------------------------------------------------------------------------------


def test_a_clean_sprint_has_nothing_to_change_and_three_honest_sentences(bench: Bench) -> None:
    clean(bench)
    account = told_of(bench)
    ending = "The order was accepted and paid 39 min before the cut-off."
    assert how_it_ended(account.state) == ending
    assert account.in_time
    assert account.forgotten == []
    assert plain(to_change(account)) == []
    assert plain(recommendations(account)) == []
    assert plain(variance(account)) == []
    assert plain(sentences(account)) == [
        (
            "The time was enough: the order was accepted 39 min before the cut-off, and no box was "
            "overrun.",
            "accepted 1:21, cut-off 2:00",
        ),
        ("No essential was forgotten: all 14 are closed.", "14 met, 0 waived"),
        ("0 of 7 phases were signed off.", "none signed off"),
    ]
    assert texts(happened(account)) == [ending, "14 essentials: 14 met.", "3 calculations saved."]
    assert texts(planned(account)) == [
        "Order by 2:00, including 20 min for the closing list.",
        "9 time boxes, 1 h 20 min in total; longest: layout, 26 min.",
        "14 essentials from the brief, 5 more depending on answers.",
    ]


SAMPLES = sorted((Path(__file__).parents[2] / "sessions").glob("sample-*.toml"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_three_sentences_are_full_ones_and_name_the_worst_by_its_title(path: Path) -> None:
    account = told(path)
    for said in texts(sentences(account)):
        assert said.endswith(".") and not said.endswith("..")
        assert not re.search(r"\d more", said) and re.search(r" (is|was|were|are|took|gave) ", said)
        if (account.forgotten and "forgotten:" in said) or "forgotten, the worst:" in said:
            worst = short_name(account.forgotten[0])
            assert said == sentence(said.partition(": ")[0] + f": {worst}")


def test_a_sprint_that_is_running_says_that_nothing_is_final(bench: Bench) -> None:
    into(bench, "power-entry", 30)
    account = told_of(bench)
    running = "Still running, 1 h 30 min before the cut-off: nothing here is final."
    assert how_it_ended(account.state) == running
    assert forecasts(account).lead == "The sprint is still running: no forecast can be judged yet."
    assert (running, "last entry 0:30, cut-off 2:00") in plain(sentences(account))
    assert "forgotten" not in " ".join(texts(sentences(account)))
    assert forgotten(account).title == "Open essentials"
    assert not any("Check first" in one for one in texts(recommendations(account)))


def test_while_it_is_running_what_is_still_to_come_is_one_entry(bench: Bench) -> None:
    into(bench, "debug-access", 10)
    account = told_of(bench)
    section = to_change(account)
    assert section.title == "Still changeable before the order is accepted"
    assert [one.text for one in section.points] == [
        "Dead board: The debug pins is seen to.",
        "Still to come: 18 essentials of 6 phases not begun.",
        "Closing list: 3 of 3 lines open.",
    ]
    assert sum(one.text.count(" and ") + 1 for one in section.points[1].below) >= 13
    assert (
        "1 item that can kill the board is open: The debug pins is seen to.",
        "1 open in all; 6 s to check, 4 min to fix",
    ) in plain(sentences(account))


def test_a_forgotten_hazard_comes_before_everything(bench: Bench) -> None:
    """Also before an order that was never made."""
    bench.do(SetFact("second_supply", True))
    into(bench, "power-entry", 6)
    into(bench, "regulation", 119)
    bench.at(125)
    bench.do(End(accepted=False))
    account = told_of(bench)
    said = plain(sentences(account))
    assert said[0][0] == "1 hazard was forgotten: The no back feed is seen to."
    assert said[1] == (
        "There is no order: it ended 5 min after the cut-off, and power entry took 1 h 53 min in a "
        "box of 8 min.",
        "From 0:06 on nothing was entered for 1 h 53 min; ended 2:05, cut-off 2:00",
    )
    first = to_change(account).points[0]
    assert (first.text, first.evidence, first.grave, first.key) == (
        "Hazard: The no back feed is seen to.",
        "Power entry, 6 s to check, 4 min to fix. Without it the lamp stays dark on the bench.",
        True,
        "item/no-back-feed",
    )
    assert plain(recommendations(account))[0] == (
        "Check first next time (6 s): The no back feed is seen to.",
        "Hazard, open at the end.",
    )


def test_before_the_order_the_worst_can_still_be_changed_first(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    bench.save("series-resistor", "3v3", V_least="6 V")
    bench.save("pull-up")
    bench.do(End(accepted=False))
    kinds = [one.partition(":")[0] for one in texts(to_change(told_of(bench)))]
    assert kinds == [
        "Hazard",
        "15 items that can kill the board are open.",
        "Open again",
        "Fails",
        "3 parts were calculated and never drawn. Draw what is meant.",
        "3 other essentials are open.",
        "Closing list",
    ]


def test_once_it_is_paid_a_message_comes_first_and_each_has_a_way(bench: Bench) -> None:
    bench.save("pull-up")
    into(bench, "closing", 100)
    bench.do(Meet("accepted-and-paid"))
    bench.do(End(accepted=True))
    first, *others, closing = to_change(told_of(bench)).points
    assert (first.text, first.evidence, first.grave) == (
        "Ask the fabricator and the assembler whether the files can still be replaced: 16 items "
        "that can kill the board, 2 parts never drawn and 3 other essentials.",
        "accepted and paid at 1:40; production may not have begun",
        True,
    )
    said = {
        name: one.text.split(". ", 1)[1]
        for one in others
        for name in (*(below.text for below in one.below), one.text.split(". ", 1)[0])
    }
    assert said["The debug pins is seen to"] == (
        "Else fix by hand before power-on, and in the next revision."
    )
    assert said["The nets routed is seen to"] == (
        "Else a wire or a cut track before power-on, or the next revision."
    )
    assert said["Dead board: The pin one marks is seen to"] == (
        "A message with the right file may do."
    )
    assert closing.text == "Closing list: 2 of 3 lines open. A message may still do."
    assert [one.text for one in closing.below] == [
        "The files whole is seen to",
        "The first upload is seen to",
    ]


def test_what_is_calculated_and_never_drawn_is_told_by_calculation(bench: Bench) -> None:
    bench.save("pull-up")
    (undrawn,) = [one for one in to_change(told_of(bench)).points if "never drawn" in one.text]
    assert undrawn.text == "2 parts were calculated and never drawn. Draw what is meant."
    assert [one.text for one in undrawn.below] == [
        "pull up: 10 kΩ, BOOT to 3v3; 100 nF, BOOT to GND"
    ]


def test_an_order_after_the_cut_off_names_the_box_that_was_overrun(bench: Bench) -> None:
    into(bench, "layout", 58)
    into(bench, "closing", 110)
    bench.at(123)
    bench.do(End(accepted=True))
    account = told_of(bench)
    assert (
        "Choosing parts took 58 min in a box of 6 min, and the order was accepted 3 min after the "
        "cut-off.",
        "From 0:00 on nothing was entered for 58 min; accepted 2:03, cut-off 2:00",
    ) in plain(sentences(account))
    assert not account.in_time
    assert "Begin the closing list by 1:47: it takes 13 min." in texts(recommendations(account))


def test_drawing_that_ate_the_reserve_is_said(bench: Bench) -> None:
    into(bench, "layout", 6)
    into(bench, "closing", 110)
    bench.at(118)
    bench.do(End(accepted=True))
    account = told_of(bench)
    assert (
        "Drawing ate 10 min of the reserve of 20 min; the order was accepted 2 min before the "
        "cut-off.",
        "drawing until 1:50, reserve from 1:40; accepted 1:58, cut-off 2:00",
    ) in plain(sentences(account))
    assert (
        "Drawing went on until 1:50: 10 min of the 20 min held back were gone before the closing "
        "list."
    ) in texts(variance(account))


def test_thoughts_still_parked_and_features_dropped_are_told(bench: Bench) -> None:
    bench.do(Park("Ask which cable"))
    bench.do(Park("Two\nlines"))
    bench.do(Settle(1))
    assert [(one.mark, one.text) for one in put_aside(told_of(bench)).points] == [
        ("parked", "Two lines")
    ]


def test_signed_off_phases_are_counted(bench: Bench) -> None:
    into(bench, "debug-access", 5)
    bench.do(Meet("debug-pins"))
    bench.do(SignOff("debug-access"))
    said = plain(sentences(told_of(bench)))
    assert ("1 of 7 phases was signed off.", "debug access") in said


# ---- calculations ------------------------------------------------------------------------------


def test_calculations_come_thinnest_margin_first(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")  # 5 V - 0.1 A x 10 Ω = 4 V: (4 - 3) / 3 = 33 %
    bench.save("pull-up")  # 4 V - 10 µA x 10 kΩ = 3.9 V: (3.9 - 2.5) / 2.5 = 56 %
    bench.save("series-resistor", "1v8", V_in="5 V", V_least="4.8 V")  # (4.9 - 4.8) / 4.8 = 2 %
    account = told_of(bench)
    assert [saved.id for saved, _ in by_margin(account)] == [
        "series-resistor@1v8",
        "series-resistor@3v3",
        "pull-up",
    ]
    (table,) = margins(account).tables
    assert table.first[0].cells == (
        "series resistor (1v8)",
        "enough",
        "marginal",
        "100 mV",
        "2.1 %",
        "Voltage left 4.9 V, at least 4.8 V. Only 100 mV to spare.",
    )
    assert table.first[0].mark == "marginal"
    assert "The thinnest margin is 2.1 %, at series resistor (1v8)." in texts(sentences(account))


def test_a_plain_yes_is_no_thin_margin_and_a_plain_no_is_the_thinnest(bench: Bench) -> None:
    bench.save("pull-up")
    (saved,) = bench.state.calculations.values()

    def of(*limits: tuple[str, str, float | None]) -> str | None:
        made = tuple(
            LimitRecord.model_validate(
                {
                    "name": name,
                    "title": name,
                    "verdict": verdict,
                    "share": share,
                    "unit": "V",
                    "message": name,
                }
            )
            for name, verdict, share in limits
        )
        found = thinnest(replace(saved, record=saved.record.model_copy(update={"limits": made})))
        return found.name if found else None

    assert of(("held", "pass", None), ("level", "pass", 0.4)) == "level"
    assert of(("held", "fail", None), ("level", "fail", -0.4)) == "held"
    assert of(("held", "pass", None)) == "held"
    assert of(("level", "not applicable", None)) is None


def test_runs_after_a_change_are_counted_and_how_often_it_got_worse(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", R="10 Ω")
    bench.save("sum-of-loads", I="200 mA")  # 0.2² A² x 10 Ω = 0.4 W, more than 0.25 W
    account = told_of(bench)
    assert plain(margins(account)) == [
        ("series resistor (Main supply)", "Run again once after a change, 1 for the worse.")
    ]
    assert [one for one in texts(to_change(account)) if one.startswith("Fails")] == [
        "Fails: series resistor (Main supply). Heat 400 mW, limit 250 mW. Over by 150 mW."
    ]


# ---- calls and forecasts -----------------------------------------------------------------------


def test_calls_are_told_with_what_came_of_them(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)
    bench.at(26)
    bench.session.tick()
    bench.do(Meet("supply-contacts"))
    bench.at(61)
    bench.session.tick()
    account = told_of(bench)
    skipped, half = account.calls
    assert (skipped.call.cause, skipped.call.rings) == ("skipped essential", False)
    assert outcome(skipped) == "acted on after 5 s, 1 of 2 items closed"
    assert (half.call.cause, outcome(half)) == ("half", "asked for nothing")
    assert calls(account).lead == "2 calls, 1 asked for something, 1 acted on."
    assert calls(account).lead in texts(happened(account))


def test_a_call_that_was_acted_on_by_beginning_a_phase_counts_no_closed_items() -> None:
    call = CallMade(cause="latest start", message="Start now", items=("a", "b"))
    assert outcome(CallOutcome(60.0, call, 0, True, 240.0)) == "acted on after 4 min"
    assert outcome(CallOutcome(60.0, call, 0, False, None)) == "not acted on"


def test_a_silent_call_that_was_not_acted_on_says_where_to_look(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)
    bench.at(26)
    (call,) = bench.session.tick()
    bench.at(50)
    bench.do(End(accepted=False))
    account = told_of(bench)
    evidence = f"0:26: {call.message.rstrip('.')}"
    assert (
        "Look at the SKIPPED line between two phases: 1 silent call named 2 items, and none of "
        "them was closed within 15 min.",
        evidence,
    ) in plain(recommendations(account))
    assert (
        "1 of 1 call that asked for something was not acted on; the one at 0:26, a silent one, "
        "named 2 items.",
        evidence,
    ) in plain(sentences(account))


def test_an_item_that_several_calls_named_is_one_item(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    bench.at(125)
    bench.do(End(accepted=False))
    account = told_of(bench)
    one = CallOutcome(60.0, CallMade(cause="x", message="x", items=("a", "b")), 0, False, None)
    more = CallMade(cause="x", message="x", items=("a", "b", "c"))
    account.__dict__["calls"] = (one, replace(one, t=90.0, call=more))
    assert any("2 calls named 3 items" in text for text in texts(recommendations(account)))


def test_an_item_reopened_elsewhere_and_closed_again_here_is_time_of_here(bench: Bench) -> None:
    into(bench, "regulation", 6)
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    into(bench, "debug-access", 14)
    bench.do(Meet("output-seen@3v3"))
    into(bench, "clock-boot", 30)
    assert "1 item had to be closed again." in phase(told_of(bench), "debug-access")


def test_a_call_for_an_upload_that_was_made_asks_for_nothing(bench: Bench) -> None:
    into(bench, "closing", 90)
    bench.do(Meet("first-upload"))
    bench.at(101)
    bench.session.tick()
    due = [one for one in told_of(bench).calls if one.call.cause == "first upload due"]
    assert [one.acted_on for one in due] == [None]


def forecast(t: float, mark: int, chance: float, low: float, high: float) -> dict[str, object]:
    return {
        "t": t,
        "what": "forecast-made",
        "checkpoint": mark,
        "chance_essentials": chance,
        "chance_all": chance / 2,
        "expected": (low + high) / 2,
        "low": low,
        "high": high,
        "pace": 1.3,
        "draws": 1,
        "seed": 1,
    }


def with_forecasts(bench: Bench, target: Path, *kept: dict[str, object]) -> Account:
    """The account of the sprint with forecasts kept in it, in their places."""
    bench.session.close()

    def change(_: object, events: list[dict[str, object]]) -> None:
        last = max(int(str(one["n"])) for one in events)
        for n, one in enumerate(kept, start=last + 1):
            at = next(i for i, e in enumerate(events) if float(str(e["t"])) > float(str(one["t"])))
            events.insert(at, {"n": n, "at": events[at]["at"], "by": 0, **one})

    return told(forged(bench.path, target, change))


def test_forecasts_at_the_marks_are_judged_and_one_sprint_says_little(
    bench: Bench, tmp_path: Path
) -> None:
    """Brier ((1 - 0.97)² + (1 - 0.7)²) / 2 = 0.05; pinball of both ends at 4865 s: of 4000..5000
    0.1 x 865 + 0.1 x 135 = 100 s, of 5000..6000 0.9 x 135 + 0.1 x 1135 = 235 s, 168 on average."""
    clean(bench)
    account = with_forecasts(
        bench,
        tmp_path / "kept.toml",
        forecast(1800, 25, 0.97, 4000, 5000),
        forecast(2000, 0, 0.5, 1, 2),
        forecast(3600, 50, 0.7, 5000, 6000),
    )
    assert account.end == pytest.approx(81 * 60 + 5)
    assert forecasts(account).lead == (
        "Chance of all essentials by the cut-off: over 19 in 20 at 25 %, 7 in 10 at 50 %; it "
        "happened. Brier score 0.05 (0 is best, 0.25 is a coin). The 80 % range contained the "
        "finish 1 of 2 times (95 % interval 9 to 91 %). Average miss of the range ends (pinball "
        "loss): 3 min. One sprint says little: its forecasts share one finish. Trends over ten "
        "sprints say more."
    )
    assert [(m.event.checkpoint, score and score.covered) for m, score in judged(account)] == [
        (25, True),
        (0, None),
        (50, False),
    ]
    (table,) = forecasts(account).tables
    assert table.rows[0].cells == (
        "0:30",
        "25 % of the time",
        "over 19 in 20",
        "1:07",
        "1:15",
        "1:23",
        "inside",
        "2 min",
    )


def test_a_forecast_that_misjudged_the_sprint_is_said(bench: Bench, tmp_path: Path) -> None:
    clean(bench)
    kept = forecast(3600, 50, 0.01, 7000, 9000)
    account = with_forecasts(bench, tmp_path / "kept.toml", kept)
    assert (
        "At 50 % of the time the forecast gave under 1 in 20 for every essential by the cut-off; "
        "it happened.",
        "under 1 in 20 at 50 %",
    ) in plain(sentences(account))


# ---- after production --------------------------------------------------------------------------


def afterwards(bench: Bench, *noted: NoteFinding) -> Account:
    """The account after faults were found late."""
    bench.session.close()
    session = Session.afterwards(bench.path, bench.clock)
    for finding in noted:
        session.do(finding)
    session.close()
    bench.session = session
    return told_of(bench)


def catches(account: Account) -> list[str]:
    return [would_catch(account, one) for one in account.state.findings.values()]


def test_a_late_finding_says_what_would_have_caught_it(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(Meet("enough-left@1v8", "data sheet", "page 7"))
    bench.do(Waive("debug-pins", "Known from the last board"))
    bench.save("sum-of-loads")
    bench.do(End(accepted=True))
    account = afterwards(
        bench,
        NoteFinding("Contacts swapped", "supply-contacts", "1", "25 min", "Two wires"),
        NoteFinding("Output short", "output-seen@3v3"),
        NoteFinding("Wrong pull", "enough-left@1v8"),
        NoteFinding("Header turned", "debug-pins"),
        NoteFinding("Load missed", "source-load"),
        NoteFinding("No marks", "pin-one-marks"),
        NoteFinding("Hole too small"),
    )
    assert catches(account) == [
        "Closed by inspection, the only evidence possible; checking for this fault takes 6 s.",
        "Closed by inspection: its data sheet page would have caught it.",
        "Closed by data sheet, page 7: checking the drawing against it or a calculation would do.",
        "It was waived (Known from the last board); confirming it takes 6 s.",
        "Closed by calculation: checking its inputs against the board (I 100 mA by default) would "
        "do.",
        "It was open at the end; confirming it takes 6 s.",
        "No item asks for it: coach finding with --as-item 7 makes one.",
    ]
    first = findings(account).points[0]
    assert (first.text, first.mark, first.key) == ("Contacts swapped", "1", "finding/1")
    assert first.evidence == (
        "Board 1, 25 min lost, reworked: Two wires. Let through by: The supply contacts is seen "
        "to. Closed by inspection, the only evidence possible; checking for this fault takes 6 s."
    )
    said = texts(to_change(account))
    assert "Next revision: 7 faults found on the boards, each under Late findings." in said
    assert "7 faults were found after the sprint, which cost 25 min." in texts(happened(account))
    assert "Ask the fabricator" not in said[0]


def test_one_or_two_faults_found_late_are_told_where_it_is_said_what_to_do(bench: Bench) -> None:
    bench.do(End(accepted=True))
    account = afterwards(bench, NoteFinding("Contacts swapped", "", "1", "25 min", "Two wires"))
    assert (
        "Next revision: Contacts swapped.",
        "finding 1, board 1, 25 min lost, reworked: Two wires",
    ) in plain(to_change(account))


def test_an_item_closed_quicker_than_one_can_look_is_told_so(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    bench.session.do(Meet("supply-contacts"))
    bench.clock.advance(1)
    bench.session.do(Meet("debug-pins"))
    bench.do(End(accepted=True))
    account = afterwards(bench, NoteFinding("Header turned", "debug-pins"))
    assert catches(account) == [
        "Closed by inspection 1 s after the entry before, where it takes 6 s, the only evidence "
        "possible; checking for this fault takes 6 s."
    ]


def test_what_is_noted_years_later_leaves_the_sprints_own_times_as_they_were(bench: Bench) -> None:
    clean(bench)
    before = told_of(bench)
    bench.session.close()
    bench.clock.advance(2 * 365 * 24 * 3600.0)
    bench.session = Session.afterwards(bench.path, bench.clock)
    bench.do(NoteFinding("The fan hums"))
    after = told_of(bench)
    assert after.read.faults == ()
    assert (after.end, after.phases) == (before.end, before.phases)


@pytest.mark.parametrize(
    ("where", "says"),
    [
        ("regulation", "Closed 0:14, after its phase was left"),  # due in the same minute
        ("debug-access", "Closed 0:22, due 0:14"),
    ],
)
def test_what_was_late_before_its_box_was_over_says_what_it_was_late_for(
    bench: Bench, where: str, says: str
) -> None:
    clean(bench, contacts=where)
    (point,) = late(told_of(bench)).points
    assert point.evidence == f"{says}. Found unprompted. Inspected."
