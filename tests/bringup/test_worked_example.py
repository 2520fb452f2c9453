"""The USB bench meter worked by hand, to the figure; each sum stands beside what it checks."""

from __future__ import annotations

import pytest

from tests.bringup.conftest import Bench, Make

CALCULATIONS = (
    "type-c-sink@j-usb",
    "load-budget",
    "drop-chain@vbus",
    "linear-regulator@3v3",
    "capacitor-schedule",
    "strap",
)


@pytest.fixture(scope="module")
def meter(make_once: Make) -> Bench:
    return make_once("usb-bench-meter", *CALCULATIONS)


def test_the_limit_is_the_worst_case_and_fifty_milliamperes(meter: Bench) -> None:
    # Loads at their peak: 60 + 2 + 25 + 2 x 3 = 93 mA; the regulator itself takes 3 mA more.
    # 96 + 50 = 146 mA, and a supply is set in steps of 10 mA: 150 mA. The port allows 500 mA.
    expected = meter.step("supply.vbus.limit").expected
    assert expected.typ == pytest.approx(0.150)
    assert expected.low == pytest.approx(0.096)
    assert expected.high == pytest.approx(0.500)


def test_it_limits_for_as_long_as_the_capacitors_take(meter: Bench) -> None:
    # 2.2 µF + 20 % at 5 V from 150 mA: 2.64 µF x 5 V / 0.15 A = 88 µs.
    assert "charge: 2.6 µF (Capacitor schedule), about 88 µs" in meter.step("supply.vbus.limit").why


def test_resistances_follow_from_voltage_and_limit(meter: Bench) -> None:
    # 5 V / 0.15 A = 33.3 Ω; the rail's greatest voltage 3.3 V + 3 % = 3.399 V / 0.15 A = 22.66 Ω.
    assert meter.step("rail.vbus.resistance").expected.in_words == "at least 33.3 Ω"
    assert meter.step("rail.3v3.resistance").expected.in_words == "at least 22.6 Ω"
    assert meter.step("rail.3v3.resistance").expected.high is None


def test_each_rail_is_expected_at_its_computed_voltage(meter: Bench) -> None:
    # 3.3 V ± 3 % = 3.201 .. 3.399 V, shown outwards; 3v3a has no calculation, so its window.
    step = meter.step("rail.3v3.voltage")
    assert step.expected.in_words == "3.2 .. 3.4 V"
    assert (step.basis, step.why) == ("calculated", "Linear regulator (Main supply)")
    window = meter.step("rail.3v3a.voltage")
    assert window.expected.in_words == "3.1 .. 3.4 V"
    assert window.basis == "brief"
    # 4.75 V less 93 mA x (360 mΩ of cable and contacts + 20 mΩ of track) = 4.7147 V.
    assert meter.step("rail.vbus.voltage").expected.low == pytest.approx(4.71)


def test_the_currents_are_those_of_the_loads(meter: Bench) -> None:
    # Always on: 35 + 1 + 15 + 2 x 2 = 55 mA. On average the indicators count half: 53 mA.
    assert meter.step("supply.vbus.idle").expected.typ == pytest.approx(0.055)
    assert meter.step("supply.vbus.typical").expected.typ == pytest.approx(0.053)
    assert meter.step("supply.vbus.worst").expected.high == pytest.approx(0.096)


def test_the_regulator_is_as_warm_as_its_loss_makes_it_on_the_bench(meter: Bench) -> None:
    # (5.25 - 3.201) V x 93 mA + 5.25 V x 3 mA = 206.3 mW; x 62 K/W x 2 = 25.6 K above 25 °C.
    step = meter.step("linear-regulator@3v3.T_J")
    assert step.expected.high == pytest.approx(50.6)


def test_the_strap_is_low_up_to_the_inputs_low_level(meter: Bench) -> None:
    # 0.3 x 3.201 V = 0.9603 V, rounded to the safe side.
    assert meter.step("strap.level").expected.in_words == "at most 960 mV"


def test_the_clock_is_within_the_tolerance_of_the_brief(meter: Bench) -> None:
    # 16 MHz x 2500 ppm = 40 kHz.
    assert meter.step("clock.main.frequency").expected.in_words == "15.96 .. 16.04 MHz"
    assert "Never at the crystal" in meter.step("clock.main.frequency").caution


def test_lines_that_are_pulled_up_are_high_at_their_rail(meter: Bench) -> None:
    # 0.7 x 3.201 V = 2.2407 V up to the rail's 3.399 V.
    for point in ("reset.level", "bus.i2c1.idle", "bus.uart1.idle"):
        assert meter.step(point).expected.in_words == "2.24 .. 3.4 V"


def test_each_cc_contact_has_its_pull_down(meter: Bench) -> None:
    # 5.1 kΩ ± 10 %.
    step = meter.step("connector.j-usb.cc-resistance")
    assert step.expected.in_words == "4.59 .. 5.61 kΩ"
