"""What the sheet expects, against figures of standards and the trade; the source beside each."""

from __future__ import annotations

import pytest

from coach.bringup.supplies import settable
from coach.sprint.commands import SetFact, Waive
from tests.bringup.conftest import Bench, Make
from tests.bringup.made_briefs import made_brief


@pytest.fixture(scope="module")
def all_buses(make_once: Make) -> Bench:
    return make_once(made_brief(supply="u", interfaces="uistcr"))


# USB Type-C specification, release 2.0 (August 2019), table 4-36, as quoted in engineering notes.
@pytest.mark.parametrize(
    ("advertised", "low", "high"),
    [("default", 0.25, 0.61), ("1.5 A", 0.70, 1.16), ("3 A", 1.31, 2.04)],
)
def test_the_cc_window_takes_every_advertisement(
    all_buses: Bench, advertised: str, low: float, high: float
) -> None:
    expected = all_buses.step("connector.j-supply.cc").expected
    assert expected.low is not None and expected.high is not None
    assert expected.low <= low < high <= expected.high
    assert advertised in expected.words


# The same, release 2.4 (October 2024), table 4-36: a sink without pull-downs reads below 0.2 V,
# the threshold of nothing attached.
def test_a_contact_without_a_pull_down_is_outside(all_buses: Bench) -> None:
    expected = all_buses.step("connector.j-supply.cc").expected
    assert expected.low is not None and expected.low > 0.20


# USB Type-C specification, release 2.4, table 4-28: 5.1 kΩ ± 20 %, or ± 10 % where it is read.
# One resistor for both contacts with an e-marked cable: 5.1 kΩ beside 0.8 to 1.2 kΩ.
def test_a_pull_down_that_is_shared_is_outside(all_buses: Bench) -> None:
    expected = all_buses.step("connector.j-supply.cc-resistance").expected
    assert expected.low is not None and expected.high is not None
    assert expected.low == pytest.approx(5100 * 0.8)
    assert expected.high == pytest.approx(5100 * 1.2)
    assert expected.low > 5100 / 2


# ISO 11898: recessive is a difference below 0.5 V at the receiver, both lines near 2.5 V
# (Vector, "CAN bus levels"; Microchip, "CAN physical layer" tutorial, figures 3 and 4).
def test_a_recessive_bus_is_near_its_middle_and_without_difference(all_buses: Bench) -> None:
    line = all_buses.step("bus.can1.recessive").expected
    apart = all_buses.step("bus.can1.difference").expected
    assert line.typ == 2.5
    assert (apart.low, apart.typ, apart.high) == (-0.5, 0.0, 0.5)


# ISO 11898-2: 120 Ω nominal at each end of the bus, so two in parallel are 60 Ω. 108 to 132 Ω is
# the range in which makers of interfaces place a terminator of nominal 120 Ω (common practice).
@pytest.mark.parametrize(
    ("ohms", "inside"),
    [(108, True), (120, True), (132, True), (60, False), (40, False), (30_000, False)],
)
def test_a_boards_own_terminator_is_that_of_the_standard(
    all_buses: Bench, ohms: float, inside: bool
) -> None:
    step = all_buses.step("bus.can1.termination")
    assert step.section == "resistance"
    assert step.expected.low is not None and step.expected.high is not None
    assert (step.expected.low <= ohms <= step.expected.high) is inside
    assert "ISO 11898-2" in step.why
    assert "54 .. 66 Ω with the far end's" in step.expected.words


def test_a_bus_that_stays_on_the_board_has_both_its_terminators(make: Make) -> None:
    bench = make(made_brief(interfaces="c"), do=[SetFact("off_board", False, "can1")])
    expected = bench.step("bus.can1.termination").expected
    assert (expected.low, expected.typ, expected.high) == (54.0, 60.0, 66.0)


