"""Debug wiring against published pin tables and the figures of adapters."""

from __future__ import annotations

import math

import pytest

from phases.debug_access.debug_wiring import DebugWiring
from phases.kit import judge
from phases.kit.bounds import FAIL, PASS
from tests.published.printed import prints_as

# Microchip, Cortex Debug Connector (10-pin) page; Code Red, SWD/JTAG connectors. Pin 7 is the
# key, pin 9 tells the adapter by its ground that a target is there.
TEN = {
    "1": "VTref",
    "2": "SWDIO",
    "3": "GND",
    "4": "SWCLK",
    "5": "GND",
    "6": "SWO",
    "7": "key",
    "8": "TDI",
    "9": "GND",
    "10": "nRESET",
}
# Microchip, SAM-ICE 20-pin page: where it is used for the two-wire interface.
TWENTY = {
    "1": "VTref",
    "2": "open",
    "3": "nTRST",
    "5": "TDI",
    "7": "SWDIO",
    "9": "SWCLK",
    "11": "RTCK",
    "13": "SWO",
    "15": "nRESET",
    "17": "open",
    "19": "open",
} | {str(pin): "GND" for pin in range(4, 21, 2)}


@pytest.mark.parametrize(
    ("connector", "printed"), [("10-pin 1.27 mm", TEN), ("20-pin 2.54 mm", TWENTY)]
)
def test_the_pins_are_those_of_the_published_connector(
    connector: str, printed: dict[str, str]
) -> None:
    pins = DebugWiring(connector=connector).pins
    assert {row["pin"]: row["signal"] for row in pins} == printed


def test_an_edge_takes_2_2_time_constants() -> None:
    # From 10 to 90 % of an exponential: ln 9 = 2.197. 50 Ω (Arm 100893: source resistor and
    # driver together) into 20 pF.
    wiring = DebugWiring(L="0.001 mm", C_in="20 pF", R_d="28 Ω", R_s="22 Ω")
    assert wiring.t_e.item() == pytest.approx(math.log(9) * 50 * 20e-12, rel=0.002)
    assert prints_as(wiring.t_e.item() * 1e9, "2.2")


def test_the_delay_of_a_cable_is_5_ns_a_metre() -> None:
    # USB engineering change note 1999: 5.2 ns/m, 26 ns for 5 m, as the order of magnitude of
    # any cable; 52 pF/m and 100 Ω make exactly that.
    wiring = DebugWiring(L="5 m", C_l="52 pF/m", Z_0="100 Ω")
    assert prints_as(wiring.t_d.item() * 1e9, "26.0")


def test_an_adapter_holds_the_clock_high_and_low_for_10_ns_at_least() -> None:
    # Arm 100893, DSTREAM-ST target interface, pages 25 and 26: 10 ns, so 50 MHz at most.
    fast = DebugWiring(L="1 mm", C_in="1 pF", t_out="0 s")
    assert prints_as(fast.t_half.item() * 1e9, "10")
    assert prints_as(fast.f_max.item() / 1e6, "50")


@pytest.mark.parametrize(
    ("signal", "pull", "value"),
    [
        ("SWDIO", "up", "100 kΩ"),  # Arm DDI0314H 2.4.2
        ("SWDIO", "up", "10 kΩ"),  # NXP, Design Considerations for Debug: 10 to 100 kΩ
        ("SWCLK", "down", "10 kΩ"),  # the same
        ("SWCLK", "down", "100 kΩ"),
        ("SWCLK", "up", "10 kΩ"),  # the same: up instead is allowed
        ("SWCLK", "up", "1 kΩ"),  # Microchip SAM
        ("SWCLK", "up", "15 kΩ"),  # Microchip, another family
        ("SWDIO", "up", "15 kΩ"),
    ],
)
def test_each_pull_that_a_source_asks_for_is_good(signal: str, pull: str, value: str) -> None:
    wiring = DebugWiring(signals=[{"signal": signal, "pull": pull, "value": value}])
    assert judge(wiring).limit("pulls") == PASS


def test_a_clock_line_must_not_float_nor_fight_its_internal_pull() -> None:
    # NXP, Design Considerations for Debug; Code Red, SWD/JTAG connectors.
    floats = DebugWiring(signals=[{"signal": "SWCLK", "pull": "none", "internal": "none"}])
    fights = DebugWiring(signals=[{"signal": "SWCLK", "pull": "up", "internal": "down"}])
    assert judge(floats).limit("nothing-floating") == FAIL
    assert judge(fights).limit("pulls") == FAIL
