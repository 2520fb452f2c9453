"""A change runs through at once: what held holds again, what got worse is reopened and says why.

The lamp's arithmetic: 5 V less I times 10 Ω is left for the 3v3 rail, I² times 10 Ω is the heat;
limits hold with a tenth to spare or are marginal.
"""

from __future__ import annotations

import pytest

from coach.sprint.commands import (
    DeclareValue,
    DropSubject,
    Meet,
    NoteChange,
    RemoveCalculation,
    SetFact,
    Undo,
    Waive,
)
from coach.sprint.events.calculations import (
    CalculationRecomputed,
    CalculationSaved,
    CalculationStale,
)
from coach.sprint.events.event import Event
from coach.sprint.events.items import ItemMet, ItemReopened
from coach.sprint.ledger.ledger import Ledger
from coach.sprint.state import MET, REOPENED, WAIVED, ItemState
from tests.sprint.conftest import Bench

LEFT, HEAT, SEEN = "enough-left@3v3", "not-too-hot@3v3", "output-seen@3v3"


@pytest.fixture
def calculated(bench: Bench) -> Bench:
    """100 mA through 10 Ω: 4 V are left, 0.1 W is the heat; drawn, met, and looked at."""
    bench.save("sum-of-loads", I="100 mA")
    bench.save("series-resistor", "3v3", R="10 Ω")
    bench.save("pull-up")
    bench.draw_all()
    bench.do(Meet(SEEN))
    assert [bench.status(key) for key in (LEFT, HEAT, SEEN)] == [MET, MET, MET]
    return bench


def item(bench: Bench, key: str) -> ItemState:
    return bench.state.items[key]


def load(bench: Bench, current: str) -> list[Event]:
    """Another load, and everything that follows from it."""
    before = len(bench.session.history)
    bench.save("sum-of-loads", I=current)
    return [stamped.event for stamped in bench.session.history[before:]]


def recomputed(events: list[Event]) -> dict[str, CalculationRecomputed]:
    return {event.id: event for event in events if isinstance(event, CalculationRecomputed)}


# ---- running through -------------------------------------------------------------------------


def test_everything_downstream_is_run_again_with_its_picks_kept(calculated: Bench) -> None:
    again = recomputed(load(calculated, "120 mA"))
    assert list(again) == ["series-resistor@3v3", "pull-up"]
    inputs = again["series-resistor@3v3"].record.inputs
    assert (inputs["R"].text, inputs["R"].origin) == ("10 Ω", "hand")
    assert inputs["I"].typ == 0.12
    assert again["pull-up"].record.inputs["V"].typ == pytest.approx(3.8)
    assert again["series-resistor@3v3"].because == "I 100 mA -> 120 mA"


def test_where_nothing_got_worse_it_held_again_and_nothing_is_reopened(calculated: Bench) -> None:
    calculated.do(DeclareValue("rail.vin.window", "5.1 V"))
    saved = calculated.state.calculations["series-resistor@3v3"]
    assert saved.recomputed == "still passes: enough margin 33 % to 37 %"
    assert item(calculated, LEFT).status == MET


def test_what_does_not_depend_on_it_is_not_run_again(calculated: Bench) -> None:
    events = calculated.events(DeclareValue("source.current", "900 mA"))
    assert list(recomputed(events)) == ["sum-of-loads"]
    assert recomputed(calculated.events(Meet("debug-pins"))) == {}


