"""Saved calculations: what proves an item, and what does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.sprint.commands import (
    AddSubject,
    DeclareValue,
    Draw,
    Meet,
    RemoveCalculation,
    SaveCalculation,
    SetFact,
    Waive,
)
from coach.sprint.events.calculations import CalculationSaved
from coach.sprint.events.items import ItemMet
from coach.sprint.ledger.ledger import given_of
from coach.sprint.ledger.proof import calculations_for, proof_of
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED, WAIVED, SavedCalculation
from phases.kit.catalogue import calculators
from tests.sprint.conftest import Bench


def says(bench: Bench, key: str) -> str:
    """Why an item is not proved."""
    proof = proof_of(bench.state, bench.row(key))
    assert not proof.holds
    return proof.message


# ---- saving ----------------------------------------------------------------------------------


def test_a_calculation_is_saved_under_its_name_subject_and_label(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("series-resistor", "3v3")
    bench.save("series-resistor", "3v3", "spare")
    bench.save("pull-up", label="boot1")
    assert list(bench.state.calculations) == [
        "pull-up",
        "series-resistor@3v3",
        "series-resistor@3v3.spare",
        "pull-up.boot1",
    ]


@pytest.mark.parametrize(
    "given, said",
    [
        ({}, "Saved. All limits pass"),
        ({"V_least": "4.8 V"}, "Saved. It is marginal"),
        ({"V_least": "4.95 V"}, "Saved. It fails"),
    ],
)
def test_saving_says_how_the_limits_stand(bench: Bench, given: dict[str, str], said: str) -> None:
    assert bench.do(SaveCalculation("series-resistor", "3v3", given=given)) == said


@pytest.mark.parametrize(
    "command, sentence",
    [
        (SaveCalculation("pul-up"), "There is no calculator 'pul-up'. Nearest: pull-up."),
        (SaveCalculation("pull-up", "3v3"), "pull-up is made for the board, not for 3v3."),
        (SaveCalculation("series-resistor"), "series-resistor: There is no rail ''."),
        (SaveCalculation("series-resistor", "uart1"), "series-resistor: There is no rail 'uart1'."),
        (SaveCalculation("pull-up", label="Boot 1"), "'Boot 1' is not a name"),
        (SaveCalculation("pull-up", given={"X": "1"}), "There is no field 'X'"),
        (SaveCalculation("pull-up", given={"R": "3 V"}), "R: "),
        (RemoveCalculation("pull-up"), "There is no saved calculation 'pull-up'"),
    ],
)
def test_what_cannot_be_saved_is_refused(
    bench: Bench, command: SaveCalculation, sentence: str
) -> None:
    assert bench.refused(command).startswith(sentence)


def test_a_record_keeps_what_a_hand_gave_and_nothing_else(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", R="12 Ω")
    record = bench.state.calculations["series-resistor@3v3"].record
    assert {name: given.value for name, given in given_of(record).items()} == {"R": "12 Ω"}
    assert record.inputs["V_in"].origin == "brief"
    assert record.inputs["I"].origin == "default"


# ---- proof -----------------------------------------------------------------------------------


def test_a_passing_calculation_and_its_parts_drawn_meet_an_item(bench: Bench) -> None:
    bench.save("pull-up", V_IH="2 V")
    bench.do(SetFact("strap_pins", True))
    assert says(bench, "boot-level") == "to draw: 10 kΩ, BOOT to 3v3"
    bench.do(Draw((("pull-up", "R"),)))
    assert bench.status("boot-level") == OPEN
    events = bench.events(Draw((("pull-up", "C"),)))  # the last part meets it
    (met,) = [event for event in events if isinstance(event, ItemMet)]
    assert (met.item, met.evidence, met.auto) == ("boot-level", "calculated", True)
    assert met.figure == "Level reached 2.54 V, at least 2 V. 540 mV to spare."


def test_a_calculation_without_parts_meets_its_item_as_it_is_saved(bench: Bench) -> None:
    events = bench.events(SaveCalculation("sum-of-loads"))
    assert [type(event) for event in events] == [CalculationSaved, ItemMet]
    assert bench.status("source-load") == MET


def test_a_failing_calculation_meets_nothing_and_says_why(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", V_least="4.95 V")
    bench.draw_all()
    assert bench.status("enough-left@3v3") == OPEN
    assert says(bench, "enough-left@3v3") == (
        "Voltage left 4.9 V, at least 4.95 V. Short by 50 mV."
    )


def test_failing_heat_does_not_hold_up_the_voltage(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", P_most="0.1 mW")
    bench.draw_all()
    assert bench.status("enough-left@3v3") == MET
    assert bench.status("not-too-hot@3v3") == OPEN


def test_a_marginal_calculation_meets_an_item_and_is_shown(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", V_least="4.8 V")
    bench.draw_all()
    assert bench.status("enough-left@3v3") == MET
    assert bench.state.items["enough-left@3v3"].marginal
    assert not bench.state.items["not-too-hot@3v3"].marginal


def test_a_calculation_proves_the_items_of_its_own_subject(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    assert bench.status("enough-left@1v8") == OPEN
    assert says(bench, "enough-left@1v8") == "Series resistor is not calculated"


def test_several_calculations_of_a_subject_all_have_to_pass(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("pull-up", label="boot1", R="500 kΩ")
    bench.draw_all()
    bench.do(SetFact("strap_pins", True))
    row = bench.row("boot-level")
    assert len(calculations_for(bench.state, row)) == 2
    assert "Short by" in says(bench, "boot-level")
    bench.do(RemoveCalculation("pull-up.boot1"))
    assert bench.status("boot-level") == MET


def test_an_item_of_the_board_looks_to_a_calculation_of_every_subject(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.save("series-resistor", "1v8", V_in="5 V", V_least="4.95 V")
    row = bench.row("source-load")
    citing = row.item.model_copy(update={"cites": ("series-resistor:enough",)})
    looked_to = calculations_for(bench.state, replace(row, item=citing))
    assert [saved.id for saved in looked_to] == ["series-resistor@3v3", "series-resistor@1v8"]
    assert not proof_of(bench.state, replace(row, item=citing)).holds


def test_an_item_of_a_rail_looks_to_the_calculation_of_the_board(bench: Bench) -> None:
    bench.save("sum-of-loads", I="600 mA")
    for rail in ("3v3", "1v8"):
        row = bench.row(f"output-seen@{rail}")
        citing = replace(row, item=row.item.model_copy(update={"cites": ("sum-of-loads:source",)}))
        assert [one.id for one in calculations_for(bench.state, citing)] == ["sum-of-loads"]
        assert "Over by 100 mA" in proof_of(bench.state, citing).message


def test_a_limit_that_the_record_does_not_have_proves_nothing(bench: Bench) -> None:
    bench.save("sum-of-loads")
    saved = bench.state.calculations["sum-of-loads"]
    older = SavedCalculation(saved.id, saved.record.model_copy(update={"limits": ()}), saved.t)
    proof = proof_of(replace(bench.state, calculations={saved.id: older}), bench.row("source-load"))
    assert (proof.holds, proof.message) == (False, "sum-of-loads does not say source")


def test_a_calculator_that_is_gone_proves_nothing(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.save("sum-of-loads")
    monkeypatch.delitem(calculators(), "sum-of-loads")
    assert says(bench, "source-load") == "sum-of-loads is not calculated"
    bench.do(DeclareValue("source.current", "400 mA"))
    assert bench.state.calculations["sum-of-loads"].stale == "Its calculator has changed"
    assert bench.status("source-load") == REOPENED


# ---- facts and proof -------------------------------------------------------------------------


def test_an_item_that_comes_onto_the_board_is_met_by_the_proof_that_is_there(bench: Bench) -> None:
    bench.do(SetFact("regulator", "none", "3v3"))
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    assert bench.status("enough-left@3v3") == NOT_HERE
    assert "enough-left@3v3" not in bench.state.items
    bench.do(SetFact("regulator", "linear", "3v3"))
    assert bench.status("enough-left@3v3") == MET


def test_a_waived_item_stays_waived_until_somebody_says_otherwise(bench: Bench) -> None:
    bench.do(Waive("source-load", "one lamp only"))
    bench.save("sum-of-loads")
    assert bench.status("source-load") == WAIVED
    bench.do(Meet("source-load"))
    assert bench.status("source-load") == MET


def test_a_data_sheet_counts_beside_a_calculation_that_fails(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", V_least="4.95 V")
    bench.do(Meet("enough-left@3v3", "data sheet", page="page 7"))
    bench.save("series-resistor", "3v3", V_least="4.96 V")
    assert bench.status("enough-left@3v3") == MET


# ---- removing --------------------------------------------------------------------------------


def test_a_removed_calculation_no_longer_proves_its_items(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(RemoveCalculation("series-resistor@3v3"))
    row = bench.row("enough-left@3v3")
    assert row.state is not None
    assert (row.status, row.state.because) == (REOPENED, "Series resistor is not calculated")


def test_what_was_drawn_for_a_removed_calculation_is_drawn_when_it_comes_back(
    bench: Bench,
) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(RemoveCalculation("series-resistor@3v3"))
    bench.save("series-resistor", "3v3")
    assert bench.status("enough-left@3v3") == MET


def test_a_subject_that_is_added_can_be_calculated(bench: Bench) -> None:
    bench.do(AddSubject("5v", "rail", "vin", values={"voltage": "5 V"}))
    bench.save("series-resistor", "5v")
    assert bench.state.calculations["series-resistor@5v"].subject == "5v"
