"""A number without its unit: read as the step shows what it expects, and kept with its unit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.expected import Expected
from phases.kit.notation import read_quantity

LOAD = Expected(0.134, None, 0.6, "A")
RAIL = Expected(3.2, 3.3, 3.4, "V")
PULL_DOWN = Expected(4080.0, 5100.0, 6120.0, "Ω")
BACK_FEED = Expected(None, 0.0, 0.3, "V")
CLOCK = Expected(15.96e6, 16e6, 16.04e6, "Hz")
WIDE = Expected(0.0753, 0.13, 2.84, "A")


@pytest.mark.parametrize(
    ("typed", "expected", "kept"),
    [
        ("190", LOAD, "190 mA"),
        ("0.19", LOAD, "0.19 A"),  # inside in amperes alone
        ("900", LOAD, "900 mA"),  # outside either way: as it is shown
        ("3.31", RAIL, "3.31 V"),
        ("3310", RAIL, "3310 V"),  # no prefix is shown, so none is guessed
        ("5.1", PULL_DOWN, "5.1 kΩ"),
        ("5100", PULL_DOWN, "5100 Ω"),
        ("16.001", CLOCK, "16.001 MHz"),
        ("16001000", CLOCK, "16001000 Hz"),
        ("100", WIDE, "100 mA"),  # two prefixes are shown: the one that is inside
        ("2", WIDE, "2 A"),
        ("50", WIDE, "50 mA"),  # inside with neither: the nearer one
        ("57", Expected(None, 46.6, 57.6, "°C"), "57 °C"),
        ("-5", Expected(-0.5, 0.0, 0.5, "V"), "-5 mV"),
        ("12", Expected(unit="V"), "12 V"),
        ("0", LOAD, "0 mA"),
        ("1.9e-1", LOAD, "1.9e-1 A"),
        ("190 ± 1 %", LOAD, "190 mA ± 1 %"),
        ("190m", LOAD, "190mA"),
    ],
)
def test_a_bare_number_is_read_as_the_step_shows_it(
    typed: str, expected: Expected, kept: str
) -> None:
    assert expected.with_unit(typed) == kept
    read_quantity(kept, expected.unit, least=-1e6)


@pytest.mark.parametrize("typed", ["190 mA", "3V31", "4k7", "warm", "3,31", "", "-", "1 / x"])
def test_what_has_a_unit_or_is_no_number_stays_as_it_is(typed: str) -> None:
    assert LOAD.with_unit(typed) == typed


def test_a_number_below_one_that_is_inside_by_its_prefix_alone_is_doubted() -> None:
    assert BACK_FEED.with_unit("0.35") == "0.35 mV"
    assert BACK_FEED.doubt("0.35") == "If 350 mV was meant, write its unit."
    for sure in ("12", "0.35 mV", "0.2"):
        assert BACK_FEED.doubt(sure) == ""
    assert LOAD.doubt("0.19") == ""


SIZES = st.floats(1e-6, 900.0, allow_nan=False)


@given(SIZES, st.floats(1.01, 9.0), st.floats(0.05, 0.95))
def test_a_reading_written_with_the_prefix_shown_is_read_so(
    low: float, times: float, share: float
) -> None:
    """Any value inside a window whose ends share their prefix, typed in that prefix."""
    expected = Expected.within(low, None, low * times, "A")
    first, last = expected.low, expected.high
    assert first is not None and last is not None
    value = first + share * (last - first)
    scale = next(s for s in (1.0, 1e-3, 1e-6) if last >= s * (1 - 1e-12))
    kept = expected.with_unit(f"{value / scale:.9f}")
    read = read_quantity(kept, "A").typ
    assert read == pytest.approx(value, rel=1e-3)
