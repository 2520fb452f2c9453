"""The sheet as a whole: its order, its ids, what is open first, and what it does not know."""

from __future__ import annotations

import pytest

from coach.bringup.sheet import NOTHING, SECTIONS
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    DropFeature,
    NoteFinding,
    SaveCalculation,
    SetFact,
)
from coach.sprint.gates.gates import open_essentials
from phases.kit.items import Evidence, Severity, Stage
from tests.bringup.conftest import Make, without_cards
from tests.bringup.made_briefs import REGULATORS, SUPPLIES, made_brief

BRIEFS = ("usb-bench-meter", "pump-driver-24v", "orchard-radio-tag")


@pytest.mark.parametrize("brief", BRIEFS)
def test_steps_stand_in_the_order_of_a_careful_person(make: Make, brief: str) -> None:
    sheet = make(brief).sheet
    order = [section.id for section in SECTIONS]
    places = [order.index(step.section) for step in sheet.steps]
    assert places == sorted(places)
    assert order[:5] == ["look", "resistance", "limit", "voltage", "current"]


@pytest.mark.parametrize("brief", BRIEFS)
def test_a_parent_is_measured_before_its_children(make: Make, brief: str) -> None:
    sheet = make(brief).sheet
    ids = [step.id for step in sheet.steps]
    for rail in load_brief(brief).rails:
        if rail.parent:
            parent, child = f"rail.{rail.parent}.voltage", f"rail.{rail.id}.voltage"
            assert ids.index(parent) < ids.index(child)


@pytest.mark.parametrize("brief", BRIEFS)
def test_every_rail_is_measured_unpowered_and_powered(make: Make, brief: str) -> None:
    sheet = make(brief).sheet
    for rail in load_brief(brief).rails:
        assert f"rail.{rail.id}.resistance" in sheet.by_id
        assert f"rail.{rail.id}.voltage" in sheet.by_id


def test_a_calculation_changes_what_is_expected_and_no_id(make: Make) -> None:
    bare = make("pump-driver-24v").sheet
    rich = make("pump-driver-24v", "load-budget", "step-down@5v", "linear-regulator@3v3").sheet
    kept = {step.id for step in bare.steps if step.section != "look"}
    assert kept <= {step.id for step in rich.steps}
    assert bare.by_id["rail.3v3.voltage"].basis == "brief"
    assert rich.by_id["rail.3v3.voltage"].basis == "calculated"


def test_every_step_says_what_to_do_and_what_it_rests_on(make: Make) -> None:
    for step in make("pump-driver-24v", "load-budget").sheet.steps:
        assert step.title and step.do, step.id
        assert step.expected.in_words, step.id
        assert step.basis != NOTHING or step.missing, step.id


def test_what_power_reveals_badly_is_looked_at_by_itself_worst_first(make: Make) -> None:
    bench = make("pump-driver-24v")
    rows = {row.key: row for row in open_essentials(read_sprint(bench.path).state)}
    looked = [step.id for step in bench.sheet.steps if step.id.startswith("look.item.")]
    alone = [rows[name.removeprefix("look.item.")] for name in looked]
    assert 1 <= len(alone) <= 5
    order = [key for key in rows if f"look.item.{key}" in looked]
    assert [row.key for row in alone] == order
    for row in alone:
        assert row.item.severity in (Severity.HAZARD, Severity.DEAD_BOARD)
        assert row.item.stage in (Stage.SCHEMATIC, Stage.PLACEMENT)
        # It can be seen: not a question to a data sheet alone.
        assert {Evidence.INSPECTED, Evidence.MEASURED} & set(row.item.met_by)


def test_every_other_open_essential_is_named_by_its_title_in_one_line(make: Make) -> None:
    bench = make("pump-driver-24v")
    rows = open_essentials(read_sprint(bench.path).state)
    alone = {step.id for step in bench.sheet.steps if step.id.startswith("look.item.")}
    others = [row for row in rows if f"look.item.{row.key}" not in alone]
    step = bench.sheet.by_id["look.items"]
    assert step.title == f"{len(others)} more open essentials"
    for row in others:
        assert row.item.short_title in step.do


def test_few_lines_stand_between_the_bridges_and_the_first_ohm(make: Make) -> None:
    ids = [step.id for step in make("pump-driver-24v").sheet.steps]
    assert ids.index("rail.vin.resistance") - ids.index("look.bridges") <= 8


def test_a_calculation_that_fails_forbids_power_and_names_its_part(make: Make) -> None:
    step = make(without_cards("pump-driver-24v"), "clamp@j-supply").step(
        "look.calculation.clamp@j-supply"
    )
    assert step.title == "Clamp (Supply terminals): calculation failed"
    assert "TVS" in step.where
    assert "Short by" in step.why
    assert step.forbids_power
    assert step.caution.startswith("Do not power this board until the part is changed or its data")
    assert step.expected.in_words == "changed, or allowed by its data sheet"


