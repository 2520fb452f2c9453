"""Codes on capacitors mean what their standards and makers say, and nothing else is guessed."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit.capacitor_codes import (
    Capacitance,
    ageing_per_decade,
    marked_capacitance,
    temperature_code,
)
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread


@pytest.mark.parametrize(
    ("code", "typ", "low", "high"),
    [
        # EIA three-digit code and tolerance letters, makers' tables.
        ("103", 10e-9, 10e-9, 10e-9),
        ("105", 1e-6, 1e-6, 1e-6),
        ("107", 100e-6, 100e-6, 100e-6),
        ("104K", 100e-9, 90e-9, 110e-9),
        ("473J", 47e-9, 44.65e-9, 49.35e-9),
        ("106M", 10e-6, 8e-6, 12e-6),
        ("225Z", 2.2e-6, 1.76e-6, 3.96e-6),
        ("R50", 0.5e-12, 0.5e-12, 0.5e-12),
        ("1R0", 1e-12, 1e-12, 1e-12),
        ("4R7C", 4.7e-12, 4.45e-12, 4.95e-12),
        ("479", 4.7e-12, 4.7e-12, 4.7e-12),  # from memory
    ],
)
def test_digits_and_letter(code: str, typ: float, low: float, high: float) -> None:
    marked = marked_capacitance(code)
    assert marked is not None
    assert (marked.low, marked.typ, marked.high) == pytest.approx((low, typ, high))


@pytest.mark.parametrize(
    "text", ["10 µF", "100n", "4n7", "1e-05", "10", "1000", "106KK", "4K7", ""]
)
def test_what_is_no_code_is_left_to_the_grammar_of_quantities(text: str) -> None:
    assert marked_capacitance(text) is None


def test_a_letter_that_is_no_tolerance_is_refused_with_those_that_are() -> None:
    with pytest.raises(Refusal, match="One of: B, C, D, F, G, J, K, M, Z"):
        marked_capacitance("106Q")


@pytest.mark.parametrize(
    ("code", "lowest", "highest", "least", "most"),
    [
        # EIA-198 as in TI SLAA701B, table 1-16. A public post has Z = -10 and 7 = 120: wrong.
        ("X7R", -55, 125, -0.15, 0.15),
        ("X5R", -55, 85, -0.15, 0.15),
        ("X6S", -55, 105, -0.22, 0.22),
        ("Y5V", -30, 85, -0.82, 0.22),
        ("Z5U", 10, 85, -0.56, 0.22),
        ("X8R", -55, 150, -0.15, 0.15),
        ("X7T", -55, 125, -0.33, 0.22),
        ("Z2A", 10, 45, -0.01, 0.01),
        ("Y9P", -30, 200, -0.10, 0.10),
        ("C0G", -55, 125, -0.003, 0.003),  # from memory
        ("2R1", -55, 125, -0.15, 0.15),  # IEC 60384-9, from memory
    ],
)
def test_temperature_codes(
    code: str, lowest: float, highest: float, least: float, most: float
) -> None:
    found = temperature_code(code)
    assert (found.lowest, found.highest) == (lowest, highest)
    assert (found.least, found.most) == pytest.approx((least, most))


@pytest.mark.parametrize("code", ["", "X", "X7", "R7X", "X3R", "X7Q", "X7RR", "x7r", "source"])
def test_a_code_that_means_nothing_is_refused(code: str) -> None:
    with pytest.raises(Refusal, match="not a temperature code"):
        temperature_code(code)


def test_ageing_by_code() -> None:
    # Typical per decade of hours: X7R and X5R 2.5 %, Z5U and Y5V 7 %, C0G none.
    found = {code: ageing_per_decade(code) for code in ("C0G", "X7R", "X5R", "Z5U", "Y5V", "X7S")}
    assert found == {"C0G": 0, "X7R": 0.025, "X5R": 0.025, "Z5U": 0.07, "Y5V": 0.07, "X7S": 0.025}


@pytest.mark.parametrize(
    ("given", "text"),
    [("106K", "106K"), ("10 µF ± 10 %", "10 µF ± 10 %"), (Spread(9e-6, 1e-5, 1.1e-5), None)],
)
def test_a_field_takes_a_code_or_a_quantity(given: Any, text: str | None) -> None:
    value, shown = Capacitance("capacitance").read(given)
    assert (value.low, value.typ, value.high) == pytest.approx((9e-6, 10e-6, 11e-6))
    assert shown == (text or "10 µF ± 10 %")


def test_a_field_refuses_what_is_neither() -> None:
    for text in ("106Q", "ten", "10 kΩ", "-1 µF"):
        with pytest.raises(Refusal):
            Capacitance("capacitance").read(text)