def test_what_depends_on_it_is_run_again_in_whatever_order_it_was_saved(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("series-resistor", "3v3")
    assert list(recomputed(load(bench, "120 mA"))) == ["pull-up", "series-resistor@3v3"]
    level = bench.state.calculations["pull-up"].record.outputs["level"]
    assert level.typ == pytest.approx(5 - 1.2 - 0.1)


def test_what_got_worse_is_reopened_with_the_reason(calculated: Bench) -> None:
    events = load(calculated, "180 mA")
    change = recomputed(events)["series-resistor@3v3"]
    assert (change.held, change.message) == (
        False,
        "pass -> fail: Heat 324 mW, limit 250 mW. Over by 74 mW.",
    )
    heat = item(calculated, HEAT)
    assert (heat.status, heat.doubt) == (REOPENED, False)
    assert heat.because == "Heat 324 mW, limit 250 mW. Over by 74 mW."


def test_a_value_put_back_restores_what_was_met(calculated: Bench) -> None:
    before = dict(calculated.state.items)
    load(calculated, "300 mA")
    assert {item(calculated, key).status for key in (LEFT, HEAT, SEEN)} == {REOPENED}
    calculated.at(100)
    load(calculated, "100 mA")
    assert calculated.state.items == before


def test_what_passes_again_by_another_value_is_met_anew(calculated: Bench) -> None:
    load(calculated, "180 mA")
    load(calculated, "110 mA")
    heat = item(calculated, HEAT)
    assert (heat.status, heat.figure) == (MET, "Heat 121 mW, limit 250 mW. 129 mW to spare.")


# ---- marginal --------------------------------------------------------------------------------


def test_a_pass_that_became_marginal_is_a_doubt_that_one_key_confirms(calculated: Bench) -> None:
    load(calculated, "153 mA")  # 0.234 W of 0.25 W
    heat = item(calculated, HEAT)
    assert (heat.status, heat.doubt) == (REOPENED, True)
    assert heat.because == "now marginal: Heat 234 mW, limit 250 mW. Only 15.9 mW to spare."
    assert calculated.do(Meet(HEAT)) == "Confirmed"
    heat = item(calculated, HEAT)
    assert (heat.status, heat.marginal, heat.evidence) == (MET, True, "calculated")


def test_a_confirmed_doubt_is_not_raised_again_while_it_stays_marginal(calculated: Bench) -> None:
    load(calculated, "153 mA")
    calculated.do(Meet(HEAT))
    load(calculated, "152 mA")
    assert item(calculated, HEAT).status == MET


def test_a_doubt_that_is_good_again_goes_by_itself(calculated: Bench) -> None:
    before = item(calculated, HEAT)
    load(calculated, "153 mA")
    load(calculated, "100 mA")
    assert item(calculated, HEAT) == before


def test_what_is_no_longer_marginal_is_no_longer_shown_so(calculated: Bench) -> None:
    load(calculated, "153 mA")
    calculated.do(Meet(HEAT))
    load(calculated, "100 mA")
    heat = item(calculated, HEAT)
    assert (heat.status, heat.marginal) == (MET, False)


def test_a_doubt_cannot_be_confirmed_once_its_proof_is_gone(calculated: Bench) -> None:
    load(calculated, "153 mA")
    load(calculated, "180 mA")
    said = calculated.refused(Meet(HEAT))
    assert "Over by 74 mW" in said
    assert item(calculated, HEAT).status == REOPENED


def test_what_a_person_saves_as_marginal_is_no_surprise(calculated: Bench) -> None:
    calculated.save("series-resistor", "3v3", R="10 Ω", P_most="0.105 W")
    heat = item(calculated, HEAT)
    assert (heat.status, heat.marginal) == (MET, True)
    assert heat.figure == "Heat 100 mW, limit 105 mW. Only 5 mW to spare."


# ---- what was met by looking -----------------------------------------------------------------


def test_what_was_looked_at_is_a_doubt_when_its_value_moved(calculated: Bench) -> None:
    load(calculated, "120 mA")
    seen = item(calculated, SEEN)
    assert (seen.status, seen.doubt) == (REOPENED, True)
    assert seen.because == "rail.3v3.voltage 4 V -> 3.8 V"


def test_one_key_confirms_what_was_looked_at_as_things_stand_now(calculated: Bench) -> None:
    load(calculated, "120 mA")
    assert calculated.do(Meet(SEEN)) == "Confirmed"
    assert item(calculated, SEEN).status == MET
    load(calculated, "100 mA")  # what it rests on since then is 3.8 V
    assert item(calculated, SEEN).because == "rail.3v3.voltage 3.8 V -> 4 V"


def test_a_confirmed_doubt_keeps_its_page_unless_another_is_given(bench: Bench) -> None:
    bench.do(Meet("entrance-clamp", "data sheet", page="page 3", figure="6 V"))
    bench.do(DeclareValue("rail.vin.window", "5.5 V"))
    bench.do(Meet("entrance-clamp"))
    kept = item(bench, "entrance-clamp")
    assert (kept.evidence, kept.page, kept.figure) == ("data sheet", "page 3", "6 V")
    bench.do(DeclareValue("rail.vin.window", "5.6 V"))
    bench.do(Meet("entrance-clamp", figure="6.5 V"))
    assert item(bench, "entrance-clamp").figure == "6.5 V"


def test_two_values_moved_and_one_put_back_leave_the_doubt(bench: Bench) -> None:
    bench.do(Meet("entrance-clamp"))
    before = item(bench, "entrance-clamp")
    bench.do(DeclareValue("rail.vin.window", "5.5 V"))
    bench.do(DeclareValue("rail.1v8.window", "1.9 V"))
    bench.do(DeclareValue("rail.vin.window", "5 V"))
    assert item(bench, "entrance-clamp").status == REOPENED
    bench.do(DeclareValue("rail.1v8.window", "1.8 V ± 20 %"))
    assert item(bench, "entrance-clamp") == before


def test_the_declared_window_counts_until_a_voltage_is_computed(bench: Bench) -> None:
    bench.do(Meet(SEEN))
    bench.save("series-resistor", "3v3")  # the voltage it rested on is only better known
    assert item(bench, SEEN).status == MET
    bench.do(DeclareValue("rail.3v3.window", "3.3 V ± 10 %"))
    assert item(bench, SEEN).because == "rail.3v3.window 3.3 V ± 20 % -> 3.3 V ± 10 %"


def test_where_a_voltage_is_computed_the_declared_window_no_longer_counts(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.do(Meet(SEEN))
    bench.do(DeclareValue("rail.3v3.window", "3.3 V ± 10 %"))
    assert item(bench, SEEN).status == MET


def test_a_waiver_is_doubted_too_and_one_key_keeps_it_a_waiver(bench: Bench) -> None:
    bench.do(Waive("entrance-clamp", "short lead"))
    before = item(bench, "entrance-clamp")
    bench.do(DeclareValue("rail.vin.window", "5.5 V"))
    assert item(bench, "entrance-clamp").doubt
    bench.do(DeclareValue("rail.vin.window", "5 V"))
    assert item(bench, "entrance-clamp") == before
    bench.do(DeclareValue("rail.vin.window", "5.5 V"))
    assert bench.do(Meet("entrance-clamp")) == "Confirmed"
    kept = item(bench, "entrance-clamp")
    assert (kept.status, kept.reason) == (WAIVED, "short lead")


# ---- noted changes ---------------------------------------------------------------------------


def test_a_noted_change_makes_a_doubt_of_what_rests_on_it(calculated: Bench) -> None:
    calculated.do(NoteChange("regulator-part"))
    for key in (LEFT, HEAT, SEEN):
        assert item(calculated, key).because == "A regulator or its package changed"
        assert item(calculated, key).doubt
    assert item(calculated, "source-load").status == MET


def test_no_value_put_back_takes_a_noted_change_away(calculated: Bench) -> None:
    calculated.do(NoteChange("regulator-part"))
    load(calculated, "120 mA")
    load(calculated, "100 mA")
    assert {item(calculated, key).status for key in (LEFT, SEEN)} == {REOPENED}
    calculated.do(Meet(SEEN))
    calculated.do(Meet(LEFT))
    assert item(calculated, LEFT).evidence == "calculated"
    calculated.do(NoteChange("regulator-part"))  # another one
    assert {item(calculated, key).status for key in (LEFT, SEEN)} == {REOPENED}


def test_a_calculation_saved_anew_answers_the_doubt_of_a_change(calculated: Bench) -> None:
    calculated.do(NoteChange("regulator-part"))
    calculated.save("series-resistor", "3v3", R="10 Ω")
    assert item(calculated, LEFT).status == MET
    assert item(calculated, SEEN).status == REOPENED


def test_a_change_noted_while_it_failed_is_a_doubt_when_it_passes(calculated: Bench) -> None:
    load(calculated, "180 mA")
    calculated.do(NoteChange("regulator-part"))
    load(calculated, "100 mA")
    heat = item(calculated, HEAT)
    assert (heat.status, heat.doubt) == (REOPENED, True)
    assert calculated.do(Meet(HEAT)) == "Confirmed"
    assert item(calculated, HEAT).evidence == "calculated"


def test_what_is_calculated_follows_its_calculation_and_no_moved_value(calculated: Bench) -> None:
    """Heat hangs on the rail's voltage too; that it holds again is all there is to say."""
    load(calculated, "110 mA")
    assert item(calculated, HEAT).status == MET
    assert item(calculated, SEEN).status == REOPENED


def test_a_change_reaches_an_item_that_is_not_on_the_board_just_then(calculated: Bench) -> None:
    calculated.do(SetFact("regulator", "none", "3v3"))
    calculated.do(NoteChange("regulator-part"))
    calculated.do(SetFact("regulator", "linear", "3v3"))
    assert item(calculated, SEEN).because == "A regulator or its package changed"


def test_a_proof_that_came_back_meanwhile_meets_the_item_when_it_returns(calculated: Bench) -> None:
    load(calculated, "180 mA")
    calculated.do(SetFact("regulator", "none", "3v3"))
    load(calculated, "110 mA")
    assert item(calculated, HEAT).status == REOPENED
    calculated.do(SetFact("regulator", "linear", "3v3"))
    assert item(calculated, HEAT).status == MET


# ---- stale -----------------------------------------------------------------------------------


def test_a_calculation_whose_input_is_gone_says_what_is_missing(calculated: Bench) -> None:
    events = calculated.events(RemoveCalculation("sum-of-loads"))
    stale = [event for event in events if isinstance(event, CalculationStale)]
    assert [(event.id, event.missing) for event in stale] == [
        ("series-resistor@3v3", "rail.3v3.peak is missing, which sum-of-loads gave."),
        ("pull-up", "rail.3v3.voltage is missing, which series-resistor@3v3 gave."),
    ]
    assert item(calculated, LEFT).because.startswith("series-resistor@3v3 cannot be run again: rai")


def test_no_default_takes_the_place_of_a_missing_value(calculated: Bench) -> None:
    calculated.do(RemoveCalculation("sum-of-loads"))
    assert Ledger(calculated.state).lookup("rail.3v3.peak") is None
    saved = calculated.state.calculations["series-resistor@3v3"]
    assert saved.record.inputs["I"].typ == 0.1  # as it was, and marked stale
    assert saved.stale


def test_what_is_stale_runs_again_as_soon_as_it_can(calculated: Bench) -> None:
    before = {key: item(calculated, key) for key in (LEFT, HEAT, SEEN)}
    calculated.do(RemoveCalculation("sum-of-loads"))
    events = load(calculated, "100 mA")
    assert recomputed(events)["series-resistor@3v3"].because == "it can be run again"
    assert not any(saved.stale for saved in calculated.state.calculations.values())
    assert {key: item(calculated, key) for key in before} == before


def test_staleness_is_said_once(calculated: Bench) -> None:
    calculated.do(RemoveCalculation("sum-of-loads"))
    events = calculated.events(DeclareValue("rail.vin.window", "5.1 V"))
    assert not [event for event in events if isinstance(event, CalculationStale)]


def test_a_dropped_rail_leaves_nothing_that_was_made_for_it(calculated: Bench) -> None:
    calculated.save("series-resistor", "1v8", V_least="1 V", R="1 Ω")
    calculated.do(DropSubject("1v8"))
    assert not [name for name in Ledger(calculated.state).texts() if "1v8" in name]
    calculated.do(Undo())
    assert "series-resistor@1v8" in calculated.state.calculations


# ---- whole commands --------------------------------------------------------------------------


def test_what_follows_from_a_command_is_written_with_it(calculated: Bench) -> None:
    events = load(calculated, "300 mA")
    assert {stamped.by for stamped in calculated.session.history[-len(events) :]} == {
        calculated.session.history[-1].by
    }
    assert isinstance(events[0], CalculationSaved)
    reopened = [event.item for event in events if isinstance(event, ItemReopened)]
    assert reopened == [LEFT, HEAT, SEEN, "boot-level"]
    assert [event.item for event in events if isinstance(event, ItemMet)] == ["source-load"]
