"""The account of sprints made by hand, checked to the sentence: the bench lamp with its own items.

Boxes of the lamp, min: choosing 6.5, power entry 8, regulation 8.4, debug access 5.3, clock boot
10.8, decoupling 5.4, layout 26.2, labelling 5.3, closing list 6 (by hand from the phases of
tests/sprint/lamp.py at a pace of 1.3, with 6 s for each row of a gate).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from coach.debrief.account.data import (
    Account,
    CalculationTold,
    CallTold,
    ItemTold,
    LimitTold,
    Said,
)
from coach.debrief.account.differently import differently_of
from coach.debrief.account.sentences import sentences_of
from coach.sprint.commands import (
    Affirm,
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
    SetAside,
    SetFact,
    Settle,
    SignOff,
    Undo,
    Waive,
)
from coach.sprint.durations import elapsed
from coach.sprint.session import Session
from tests.debrief.account.forging import forged
from tests.debrief.conftest import into, told, told_of
from tests.sprint.conftest import Bench

CLOSING = ("files-whole", "first-upload", "accepted-and-paid")


def item(account: Account, key: str) -> ItemTold:
    return next(one for one in account.items if one.key == key)


def texts(said: tuple[Said, ...]) -> list[str]:
    return [one.text for one in said]


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


def clean(bench: Bench) -> None:
    """A sprint as planned: every essential closed in its phase."""
    into(bench, "power-entry", 6)
    bench.do(Meet("supply-contacts"))
    calculated(bench)
    bench.at(14)
    into(bench, "regulation", 14)
    for key in ("output-seen@3v3", "output-seen@1v8"):
        bench.do(Meet(key))
    into(bench, "debug-access", 22)
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
    assert contacts.outcome == "met"
    assert contacts.closed == pytest.approx(7 * 60 + 5)
    assert contacts.due == pytest.approx((6.5 + 8.0) * 60)
    assert (contacts.evidence, contacts.late, contacts.found) == ("inspected, 1.8 mm", False, "")
    assert item(account, "entrance-clamp").evidence == "data sheet, page 3"
    assert item(account, "nets-routed").closed is None


def test_the_closing_list_is_due_at_the_cut_off(bench: Bench) -> None:
    account = told_of(bench)
    assert {one.due for one in account.items if one.phase == "closing"} == {7200.0}
    assert account.phases[-1].planned == (7200.0 - 360, 7200.0)


def test_items_stand_in_the_order_of_the_phases(bench: Bench) -> None:
    order = [one.phase for one in told_of(bench).items]
    names = [one.phase for one in told_of(bench).phases][1:]
    assert order == sorted(order, key=names.index)


def test_what_is_not_on_this_board_is_no_item_of_it(bench: Bench) -> None:
    keys = {one.key for one in told_of(bench).items}
    assert "no-back-feed" not in keys
    bench.do(SetFact("second_supply", True))
    assert "no-back-feed" in {one.key for one in told_of(bench).items}


def test_what_was_closed_and_then_left_the_board_is_told_as_that(bench: Bench) -> None:
    bench.do(Meet("output-seen@1v8"))
    bench.do(DropSubject("1v8"))
    bench.do(SetFact("second_supply", True))
    bench.do(Meet("no-back-feed"))
    bench.do(SetFact("second_supply", False))
    account = told_of(bench)
    for key in ("output-seen@1v8", "no-back-feed"):
        assert item(account, key).outcome == "not on this board"
        assert not item(account, key).late
    assert item(account, "output-seen@1v8").name == "The output seen is seen to (1v8)"


def test_a_question_nobody_answered_is_asked_and_open(bench: Bench) -> None:
    account = told_of(bench)
    assert item(account, "boot-level").asked
    assert item(account, "boot-level").forgotten
    assert not item(account, "supply-contacts").asked


def test_a_further_item_that_was_set_aside_says_so(bench: Bench) -> None:
    bench.do(SetAside(("entrance-clamp",)))
    assert item(told_of(bench), "entrance-clamp").aside


def test_a_waiver_is_told_with_its_reason(bench: Bench) -> None:
    bench.do(Waive("supply-contacts", "Same as the last board"))
    (waived,) = told_of(bench).waived
    assert (waived.key, waived.reason) == ("supply-contacts", "Same as the last board")


def test_reopenings_say_why_and_when_it_was_closed_again(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(Reopen("output-seen@3v3", "seen on the wrong sheet"))
    seen = item(told_of(bench), "output-seen@3v3")
    first, second = seen.reopenings
    assert (first.t, first.doubt, first.closed_again) == (10.0, True, 15.0)
    assert first.because == "A regulator or its package was changed"
    assert (second.because, second.doubt) == ("seen on the wrong sheet", False)
    assert second.closed_again is None
    assert seen.outcome == "reopened"
    assert not seen.forgotten


def test_what_was_taken_back_never_happened(bench: Bench) -> None:
    bench.do(Waive("supply-contacts", "the wrong row"))
    bench.do(Undo())
    account = told_of(bench)
    assert account.waived == ()
    assert account.reopened == ()
    assert item(account, "supply-contacts").outcome == "open"


# ---- late --------------------------------------------------------------------------------------


def left_behind(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)


def test_what_is_closed_after_its_phase_was_left_is_late(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    assert [one.key for one in told_of(bench).late] == ["supply-contacts"]


def test_what_is_closed_in_its_phase_once_more_is_not_late(bench: Bench) -> None:
    left_behind(bench)
    into(bench, "power-entry", 20)
    bench.do(Meet("supply-contacts"))
    assert told_of(bench).late == ()


def test_what_could_not_be_seen_before_is_not_late(bench: Bench) -> None:
    """A row of decoupling that is seen on the placed board, closed in the walk before routing."""
    into(bench, "decoupling", 5)
    into(bench, "layout", 15)
    bench.do(ReachStage("placement"))
    bench.do(Meet("capacitor-close"))
    assert told_of(bench).late == ()


def test_it_is_late_once_its_place_is_passed(bench: Bench) -> None:
    into(bench, "decoupling", 5)
    into(bench, "layout", 15)
    bench.do(ReachStage("placement"))
    bench.do(ReachStage("routing"))
    bench.do(Meet("capacitor-close"))
    assert [one.key for one in told_of(bench).late] == ["capacitor-close"]


def test_a_doubt_that_is_confirmed_later_was_in_time_all_the_same(bench: Bench) -> None:
    into(bench, "regulation", 5)
    bench.do(Meet("output-seen@3v3"))
    into(bench, "layout", 15)
    bench.do(NoteChange("regulator-part"))
    bench.do(Meet("output-seen@3v3"))
    account = told_of(bench)
    assert account.late == ()
    assert [one.key for one in account.reopened] == ["output-seen@3v3"]


def test_after_the_cut_off_everything_is_late(bench: Bench) -> None:
    into(bench, "layout", 119)
    bench.at(121)
    bench.do(Meet("footprints-fit"))
    assert [one.key for one in told_of(bench).late] == ["footprints-fit"]


def test_a_walk_that_asked_it_brought_it_up(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    bench.do(FinishWalk("schematic", 3, 1))
    assert item(told_of(bench), "supply-contacts").found == "a walk"


def test_a_walk_that_closed_fewer_did_not_bring_it_up(bench: Bench) -> None:
    left_behind(bench)
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(FinishWalk("regulation", 3, 1))
    assert item(told_of(bench), "supply-contacts").found == "by itself"


def test_a_call_that_named_it_brought_it_up(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)
    bench.at(26)
    calls = bench.session.tick()
    assert any("supply-contacts" in call.items for call in calls)
    bench.do(Meet("supply-contacts"))
    assert item(told_of(bench), "supply-contacts").found == "a call"


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
    assert power.box == pytest.approx(8.0 * 60)
    assert power.planned == (pytest.approx(6.5 * 60), pytest.approx(14.5 * 60))
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
    assert phase(account, "clock-boot").startswith("4 of 4 gate rows are open.")
    assert phase(account, "layout") == "Never entered."
    assert account.differences[-1] == (
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
    assert account.interrupted == 1200.0
    assert "20 min went into interruptions." in account.differences


def test_a_cut_off_that_was_moved_is_told_with_its_reason(bench: Bench) -> None:
    bench.do(MoveCutOff("+20 min", "The courier comes later"))
    account = told_of(bench)
    assert account.deadline == 8400.0
    assert any("The courier comes later." in one and "20 min" in one for one in account.differences)
    assert account.planned[0] == (
        "To order by 2:00, with 20 min of it held back for the closing list."
    )


# ---- how it stands -----------------------------------------------------------------------------


def test_a_clean_sprint_has_nothing_to_change_and_three_honest_sentences(bench: Bench) -> None:
    clean(bench)
    account = told_of(bench)
    assert account.standing == "The order was accepted and paid 39 min before the cut-off."
    assert (account.accepted, account.in_time) == (True, True)
    assert account.forgotten == ()
    assert account.changeable == ()
    assert account.differently == ()
    assert account.differences == ()
    assert account.sentences == (
        Said(
            "The time was enough: the order was accepted 39 min before the cut-off, and no box was "
            "overrun.",
            "accepted 1:21, cut-off 2:00",
        ),
        Said("No essential was forgotten: all 14 are closed.", "14 met, 0 waived, 0 late"),
        Said("0 of 7 phases were signed off.", "none signed off"),
    )
    assert account.happened == (
        account.standing, "Of 14 essentials 14 met.", "3 calculations saved."
    )  # fmt: skip
    assert account.planned == (
        "To order by 2:00, with 20 min of it held back for the closing list.",
        "9 boxes of 1 h 22 min in all, the longest layout with 26 min.",
        "14 essentials by the brief, and 5 more to be asked for.",
    )


def test_a_sprint_that_goes_on_says_that_nothing_is_final(bench: Bench) -> None:
    into(bench, "power-entry", 30)
    account = told_of(bench)
    assert account.standing == "The sprint goes on: nothing here is final."
    assert account.ended_at is None
    assert account.honesty.says == "The sprint goes on: no forecast can be judged yet."
    assert Said(
        "The sprint goes on, 1 h 30 min to the cut-off: nothing is final.",
        "last entry 0:30, cut-off 2:00",
    ) in account.sentences  # fmt: skip
    assert "forgotten" not in " ".join(texts(account.sentences))
    assert not any("Ask first" in one for one in texts(account.differently))


def test_while_it_goes_on_what_is_still_to_come_is_one_line(bench: Bench) -> None:
    into(bench, "debug-access", 10)
    account = told_of(bench)
    assert account.changeable[0].text == "Dead board: The debug pins is seen to."
    assert account.changeable[1] == Said(
        "Still to come: 18 essentials of 6 phases not begun.",
        "power entry; regulation; clock boot; decoupling; layout; labelling",
    )
    assert [one.partition(":")[0] for one in texts(account.changeable[2:])] == [
        "Closing list, 3 lines open"
    ]
    assert Said(
        "1 item that can kill the board is open: The debug pins is seen to.",
        "1 open; looking takes 6 s, making it good takes 4 min",
    ) in account.sentences  # fmt: skip


def test_a_forgotten_hazard_stands_before_everything(bench: Bench) -> None:
    """Also before an order that was never made."""
    bench.do(SetFact("second_supply", True))
    into(bench, "power-entry", 6)
    into(bench, "regulation", 119)
    bench.at(125)
    bench.do(End(accepted=False))
    account = told_of(bench)
    assert account.sentences[0].text.startswith(
        "1 hazard was forgotten: The no back feed is seen to, and "
    )
    assert account.sentences[1] == Said(
        "There is no order: it ended 5 min after the cut-off, and power entry took 1 h 53 min in a "
        "box of 8 min.",
        "power entry 0:06 to 1:59, 1 h 53 min of it without an entry; ended 2:05, cut-off 2:00",
    )
    assert account.changeable[0] == Said(
        "Hazard: The no back feed is seen to.",
        "open at the end; looking takes 6 s, making it good takes 4 min. Without it the lamp stays "
        "dark on the bench.",
        grave=True,
    )
    assert account.differently[0] == Said(
        "Ask first next time: The no back feed is seen to. It costs 6 s.",
        "hazard, open at the end; making it good takes 4 min",
    )


def test_before_the_order_the_worst_can_still_be_changed_first(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    bench.do(Meet("output-seen@3v3"))
    bench.do(NoteChange("regulator-part"))
    bench.save("series-resistor", "3v3", V_least="6 V")
    bench.save("pull-up")
    bench.do(End(accepted=False))
    kinds = [one.partition(":")[0] for one in texts(told_of(bench).changeable)]
    assert list(dict.fromkeys(kinds)) == [
        "Hazard", "15 items that can kill the board are open.", "Open again", "Does not hold",
        "Calculated and never drawn", "3 further essentials are open.",
        "Closing list, 3 lines open",
    ]  # fmt: skip


def test_once_it_is_paid_a_message_comes_first_and_each_has_a_way(bench: Bench) -> None:
    bench.save("pull-up")
    into(bench, "closing", 100)
    bench.do(Meet("accepted-and-paid"))
    bench.do(End(accepted=True))
    account = told_of(bench)
    assert account.changeable[0] == Said(
        "Ask the fabricator and the assembler whether the files can still be replaced: 16 items "
        "that can kill the board are open, 2 parts were never drawn and 3 further essentials are "
        "open.",
        "accepted and paid at 1:40; production may not have begun",
        grave=True,
    )
    said = {name: one.text.split(". ", 1)[1] for one in account.changeable[1:-1]
            for name in (*one.names, one.text.split(". ", 1)[0])}  # fmt: skip
    assert said["The debug pins is seen to"] == (
        "Else by hand before power is put on, and in the next revision."
    )
    assert said["The nets routed is seen to"] == (
        "Else a wire or a cut track before power is put on, or the next revision."
    )
    assert said["Dead board: The pin one marks is seen to"] == (
        "A message with the right file may do."
    )
    assert account.changeable[-1].text == (
        "Closing list, 2 lines open: The files whole is seen to; The first upload is seen to. "
        "A message may still do."
    )


def test_what_is_calculated_and_never_drawn_is_told_by_calculation(bench: Bench) -> None:
    bench.save("pull-up")
    account = told_of(bench)
    assert [(one.says, one.calculation) for one in account.undrawn] == [
        ("10 kΩ BOOT to 3v3", "pull up"), ("100 nF BOOT to ground", "pull up"),
    ]  # fmt: skip
    assert Said(
        "Calculated and never drawn: 10 kΩ BOOT to 3v3; 100 nF BOOT to ground. Draw what is meant.",
        "pull up: 2 parts not marked as drawn",
    ) in account.changeable  # fmt: skip


def test_an_order_after_the_cut_off_names_the_box_that_was_overrun(bench: Bench) -> None:
    into(bench, "layout", 58)
    into(bench, "closing", 110)
    bench.at(123)
    bench.do(End(accepted=True))
    account = told_of(bench)
    late = next(one for one in account.sentences if "after the cut-off" in one.text)
    assert late == Said(
        "Choosing parts took 58 min in a box of 6 min, and the order was accepted 3 min after the "
        "cut-off.",
        "choosing parts 0:00 to 0:58, 58 min of it without an entry; accepted 2:03, cut-off 2:00",
    )
    assert not account.in_time
    assert "Begin the closing list by 1:46: it takes 13 min." in texts(account.differently)


def test_drawing_that_ate_the_reserve_is_said(bench: Bench) -> None:
    into(bench, "layout", 6)
    into(bench, "closing", 110)
    bench.at(118)
    bench.do(End(accepted=True))
    assert Said(
        "Layout ate 10 min of the reserve of 20 min; the order was accepted 2 min before the "
        "cut-off.",
        "drawing until 1:50, reserve from 1:40; accepted 1:58, cut-off 2:00",
    ) in told_of(bench).sentences  # fmt: skip


def test_thoughts_still_parked_and_features_dropped_are_told(bench: Bench) -> None:
    bench.do(Park("Ask which cable"))
    bench.do(Park("Two\nlines"))
    bench.do(Settle(1))
    assert told_of(bench).thoughts == ("Two lines",)


def test_signed_off_phases_are_counted(bench: Bench) -> None:
    into(bench, "debug-access", 5)
    bench.do(Meet("debug-pins"))
    bench.do(SignOff("debug-access"))
    assert Said("1 of 7 phases was signed off.", "debug access") in told_of(bench).sentences


# ---- calculations ------------------------------------------------------------------------------


def test_calculations_stand_thinnest_margin_first(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")  # 5 V - 0.1 A x 10 Ω = 4 V: (4 - 3) / 3 = 33 %
    bench.save("pull-up")  # 4 V - 10 µA x 10 kΩ = 3.9 V: (3.9 - 2.5) / 2.5 = 56 %
    bench.save("series-resistor", "1v8", V_in="5 V", V_least="4.8 V")  # (4.9 - 4.8) / 4.8 = 2 %
    account = told_of(bench)
    assert [one.id for one in account.calculations] == [
        "series-resistor@1v8", "series-resistor@3v3", "pull-up",
    ]  # fmt: skip
    thin = account.calculations[0]
    assert thin.name == "series resistor (1v8)"
    assert thin.verdict == "marginal"
    assert thin.thinnest == pytest.approx(0.1 / 4.8)
    assert account.margins[0].says == "Voltage left 4.9 V, at least 4.8 V. Only 100 mV to spare."
    assert any(one.text == "The thinnest margin is 2%, at series resistor (1v8)."
               for one in account.sentences)  # fmt: skip


def test_a_plain_yes_is_no_thin_margin_and_a_plain_no_is_the_thinnest(bench: Bench) -> None:
    def limit(name: str, verdict: str, share: float | None) -> LimitTold:
        return LimitTold("strap", name, verdict, name, None, share, "V")

    def thinnest(*limits: LimitTold) -> list[str]:
        told = CalculationTold("strap", "strap", "pass", limits, None, None, "", 0, 0)
        return [one.limit for one in replace(account, calculations=(told,)).margins]

    account = told_of(bench)
    assert thinnest(limit("held", "pass", None), limit("level", "pass", 0.4)) == ["level"]
    assert thinnest(limit("held", "fail", None), limit("level", "fail", -0.4)) == ["held"]
    assert thinnest(limit("held", "pass", None)) == ["held"]
    assert thinnest(limit("level", "not applicable", None)) == []


def test_runs_after_a_change_are_counted_and_how_often_it_got_worse(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", R="10 Ω")
    bench.save("sum-of-loads", I="200 mA")  # 0.2² A² x 10 Ω = 0.4 W, more than 0.25 W
    (resistor,) = [one for one in told_of(bench).calculations if "resistor" in one.id]
    assert (resistor.reruns, resistor.worse, resistor.verdict) == (1, 1, "fail")
    failing = [one for one in texts(told_of(bench).changeable) if one.startswith("Does not hold")]
    assert failing == [
        "Does not hold: series resistor (Main supply). Heat 400 mW, limit 250 mW. Over by 150 mW."
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
    skipped, half = told_of(bench).calls
    assert (skipped.cause, skipped.rang, skipped.heeded) == ("skipped essential", False, True)
    assert (skipped.after, skipped.closed, skipped.items) == (5.0, 1, 2)
    assert (half.cause, half.heeded, half.after) == ("half", None, None)
    assert "2 calls, 1 rang; 1 of 1 that asked for something was heeded." in (
        told_of(bench).happened
    )


def test_a_silent_call_that_was_not_heeded_says_where_to_look(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    into(bench, "regulation", 15)
    bench.at(26)
    bench.session.tick()
    bench.at(50)
    bench.do(End(accepted=False))
    account = told_of(bench)
    assert Said(
        "Look at the OPEN line between two phases: 1 silent call named 2 items, and none of them "
        "was closed within 15 min.",
        "0:26: Skipped 10 min ago, still open: Source load (dead board) and Supply contacts "
        "(dead board)",
    ) in account.differently  # fmt: skip
    assert Said(
        "The one call that asked for something was not heeded: it came at 0:26, a silent one, and "
        "named 2 items.",
        "0:26: Skipped 10 min ago, still open: Source load (dead board) and Supply contacts "
        "(dead board)",
    ) in account.sentences  # fmt: skip


def test_an_item_that_several_calls_named_is_one_item(bench: Bench) -> None:
    into(bench, "power-entry", 5)
    bench.at(125)
    bench.do(End(accepted=False))
    one = CallTold(60.0, "x", "x", True, False, None, 0, 2, ("a", "b"))
    calls = (one, replace(one, t=90.0, items=3, keys=("a", "b", "c")))
    said = texts(differently_of(replace(told_of(bench), calls=calls)))
    assert any("2 calls named 3 items" in text for text in said)


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
    due = [one for one in told_of(bench).calls if one.cause == "first upload due"]
    assert [one.heeded for one in due] == [None]


def forecast(t: float, mark: int, chance: float, low: float, high: float) -> dict[str, object]:
    return {
        "t": t, "what": "forecast-made", "mark": mark, "chance_essentials": chance,
        "chance_all": chance / 2, "expected": (low + high) / 2, "low": low, "high": high,
        "pace": 1.3, "draws": 1, "seed": 1,
    }  # fmt: skip


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
    """Brier ((1 - 0.9)² + (1 - 0.7)²) / 2 = 0.05; pinball of both ends at 4860 s: of 4000..5000
    0.1 x 860 + 0.1 x 140 = 100 s, of 5000..6000 0.9 x 140 + 0.1 x 1140 = 240 s, 170 on average."""
    clean(bench)
    account = with_forecasts(
        bench, tmp_path / "kept.toml", forecast(1800, 25, 0.9, 4000, 5000),
        forecast(2000, 0, 0.5, 1, 2), forecast(3600, 50, 0.7, 5000, 6000),
    )  # fmt: skip
    assert account.ended_at == pytest.approx(81 * 60 + 5)
    honesty = account.honesty
    end = 81 * 60 + 5.0
    losses = (0.1 * (end - 4000) + 0.1 * (5000 - end), 0.9 * (5000 - end) + 0.1 * (6000 - end))
    assert honesty.brier == pytest.approx(0.05)
    assert (honesty.covered, honesty.judged) == (1, 2)
    assert honesty.pinball == pytest.approx(sum(losses) / 2)
    assert honesty.says == (
        "Chance of every essential by the cut-off: 90% at 25 %, 70% at 50 %; it came so. "
        "Brier score 0.05 (0 is best, 0.25 is a coin). The 80 % band held the end 1 of 2 times; "
        "that many are compatible with a true share of 9% to 91%. Pinball loss of the band 3 min "
        "on average. One sprint says next to nothing: its forecasts are about one and the same "
        "end. Trends over ten sprints say more."
    )
    assert [(one.mark, one.covered) for one in account.forecasts] == [
        (25, True), (0, None), (50, False),
    ]  # fmt: skip


def test_a_forecast_that_misjudged_the_sprint_is_said(bench: Bench, tmp_path: Path) -> None:
    clean(bench)
    account = with_forecasts(
        bench, tmp_path / "kept.toml", forecast(3600, 50, 0.1, 7000, 9000)
    )  # fmt: skip
    assert Said(
        "At 50 % of the time the forecast gave 10% for every essential by the cut-off; it came so.",
        "10% at 50 %",
    ) in account.sentences  # fmt: skip


# ---- after production --------------------------------------------------------------------------


def found(bench: Bench, *findings: NoteFinding) -> Account:
    """The account after faults were found late."""
    bench.session.close()
    session = Session.afterwards(bench.path, bench.clock)
    for finding in findings:
        session.do(finding)
    session.close()
    bench.session = session
    return told_of(bench)


def test_a_late_finding_says_what_would_have_caught_it(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("output-seen@3v3"))
    bench.do(Meet("enough-left@1v8", "data sheet", "page 7"))
    bench.do(Waive("debug-pins", "Known from the last board"))
    bench.save("sum-of-loads")
    bench.do(End(accepted=True))
    account = found(
        bench,
        NoteFinding("Contacts swapped", "supply-contacts", "1", "25 min", "Two wires"),
        NoteFinding("Output short", "output-seen@3v3"),
        NoteFinding("Wrong pull", "enough-left@1v8"),
        NoteFinding("Header turned", "debug-pins"),
        NoteFinding("Load missed", "source-load"),
        NoteFinding("No marks", "pin-one-marks"),
        NoteFinding("Hole too small"),
    )
    assert [one.would_catch for one in account.findings] == [
        "It was met by looking, and nothing else meets it: looking for this very fault costs 6 s.",
        "It was met by looking: its data sheet page would have caught it.",
        "It was met by the data sheet (page 7): the drawing held against that page or a "
        "calculation would have caught it.",
        "It was waived (Known from the last board); confirming it costs 6 s.",
        "It was met by calculation: the inputs of its record held against the board would have "
        "caught it: I 100 mA was a default.",
        "It was open at the end; confirming it costs 6 s.",
        "No item asks for it: coach finding with --as-item 7 makes one.",
    ]
    assert account.findings[0].let_through == "The supply contacts is seen to"
    assert item(account, "supply-contacts").findings == (1,)
    assert Said(
        "Next revision: Contacts swapped.", "finding 1, board 1, 25 min; bodge: Two wires"
    ) in account.changeable  # fmt: skip
    assert "7 faults were found after the sprint, which cost 25 min." in account.happened
    assert "Ask the fabricator" not in account.changeable[0].text


def test_an_item_closed_quicker_than_one_can_look_is_told_so(bench: Bench) -> None:
    into(bench, "power-entry", 6)
    bench.session.do(Meet("supply-contacts"))
    bench.clock.advance(1)
    bench.session.do(Meet("debug-pins"))
    bench.do(End(accepted=True))
    account = found(bench, NoteFinding("Header turned", "debug-pins"))
    assert account.findings[0].would_catch == (
        "It was met by looking, 1 s after the entry before, where it takes 6 s, and nothing else "
        "meets it: looking for this very fault costs 6 s."
    )


def test_what_is_noted_years_later_leaves_the_sprints_own_times_as_they_were(bench: Bench) -> None:
    clean(bench)
    before = told_of(bench)
    bench.session.close()
    bench.clock.advance(2 * 365 * 24 * 3600.0)
    bench.session = Session.afterwards(bench.path, bench.clock)
    bench.do(NoteFinding("The fan hums"))
    after = told_of(bench)
    assert after.faults == ()
    assert (after.last, after.ended_at) == (before.ended_at, before.ended_at)


def test_what_was_late_before_its_box_was_over_says_what_it_was_late_for(bench: Bench) -> None:
    clean(bench)
    account = told(bench.path)
    due = item(account, "supply-contacts").due
    for closed, says in ((due + 60, f"due {elapsed(due)}"), (due - 60, "after its phase was left")):
        items = tuple(
            replace(one, late=True, closed=closed) if one.key == "supply-contacts" else one
            for one in account.items
        )
        [late] = [s for s in sentences_of(replace(account, items=items)) if "late" in s.text]
        assert late.evidence == f"closed {elapsed(closed)}, {says}"
