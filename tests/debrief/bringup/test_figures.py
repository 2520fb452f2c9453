"""Windows in words, and ends that are those shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.debrief.bringup.figures import expected_words, outward, window_words
from coach.debrief.bringup.sheet import Expected
from phases.kit.notation import read_quantity

VOLTS = st.floats(1e-6, 900.0, allow_nan=False)


@pytest.mark.parametrize(
    ("expected", "words"),
    [
        (Expected(3.2, 3.3, 3.4, "V"), "3.20 .. 3.40 V"),
        (Expected(None, 0.001, 0.00303, "V"), "at most 3.03 mV"),
        (Expected(33.3, None, None, "Ω"), "at least 33.3 Ω"),
        (Expected(4590.0, 5100.0, 5610.0, "Ω"), "4.59 .. 5.61 kΩ"),
        (Expected(-0.5, 0.0, 0.5, "V"), "-500 .. 500 mV"),
        (Expected(0.0753, 0.13, 2.84, "A"), "75.3 mA .. 2.84 A"),
        (Expected(15.96e6, 16e6, 16.04e6, "Hz", digits=7), "15.96 .. 16.04 MHz"),
        (Expected(None, 46.6, 57.6, "°C"), "at most 57.6 °C"),
        (Expected(typ=32768.0, unit="Hz", digits=6), "about 32.768 kHz"),
        (Expected(words="lit"), "lit"),
        (Expected(1.0, 1.3, 1.6, "V", words="lit"), "1.00 .. 1.60 V; lit"),
        (Expected(unit="V"), "write down what it is"),
        (Expected(0.0, 0.0, 0.0, "V"), "0 V .. 0 V"),
    ],
)
def test_a_window_is_said_as_it_would_be_written(expected: Expected, words: str) -> None:
    assert expected_words(expected) == words


@given(VOLTS, VOLTS)
def test_what_is_shown_is_inside_and_holds_what_was_computed(one: float, other: float) -> None:
    computed = sorted((one, other))
    low, high = outward(*computed)
    assert low is not None and high is not None
    # The twelfth digit is noise: what is computed does not lie further out than it.
    assert low <= computed[0] * (1 + 1e-11)
    assert high >= computed[1] * (1 - 1e-11)
    assert low >= computed[0] - max(computed[1] * 0.0101, 1e-9)
    shown = window_words(Expected(low, None, high, "V"))
    read = read_quantity(shown, "V")
    assert read.low == pytest.approx(low, rel=1e-9, abs=1e-12)
    assert read.high == pytest.approx(high, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("end", [1e308, -1e308, float("inf"), 1e-300, 0.0])
def test_an_absurd_end_is_said_all_the_same(end: float) -> None:
    low, high = outward(min(end, 0.0), max(end, 0.0))
    assert window_words(Expected(low, None, high, "V"))
    assert window_words(Expected(low, None, high, "furlong"))
