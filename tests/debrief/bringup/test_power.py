"""A calculation that fails keeps power off until somebody says what became of its part."""

from __future__ import annotations

import json

import pytest

from coach.debrief.bringup.as_json import json_of
from coach.debrief.bringup.judging import AS_EXPECTED, SEEN_TO, judged
from coach.debrief.bringup.page import html_of
from coach.debrief.bringup.power import asked_once, forbidding, power_words
from coach.debrief.bringup.printing import text_of
from tests.debrief.bringup.conftest import Bench, Make

CLAMP, FUSE = "look.calculation.clamp@j-supply", "look.calculation.fuse@vin"
RAIL = "rail.vin.voltage"


@pytest.fixture
def pump(make: Make) -> Bench:
    return make("pump-driver-24v", "load-budget", "fuse@vin", "clamp@j-supply")


def test_power_on_begins_with_what_still_forbids_it(pump: Bench) -> None:
    text = text_of(pump.sheet)
    lines = text[text.index("POWER ON") :].splitlines()
    assert lines[1] == "2 calculations fail and are not seen to: no power before."
    assert "2 calculations fail and are not seen to: no power before." in html_of(pump.sheet)


def test_it_counts_down_and_falls_silent(pump: Bench) -> None:
    pump.measure("1", CLAMP, "changed to 28 V")
    assert power_words(pump.sheet, ("1",)) == (
        "1 calculation fails and is not seen to: no power before."
    )
    pump.measure("1", FUSE, "allowed by its data sheet")
    assert power_words(pump.sheet, ("1",)) == ""
    assert power_words(pump.sheet, ("1", "2")) == (
        "2 calculations fail and are not seen to on board 2: no power before."
    )


@pytest.mark.parametrize("words", SEEN_TO)
def test_it_is_settled_by_saying_why_power_is_allowed(pump: Bench, words: str) -> None:
    pump.measure("1", FUSE, words)
    assert [step.id for step in forbidding(pump.sheet, "1")] == [CLAMP]


@pytest.mark.parametrize("words", [AS_EXPECTED, "4 A fuse", "not changed"])
def test_any_other_word_is_a_remark_and_forbids_power_still(pump: Bench, words: str) -> None:
    pump.measure("1", FUSE, words)
    sheet = pump.sheet
    assert FUSE in [step.id for step in forbidding(sheet, "1")]
    told = judged(sheet.by_id[FUSE], sheet.readings["1", FUSE], sheet.readings)
    assert told.text == (
        f"Noted: {words}. Still wanted: has the part been changed, or does its data sheet allow it?"
    )
    assert told.role == "due"


def test_a_powered_step_asks_for_it_and_an_unpowered_one_does_not(pump: Bench) -> None:
    sheet = pump.sheet
    asked = asked_once(sheet, sheet.by_id[RAIL], "1")
    assert asked.startswith(
        "Was what failed on paper changed first? Fuse of Supply input failed on paper, and 1 more: "
    )
    for step in sheet.steps:
        if step.section in ("look", "resistance", "limit"):
            assert asked_once(sheet, step, "1") == ""


def test_a_board_without_a_failing_calculation_says_nothing(make: Make) -> None:
    sheet = make("usb-bench-meter", "load-budget").sheet
    assert power_words(sheet, ("1", "2", "3")) == ""
    assert "no power before" not in text_of(sheet)


def test_a_program_is_told_which_steps_forbid_power(pump: Bench) -> None:
    pump.measure("1", CLAMP, "changed")
    found = json.loads(json_of(pump.sheet))["forbids_power"]
    assert found["1"] == [FUSE]
