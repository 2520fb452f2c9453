"""Items: met by evidence, waived with a reason, not on this board; none just disappears."""

from __future__ import annotations

import pytest

from coach.sprint.commands import (
    Affirm,
    DeclareValue,
    Dismiss,
    Draw,
    EnterPhase,
    Meet,
    Reopen,
    SetFact,
    Undo,
    Waive,
)
from coach.sprint.events.board import FactSet
from coach.sprint.events.items import ItemMet
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, WAIVED
from tests.sprint.conftest import Bench

# ---- met -------------------------------------------------------------------------------------


def test_one_key_meets_an_item_by_the_evidence_that_needs_no_page(bench: Bench) -> None:
    bench.do(Meet("supply-contacts"))
    bench.do(Meet("entrance-clamp"))  # its file names the data sheet first
    bench.do(Meet("capacitor-close"))
    assert bench.status("supply-contacts") == MET
    kept = [bench.state.items[key].evidence for key in ("supply-contacts", "entrance-clamp")]
    assert kept == ["inspected", "inspected"]
    assert bench.state.items["capacitor-close"].evidence == "inspected"


def test_evidence_may_carry_a_figure_of_ones_own(bench: Bench) -> None:
    bench.do(Meet("capacitor-close", "measured", figure="1.8 mm"))
    met = bench.state.items["capacitor-close"]
    assert (met.evidence, met.figure) == ("measured", "1.8 mm")


def test_evidence_by_data_sheet_needs_its_page(bench: Bench) -> None:
    said = bench.refused(Meet("crystal-starts@main", "data sheet"))
    assert said == "Data sheet evidence needs its page. Give the data sheet and the page."
    assert "needs its page" in bench.refused(Meet("entrance-clamp", "data sheet", page=" \t"))
    bench.do(Meet("entrance-clamp", "data sheet", page="clamp, page 4"))
    assert bench.state.items["entrance-clamp"].page == "clamp, page 4"


def test_an_item_is_met_only_as_it_allows(bench: Bench) -> None:
    said = bench.refused(Meet("supply-contacts", "measured"))
    assert said == "Supply contacts: Cannot be met as measured. Met by: inspected."
    assert "Cannot be met as hearsay" in bench.refused(Meet("supply-contacts", "hearsay"))


@pytest.mark.parametrize("evidence", ["", "calculated"])
def test_what_is_calculated_cannot_be_ticked_by_hand(bench: Bench, evidence: str) -> None:
    said = bench.refused(Meet("enough-left@3v3", evidence))
    assert said == (
        "Enough left (Main supply): Needs a calculation that passes, and its parts drawn: Series "
        "resistor is not calculated. Calculate it and draw it, or waive it with a reason."
    )
    bench.save("series-resistor", "3v3")
    assert "to draw: 10 Ω, into 3v3" in bench.refused(Meet("enough-left@3v3", evidence))
    assert bench.status("enough-left@3v3") == OPEN


def test_what_is_calculated_can_be_met_by_its_data_sheet_where_it_allows_that(bench: Bench) -> None:
    bench.do(Meet("enough-left@3v3", "data sheet", page="page 7"))
    assert bench.status("enough-left@3v3") == MET
    said = bench.refused(Meet("not-too-hot@3v3", "data sheet", page="page 7"))
    assert said == "Not too hot (Main supply): Cannot be met as data sheet. Met by: calculated."


def test_a_tick_is_not_asked_twice(bench: Bench) -> None:
    bench.do(Meet("supply-contacts"))
    assert bench.refused(Meet("supply-contacts")) == "Supply contacts: Met already."
    assert bench.refused(Meet("supply-contacts", "inspected")) == "Supply contacts: Met already."


def test_more_can_be_said_of_a_met_item_and_it_keeps_its_moment(bench: Bench) -> None:
    bench.do(Meet("capacitor-close"))
    first = bench.state.items["capacitor-close"]
    bench.do(EnterPhase("decoupling"))
    bench.do(EnterPhase("layout"))
    bench.do(Meet("capacitor-close", "measured", figure="1.8 mm"))
    again = bench.state.items["capacitor-close"]
    assert again.figure == "1.8 mm"
    assert (again.t, again.late) == (first.t, False)


