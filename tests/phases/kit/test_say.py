"""Values are shown with the prefix a person would use, and what is shown can be typed back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phases.kit.notation import read_quantity
from phases.kit.say import exactly, show, show_spread
from phases.kit.spread import Spread
from phases.kit.units import UNITS
from tests.depth import deep


# Prefixes: SI brochure, 9th edition, table 7; engineering notation keeps 1 to 999 before the
# prefix (common practice). Microfarads go on to 10 000, millifarads are not used (common practice).
@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (3.3, "V", "3.3 V"),
        (0.0047, "A", "4.7 mA"),
        (4700.0, "Ω", "4.7 kΩ"),
        (1e6, "Ω", "1 MΩ"),
        (100e-9, "F", "100 nF"),
        (22e-12, "F", "22 pF"),
        (470e-6, "F", "470 µF"),
        (4700e-6, "F", "4700 µF"),
        (1.0, "F", "1 F"),
        (8e6, "Hz", "8 MHz"),
        (32_768.0, "Hz", "32.8 kHz"),
        (115_200.0, "bit/s", "115 kbit/s"),
        (1e-9, "s", "1 ns"),
        (90_000.0, "s", "90000 s"),
        (0.05, "%", "5 %"),
        (0.0025, "%", "0.25 %"),
        (50e-6, "ppm", "50 ppm"),
        (131.4, "°C", "131 °C"),
        (-40.0, "°C", "-40 °C"),
        (6.04, "K", "6.04 K"),
        (75.0, "K/W", "75 K/W"),
        (100e-12, "F/m", "100 pF/m"),
        (1e6, "V/s", "1 MV/s"),
        (3e-3, "A²s", "3 mA²s"),
        (5e-6, "mm²", "5 mm²"),
        (828.0, "mAh", "230 mAh"),
        (90.0, "min", "1.5 min"),
        (2.5, "1", "2.5"),
        (1234.0, "1", "1234"),
        (-0.0047, "V", "-4.7 mV"),
        (-2500.0, "V", "-2.5 kV"),
    ],
)
def test_a_value_is_shown_with_the_prefix_of_the_trade(value: float, unit: str, shown: str) -> None:
    assert show(value, unit) == shown


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (999.4, "V", "999 V"),
        (999.5, "V", "1 kV"),
        (999.9995, "V", "1 kV"),
        (1000.0, "V", "1 kV"),
        (0.9994, "V", "999 mV"),
        (0.9995, "V", "1 V"),
        (0.99951, "V", "1 V"),
        (1e-3, "V", "1 mV"),
        (0.999e-3, "V", "999 µV"),
        (0.99999e-3, "V", "1 mV"),
        (999_999.0, "Ω", "1 MΩ"),
        (999.6e-9, "F", "1 µF"),
        (-999.9995, "V", "-1 kV"),
    ],
)
def test_at_a_prefix_boundary_the_rounded_value_decides(
    value: float, unit: str, shown: str
) -> None:
    assert show(value, unit) == shown


def test_more_digits_move_the_boundary_with_them() -> None:
    assert show(999.9995, "V", 7) == "999.9995 V"
    assert show(999.9995, "V", 6) == "1 kV"
    assert show(0.9995, "V", 4) == "999.5 mV"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (35e-6, "35 µm"),
        (99.94e-6, "99.9 µm"),
        (0.1e-3, "0.1 mm"),
        (0.2e-3, "0.2 mm"),
        (1.6e-3, "1.6 mm"),
        (0.15, "150 mm"),
        (0.9994, "999 mm"),
        (0.9996, "1 m"),
        (1.5, "1.5 m"),
    ],
)
def test_lengths_are_millimetres_from_a_tenth_to_a_metre(value: float, shown: str) -> None:
    assert [show(value, unit) for unit in ("m", "mm", "µm")] == [shown] * 3


def test_zero_has_no_prefix() -> None:
    shown = [show(0.0, unit) for unit in ("V", "F", "mm", "%", "°C", "mAh", "1")]
    assert shown == ["0 V", "0 F", "0 mm", "0 %", "0 °C", "0 mAh", "0"]
    assert show(-0.0, "V") == "0 V"


def test_what_is_no_number_is_said_in_words() -> None:
    assert show(math.nan, "V") == "unknown"
    assert show(math.inf, "A") == "unlimited"
    assert show(-math.inf, "A") == "-unlimited"


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (1.2345e-17, "V", "1.23e-17 V"),
        (1e-12, "V", "1e-12 V"),
        (2e12, "V", "2e+12 V"),
        (1e-8, "%", "1e-06 %"),
        (3e-9, "1", "3e-09"),
        (1.25e7, "1", "1.25e+07"),
    ],
)
def test_beyond_its_prefixes_a_value_has_an_exponent_and_no_row_of_zeros(
    value: float, unit: str, shown: str
) -> None:
    assert show(value, unit) == shown


@pytest.mark.parametrize(
    ("spread", "unit", "shown"),
    [
        (Spread.exact(3.3), "V", "3.3 V"),
        (Spread.of(5.0, 0.05), "V", "5 V ± 5 %"),
        (Spread.of(4700.0, 0.001), "Ω", "4.7 kΩ ± 0.1 %"),
        (Spread(4.5, 5.0, 5.5), "V", "5 V ± 10 %"),
        (Spread(1.0, 5.0, 9.0), "V", "1 V .. 9 V"),
        (Spread(4.75, 5.1, 5.25), "V", "4.75 V / 5.1 V / 5.25 V"),
        (Spread(-40.0, 22.5, 85.0), "°C", "-40 °C .. 85 °C"),
        (Spread(0.04, 0.05, 0.06), "%", "4 % .. 6 %"),
        (Spread(0.0, 1.0, 2.0), "V", "0 V .. 2 V"),
        # Ends that three digits do not tell apart are shown with as many as it takes.
        (Spread(4.9999, 5.0, 5.0002), "V", "4.9999 V / 5 V / 5.0002 V"),
        (Spread(24.99, 25.0, 25.01), "°C", "24.99 °C .. 25.01 °C"),
    ],
)
def test_a_spread_is_shown_in_the_notation_that_says_it_shortest(
    spread: Spread, unit: str, shown: str
) -> None:
    assert show_spread(spread, unit) == shown


# ---- typed back --------------------------------------------------------------------------


@st.composite
def spreads(draw: st.DrawFn) -> tuple[Spread, str]:
    """A spread as a field may hold it, with its unit."""
    symbol = draw(st.sampled_from(sorted(UNITS)))
    unit = UNITS[symbol]
    if symbol == "°C":
        ends = sorted(draw(st.tuples(*[st.floats(-273.0, 5000.0)] * 3)))
    else:
        greatest = math.log10(unit.greatest / 4)
        typ = 10 ** draw(st.floats(-12, greatest)) * draw(st.sampled_from([1.0, 0.0]))
        down, up = draw(st.tuples(st.floats(0, 1), st.floats(0, 1)))
        tolerance = draw(st.sampled_from([0.0, 0.001, 0.01, 0.05, 0.1, 0.5]))
        even = (typ * (1 - tolerance), typ, typ * (1 + tolerance))
        ends = list(draw(st.sampled_from([even, (typ * (1 - down), typ, typ * (1 + up))])))
    low, typ, high = (0.0 if abs(v) < 1e-18 else v for v in ends)
    return Spread(low, typ, high), symbol


def within(read: Spread, meant: Spread, share: float) -> bool:
    reach = share * max(abs(meant.low), abs(meant.high))
    return all(
        abs(a - b) <= reach
        for a, b in ((read.low, meant.low), (read.typ, meant.typ), (read.high, meant.high))
    )


@settings(max_examples=deep(600))
@given(spreads())
def test_what_is_shown_reads_back_within_its_digits(given_: tuple[Spread, str]) -> None:
    spread, unit = given_
    assert within(read_quantity(show_spread(spread, unit), unit), spread, 0.5e-2 * (1 + 1e-6))


@settings(max_examples=deep(600))
@given(spreads())
def test_what_is_frozen_reads_back_to_ten_digits(given_: tuple[Spread, str]) -> None:
    spread, unit = given_
    assert within(read_quantity(exactly(spread, unit), unit), spread, 1e-9)


@settings(max_examples=deep(300))
@given(spreads())
def test_what_was_read_back_is_shown_the_same(given_: tuple[Spread, str]) -> None:
    spread, unit = given_
    shown = exactly(spread, unit)
    again = exactly(read_quantity(shown, unit), unit)
    assert within(read_quantity(again, unit), read_quantity(shown, unit), 1e-9)


@given(st.floats(1e-3, 1e6), st.sampled_from(["V", "Ω", "s", "Hz", "W", "J"]))
def test_before_its_prefix_stand_one_to_three_digits(value: float, unit: str) -> None:
    number = float(show(value, unit).split()[0])
    top = {"V": 1e3, "W": 1e3, "J": 1e3, "s": 1.0}.get(unit, 1e9)
    assert 1 <= number < 1000 or value >= 999 * top
