"""An item says when it is needed, what to ask, what takes it off, and what reopens it."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit.documents import parse_document
from phases.kit.facts import Knowledge
from phases.kit.items import (
    REFERENCE_BOARD,
    ClosingItem,
    Drawing,
    Item,
    Phase,
    Severity,
    Stage,
    all_items,
    check_items,
    load_changes,
    load_closing,
    load_phases,
)
from phases.kit.refusals import Refusal

PLAIN: dict[str, Any] = {
    "id": "some-item",
    "phase": "layout",
    "statement": "Something is as it should be",
    "why": "Something else goes wrong",
    "severity": "degraded",
    "stage": "schematic",
    "per": "board",
    "met_by": ["inspected"],
    "confirm_s": 5,
    "left_out_min": 2,
    "reopened_by": [],
    "source": "common practice",
}

PHASE = """
id = "layout"
title = "Layout"
short = "lay"
name = "layout"
drawing = { optimistic = 1, likely = 2, pessimistic = 4 }

[[item]]
id = "some-item"
statement = "Something is as it should be"
why = "Something else goes wrong"
severity = "degraded"
stage = "schematic"
per = "board"
met_by = ["inspected"]
confirm_s = 5
left_out_min = 2
reopened_by = []
source = "common practice"
"""


def item(**more: Any) -> Item:
    return Item.model_validate({**PLAIN, **more})


def board(**values: Any) -> Knowledge:
    return Knowledge({"": values})


def phase_refused(text: str) -> str:
    with pytest.raises(Refusal) as caught:
        parse_document(text, Phase, kind="phase file", where="phase.toml")
    return str(caught.value)


# ---- order -------------------------------------------------------------------------------


def test_a_hazard_is_worse_than_a_dead_board_and_that_worse_than_the_rest() -> None:
    assert sorted(Severity, reverse=True) == ["hazard", "dead board", "degraded", "rework"]
    assert Severity.HAZARD > Severity.DEAD_BOARD >= Severity.DEAD_BOARD > Severity.REWORK
    assert Severity.REWORK <= Severity.DEGRADED < Severity.HAZARD


def test_stages_come_in_the_order_of_the_work_and_not_of_the_alphabet() -> None:
    assert sorted(Stage) == ["schematic", "placement", "routing", "files"]
    assert Stage.SCHEMATIC < Stage.PLACEMENT < Stage.ROUTING < Stage.FILES
    assert Stage.FILES > "routing"
    assert not Stage.FILES <= Stage.SCHEMATIC


def test_an_essential_is_marked_so_or_kills_or_hurts() -> None:
    assert item(essential=True, severity="rework").essential
    assert item(severity="dead board").essential
    assert item(severity="hazard", essential=False).essential
    assert not item(severity="degraded").essential


# ---- when it is needed -------------------------------------------------------------------


def test_an_item_without_conditions_is_needed_always_and_asks_nothing() -> None:
    always = item()
    assert always.applies(Knowledge()) is True
    assert always.question(Knowledge()) is None
    assert always.taken_off_by(Knowledge()) is None


def test_an_item_asks_its_fact_and_not_here_sets_it() -> None:
    radio = item(when=[{"radio": True}], asks="radio")
    assert radio.applies(Knowledge()) is None
    assert radio.question(Knowledge()) == "radio"
    assert radio.taken_off_by(Knowledge()) == ("", "radio", False)
    assert radio.applies(board(radio=False)) is False


def test_not_here_can_take_off_an_item_that_was_known_to_be_needed() -> None:
    radio = item(when=[{"radio": True}], asks="radio")
    assert radio.taken_off_by(board(radio=True)) == ("", "radio", False)


def test_not_here_sets_a_subjects_fact_at_the_subject_and_a_boards_fact_at_the_board() -> None:
    keyed = item(per="connector", when=[{"keyed": False, "radio": True}], asks="keyed")
    assert keyed.taken_off_by(board(radio=True), "j1") == ("j1", "keyed", True)
    radio = item(per="connector", when=[{"keyed": False, "radio": True}], asks="radio")
    assert radio.taken_off_by(Knowledge(), "j1") == ("", "radio", False)


def test_where_several_choices_would_take_it_off_the_question_must_be_answered() -> None:
    linear = item(per="rail", when=[{"regulator": "linear"}], asks="regulator")
    assert linear.question(Knowledge(), "3v3") == "regulator"
    assert linear.taken_off_by(Knowledge(), "3v3") is None


def test_where_one_choice_alone_takes_it_off_not_here_sets_that_one() -> None:
    divider = item(per="rail", when=[{"output_set": "divider"}], asks="output_set")
    assert divider.taken_off_by(Knowledge(), "3v3") == ("3v3", "output_set", "fixed")


def test_another_fact_is_asked_where_it_alone_settles_the_matter() -> None:
    cell = item(
        when=[{"supply": "battery"}, {"second_supply": True, "battery_kind": "coin-cell"}],
        asks="battery_kind",
    )
    assert cell.question(board(supply="usb-c")) == "second_supply"
    assert cell.taken_off_by(board(supply="usb-c")) == ("", "second_supply", False)
    assert cell.question(board(supply="usb-c", second_supply=True)) == "battery_kind"


def test_a_fact_it_asks_that_is_known_is_not_asked_again() -> None:
    sense = item(when=[{"usb_data": True, "second_supply": True}], asks="second_supply")
    assert sense.question(board(second_supply=True)) == "usb_data"


# ---- what reopens it ---------------------------------------------------------------------


def test_an_item_hangs_on_the_facts_changes_and_values_it_names() -> None:
    some = item(reopened_by=["fact:radio", "change:placement", "board.mcu"])
    assert some.depends_on("fact:radio")
    assert some.depends_on("change:placement")
    assert some.depends_on("board.mcu")
    assert not some.depends_on("fact:supply")
    assert not some.depends_on("board.mcu.more")
    assert not some.depends_on("boardxmcu")


def test_an_item_of_a_rail_hangs_on_its_own_rail_only() -> None:
    per_rail = item(per="rail", reopened_by=["rail.{rail}.voltage"])
    assert per_rail.depends_on("rail.3v3.voltage", "3v3")
    assert not per_rail.depends_on("rail.5v.voltage", "3v3")
    assert not per_rail.depends_on("rail.3v3.load", "3v3")


def test_an_item_of_the_board_hangs_on_any_rail() -> None:
    assert item(reopened_by=["rail.{rail}.voltage"]).depends_on("rail.5v.voltage")


# ---- what is refused ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"when": [{"radio": True}]}, "asks belongs to when"),
        ({"asks": "radio"}, "asks belongs to when"),
        ({"when": [{"radio": True}], "asks": "adc"}, "in none of the tables"),
        ({"met_by": ["calculated"]}, "cites the limits"),
        ({"cites": ["strap:level"]}, "cites the limits"),
        ({"met_by": ["calculated", "inspected"], "cites": ["strap:level"]}, "by looking"),
        ({"met_by": []}, "nothing can meet it"),
        ({"when": [{}], "asks": "radio"}, "has no facts"),
        ({"statement": "x" * 91}, "statement"),
        ({"severity": "bad"}, "severity"),
        ({"place": "bench"}, "place"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_an_item_that_contradicts_itself_is_refused(more: dict[str, Any], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        item(**more)


def test_a_fault_in_a_phase_file_is_told_with_line_key_and_the_nearest_key() -> None:
    told = phase_refused(PHASE.replace("left_out_min", "left_out_minutes"))
    assert "phase.toml, line 17, item[1].left_out_minutes" in told
    assert "Nearest: left_out_min" in told


def test_a_contradiction_in_a_phase_file_is_told_with_the_item() -> None:
    told = phase_refused(PHASE.replace("reopened_by = []", 'reopened_by = []\nasks = "radio"'))
    assert "Item 'some-item': asks belongs to when" in told


def test_a_phase_file_without_items_is_refused() -> None:
    assert "'item' is missing" in phase_refused(PHASE.partition("[[item]]")[0])


def test_a_wrong_value_in_an_item_is_told_at_its_own_line() -> None:
    told = phase_refused(PHASE.replace('["inspected"]', '["seen"]'))
    assert "phase.toml, line 15, item[1].met_by" in told
    assert "no choice 'seen'" in told


def test_the_phase_of_an_item_is_the_file_it_stands_in() -> None:
    phase = parse_document(PHASE, Phase, kind="phase file", where="phase.toml")
    assert [found.phase for found in phase.items] == ["layout"]


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"when": [{"radoi": True}], "asks": "radoi"}, "no fact 'radoi'. Nearest: radio"),
        ({"when": [{"radio": "yes"}], "asks": "radio"}, "neither yes nor no"),
        ({"when": [{"supply": "wall"}], "asks": "supply"}, "none of the choices"),
        ({"when": [{"keyed": True}], "asks": "keyed"}, "a fact of a connector"),
        ({"reopened_by": ["fact:radoi"]}, "no fact 'radoi'. Nearest: radio"),
        ({"reopened_by": ["change:placment"]}, "no change 'placment'. Nearest: placement"),
        ({"reopened_by": ["changed:placement"]}, "neither a fact nor a change"),
    ],
)
def test_names_that_do_not_exist_are_refused_with_the_item(
    more: dict[str, Any], fault: str
) -> None:
    with pytest.raises(Refusal, match=fault) as caught:
        check_items((item(**more),), where="phase.toml")
    assert caught.value.where.startswith("phase.toml, item some-item")


# ---- drawing work ------------------------------------------------------------------------


def test_the_reference_board_takes_the_stated_minutes() -> None:
    for phase in load_phases():
        assert phase.drawing.factor(REFERENCE_BOARD) == 1.0


def test_drawing_work_grows_by_its_shares_and_keeps_its_fixed_part() -> None:
    drawing = Drawing(
        optimistic=1, likely=2, pessimistic=4, grows_with={"parts": 0.6, "rails": 0.2}
    )
    assert drawing.factor({"parts": 90, "rails": 2}) == pytest.approx(1.6)
    assert drawing.factor({"parts": 0, "rails": 0}) == pytest.approx(0.2)
    assert drawing.factor({"rails": 4}) == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("minutes", "shares", "fault"),
    [
        ((2, 2, 4), {}, "rising order"),
        ((1, 5, 4), {}, "rising order"),
        ((0, 2, 4), {}, "optimistic"),
        ((1, 2, 4), {"parts": 0.7, "rails": 0.4}, "more than 1"),
        ((1, 2, 4), {"weight": 0.4}, "weight"),
    ],
)
def test_drawing_work_that_makes_no_sense_is_refused(
    minutes: tuple[float, float, float], shares: dict[str, float], fault: str
) -> None:
    optimistic, likely, pessimistic = minutes
    with pytest.raises(ValueError, match=fault):
        Drawing.model_validate(
            {
                "optimistic": optimistic,
                "likely": likely,
                "pessimistic": pessimistic,
                "grows_with": shares,
            }
        )


# ---- kept in a journal -------------------------------------------------------------------


def test_every_item_can_be_written_as_plain_data_and_read_again() -> None:
    for found in all_items():
        plain = found.model_dump(mode="json", exclude_defaults=True)
        assert None not in plain.values()
        assert type(found).model_validate(plain) == found


def test_what_is_loaded_is_loaded_once() -> None:
    assert load_phases() is load_phases()
    assert load_closing() is load_closing()
    assert load_changes() is load_changes()


def test_the_closing_list_comes_by_step_whatever_the_order_of_the_file() -> None:
    closing = load_closing()
    turned = closing.model_copy(update={"item": closing.item[::-1]})
    assert turned.items == closing.items
    assert all(isinstance(found, ClosingItem) for found in turned.items)