def test_an_item_is_met_at_its_own_subject(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    assert bench.status("output-seen@3v3") == MET
    assert bench.status("output-seen@1v8") == OPEN


def test_an_item_that_is_not_there_is_answered_with_the_nearest(bench: Bench) -> None:
    said = bench.refused(Meet("suply-contacts"))
    assert said == "There is no item 'suply-contacts'. Nearest: supply-contacts."
    assert "There is no item" in bench.refused(Meet("output-seen"))  # it stands at rails


# ---- waived ----------------------------------------------------------------------------------


def test_a_waiver_carries_its_reason(bench: Bench) -> None:
    bench.do(Waive("not-too-hot@3v3", "the lamp is off most of the time"))
    waived = bench.state.items["not-too-hot@3v3"]
    assert (waived.status, waived.reason) == (WAIVED, "the lamp is off most of the time")
    assert bench.row("not-too-hot@3v3").closed


@pytest.mark.parametrize("reason", ["", "   ", "\x1b[2J\u202e"])
def test_a_waiver_without_a_reason_is_refused(bench: Bench, reason: str) -> None:
    said = bench.refused(Waive("supply-contacts", reason))
    assert said == "A waiver needs its reason. Say in a few words why it may be left."


def test_what_is_typed_is_kept_on_one_line_and_without_controls(bench: Bench) -> None:
    bench.do(Waive("supply-contacts", "no\x1b[31m time\n[/] now\x07"))
    assert bench.state.items["supply-contacts"].reason == "no time [/] now"


def test_a_text_that_is_too_long_is_refused_in_a_sentence(bench: Bench) -> None:
    said = bench.refused(Waive("supply-contacts", "x" * 401))
    assert said == "Too long: 400 characters at most."
    assert "Too long: 400" in bench.refused(Meet("capacitor-close", "measured", figure="x" * 401))
    bench.do(Waive("supply-contacts", "x" * 400))


# ---- on this board or not --------------------------------------------------------------------


def test_one_key_says_it_is_not_on_this_board_and_takes_its_siblings_along(bench: Bench) -> None:
    assert bench.row("boot-level").applies is None
    said = bench.do(Dismiss("strap-source"))
    assert said == "Not on this board, and 2 more with it"
    assert bench.state.knowledge.get("strap_pins") is False
    siblings = ("strap-source", "boot-level", "strap-shared")
    assert {bench.status(key) for key in siblings} == {NOT_HERE}


def test_what_was_on_the_board_can_be_taken_off_it(bench: Bench) -> None:
    bench.do(SetFact("second_supply", True))
    assert bench.status("no-back-feed") == OPEN
    bench.do(Dismiss("no-back-feed"))
    assert bench.status("no-back-feed") == NOT_HERE
    assert bench.refused(Dismiss("no-back-feed")) == "No back feed: Not on this board already."


def test_at_a_subject_only_that_subject_is_answered(bench: Bench) -> None:
    bench.do(Dismiss("rail-indicator@3v3"))
    assert bench.status("rail-indicator@3v3") == NOT_HERE
    assert bench.row("rail-indicator@1v8").applies is None


def test_what_every_board_needs_cannot_be_taken_off(bench: Bench) -> None:
    said = bench.refused(Dismiss("supply-contacts"))
    assert said == "Supply contacts: Every board needs it. Meet it, or waive it with a reason."


def test_a_question_of_several_answers_is_not_answered_by_not_here(bench: Bench) -> None:
    said = bench.refused(Dismiss("console-wiring@uart1"))
    assert said.startswith(
        'Console wiring (Console): "What kind of bus is this?" has more than one answer.'
    )


def test_what_is_not_on_this_board_is_neither_met_nor_waived(bench: Bench) -> None:
    for command in (Meet("no-back-feed"), Waive("no-back-feed", "no time")):
        said = bench.refused(command)
        assert said == "No back feed: Not on this board. Change the fact first."


def test_one_key_says_it_is_there(bench: Bench) -> None:
    bench.do(Affirm("rail-indicator@3v3"))
    assert bench.row("rail-indicator@3v3").applies is True
    assert bench.row("rail-indicator@1v8").applies is None
    assert "Already set" in bench.refused(Affirm("rail-indicator@3v3"))


def test_a_choice_is_answered_with_one_of_its_words(bench: Bench) -> None:
    assert bench.row("console-wiring@uart1").question == "bus_kind"
    assert "none of the choices" in bench.refused(Affirm("console-wiring@uart1"))
    bench.do(Affirm("console-wiring@uart1", "uart"))
    assert bench.row("console-wiring@uart1").applies is True
    assert "Nothing to answer" in bench.refused(Affirm("supply-contacts"))


def test_meeting_an_item_answers_its_question(bench: Bench) -> None:
    events = bench.events(Meet("strap-source"))
    assert [type(event) for event in events] == [FactSet, ItemMet]
    assert bench.state.knowledge.get("strap_pins") is True


def test_meeting_an_item_answers_every_question_it_hangs_on(bench: Bench) -> None:
    bench.do(Meet("strap-shared"))
    assert bench.row("strap-shared").applies is True
    assert bench.state.knowledge.get("strap_pins") is True
    assert bench.state.knowledge.get("strap_shared") is True


def test_meeting_answers_no_where_no_is_what_needs_the_item(bench: Bench) -> None:
    bench.do(Meet("way-round-marked@j1"))
    assert bench.state.knowledge.get("keyed", "j1") is False
    assert bench.row("way-round-marked@j1").applies is True


def test_meeting_answers_a_choice_that_leaves_only_one_way(bench: Bench) -> None:
    bench.do(Meet("crystal-starts@main", "data sheet", page="page 3"))
    assert bench.state.knowledge.get("clock_kind", "main") == "crystal"


def test_a_choice_with_several_ways_has_to_be_answered_first(bench: Bench) -> None:
    said = bench.refused(Meet("console-wiring@uart1"))
    assert said == '"What kind of bus is this?" is not answered yet. Answer it first.'


# ---- reopened --------------------------------------------------------------------------------


def test_a_closed_item_can_be_reopened_by_hand(bench: Bench) -> None:
    bench.do(Meet("supply-contacts"))
    bench.do(Reopen("supply-contacts", "wrong footprint"))
    row = bench.row("supply-contacts")
    assert row.state is not None
    assert (row.status, row.state.because, row.state.doubt) == (REOPENED, "wrong footprint", False)
    assert not row.closed
    assert bench.refused(Reopen("supply-contacts")) == "Supply contacts: Reopened already."
    bench.do(Meet("supply-contacts"))
    assert bench.status("supply-contacts") == MET


def test_what_was_reopened_by_hand_waits_for_a_hand(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(Reopen("enough-left@3v3"))
    bench.do(Meet("debug-pins"))  # something else happens; the old proof alone does not meet it
    bench.do(DeclareValue("source.current", "400 mA"))
    assert bench.status("enough-left@3v3") == REOPENED
    bench.do(Meet("enough-left@3v3"))  # the proof holds: one key says that it is good
    met = bench.state.items["enough-left@3v3"]
    assert (met.status, met.evidence) == (MET, "calculated")


def test_what_was_reopened_by_hand_is_met_by_a_calculation_saved_anew(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(Reopen("enough-left@3v3"))
    bench.save("series-resistor", "3v3", R="8 Ω")
    assert bench.status("enough-left@3v3") == REOPENED
    bench.do(Draw((("series-resistor@3v3", "R"),)))
    assert bench.status("enough-left@3v3") == MET


def test_undo_brings_back_what_was_reopened(bench: Bench) -> None:
    bench.do(Meet("capacitor-close", "measured", figure="2 mm"))
    before = bench.state.items["capacitor-close"]
    bench.do(Reopen("capacitor-close"))
    bench.do(Undo())
    assert bench.state.items["capacitor-close"] == before
