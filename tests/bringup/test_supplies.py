"""What to set on the bench supply: of a port, of a range, of a cell, of two supplies."""

from __future__ import annotations

import pytest

from coach.history.read_sprint import read_sprint
from coach.sprint.brief.loading import parse_brief
from coach.sprint.commands import DeclareValue, SaveCalculation
from phases.kit.inputs import Given
from phases.kit.shared_data import shared_dir
from tests.bringup.conftest import Make
from tests.bringup.made_briefs import made_brief


def test_a_range_begins_at_its_low_end_and_ends_at_its_high_one(make: Make) -> None:
    sheet = make("pump-driver-24v", "load-budget").sheet
    limit = sheet.by_id["supply.vin.limit"]
    assert limit.do.startswith("Set 10 V.")
    assert "10 V .. 28 V: its low end first" in limit.caution
    assert sheet.by_id["supply.vin.high-end"].title.endswith("raised to 28 V")
    # What was set, within 5 %, and not the 28 V the window allows.
    assert sheet.by_id["rail.vin.voltage"].expected.in_words == "9.5 .. 10.5 V"


def test_what_is_lost_on_the_way_in_follows_the_first_current(make: Make) -> None:
    fed = ("load-budget", "step-down@5v", "linear-regulator@3v3")
    # 380 mΩ of cable, contacts and tracks x 77.1 mA without the motor = 29.3 mV below 9.5 V; a
    # diode takes its whole 0.5 V: 9.5 - 0.5 - 0.0293 = 8.971 V.
    plain = make("pump-driver-24v", *fed, "drop-chain@vin").step("rail.vin.voltage")
    assert plain.expected.low == pytest.approx(9.47)
    assert plain.why.endswith("less 29.3 mV on the way (Drop chain (Supply input))")
    diode = SaveCalculation(
        "drop-chain", "vin", given={"blocking": Given("Schottky diode", "hand")}
    )
    blocked = make("pump-driver-24v", *fed, do=[diode]).step("rail.vin.voltage")
    assert blocked.expected.low == pytest.approx(8.97, abs=0.011)
    # What was set is expected, whatever the calculation gives at 28 V.
    assert blocked.expected.high == plain.expected.high == 10.5


def test_on_average_the_loads_that_stay_off_are_not_counted(make: Make) -> None:
    # Without the motor's 1.2 A x 40 % = 480 mA what is left is the electronics.
    # At the low end of the range, where the converter takes most.
    bench = make("pump-driver-24v", "load-budget")
    record = read_sprint(bench.path).state.calculations["load-budget"].record
    expected = bench.step("supply.vin.typical").expected
    assert expected.typ == pytest.approx(record.published["rail.vin.load"].high - 0.48, rel=5e-3)
    assert expected.typ > (record.published["rail.vin.load"].typ - 0.48) * 1.5


def test_the_first_power_on_is_without_the_motor(make: Make) -> None:
    bench = make("pump-driver-24v", "load-budget")
    limit = bench.step("supply.vin.limit")
    assert "leave Pump motor disconnected" in limit.do
    # 2.5 A of it are not counted: what is left is the electronics, 124.4 mA at 3.3 V through the
    # converter: 124.4 mA x 5.15 V / (10 V x 0.85) = 75.4 mA, and 50 mA: 130 mA.
    assert limit.expected.low == pytest.approx(0.0753, abs=2e-4)
    assert limit.expected.typ == pytest.approx(0.13)
    assert any("without motor" in caution for caution in bench.sheet.cautions)
    assert any("more than 12 V spark" in caution for caution in bench.sheet.cautions)
    low = make("usb-bench-meter").sheet
    assert not any("spark" in caution or "motor" in caution for caution in low.cautions)


BEHIND = """[[rail]]
id = "9v"
parent = "vin"
voltage = "9 V ± 3 %"
facts = { regulator = "switching" }

"""


def test_a_motor_behind_a_converter_stays_off_too(make: Make) -> None:
    text = (shared_dir() / "briefs" / "pump-driver-24v.toml").read_text(encoding="utf-8")
    text = text.replace('[[rail]]\nid = "3v3"', f'{BEHIND}[[rail]]\nid = "3v3"')
    text = text.replace('title = "Pump motor"\nrail = "vin"', 'title = "Pump motor"\nrail = "9v"')
    limit = make(parse_brief(text, "motor.toml"), "load-budget").step("supply.vin.limit")
    # As with the motor at the entry: 75.4 mA of electronics and 50 mA, and not its 2.8 A.
    assert "leave Pump motor disconnected" in limit.do
    assert limit.expected.typ == pytest.approx(0.13)
    assert "Load budget has Pump motor in it" in limit.why