def test_thin_calculations_share_one_line(make: Make) -> None:
    brief = without_cards("pump-driver-24v")
    bench = make(brief, "load-budget", "trace@3v3", "feedback-divider@5v")
    step = bench.step("look.thin")
    assert step.title == "2 calculations with thin margin"
    assert "Feedback divider (Step-down supply): " in step.why
    assert "Trace (Logic supply): " in step.why
    assert not step.forbids_power


def test_parts_never_said_to_be_drawn_are_looked_for(make: Make) -> None:
    assert "BOOT to GND" in make("usb-bench-meter", "strap").step("look.undrawn").where


def test_a_late_finding_is_looked_for_on_the_next_board(make: Make) -> None:
    bench = make("usb-bench-meter")
    bench.do(NoteFinding("R5 is 10 kΩ, not 1 kΩ", board="1", bodge="1 kΩ on top"))
    step = bench.step("look.finding.1")
    assert step.title == "R5 is 10 kΩ, not 1 kΩ"
    assert step.why == "finding 1 on board 1; rework: 1 kΩ on top"


def test_what_was_dropped_is_not_on_the_sheet(make: Make) -> None:
    with_bus = make("pump-driver-24v").sheet
    without = make("pump-driver-24v", do=[DropFeature("field-bus")]).sheet
    assert "bus.field.idle" in with_bus.by_id
    assert "bus.field.idle" not in without.by_id


def test_what_no_calculation_gave_is_said_with_what_is_missing(make: Make) -> None:
    sheet = make("pump-driver-24v").sheet
    assert sheet.by_id["rail.5v.ripple"].missing == ("Step down (Step-down supply) was not saved")
    assert sheet.by_id["rail.3v3.ripple"].missing == (
        "Output capacitor (Logic supply) was not saved"
    )
    assert sheet.by_id["strap.level"].missing == "Strap was not saved"


def test_the_ripple_of_a_converter_is_the_one_it_was_computed_with(make: Make) -> None:
    bench = make("pump-driver-24v", "load-budget", "step-down@5v")
    published = read_sprint(bench.path).state.calculations["step-down@5v"].record.published
    expected = bench.step("rail.5v.ripple").expected
    assert expected.high == pytest.approx(published["rail.5v.ripple"].high, rel=0.005)
    assert expected.low is None


def test_a_voltage_whose_calculation_fails_says_so(make: Make) -> None:
    bench = make(
        "usb-bench-meter",
        "load-budget",
        do=[SaveCalculation("linear-regulator", "3v3", given={})],
    )
    assert "fails" not in bench.step("rail.3v3.voltage").why
    from phases.kit.inputs import Given

    hot = SaveCalculation("linear-regulator", "3v3", given={"theta_JA": Given("900 K/W", "hand")})
    failing = make("usb-bench-meter", "load-budget", do=[hot])
    assert "which fails" in failing.step("rail.3v3.voltage").why


def test_a_hot_regulator_is_not_to_be_touched(make: Make) -> None:
    brief = without_cards("pump-driver-24v")
    bench = make(brief, "load-budget", "step-down@5v", "linear-regulator@3v3")
    step = bench.step("linear-regulator@3v3.T_J")
    assert step.expected.high is not None and step.expected.high > 60
    assert "not a finger" in step.caution


def test_a_fact_changes_the_sheet(make: Make) -> None:
    bench = make("usb-bench-meter", do=[SetFact("boot_rom", False)])
    assert "boot.loader" in make("usb-bench-meter").sheet.by_id
    assert "boot.loader" not in bench.sheet.by_id


def test_the_last_word_is_that_of_data_sheets_and_codes_and_mains_is_refused(make: Make) -> None:
    sheet = make("usb-bench-meter").sheet
    assert "Does not cover mains" in sheet.last_word
    for words in ("data sheets", "local codes", "qualified people"):
        assert words in sheet.last_word
    said = " ".join(sheet.cautions)
    for words in ("current-limited", "capacitors stay charged", "Static discharge"):
        assert words in said


@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize("regulator", REGULATORS)
def test_a_board_of_every_supply_has_a_whole_sheet(make: Make, supply: str, regulator: str) -> None:
    brief = made_brief(supply=supply, regulator=regulator, clock="w", interfaces="uistcrma")
    sheet = make(brief).sheet
    assert not sheet.faults
    for rail in brief.rails:
        assert f"rail.{rail.id}.voltage" in sheet.by_id
    for step in sheet.steps:
        low, typ, high = step.expected.low, step.expected.typ, step.expected.high
        assert low is None or high is None or low <= high, step.id
        assert typ is None or low is None or low <= typ + 1e-9, step.id
        assert typ is None or high is None or typ <= high + 1e-9, step.id
