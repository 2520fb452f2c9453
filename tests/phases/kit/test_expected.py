"""Windows in words, and ends that are those shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.expected import Expected, in_words
from phases.kit.notation import read_quantity

VOLTS = st.floats(1e-6, 900.0, allow_nan=False)


@pytest.mark.parametrize(
    ("expected", "words"),
    [
        (Expected(3.2, 3.3, 3.4, "V"), "3.2 .. 3.4 V"),
        (Expected(None, 0.001, 0.00303, "V"), "at most 3.03 mV"),
        (Expected(33.3, None, None, "Ω"), "at least 33.3 Ω"),
        (Expected(4590.0, 5100.0, 5610.0, "Ω"), "4.59 .. 5.61 kΩ"),
        (Expected(-0.5, 0.0, 0.5, "V"), "-500 .. 500 mV"),
        (Expected(0.0753, 0.13, 2.84, "A"), "75.3 mA .. 2.84 A"),
        (Expected(15.96e6, 16e6, 16.04e6, "Hz"), "15.96 .. 16.04 MHz"),
        (Expected(None, 46.6, 57.6, "°C"), "at most 57.6 °C"),
        (Expected(typ=32768.0, unit="Hz"), "about 32.768 kHz"),
        (Expected(words="lit"), "lit"),
        (Expected(1.0, 1.3, 1.6, "V", words="lit"), "1 .. 1.6 V; lit"),
        (Expected(unit="V"), "write down what it is"),
        (Expected(0.0, 0.0, 0.0, "V"), "0 .. 0 V"),
        (Expected(0.96, None, 1.04, "V"), "960 mV .. 1.04 V"),
    ],
)
def test_a_window_is_said_as_it_would_be_written(expected: Expected, words: str) -> None:
    assert expected.in_words == words


@given(VOLTS, VOLTS)
def test_what_is_shown_is_inside_and_holds_what_was_computed(one: float, other: float) -> None:
    computed = sorted((one, other))
    expected = Expected.within(computed[0], None, computed[1], "V")
    low, high = expected.low, expected.high
    assert low is not None and high is not None
    # The twelfth digit is noise: what is computed does not lie further out than it.
    assert computed[0] * 0.989 <= low <= computed[0] * (1 + 1e-11)
    assert computed[1] * (1 - 1e-11) <= high <= computed[1] * 1.011
    read = read_quantity(expected.window, "V")
    assert read.low == pytest.approx(low, rel=1e-9, abs=1e-12)
    assert read.high == pytest.approx(high, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("end", [1e308, -1e308, float("inf"), 1e-300, 0.0])
def test_an_absurd_end_is_said_all_the_same(end: float) -> None:
    assert Expected.within(min(end, 0.0), None, max(end, 0.0), "V").window
    assert in_words(end, "furlong")
