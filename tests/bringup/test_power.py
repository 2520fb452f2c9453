"""A calculation that fails keeps power off until somebody says what became of its part."""

from __future__ import annotations

import json

import pytest

from coach.bringup.printing import html_of, json_of, text_of
from coach.bringup.readings import SEEN_TO, asked_once, before_power, judged
from coach.bringup.sheet import POWER_ON, SECTIONS, Sheet
from coach.sprint.events.afterwards import AS_EXPECTED
from tests.bringup.conftest import Bench, Make, without_cards

CLAMP, FUSE = "look.calculation.clamp@j-supply", "look.calculation.fuse@vin"
RAIL = "rail.vin.voltage"
(POWER,) = (section for section in SECTIONS if section.id == POWER_ON)


def power_words(sheet: Sheet, boards: tuple[str, ...]) -> str:
    return before_power(sheet, POWER, boards)


@pytest.fixture
def pump(make: Make) -> Bench:
    return make(without_cards("pump-driver-24v"), "load-budget", "fuse@vin", "clamp@j-supply")


def test_power_on_begins_with_what_still_forbids_it(pump: Bench) -> None:
    text = text_of(pump.sheet)
    lines = text[text.index("POWER ON") :].splitlines()
    assert lines[1] == "2 calculations failing, unresolved. Do not apply power."
    assert "2 calculations failing, unresolved. Do not apply power." in html_of(pump.sheet)


def test_it_counts_down_and_falls_silent(pump: Bench) -> None:
    pump.measure("1", CLAMP, "changed to 28 V")
    assert power_words(pump.sheet, ("1",)) == (
        "1 calculation failing, unresolved. Do not apply power."
    )
    pump.measure("1", FUSE, "allowed by its data sheet")
    assert power_words(pump.sheet, ("1",)) == ""
    assert power_words(pump.sheet, ("1", "2")) == (
        "Board 2: 2 calculations failing, unresolved. Do not apply power."
    )


@pytest.mark.parametrize("words", SEEN_TO)
def test_it_is_settled_by_saying_why_power_is_allowed(pump: Bench, words: str) -> None:
    pump.measure("1", FUSE, words)
    assert [step.id for step in pump.sheet.forbidding("1")] == [CLAMP]


@pytest.mark.parametrize("words", [AS_EXPECTED, "4 A fuse", "not changed"])
def test_any_other_word_is_a_remark_and_forbids_power_still(pump: Bench, words: str) -> None:
    pump.measure("1", FUSE, words)
    sheet = pump.sheet
    assert FUSE in [step.id for step in sheet.forbidding("1")]
    assert judged(sheet, sheet.readings["1", FUSE]) == (
        f"Noted: {words}. Has the part been changed, or does its data sheet allow it?",
        "due",
    )


def test_a_powered_step_asks_for_it_and_an_unpowered_one_does_not(pump: Bench) -> None:
    sheet = pump.sheet
    asked = asked_once(sheet, sheet.by_id[RAIL], "1")
    assert asked.startswith("Changed first? Fuse (Supply input): calculation failed, and 1 more: ")
    for step in sheet.steps:
        if step.section in ("look", "resistance", "limit"):
            assert asked_once(sheet, step, "1") == ""


def test_a_board_without_a_failing_calculation_says_nothing(make: Make) -> None:
    sheet = make("usb-bench-meter", "load-budget").sheet
    assert power_words(sheet, ("1", "2", "3")) == ""
    assert "Do not apply power" not in text_of(sheet)


def test_a_program_is_told_which_steps_forbid_power(pump: Bench) -> None:
    pump.measure("1", CLAMP, "changed")
    found = json.loads(json_of(pump.sheet))["forbids_power"]
    assert found["1"] == [FUSE]