def test_a_rail_behind_a_converter_may_take_more_than_the_limit(make: Make) -> None:
    bench = make("pump-driver-24v", "load-budget")
    # 130 mA at 10 V with 85 % are 130 mA x 10 V x 0.85 / 5.15 V = 214.6 mA of the 5 V rail:
    # 5.15 V / 214.6 mA = 24.0 Ω, and 3.399 V / 214.6 mA = 15.8 Ω behind it.
    assert bench.step("rail.5v.resistance").expected.low == pytest.approx(24.0, abs=0.1)
    assert bench.step("rail.3v3.resistance").expected.low == pytest.approx(15.8, abs=0.1)
    assert "215 mA behind the converter" in bench.step("rail.5v.resistance").why


def test_the_limit_never_passes_what_the_source_is_rated_at(make: Make) -> None:
    limit = make("orchard-radio-tag", "load-budget").step("supply.cell.limit")
    # 18 mA of the radio and what else is on: 19.8 mA; 50 mA more would pass the cell's 30 mA.
    assert limit.expected.typ == pytest.approx(0.030)
    assert "held to what the source is rated at" in limit.why


def test_the_limit_never_passes_what_the_fuse_holds(make: Make) -> None:
    bench = make("pump-driver-24v", "load-budget", "fuse@vin")
    expected = bench.step("supply.vin.limit").expected
    # The fuse holds less than the source's 4 A when it is hot.
    assert expected.high is not None and expected.high < 4.0


def test_a_load_above_the_rating_is_said(make: Make) -> None:
    bench = make(
        "usb-bench-meter",
        do=[DeclareValue("rail.vbus.rating", "60 mA"), DeclareValue("source.current", "60 mA")],
    )
    limit = bench.step("supply.vbus.limit")
    assert limit.expected.typ == pytest.approx(0.06)
    assert "it may stay in limit at full load" in limit.why


def test_without_a_load_budget_the_briefs_loads_stand_in(make: Make) -> None:
    limit = make("usb-bench-meter").step("supply.vbus.limit")
    assert limit.basis == "brief"
    assert limit.expected.low == pytest.approx(0.093)
    assert "no calculation gives the current" in limit.why


def test_a_coin_cell_is_replaced_by_a_supply_and_has_a_way_without_one(make: Make) -> None:
    bench = make("orchard-radio-tag", "load-budget")
    limit = bench.step("supply.cell.limit")
    assert limit.where == "in place of the cell"
    # 3 V / 30 mA = 100 Ω.
    assert "a fresh cell through 100 Ω" in limit.caution
    assert any("never charged, never shorted" in caution for caution in bench.sheet.cautions)


def test_a_lithium_ion_cell_has_its_caution(make: Make) -> None:
    sheet = make(made_brief(supply="l")).sheet
    assert any(caution.startswith("Lithium cell") for caution in sheet.cautions)
    assert sheet.by_id["supply.entry.limit"].do.startswith("Set 3.7 V.")


def test_a_meter_that_drops_is_warned_of_where_the_board_sleeps(make: Make) -> None:
    bench = make("orchard-radio-tag", "load-budget")
    assert "bridge it" in bench.step("supply.cell.typical").caution


def test_two_supplies_are_set_each_and_must_not_feed_each_other(make: Make) -> None:
    sheet = make(made_brief(supply="d", interfaces="u"), "load-budget").sheet
    assert {"supply.entry.limit", "supply.vbus.limit"} <= set(sheet.by_id)
    back = sheet.by_id["rail.vbus.backfeed"]
    assert (back.expected.low, back.expected.high) == (None, pytest.approx(0.3))
    assert "entry on" in back.title
    assert "it has no load in the brief" in sheet.by_id["supply.vbus.limit"].why


def test_one_supply_has_no_other_to_feed(make: Make) -> None:
    assert not [one for one in make("usb-bench-meter").sheet.by_id if one.endswith("backfeed")]
