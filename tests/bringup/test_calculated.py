"""Points that calculations name themselves: saved, labelled, stale, failing, or only wanted."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from coach.sprint.commands import RemoveCalculation, SaveCalculation, SetFact
from phases.kit.inputs import Given
from tests.bringup.conftest import Make

FED = ("load-budget", "drop-chain@vbus", "linear-regulator@3v3")


def saved(name: str, subject: str = "", label: str = "", **given: str) -> SaveCalculation:
    typed: Mapping[str, Given] = {field: Given(text, "hand") for field, text in given.items()}
    return SaveCalculation(name, subject, label, given=typed)


def test_a_second_calculation_of_a_subject_has_points_of_its_own(make: Make) -> None:
    bench = make(
        "usb-bench-meter",
        do=[
            saved("indicator", "3v3"),
            saved("indicator", "3v3", "fault"),
            saved("strap"),
            saved("strap", "", "boot1", pin="BOOT1", level="high"),
        ],
    )
    titles = {step.id: step.title for step in bench.sheet.steps}
    assert titles["rail.3v3.indicator"] == "3v3 LED"
    assert titles["rail.3v3.indicator.fault"] == "3v3 LED (fault)"
    assert titles["strap.level"] == "BOOT, low"
    assert titles["strap.boot1.level"] == "BOOT1, high (boot1)"


def test_one_that_has_a_label_is_enough(make: Make) -> None:
    points = [
        step.id
        for step in make("usb-bench-meter", do=[saved("strap", "", "boot1")]).sheet.steps
        if step.id.startswith("strap.")
    ]
    assert points == ["strap.boot1.level"]


def test_a_high_strap_is_sure_from_its_bound_up(make: Make) -> None:
    # The pin has least to spare at the lowest supply: 0.7 x 3.201 V = 2.2407 V, sure from 2.25 V.
    bench = make("usb-bench-meter", *FED, do=[saved("strap", level="high")])
    expected = bench.step("strap.level").expected
    assert (expected.low, expected.high) == (pytest.approx(2.25), None)


def test_of_two_that_could_give_a_name_the_one_without_a_label_does(make: Make) -> None:
    bench = make(
        "usb-bench-meter",
        do=[
            saved("linear-regulator", "3v3", "other", V_out="2.5 V ± 1 %"),
            saved("linear-regulator", "3v3"),
        ],
    )
    points = [step.id for step in bench.sheet.steps if step.id.startswith("rail.3v3.voltage")]
    assert points == ["rail.3v3.voltage"]
    assert bench.step("rail.3v3.voltage").expected.in_words == "3.2 .. 3.4 V"
    assert bench.step("reset.level").expected.high == pytest.approx(3.4)


def test_a_stale_calculation_gives_nothing_and_says_what_is_missing(make: Make) -> None:
    bench = make("usb-bench-meter", *FED, do=[RemoveCalculation("load-budget")])
    step = bench.step("rail.3v3.voltage")
    assert step.basis == "brief"
    assert "Linear regulator (Main supply) is stale, " in step.why


def test_a_failing_calculation_says_so_at_its_points(make: Make) -> None:
    bench = make("usb-bench-meter", do=[saved("linear-regulator", "3v3", theta_JA="900 K/W")])
    assert bench.step("rail.3v3.voltage").why == "Linear regulator (Main supply), which fails"


def test_a_regulator_s_own_words_stand_beside_those_of_every_rail(make: Make) -> None:
    step = make("usb-bench-meter", *FED).step("rail.3v3.voltage")
    assert step.do == "Measure. Switch off if vbus sags."
    assert step.where.startswith("test point or output capacitor of 3v3")
    assert "The regulator's pins and part number" in step.first
    bare = make("usb-bench-meter").step("rail.3v3.voltage")
    assert (bare.do, bare.where) == (step.do, step.where)
    assert bare.first.endswith(step.first.rpartition("Then: ")[2])


def test_what_is_not_on_this_board_is_not_wanted(make: Make) -> None:
    there = make("usb-bench-meter").sheet
    gone = make("usb-bench-meter", do=[SetFact("strap_pins", False)]).sheet
    assert "strap.level" in there.by_id
    assert "strap.level" not in gone.by_id


def test_pull_downs_inside_a_part_cannot_be_measured(make: Make) -> None:
    point = "connector.j-usb.cc-resistance"
    within = make("usb-bench-meter", "type-c-sink@j-usb").step(point)
    assert within.basis == "calculated"
    inside = make(
        "usb-bench-meter", do=[SetFact("cc_in_part", True), saved("type-c-sink", "j-usb")]
    ).sheet
    assert not [step for step in inside.steps if step.id.startswith("connector.j-usb.")]


def test_a_converter_gives_the_ripple_and_a_capacitor_that_of_a_linear_rail(make: Make) -> None:
    sheet = make(
        "pump-driver-24v",
        "load-budget",
        "output-capacitor@5v",
        "step-down@5v",
        "output-capacitor@3v3",
    ).sheet
    assert sheet.by_id["rail.5v.ripple"].why.startswith("Step down (Step-down supply)")
    assert sheet.by_id["rail.3v3.ripple"].expected.in_words.startswith("a few millivolts")
    assert sheet.by_id["rail.3v3.ripple"].basis == "calculated"


def test_a_part_that_stays_cool_is_not_worth_a_line(make: Make) -> None:
    bench = make("pump-driver-24v", "load-budget", "trace@3v3", "linear-regulator@3v3")
    warm = [step.id for step in bench.sheet.steps if step.section == "heat"]
    assert warm == ["heat.board", "linear-regulator@3v3.T_J"]