def test_a_board_that_is_no_end_of_its_bus_has_no_terminator_to_measure(make: Make) -> None:
    bench = make(
        made_brief(interfaces="c"),
        do=[Waive("bus-ends-terminated@can1", "this board is in the middle")],
    )
    expected = bench.step("bus.can1.termination").expected
    assert not expected.judged
    assert expected.words == "kilohms; 54 .. 66 Ω in the bus, both ends in place"


# TIA-485-A, as quoted in application notes: a driver is tested into 54 Ω, which is what two
# terminators of 120 Ω and 32 receivers of 12 kΩ come near: 1 / (1/60 + 32/12000) = 51.7 Ω.
def test_a_pair_with_everything_on_it_is_inside_what_is_said_of_both_ends(all_buses: Bench) -> None:
    words = all_buses.step("bus.field.termination").expected.words
    low, high = (float(end) for end in words.split(" Ω")[0].split(" .. "))
    for ohms in (54.0, 60.0, 1 / (1 / 60 + 32 / 12000)):
        assert low <= ohms <= high


# TIA-485-A: the receiver's threshold is ± 200 mV.
def test_a_biased_pair_is_above_the_receivers_threshold(all_buses: Bench) -> None:
    assert "0.2 V or more" in all_buses.step("bus.field.idle").expected.words


# USB 2.0, 7.1.5.1: 1.5 kΩ ± 5 % to 3.0 .. 3.6 V against 15 kΩ ± 5 %. By hand, at worst
# 3.0 V x 14.25 / (14.25 + 1.575) = 2.701 V, nominally 3.3 V x 15 / 16.5 = 3.0 V.
def test_a_full_speed_line_rests_where_its_pull_up_holds_it(all_buses: Bench) -> None:
    expected = all_buses.step("bus.usb.idle").expected
    assert expected.low == pytest.approx(3.0 * 14.25 / (14.25 + 1.575), abs=0.002)
    assert expected.typ == pytest.approx(3.3 * 15 / 16.5)
    assert expected.high == 3.6


# NXP UM10204 rev. 7.0 (October 2021), table 10: a high level is 0.7 VDD or more.
def test_an_idle_i2c_line_is_high(make: Make) -> None:
    bench = make("usb-bench-meter", "drop-chain@vbus", "load-budget", "linear-regulator@3v3")
    assert bench.step("bus.i2c1.idle").expected.low == pytest.approx(0.7 * 3.201, abs=0.005)


# Common practice: at the first power-on the limit is set 50 to 100 mA above what is expected.
@pytest.mark.parametrize("brief", ["usb-bench-meter", "pump-driver-24v"])
def test_the_limit_is_fifty_to_a_hundred_milliamperes_above_the_worst_case(
    make: Make, brief: str
) -> None:
    bench = make(brief, "load-budget")
    (step,) = (one for one in bench.sheet.steps if one.section == "limit")
    assert step.expected.typ is not None and step.expected.low is not None
    assert 0.05 <= step.expected.typ - step.expected.low + 1e-3 <= 0.1


# Common practice: a red LED drops 1.8 to 2.2 V at a few milliamperes.
def test_what_the_indicators_resistor_leaves_is_the_drop_of_an_led(make: Make) -> None:
    bench = make(
        "usb-bench-meter", "drop-chain@vbus", "load-budget", "linear-regulator@3v3", "indicator@3v3"
    )
    expected = bench.step("rail.3v3.indicator").expected
    assert expected.typ is not None
    assert 1.8 <= 3.3 - expected.typ <= 2.2
    assert "lit" in expected.words


# Common practice: bench supplies are set in steps of 1 mA, 10 mA or 0.1 A, by their range.
def test_a_limit_is_one_that_can_be_set() -> None:
    assert settable(0.1434) == pytest.approx(0.15)
    assert settable(0.0043) == pytest.approx(0.005)
    assert settable(2.51) == pytest.approx(2.6)
    assert settable(0.0305, down=True) == pytest.approx(0.03)
